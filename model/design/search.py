"""The search for a frame by its keys: candidates built and judged on their solids, the cheapest first."""

from __future__ import annotations

import heapq
import itertools
import math
from collections.abc import Callable, Mapping, Set
from dataclasses import dataclass, field, replace
from functools import cached_property

from ...shared.errors import DesignError
from ..deck import Deck, build
from ..input.parameters import Parameters
from ..measuring.measure import measure_all
from ..rules.check_frame import check_frame
from ..rules.check_house import check_house
from ..rules.check_no_post import check_no_post
from ..rules.check_result import Checking, CheckResult
from ..rules.check_solids import check_solids
from ..solid.part import Workshop
from ..solid.roles import in_group
from ..structure.structure import MemberResult, Structure, analyse
from ..structure.verdicts import NOT_MET
from .all_at_once import all_at_once
from .costs import Costs
from .landing_keys import A_FOOTING
from .mends import Mend, Unmet, faults, key_value, mends, with_keys
from .row_mends import row_mends

FAULT = A_FOOTING / 4  # cubic inches: what a fault weighs against timber, so that mends that help come first (our own)
MOST_HELD = (
    6  # candidates built to mend rows of the surroundings alone: other posts seldom do what six have not (our own)
)
BESIDE_THE_FRAME = frozenset((*in_group("guards"), *in_group("built-ins")))
MOST_FINISHED = 4  # candidates built after a search has ended, to mend the best of it (our own)

Looked = Callable[[Deck], None]  # told of each deck whose members hold, before its rows are looked at
FrameKeys = tuple[tuple[str, object], ...]  # sorted by key


def unseen(deck: Deck) -> None:
    """Nobody is told of a deck."""


@dataclass(frozen=True)
class Candidate:
    """A deck with some frame: the structure that judged it, the mends that led to it by key, and what it costs."""

    deck: Deck
    structure: Structure
    reasons: Mapping[str, Mend]
    cost: float
    seen: dict[str, list[CheckResult]] = field(default_factory=dict)  # what is looked at once, by whoever asks first

    @cached_property
    def faults(self) -> list[tuple[MemberResult, Unmet]]:
        """Of members of the frame and of stairs: of guards and benches no frame mends any."""
        return [f for f in faults(self.structure.results) if f[0].kind not in BESIDE_THE_FRAME]

    @property
    def over(self) -> float:
        """How far its faults lie past their limits, as shares of these, all together."""
        return sum(max((row.ratio or math.inf) - 1, 0.0) for _, row in self.faults)

    @property
    def rows(self) -> list[CheckResult]:
        """The rows of the frame's own rules, of the house as found, of its solids and of places kept clear of posts
        that are not met."""
        if "rows" not in self.seen:
            seen = Checking(self.deck, measure_all(self.deck.parts))
            check_frame(seen, self.structure)
            check_house(seen)
            check_solids(seen)
            check_no_post(seen)
            beside = {i for r in self.structure.results if r.kind in BESIDE_THE_FRAME for i in r.ids}
            found = [r for r in seen.results if r.result == NOT_MET]
            self.seen["rows"] = [r for r in found if not r.ids or not beside.issuperset(r.ids)]
        return self.seen["rows"]

    @property
    def followed(self) -> bool:
        """Whether the load came down to every footing: where members carry each other in a ring, none of what stands
        under them is judged."""
        judged = {i for r in self.structure.results for i in r.ids}
        return all(p.id in judged for p in self.deck.roles("footing"))

    @property
    def met(self) -> bool:
        """Whether every footing is judged, and neither a member nor a row is not met."""
        return self.followed and not self.faults and not self.rows

    def mends(self, given: Set[str], members: int) -> list[Mend]:
        """What may mend its faults; where there are no more than those `members` that no key mends, its rows."""
        if self.mendable(given, members):
            return list(mends(self.faults, self.deck, given))
        return list(row_mends(self.rows, self.deck, given))

    def mendable(self, given: Set[str], members: int) -> bool:
        """Whether a member is left that a key may mend: surely where there are more than those `members` of the first
        candidate that no key mends; of fewer, which may be others, each is asked."""
        return len(self.faults) > members or any(any(mends([f], self.deck, given)) for f in self.faults)

    def wrong(self, members: int) -> tuple[int, int]:
        """How much is not met: faults of members, and where there are no more than `members`, rows."""
        return len(self.faults), len(self.rows) if len(self.faults) <= members else 0


def judged(deck: Deck, costs: Costs, watch: Looked) -> Candidate:
    """A deck with the structure that judges it; who watches is told of it where no member of its frame is at fault."""
    made = Candidate(deck, analyse(deck), {}, costs.of_deck(deck))
    if not made.faults:
        watch(deck)
    return made


