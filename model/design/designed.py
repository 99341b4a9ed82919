"""The frame of a deck, chosen where the file leaves it out.

The file's frame, with the schema's defaults, is built first; where a member of the finished solids is not met, the keys
that the file leaves out are tried one value further, cheapest first by the timber and footings that they add, until a
frame has no member that is not met. Best first, not a mixed-integer model: a frame seldom needs more than two or three
changes, and every candidate is judged by the very checks that the builder reads, which no linear model holds.
"""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

from ...shared.errors import DesignError
from ...shared.said import Quantity, Words, decimal, number, said
from ..deck import Deck, Progress, build
from ..input.parameters import Parameters
from ..input.surveyed import surveyed
from ..plan.stages import LevelPlan
from ..solid.part import Workshop
from ..structure.prescribed import Prescribed
from ..structure.structure import MemberResult, Structure, analyse
from .landing_keys import A_FOOTING, landing_key
from .mends import FOOTING_SIZE, Mend, Unmet, faults, given_keys, key_value, mends, with_keys

MOST_BUILT = 16  # candidates: beyond, the best of them stands, and the checks say what is not met

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
    deck = build(parameters, progress, shop, layout)
    first = _Candidate(deck, analyse(deck), {}, 0.0)
    stands = surveyed(parameters)
    if not first.faults or (stands and stands.joists):
        return Designed(deck, first.structure, (), 1)
    tried = _LookedAt(parameters, first, shop)
    best = _pruned(_searched(parameters, tried), tried)
    chosen = tuple(
        Chosen(key, key_value(best.deck.parameters, key), _instead(deck, key), _why(mend))
        for key, mend in best.reasons.items()
    )
    best.deck.notes += [c.said for c in chosen]
    best.deck.chosen = frozenset(c.key for c in chosen)
    return Designed(best.deck, best.structure, chosen, 1 + len(tried.made))


def _instead(deck: Deck, key: str) -> object:
    """What a key was before: where the file leaves it to the plan, what that chose."""
    value = key_value(deck.parameters, key)
    by_plan = {FOOTING_SIZE: deck.layout.footing_size, "joist_spacing": deck.layout.joist_spacing}
    return by_plan.get(key) if value is None else value


def _searched(parameters: Parameters, tried: _LookedAt) -> _Candidate:
    """The cheapest candidate without a fault that a key could mend, else the one with fewest."""
    first = tried.first
    given = given_keys(parameters)
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
    while queue and 1 + len(tried.made) < MOST_BUILT:
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
