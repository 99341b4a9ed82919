"""The frame of a deck, chosen where the file leaves it out.

Some hundred frames are estimated on the plan (`estimate`): joists of every size sold, on straight beams wherever they
may lie. Those that would be much cheaper than the plan's own frame, with beams along its edges, are built first, then
that one. Where a member of the finished solids is not met, the keys that the file leaves out are tried one value
further, cheapest first by timber and footings, until a frame has no row that is not met. Best first, not a
mixed-integer model: a frame seldom needs more than two or three changes, and every candidate is judged by the very
checks that the builder reads, which no linear model holds.
"""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass, field, replace
from functools import cached_property

from ...shared.errors import DesignError
from ...shared.said import Quantity, Words, decimal, number, said
from ..deck import Deck, Progress, build
from ..input.parameters import Parameters
from ..input.surveyed import surveyed
from ..measuring.measure import measure_all
from ..plan.layout import lay_out
from ..plan.stages import LevelPlan
from ..rules.check_frame import check_frame
from ..rules.check_result import Checking
from ..rules.check_solids import check_solids
from ..solid.part import Workshop
from ..structure.prescribed import Prescribed
from ..structure.structure import MemberResult, Structure, analyse
from ..structure.verdicts import NOT_MET
from .estimate import Estimated, worth_building
from .landing_keys import A_FOOTING, landing_key
from .mends import FOOTING_SIZE, Mend, Unmet, faults, given_keys, key_value, mends, with_keys

MOST_BUILT = 16  # candidates: beyond, the best of them stands, and the checks say what is not met

MOST_MENDED = 5  # of a frame that was estimated: the next one estimated is tried then
FAULT = A_FOOTING / 4  # cubic inches: what a fault weighs against timber, so that mends that help come first (our own)

FrameKeys = tuple[tuple[str, object], ...]  # sorted by key


@dataclass(frozen=True)
class Chosen:
    """A key of the frame table, what was chosen in place of the schema's default, and why."""

    key: str
    value: object
    instead: object
    why: Words

    @property
    def said(self) -> Words:
        landing = landing_key(self.key)
        key = said("frame.{key}", key=self.key) if landing is None else landing.said
        if self.instead is None:
            return said("{key} chosen: {value}: {why}", key=key, value=_value(self.value), why=self.why)
        return said(
            "{key} chosen: {value}, not {instead}: {why}",
            key=key,
            value=_value(self.value),
            instead=_value(self.instead),
            why=self.why,
        )


@dataclass(frozen=True)
class Designed:
    """A deck with the structure that judged it, and what was chosen for it; `built` frames were looked at."""

    deck: Deck
    structure: Structure
    chosen: tuple[Chosen, ...]
    built: int

    @property
    def faults(self) -> list[tuple[MemberResult, Unmet]]:
        """What no frame that was looked at could mend."""
        return faults(self.structure.results)


@dataclass(frozen=True)
class _Candidate:
    deck: Deck
    structure: Structure
    reasons: Mapping[str, Mend]
    cost: float

    @cached_property
    def faults(self) -> list[tuple[MemberResult, Unmet]]:
        return faults(self.structure.results)


@dataclass
class _LookedAt:
    """The decks with changes to the frame of the `first`, each built once: what is looked at while the search goes on
    is asked for again when its changes are taken back one by one."""

    parameters: Parameters
    first: _Candidate
    shop: Workshop
    made: dict[FrameKeys, _Candidate] = field(default_factory=dict)
    undrawn: set[FrameKeys] = field(default_factory=set)

    def with_changes(self, changes: FrameKeys, reasons: Mapping[str, Mend]) -> _Candidate | None:
        """The deck with these changes to its frame; None where no such frame can be drawn: too low, too narrow."""
        known = self.made.get(changes)
        if known is None and changes not in self.undrawn:
            known = self._built(changes)
            if known is None:
                self.undrawn.add(changes)
            else:
                self.made[changes] = known
        return known and replace(known, reasons=reasons)

    def _built(self, changes: FrameKeys) -> _Candidate | None:
        try:
            deck = build(with_keys(self.parameters, dict(changes)), shop=self.shop)
        except DesignError:
            return None
        if any(now and not before for now, before in zip(_dug_in(deck), _dug_in(self.first.deck))):
            return None
        return _Candidate(deck, analyse(deck), {}, _timber(deck) - _timber(self.first.deck))


