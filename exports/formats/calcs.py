"""What the calculation puts on paper: `calcs.csv` and the calculation pages `calcs.pdf`.

It opens with one page of the governing checks; then what all stand on, the governing member of each kind (its diagram,
its checks, the governing ones line by line) and every mark in short. The same deck gives the same bytes.
"""

from __future__ import annotations

from collections.abc import Sequence
from os import PathLike
from typing import TYPE_CHECKING

from reportlab.lib.pagesizes import letter
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, CondPageBreak, Frame, PageBreak, PageTemplate, Table

from ...model.measuring.loose_ends import STRINGERS
from ...model.strength.loads import those_that_count
from ...model.structure.bench_checks import BENCH_FRAME
from ...model.structure.guard_checks import OF_THE_GUARD
from ...model.structure.snow_lines import snow_lines
from ...shared.stock import GIVEN_FACTORS, own_sizes
from ...shared.units import inches
from ..drafting import style
from ..drafting.citing import MEMORY, citations
from ..drafting.wording import worded
from .calc_frame import frame_page
from .calc_member import member_pages, results_in_short
from .calc_opening import Bars, opening_table
from .calc_style import SIZE, equations, letter_page, table, text
from .checks_csv import write_cautioned
from .lettering import register_font

if TYPE_CHECKING:
    from ...model.deck import Deck
    from ...model.design.reasons import Reason
    from ...model.structure.structure import MemberResult, Structure

CALC_COLUMNS = (
    "kind",
    "mark",
    "ids",
    "where",
    "stock",
    "route",
    "check",
    "combination",
    "demand",
    "capacity",
    "unit",
    "ratio",
    "result",
    "formula",
    "source",
    "why",
)
MEMBER_KINDS = (
    *("joist", "rim", "beam", "post", "footing", "ledger", *STRINGERS, "tread", "knee brace"),
    *OF_THE_GUARD,
    BENCH_FRAME,
)


def write_calcs_csv(structure: Structure, path: str | PathLike) -> None:
    """Every check of every member, both routes, one row each (`Structure.rows`), after one line of cautions."""
    write_cautioned(
        path,
        CALC_COLUMNS,
        ({**row, **{k: worded(row[k]) for k in ("formula", "source", "why")}} for row in structure.rows()),
    )


# Pages ---------------------------------------------------------------------------------------------------------------


def write_calcs_pdf(structure: Structure, deck: Deck, path: str | PathLike, chosen: Sequence[Reason] = ()) -> None:
    """The calculation on letter pages: how the frame was chosen, where that is given; loads and lumber, then the
    governing member of each kind, line by line."""
    register_font()
    project = deck.parameters.project
    title = " ".join(t for t in (project.name, project.number) if t)
    width, height = letter
    doc = BaseDocTemplate(
        str(path),
        **letter_page(f"{title}: structural calculation", project.author),
        leftMargin=_SIDE,
        rightMargin=_SIDE,
        topMargin=_TOP,
        bottomMargin=_FOOT,
    )
    frame = Frame(_SIDE, _FOOT, width - 2 * _SIDE, height - _TOP - _FOOT, 0, 0, 0, 0)
    doc.addPageTemplates(PageTemplate("page", [frame], onPage=lambda canvas, _: _furniture(canvas, title)))
    kinds = dict.fromkeys((*MEMBER_KINDS, *(r.kind for r in structure.every)))
    governing = [m for kind in kinds if (m := structure.governing(kind)) is not None]
    cited = _cited(structure)
    memory = [c for c in cited if MEMORY in c]
    story = [*_opening(governing, deck, len(cited), memory), PageBreak()]
    if chosen:
        story += [*frame_page(chosen, deck.parameters.drawing.units == "metric"), PageBreak()]
    story += _basis(structure, deck)
    for member in governing:
        story += member_pages(structure, member)
    story += _closing(structure, memory if len(memory) > _most_listed(len(governing)) else ())
    doc.build(story, canvasmaker=_counted(title))


def _cited(structure: Structure) -> list[str]:
    """Every source that the calculation cites, once."""
    lines = (l.source for r in structure.every for v in r.calculation for l in v.lines)
    rows = (p.source for r in structure.every for p in r.table)
    return citations([*lines, *rows])


_SIDE, _TOP, _FOOT = 45.0, 58.0, 66.0  # points


def _counted(title: str):
    """A canvas that knows how many pages there are only at the end, and letters "page n of m" then."""

    class Counted(Canvas):
        def __init__(self, *args, **about):
            super().__init__(*args, **about)
            self._pages: list[dict] = []

        def showPage(self):
            self._pages.append(dict(self.__dict__))
            self._startPage()

        def save(self):
            for number, page in enumerate(self._pages, 1):
                self.__dict__.update(page)
                self.setFont(style.FONT_PDF, SIZE)
                self.drawRightString(
                    self._pagesize[0] - _SIDE, self._pagesize[1] - 36, f"page {number} of {len(self._pages)}"
                )
                super().showPage()
            super().save()

    return Counted


def _furniture(canvas, title: str) -> None:
    width, height = canvas._pagesize
    canvas.saveState()
    canvas.setFont(style.FONT_PDF, 9)
    canvas.drawString(_SIDE, height - 36, style.letters(title))
    canvas.setLineWidth(0.6)
    canvas.line(_SIDE, height - 42, width - _SIDE, height - 42)
    canvas.line(_SIDE, _FOOT - 8, width - _SIDE, _FOOT - 8)
    canvas.setFont(style.FONT_PDF, 6.4)
    for n, line in enumerate((*style.CAUTIONS, style.CHECK_CAUTION)):
        canvas.drawString(_SIDE, _FOOT - 18 - 9 * n, line)
    canvas.restoreState()


