"""The whole deck: every room called in order, each piece given its mark, and who carries it found from the contacts."""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from ..shared.errors import DesignError, InputError
from ..shared.said import Words
from .as_built.survey import as_built
from .input.parameters import Parameters
from .measuring.bearing import EndBearing, bearing_report
from .measuring.board_spans import board_spans
from .measuring.carriers import carriers
from .measuring.clashes import Clash, clashes
from .measuring.contacts import Contact, contacts
from .measuring.hold_downs import hold_downs_asked, tied_back
from .measuring.loose_ends import FreeEnd, Stretch, free_ends, touching
from .measuring.member_seen import MemberSeen, see_members
from .pieces.bench import build_benches
from .pieces.bound import MOST_PIECES, asked_for, fewer
from .pieces.frame import build_frame
from .pieces.guards import build_guards
from .pieces.knee_braces import build_knee_braces
from .pieces.skirting import build_skirting
from .pieces.stairs import build_stairs
from .pieces.support import build_support
from .pieces.surface import build_surface
from .pieces.trim import build_trim
from .plan.house_places import house_notes
from .plan.layout import lay_out
from .plan.spots import Planes
from .plan.stages import LevelPlan
from .plan.taped_note import taped_notes
from .plan.would_do import with_value
from .solid.part import Part, Workshop
from .solid.roles import GROUPS, ROLES, named

Progress = Callable[[str], None]


@dataclass(eq=False)
class Deck:
    """All parts of one deck, with the plan they came from. `notes` are things a builder should know (rips, crumbs);
    `chosen` are the keys of the frame table and of landings whose values in `parameters` are not the file's but were
    chosen for it."""

    parameters: Parameters
    levels: tuple[LevelPlan, ...]
    parts: list[Part]
    notes: list[Words] = field(default_factory=list)
    chosen: frozenset[str] = frozenset()

    @property
    def layout(self) -> LevelPlan:
        """The plan of the first level."""
        return self.levels[0]

    @property
    def planes(self) -> Planes:
        return self.layout.planes

    @cached_property
    def by_id(self) -> dict[str, Part]:
        return {p.id: p for p in self.parts}

    @cached_property
    def contacts(self) -> list[Contact]:
        return contacts(self.parts)

    @cached_property
    def members(self) -> list[MemberSeen]:
        """Joists, beams, rims and other pieces in bending, with where they bear."""
        return see_members(self.parts, self.contacts)

    # what a frame is chosen by and the checks ask again is read once a deck, as are contacts and members

    @cached_property
    def touching(self) -> dict[int, list[Contact]]:
        """The contacts of each piece, by its place in `parts`."""
        return touching(self.contacts)

    @cached_property
    def board_ends(self) -> list[EndBearing]:
        """What each end of a board rests on."""
        return bearing_report(self.parts)

    @cached_property
    def board_spans(self) -> list[Stretch]:
        """The longest clear stretch of every board of the surface."""
        return board_spans(self.parts, self.touching, named("under boards"))

    @cached_property
    def free_ends(self) -> list[FreeEnd]:
        """Ends of members that nothing holds, or only along a line."""
        return free_ends(self.parts, self.touching)

    @cached_property
    def clashes(self) -> list[Clash]:
        return clashes(self.parts)

    @cached_property
    def tied_back(self) -> list[Part]:
        """The joists that hold-downs tie back to the house's floor, as many as the code asks for of those bought."""
        p = self.parameters
        return tied_back(self.parts, self.contacts, hold_downs_asked(p.hardware.hold_down_lb, p.local.edition))

    def roles(self, *names: str) -> list[Part]:
        return [p for p in self.parts if p.role in names]


def build(
    parameters: Parameters,
    progress: Progress = lambda stage: None,
    shop: Workshop | None = None,
    layout: LevelPlan | None = None,
) -> Deck:
    """The deck of a parameter file. Raises DesignError where the design cannot be drawn.

    A `shop` kept from an earlier build hands out that build's shapes again, with all that was read off their solids;
    `layout` is the plan of these parameters where reading the file has made it already.
    """
    progress("layout")
    layout = layout or lay_out(parameters)
    shop = shop or Workshop()
    notes: list[Words] = [*taped_notes(parameters), *house_notes(layout), *layout.notes]
    parts = _pieces(layout, shop, notes, progress)
    if len(parts) > MOST_PIECES:
        raise _too_many(layout, parts)
    parts = marked(parts)
    progress("contacts")
    deck = Deck(parameters, (layout,), parts, notes)
    found = deck.contacts
    deck.parts = [p.replaced(carried_by=c) for p, c in zip(parts, carriers(parts, found))]
    return deck


def _pieces(
    layout: LevelPlan, shop: Workshop, notes: list[Words], progress: Progress = lambda stage: None
) -> list[Part]:
    """All pieces that a plan asks for, without marks."""
    progress("frame")
    parts = build_support(layout, shop) + build_frame(layout, shop)
    progress("surface")
    parts += build_surface(layout, shop, notes, parts) + build_trim(layout, shop)
    progress("stairs and guards")
    parts += build_stairs(layout, shop, notes) + build_guards(layout, shop)
    parts += build_benches(layout, shop) + build_skirting(layout, shop)
    return parts + build_knee_braces(layout, shop, parts)


def _too_many(layout: LevelPlan, parts: list[Part]) -> DesignError:
    """The refusal of a deck of more pieces than anybody means, with a value that asks for fewer."""
    p, count = layout.parameters, asked_for(parts)
    key = max(count, key=lambda k: (count[k], k))
    mended: tuple[str, object] | None = None
    for name, value in fewer(p, layout, count):
        with contextlib.suppress(DesignError, InputError, ValueError):
            if len(_pieces(lay_out(with_value(p, name, value)), Workshop(), [])) <= MOST_PIECES:
                mended = name, value
                break
    text = f"the deck has {len(parts):,} pieces, {count[key]:,} of them for this; wanted at most {MOST_PIECES:,}"
    return DesignError(key, text, mended)


def build_as_built(parameters: Parameters, **how: Any) -> Deck:
    """The deck cut to what stands; the report's words are among its notes. Takes what `build` takes."""
    built, report = as_built(parameters)
    deck = build(built, **how)
    deck.notes = [*report.notes, *deck.notes]
    return deck


def marked(parts: list[Part]) -> list[Part]:
    """Parts in order of role with marks and ids: identical pieces (same role, stock and shape) share a mark, numbered
    as they come from front to back and left to right; the id adds the piece's own number (`J3-07`)."""
    order = {name: k for k, name in enumerate(ROLES)}
    rank = {g: k for k, g in enumerate(GROUPS)}

    def place(p: Part):
        low = p.box[0]
        return rank[p.group], order[p.role], -1 if p.stair is None else p.stair, *(round(float(c), 3) for c in low)

    marks: dict[tuple, str] = {}
    count: dict[str, int] = {}
    made: dict[str, int] = {}
    result = []
    for p in sorted(parts, key=place):
        key = (p.role, p.stock, id(p.shape))
        if key not in marks:
            letter = ROLES[p.role].letter
            count[letter] = count.get(letter, 0) + 1
            marks[key] = f"{letter}{count[letter]}"
        mark = marks[key]
        made[mark] = made.get(mark, 0) + 1
        result.append(p.replaced(mark=mark, id=f"{mark}-{made[mark]:02d}"))
    return result