def designed(
    parameters: Parameters,
    progress: Progress = lambda stage: None,
    shop: Workshop | None = None,
    layout: LevelPlan | None = None,
) -> Designed:
    """The deck of a parameter file, its frame chosen where the file leaves it out. Takes what `build` takes and raises
    DesignError as it does. A frame that stands already, as surveyed, is not chosen."""
    shop = shop or Workshop()
    stands = surveyed(parameters)
    standing = bool(stands and stands.joists)
    layout = layout or lay_out(parameters)
    cheaper: list[Designed] = []
    built = 0
    for frame in [] if standing else worth_building(layout, given_keys(parameters)):
        found, saved = _as_estimated(parameters, frame, layout, progress, shop)
        built += found.built if found else 1
        if found is not None and saved:
            return replace(found, built=built)
        cheaper += [found] if found else []
    own = _mended(parameters, layout, progress, shop, standing)
    made = min([*([] if own.faults else [own]), *cheaper], key=lambda d: _timber(d.deck), default=own)
    return replace(made, built=built + own.built)


def _mended(parameters: Parameters, layout: LevelPlan, progress: Progress, shop: Workshop, standing: bool) -> Designed:
    """The deck with the plan's own frame, mended where a member of it is not met."""
    deck = build(parameters, progress, shop, layout)
    first = _Candidate(deck, analyse(deck), {}, 0.0)
    if not first.faults or standing:
        return Designed(deck, first.structure, (), 1)
    tried = _LookedAt(parameters, first, shop)
    best = _pruned(_searched(tried, given_keys(parameters), MOST_BUILT), tried)
    chosen = tuple(
        Chosen(key, key_value(best.deck.parameters, key), _instead(parameters, layout, key), _why(mend))
        for key, mend in best.reasons.items()
    )
    return Designed(_noted(best.deck, chosen), best.structure, chosen, 1 + len(tried.made))


def _as_estimated(
    parameters: Parameters, frame: Estimated, layout: LevelPlan, progress: Progress, shop: Workshop
) -> tuple[Designed | None, bool]:
    """The deck with an estimated frame, mended where a few keys more do it, and whether what mends it costs less than
    the frame saves. None where it cannot be drawn so, or a check of its frame is not met whatever is tried."""
    framed = with_keys(parameters, frame.keys)
    try:
        deck = build(framed, progress, shop)
    except DesignError:
        return None, False
    made = _Candidate(deck, analyse(deck), {}, 0.0)
    if any(_dug_in(deck)):
        return None, False
    built = 1
    if made.faults:
        tried = _LookedAt(framed, made, shop)
        made = _pruned(_searched(tried, given_keys(parameters), MOST_MENDED), tried)
        built += len(tried.made)
    if made.faults or not _frame_met(made.deck, made.structure):
        return None, False
    why = said(
        "{posts} posts where beams along the edges ask for {before}, about {share} percent less timber and footings",
        posts=number(sum(len(s.stands) for s in made.deck.layout.footings)),
        before=number(sum(len(s.stands) for s in layout.footings)),
        share=number(100 * (1 - frame.cost / frame.instead), 0),
    )
    reasons = {key: _why(mend) for key, mend in made.reasons.items()}
    chosen = tuple(
        Chosen(key, key_value(made.deck.parameters, key), _instead(parameters, layout, key), reasons.get(key, why))
        for key in {**frame.keys, **made.reasons}
    )
    found = Designed(_noted(made.deck, chosen), made.structure, chosen, built)
    return found, made.cost <= frame.instead - frame.cost


def _frame_met(deck: Deck, structure: Structure) -> bool:
    """Whether no row of the frame's own rules, and none of its solids, is not met."""
    seen = Checking(deck, measure_all(deck.parts))
    check_frame(seen, structure)
    check_solids(seen)
    return all(r.result != NOT_MET for r in seen.results)