def _own(deck: Deck) -> list[tuple[str, str, str]]:
    """Sizes with values given by the builder: which, by what, which NDS factors apply to them, and what they weigh."""
    rows = []
    for s in own_sizes(p.stock for p in deck.parts):
        if (given := s.given) is None:
            continue
        values = ", ".join(f"{name} {value:,.4g}" for name, value in given.psi)
        told = (
            f"{inches(s.thickness)} x {inches(s.width)} dressed, {values} psi, given by the builder: {given.standard}. "
        )
        told += "NDS factors applied: CL, CP" + "".join(f", {f}" for f in given.factors)
        without = [f for f in GIVEN_FACTORS if f not in given.factors]
        told += f"; not applied: CF{''.join(f', {f}' for f in without)}. "
        default = "given" if given.density_pcf is not None else f"the default for {s.material}"
        rows.append((f"lumber {s.name}", f"{told}Weight {s.density_pcf:.4g} pcf, {default}", "lumber.stock"))
    return rows


def _opening(governing: Sequence[MemberResult], deck: Deck, sources: int, memory: Sequence[str]) -> list:
    """One page: the governing check of each kind of member, as bars and as a table, and what is to be looked up."""
    project = deck.parameters.project
    here = len(memory) <= _most_listed(len(governing))
    return [
        text("Structural calculation", "title"),
        text(" - ".join(t for t in (project.name, project.number, project.address) if t)),
        text(f"Governing check of each kind of member: demand over limit, {deck.parameters.local.edition}", "section"),
        Bars(governing),
        opening_table(governing),
        text(
            f"Of the {sources} sources cited in this calculation {len(memory)} are from memory: verify their values"
            f" against the adopted code. They are listed {'here' if here else 'at its end'}."
        ),
        *(_to_verify(memory) if here else ()),
    ]


def _most_listed(kinds: int) -> int:
    """How many citations the opening page has room for under the bars and rows of so many kinds of members, on a line
    each."""
    return int((554 - 33 * kinds) / 7.5)  # points


def _to_verify(memory: Sequence[str]) -> list:
    if not memory:
        return []
    return [
        text("Values from memory, to be verified against the adopted code", "section"),
        *[text(f"{n}. {m.replace(MEMORY, '').strip()}", "small") for n, m in enumerate(memory, 1)],
    ]


def _basis(structure: Structure, deck: Deck) -> list:
    """What all pages stand on: loads, combinations, lumber, edition, assumptions."""
    story = [
        text("Design basis", "title"),
        _loads_and_lumber(structure, deck),
        *_roof_snow(structure),
        text("Load combinations", "section"),
        _combinations(deck),
        text("Assumptions", "section"),
        *[text(f"{n}. {a}") for n, a in enumerate(structure.assumptions, 1)],
        text(
            "Units: inches, feet and pounds; psi of stress, psf and plf of load; sq ft of the surface that loads a"
            ' place. Values marked "from memory" were not seen in a printed copy: look them up before they are relied'
            " on."
        ),
    ]
    if structure.notes:
        story += [text("What could not be followed", "section"), *[text(worded(n)) for n in structure.notes]]
    return story


def _loads_and_lumber(structure: Structure, deck: Deck) -> Table:
    loads, wood = deck.parameters.loads, structure.lumber
    snow = (
        f"{loads.ground_snow_psf:g} psf, the ground snow load taken as it is on the deck"
        if loads.ground_snow_psf
        else "none given"
    )
    return table(
        ("what", "value", "from"),
        [
            ("code edition of the tables", structure.edition, "local.edition"),
            ("dead load", f"{loads.dead_psf:g} psf, the frame's own weight in it", "loads.dead_psf"),
            ("live load", f"{loads.live_psf:g} psf", "loads.live_psf"),
            ("snow load", snow, "loads.ground_snow_psf"),
            ("soil bearing", f"{loads.soil_bearing_psf:g} psf", "loads.soil_bearing_psf"),
            (
                "lumber",
                (
                    f"{wood.species} {wood.grade}, {'wet' if wood.wet else 'dry'} in service,"
                    f" {'incised' if wood.incised else 'not incised'}"
                ),
                "lumber",
            ),
            *_own(deck),
            ("surface carried", f"{structure.path.surface_sqft:.2f} sq ft", "measured off the solids"),
        ],
        (120, 260, 142),
    )


def _roof_snow(structure: Structure) -> list:
    """What comes from a roof above, line by line."""
    if structure.snow is None:
        return []
    return [text("Snow from the roof above", "section"), equations(snow_lines(structure.snow))]


def _combinations(deck: Deck) -> Table:
    return table(
        ("combination", "dead", "live", "snow", "shortest load", "source"),
        [
            (c.name, f"{c.dead:g}", f"{c.live:g}", f"{c.snow:g}", c.duration, c.source)
            for c in those_that_count(deck.parameters.loads)
        ],
        (110, 40, 40, 40, 110, 182),
    )


def _closing(structure: Structure, memory: Sequence[str]) -> list:
    """Every mark, and what is to be looked up."""
    story = [
        CondPageBreak(80),
        text("All members", "title"),
        text("One row a mark: the piece with least room. Every check of every piece, with all its lines: calcs.csv."),
        results_in_short(structure.every),
    ]
    return story + _to_verify(memory)
