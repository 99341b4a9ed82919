"""One build: from parameters to every file of the output folder, in order, with the time of each stage."""

from __future__ import annotations

import copy
import gc
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..model.input.parameters import Parameters
from ..shared.errors import MissingLibrary
from ..shared.said import said
from .beside import Beside, Later, OneByOne, beside, can_fork
from .folder import output_folder
from .named_files import IssuedSet, issued_sets, price_list, prices_known

if TYPE_CHECKING:
    from ..model.deck import Deck, Progress
    from ..model.design.designed import Designed
    from ..model.design.reasons import Reason
    from ..model.measuring.measure import Measured
    from ..model.order.order import MaterialOrder
    from ..model.order.takeoff import TakeOff
    from ..model.rules.check_result import CheckResult
    from ..model.solid.part import Workshop
    from ..model.structure.structure import Structure
    from ..shared.prices import Prices
    from .drafting.drawing import DrawingSet

WORTH_A_CHANCE = (
    1000  # pieces, from which a deck is drawn before it is judged: one of fewer is judged at once (our own)
)


@dataclass
class Stages:
    """Seconds spent in each stage, in order; `say` shows the stage's name while it runs."""

    say: Progress = lambda stage: None
    seconds: dict[str, float] = field(default_factory=dict)

    @contextmanager
    def stage(self, name: str) -> Iterator[None]:
        self.say(name)
        start = time.perf_counter()
        try:
            yield
        finally:
            self.seconds[name] = self.seconds.get(name, 0.0) + time.perf_counter() - start


def load_kernel() -> None:
    """Import cadquery; where a system library is missing, say which package brings it."""
    try:
        import cadquery  # noqa: F401 (for what its import brings along)

        gc.freeze()  # the kernel's own objects live as long as the program: the collector need not walk them again
        # pieces and drawings are made by the hundred thousand and live until the end, hardly any in a ring: looked
        # through as often as usual they cost a sixth of a build, and its highest memory was the same without
        gc.set_threshold(1_000_000, 50, 50)
    except ImportError as e:
        if ".so" in str(e):
            raise MissingLibrary(
                f"the geometry kernel needs a system library that is missing ({e}); "
                "on Debian or Ubuntu: apt-get install libgl1 libx11-6 libexpat1"
            ) from None
        raise


@dataclass
class BuildResult:
    """What a build knows at its end: the deck, what was measured off it, what the load path and the checks say."""

    deck: Deck
    measured: list[Measured]
    structure: Structure | None  # None where what is drawn asks for none
    checks: Iterable[CheckResult]
    stages: Stages
    order: Callable[[], MaterialOrder] | None = None  # asked for where the saw card is drawn


def model(
    parameters: Parameters, stages: Stages, source: Path | None = None, prices: Path | None = None
) -> BuildResult:
    """Solids, measurements and checks, without writing anything; `source` is the parameter file, beside which its price
    list lies where `prices` is no other."""
    made, measured = design(parameters, stages, prices_known(parameters, source, prices))
    return BuildResult(made.deck, measured, made.structure, check_results(made, measured, stages), stages)


def design(
    parameters: Parameters,
    stages: Stages,
    prices: Prices | None = None,
    watch: Callable[[Deck], None] = lambda deck: None,
    shop: Workshop | None = None,
) -> tuple[Designed, list[Measured]]:
    """Solids with their load path, and their measurements; the frame chosen by `prices` where there are any. `watch`
    is told of each deck whose members hold; `shop` is the workshop to make them in."""
    with stages.stage("geometry kernel"):
        load_kernel()
    from ..model.design.designed import designed
    from ..model.measuring.measure import measure_all

    with stages.stage("solids and load path"):
        made = designed(parameters, prices=prices, watch=watch, shop=shop)
    with stages.stage("measuring"):
        return made, measure_all(made.deck.parts)


def check_results(made: Designed, measured: list[Measured], stages: Stages) -> list[CheckResult]:
    from ..model.design.advised import checked_with_mends

    with stages.stage("checks"):
        return checked_with_mends(made.deck, measured, made.structure)


def frame_reasons(made: Designed, prices: Prices, stages: Stages) -> list[Reason]:
    """Why the frame is as it is."""
    from ..model.design.reasons import reasons

    with stages.stage("reasons"):
        return reasons(made, prices)


class Awaited:
    """Rows that another process still works out: waited for where they are first read."""

    def __init__(self, later: Later, name: str):
        self.later, self.name = later, name

    def __iter__(self) -> Iterator[Any]:
        return iter(self.later(self.name))