def _noted(deck: Deck, chosen: Sequence[Chosen]) -> Deck:
    deck.notes += [c.said for c in chosen]
    deck.chosen = frozenset(c.key for c in chosen)
    return deck


def _instead(parameters: Parameters, layout: LevelPlan, key: str) -> object:
    """What a key was before: where the file leaves it to the plan, what that chose."""
    value = key_value(parameters, key)
    by_plan = {FOOTING_SIZE: layout.footing_size, "joist_spacing": layout.joist_spacing}
    return by_plan.get(key) if value is None else value


def _searched(tried: _LookedAt, given: Set[str], most: int) -> _Candidate:
    """The cheapest candidate without a fault that a key could mend, else the one with fewest, of at most so many; none
    changes a key that is `given`."""
    first = tried.first
    tie = itertools.count()
    queue: list[tuple[float, int, FrameKeys, Mapping[str, Mend]]] = []
    seen: set[FrameKeys] = {()}

    def offer(of: _Candidate, changes: FrameKeys) -> None:
        found = of.faults
        for mend in mends(found, of.deck, given):
            after = tuple(sorted((dict(changes) | {mend.key: mend.value}).items()))
            if after not in seen:
                seen.add(after)
                reasons = {**of.reasons, mend.key: of.reasons.get(mend.key, mend)}
                heapq.heappush(queue, (of.cost + mend.adds + FAULT * len(found), next(tie), after, reasons))

    offer(first, ())
    least = sum(not any(mends([fault], first.deck, given)) for fault in first.faults)
    best = first
    while queue and 1 + len(tried.made) < most:
        _, _, changes, reasons = heapq.heappop(queue)
        made = tried.with_changes(changes, reasons)
        if made is None:
            continue
        if len(made.faults) <= least:
            return made
        best = min(best, made, key=lambda c: (len(c.faults), c.cost))
        offer(made, changes)
    return best


def _pruned(best: _Candidate, tried: _LookedAt) -> _Candidate:
    """The candidate without the changes that later ones made needless."""
    for key in list(best.reasons):
        reasons = {k: m for k, m in best.reasons.items() if k != key}
        if not reasons:
            break
        changes = tuple(sorted((k, key_value(best.deck.parameters, k)) for k in reasons))
        made = tried.with_changes(changes, reasons)
        if made is not None and len(made.faults) <= len(best.faults) and made.cost <= best.cost:
            best = made
    return best


def _dug_in(deck: Deck) -> tuple[bool, bool]:
    """Whether a beam bears below grade, and whether the frame's edge lies there: they are drawn so where the file
    itself asks for a frame so deep."""
    edge = [p for p in deck.parts if p.role in ("rim", "ledger")]
    return (
        any(not s.posted and s.top < deck.planes.grade(*s.centre) - 1e-6 for s in deck.layout.footings),
        any(p.box[0, 2] < deck.planes.grade(x, y) - 1e-6 for p in edge for x, y in p.footprint.exterior.coords),
    )


def _timber(deck: Deck) -> float:
    """Cubic inches of the frame with its landings, footings counted as timber."""
    wood = sum(p.shape.polygon.area * p.shape.thickness for p in deck.parts if p.group in ("frame", "blocking"))
    return wood + A_FOOTING * sum(p.role == "footing" for p in deck.parts)


def _why(mend: Mend) -> Words:
    row, member = mend.row, mend.member
    where = f"{member.kind} {member.where}".strip()
    measured, limit = (row.measured, row.limit) if isinstance(row, Prescribed) else (row.demand, row.capacity)
    if measured is None or limit is None:
        return said("{check} of the {where} was not met", check=row.check, where=where)
    return said(
        "{check} of the {where} was {measured} against {limit}{unit}",
        check=row.check,
        where=where,
        measured=decimal(measured) if row.unit == "in" else number(measured, 0, grouped=True),
        limit=decimal(limit) if row.unit == "in" else number(limit, 0, grouped=True),
        unit="" if row.unit == "in" else f" {row.unit}",
    )


def _value(value: object) -> str | Quantity:
    return decimal(value, None) if isinstance(value, float) else str(value)