@dataclass
class LookedAt:
    """The decks with changes to the frame of the `first`, each built once: what is looked at while the search goes on
    is asked for again when its changes are taken back one by one."""

    parameters: Parameters
    first: Candidate
    shop: Workshop
    costs: Costs
    watch: Looked = unseen
    below: float = math.inf  # what a candidate may cost at most: another frame that is met costs as much
    made: dict[FrameKeys, Candidate] = field(default_factory=dict)
    undrawn: set[FrameKeys] = field(default_factory=set)

    def with_changes(self, changes: FrameKeys, reasons: Mapping[str, Mend]) -> Candidate | None:
        """The deck with these changes to its frame; None where no such frame can be drawn: too low, too narrow."""
        known = self.made.get(changes)
        if known is None and changes not in self.undrawn:
            known = self._built(changes)
            if known is None:
                self.undrawn.add(changes)
            else:
                self.made[changes] = known
        return known and replace(known, reasons=reasons)

    def _built(self, changes: FrameKeys) -> Candidate | None:
        try:
            deck = build(with_keys(self.parameters, dict(changes)), shop=self.shop)
        except DesignError:
            return None
        if any(now and not before for now, before in zip(dug_in(deck), dug_in(self.first.deck))):
            return None
        return judged(deck, self.costs, self.watch)


def searched(tried: LookedAt, given: Set[str], most: int, rows: bool = True, more: int = MOST_FINISHED) -> Candidate:
    """The cheapest candidate without a fault, or with `rows` a row, that a key could mend, else the one with fewest, of
    at most so many, and so many `more` to finish the best; none changes a key that is `given`."""
    first = tried.first
    tie = itertools.count()
    queue: list[tuple[float, int, FrameKeys, Mapping[str, Mend]]] = []
    seen: set[FrameKeys] = {()}

    fault = FAULT + tried.costs.weighs

    def offer(of: Candidate, changes: FrameKeys) -> None:
        for mend in of.mends(given, least):
            after = tuple(sorted((dict(changes) | {mend.key: mend.value}).items()))
            if after not in seen and of.cost + mend.adds < tried.below:
                seen.add(after)
                reasons = {**of.reasons, mend.key: of.reasons.get(mend.key, mend)}
                weighs = fault * max(len(of.faults), 1)
                heapq.heappush(queue, (of.cost + mend.adds + weighs, next(tie), after, reasons))
        together = all_at_once(of.faults, of.deck, given, tried.costs) if len(of.faults) > least else {}
        after = tuple(sorted((dict(changes) | {key: mend.value for key, mend in together.items()}).items()))
        adds = sum(mend.adds for mend in together.values())
        if len(together) > 1 and after not in seen and of.cost + adds < tried.below:
            seen.add(after)
            reasons = {**of.reasons, **{key: of.reasons.get(key, mend) for key, mend in together.items()}}
            heapq.heappush(queue, (of.cost + adds + fault, next(tie), after, reasons))

    def done(of: Candidate) -> bool:
        return not of.mendable(given, least) and not (rows and of.mends(given, least))

    least = sum(not any(mends([f], first.deck, given)) for f in first.faults)
    best = first
    if done(first):
        return first
    offer(first, ())
    held = 0  # candidates whose members hold, though a row is left
    while queue and 1 + len(tried.made) < most and held <= MOST_HELD:
        _, _, changes, reasons = heapq.heappop(queue)
        made = tried.with_changes(changes, reasons)
        if made is None:
            continue
        if done(made) and (not rows or len(made.rows) <= len(best.rows)):
            return made
        held += not made.mendable(given, least)
        best = min(best, made, key=lambda c: (*c.wrong(least if rows else -1), c.cost))
        offer(made, changes)
    return _finished(best, tried, given, least, more)


def _finished(best: Candidate, tried: LookedAt, given: Set[str], least: int, more: int) -> Candidate:
    """The best of a search that ended too soon, mended further, the cheapest way first, as long as fewer faults are
    left each time, or as many by half as much: where one key more would do, the frame is not left without it."""
    most = len(tried.made) + more
    while best.mendable(given, least) and len(tried.made) < most:
        better = None
        for mend in sorted(best.mends(given, least), key=lambda m: m.adds):
            if len(tried.made) >= most:
                break
            reasons = {**best.reasons, mend.key: best.reasons.get(mend.key, mend)}
            now = {k: key_value(best.deck.parameters, k) for k in best.reasons} | {mend.key: mend.value}
            made = tried.with_changes(tuple(sorted(now.items())), reasons)
            if made is None:
                continue
            fewer, as_many = len(made.faults) - len(best.faults), len(made.faults) == len(best.faults)
            if fewer < 0 or (as_many and made.over <= best.over / 2):
                better = made
                break
        if better is None:
            break
        best = better
    return best


def pruned(best: Candidate, tried: LookedAt) -> Candidate:
    """The candidate without the changes that later ones made needless."""
    for key in list(best.reasons):
        reasons = {k: m for k, m in best.reasons.items() if k != key}
        if not reasons:
            break
        changes = tuple(sorted((k, key_value(best.deck.parameters, k)) for k in reasons))
        made = tried.with_changes(changes, reasons)
        if made is None or len(made.faults) > len(best.faults) or made.cost > best.cost:
            continue
        if "rows" not in best.seen or len(made.rows) <= len(best.rows):
            best = made
    return best


def dug_in(deck: Deck) -> tuple[bool, bool]:
    """Whether a beam bears below grade, and whether the frame's edge lies there: they are drawn so where the file
    itself asks for a frame so deep."""
    edge = [p for p in deck.parts if p.role in ("rim", "ledger")]
    return (
        any(not s.posted and s.top < deck.planes.grade(*s.centre) - 1e-6 for s in deck.layout.footings),
        any(p.box[0, 2] < deck.planes.grade(x, y) - 1e-6 for p in edge for x, y in p.footprint.exterior.coords),
    )