def write_all(
    parameters: Parameters,
    out: Path,
    stages: Stages,
    source: Path | None = None,
    *,
    ifc: bool = False,
    prices: Path | None = None,
) -> BuildResult:
    """Everything a build writes, into `out` (exchanged at the end). `source` is the parameter file: the price
    list that it names lies in its folder, one named by `prices` anywhere.

    `ifc`: write model.ifc too. The sheets are
    drawn in a second process while the deck is judged, checked and its lists and cards written; what hangs on neither
    is written by whichever of the two is through first. Raises DesignError for a design that
    cannot be drawn, InputError for an output folder or price list that cannot be used, MissingLibrary for an optional
    library that is not there.
    """
    listed, again = price_list(parameters, source, prices), _submitted_again(parameters, source)
    if ifc:
        from .formats.ifc import require

        require()

    def take(seconds: dict[str, float]) -> None:
        stages.seconds.update({f"{k} (beside)": v for k, v in seconds.items()})

    with output_folder(out) as folder, _standing_still(), beside(take) as second:
        drawings = _Drawings(second, folder, again)
        made, measured = design(parameters, stages, listed, drawings.on_chance, again.shop if again else None)
        either = drawings.of(made.deck)
        found = check_results(made, measured, stages)
        second.hand("checks", found)
        second.hand("notes", made.deck.notes)
        designed = BuildResult(made.deck, measured, made.structure, found, stages)
        stands = as_built(made.deck.parameters, designed, folder)
        write_page(stands, folder, ifc)
        taken = write_lists(stands, folder, listed, frame_reasons(made, listed, stages))
        second.hand("order", taken.order)
        stands.order = lambda: taken.order
        if made.deck.parameters.survey.taken:
            write_exact(stands, folder)
        for write in either:
            write(stands, folder)
    return stands


@dataclass
class _Again:
    """What a set that is submitted again is drawn against: the issued ones, the latest first, this deck's workshop, and
    the file that names them."""

    issued: Sequence[IssuedSet]
    shop: Workshop
    source: Path | None

    def drawing(self, r: BuildResult) -> DrawingSet:
        from .comparing.revised import revised

        return revised(r.deck, r.measured, r.checks, self.issued, self.shop, self.source)


def _submitted_again(parameters: Parameters, source: Path | None) -> _Again | None:
    """None for a set that is no revision. Raises what `issued_sets` does."""
    issued = issued_sets(parameters, source)
    if not issued:
        return None
    load_kernel()
    from ..model.solid.part import Workshop

    return _Again(issued, Workshop(), source)


class _Drawings:
    """What the second process draws and writes: of a deck of many pieces begun on the chance that it is the one, as
    soon as the members of its frame hold, and given up for the next where another rule of it is not met."""

    def __init__(self, second: Beside, folder: Path, again: _Again | None):
        self.second, self.folder, self.again = second, folder, again
        self.deck: Deck | None = None
        self.either: Iterable[Callable[[BuildResult, Path], None]] = ()

    def on_chance(self, deck: Deck) -> None:
        if can_fork() and len(deck.parts) >= WORTH_A_CHANCE:
            self._begin(deck)

    def of(self, deck: Deck) -> Iterable[Callable[[BuildResult, Path], None]]:
        """Draws this deck, if not begun already; what is left to either process, for this one to take from."""
        if self.deck is not deck:
            self._begin(deck)
        return self.either

    def _begin(self, deck: Deck) -> None:
        gc.freeze()  # the pieces stay as they are: neither process need walk them again, or copy them for that
        self.deck = deck
        # where it is surveyed the model is another deck than the one drawn, and only the first process has it
        surveyed = deck.parameters.survey.taken
        there = OneByOne(() if surveyed else EITHER)
        self.either = EITHER if surveyed else there

        def work(later: Later) -> dict[str, float]:
            from ..model.measuring.measure import measure_all

            drawn = copy.copy(deck)
            drawn.notes = Awaited(later, "notes")
            made = BuildResult(drawn, measure_all(deck.parts), None, Awaited(later, "checks"), Stages())
            made.order = partial(later, "order")
            if not surveyed:  # always here: the kernel numbers on through all STEP files that a process writes
                write_exact(made, self.folder)
            write_drawings(made, self.folder, self.again)
            for write in there:
                write(made, self.folder)
            return made.stages.seconds

        self.second.begin(work)


@contextmanager
def _standing_still() -> Iterator[None]:
    """What is frozen inside is given back to the collector at the end."""
    try:
        yield
    finally:
        gc.unfreeze()


def as_built(parameters: Parameters, design: BuildResult, folder: Path) -> BuildResult:
    """What the lists, cards and model are made from: the design, or, where the file holds site measurements, the deck
    cut to what stands. `changes.csv` then names every piece that differs; the permit drawings keep the design."""
    if not parameters.survey.taken:
        return design
    from ..model.deck import build_as_built
    from ..model.design.advised import checked_with_mends
    from ..model.measuring.measure import measure_all
    from ..model.order.changes import changes, summary
    from ..model.structure.structure import analyse
    from .formats.rows import write_csv

    with design.stages.stage("as built"):
        deck = build_as_built(parameters)
        found = changes(design.deck, deck)
        deck.notes += [said("as built, {line}", line=line) for line in summary(found)] + [
            "the permit drawings keep the design; lists, cards and model are as built"
        ]
        measured, structure = measure_all(deck.parts), analyse(deck)
        checks = checked_with_mends(deck, measured, structure)
        header = ("design_mark", "built_mark", "role", "where", "what", "cut_by_in", "longer_in", "moved_in")
        write_csv(
            folder / "changes.csv",
            (
                header,
                [
                    [
                        c.design.mark if c.design else None,
                        c.built.mark if c.built else None,
                        c.role,
                        c.part.where,
                        c.what,
                        c.cut,
                        c.longer,
                        c.moved,
                    ]
                    for c in found
                ],
            ),
        )
    return BuildResult(deck, measured, structure, checks, design.stages)


def write_exact(r: BuildResult, folder: Path) -> None:
    from .formats.solids import write_step

    with r.stages.stage("STEP"):
        write_step(r.deck, folder / "model.step")


def write_meshes(r: BuildResult, folder: Path) -> None:
    """The model as triangles."""
    from .formats.solids import write_glb, write_stl

    with r.stages.stage("STL, GLB"):
        write_stl(r.deck, folder / "model.stl")
        write_glb(r.deck, folder / "model.glb")


def write_page(r: BuildResult, folder: Path, ifc: bool = False) -> None:
    """The page, and IFC where it is asked for."""
    from .page.preview import write_preview

    with r.stages.stage("page"):
        write_preview(r.deck, r.measured, r.checks, folder / "preview.html")
    if ifc:
        from .formats.ifc import write_ifc

        with r.stages.stage("IFC"):
            write_ifc(r.deck, r.measured, folder / "model.ifc")


def write_drawings(r: BuildResult, folder: Path, again: _Again | None = None) -> None:
    from .formats.dxf import write_dxf
    from .formats.pdf import write_pdf
    from .formats.plot_styles import write_beside
    from .pictures.sheet_pngs import write_pngs
    from .sheets import build_drawing

    with r.stages.stage("sheets"):
        drawing = again.drawing(r) if again else build_drawing(r.deck, r.measured, r.checks)
    with r.stages.stage("DXF"):
        write_dxf(drawing, folder / "permit.dxf")
        write_beside(folder)
    with r.stages.stage("PDF"):
        write_pdf(drawing, folder / "permit.pdf")
    with r.stages.stage("pictures of the sheets"):
        write_pngs(folder / "permit.pdf", folder / "sheets")


def write_lists(r: BuildResult, folder: Path, prices: Prices, chosen: Sequence[Reason] = ()) -> TakeOff:
    from ..model.order.takeoff import take_off
    from .cards import DELIVERY_KIND, DELIVERY_SUBJECT, build_delivery
    from .formats.calcs import write_calcs_csv, write_calcs_pdf
    from .formats.pdf import write_pdf
    from .formats.tables import write_tables

    with r.stages.stage("order"):
        taken = take_off(r.deck, r.measured, prices)
    with r.stages.stage("tables"):
        write_tables(folder, r.deck, r.measured, r.checks, taken, chosen)
    with r.stages.stage("delivery sheet"):
        delivery = build_delivery(r.deck, r.measured, taken)
        write_pdf(delivery, folder / "delivery.pdf", kind=DELIVERY_KIND, subject=DELIVERY_SUBJECT)
    with r.stages.stage("calculation"):
        write_calcs_csv(r.structure, folder / "calcs.csv")
        write_calcs_pdf(r.structure, r.deck, folder / "calcs.pdf", chosen)
    return taken


def write_cards(r: BuildResult, folder: Path) -> None:
    """The sheets that go to the saw and the frame."""
    from .cards import KIND, SUBJECT, build_cards
    from .formats.dxf import write_dxf
    from .formats.pdf import write_pdf

    with r.stages.stage("site cards"):
        cards = build_cards(r.deck, r.measured, plan=r.order() if r.order else None)
        write_pdf(cards, folder / "site.pdf", kind=KIND, subject=SUBJECT)
        write_dxf(cards, folder / "site.dxf")


def write_full_size(r: BuildResult, folder: Path) -> None:
    """The templates at full size."""
    from .cards.templates import write_templates

    with r.stages.stage("templates"):
        write_templates(r.deck, folder / "templates", r.measured)


# what hangs on the order alone, longest first: left to whichever process has done its own work
EITHER = (write_cards, write_meshes, write_full_size)
