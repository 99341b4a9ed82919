"""Other landings with which a whole stair would pass clear of itself and of the deck: found by trying in plan, nothing
is built.

What is judged is what a stair that turns gets in its own way by: headroom under the flights and landings above, the
posts under them where it passes below, flights too long for their stringers, and the deck that it comes back under.
Inches.
"""

from __future__ import annotations

import itertools
import math
import statistics
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from weakref import WeakKeyDictionary

from shapely.geometry import Polygon

from ...shared.errors import DesignError
from ...shared.standards import find_limit
from ..deck import Deck
from ..input.stair_tables import StairLanding
from ..plan.flight import Flight
from ..plan.spots import CrossPiece, Landing, StairSpot
from ..plan.stages import LevelPlan
from ..plan.stair_carriers import cross_piece
from ..plan.stair_flights import LIKELY_FOOTING, flights_and_landings
from ..plan.stair_plan import plan_stair
from ..plan.stairs_under_deck import IN_THE_FRAME
from ..plan.would_do import Value
from ..rules.check_landings import ASIDE

MOST_WAYS = 1200  # ways of dividing the risers that are looked at, the nearest to the file's first; our own
FEWEST = 2  # risers of a flight: over one step no stair turns back
# what was found, of decks that are still there: many rows of one deck ask for the same stair
_FOUND: WeakKeyDictionary[Deck, dict[int, Value | None]] = WeakKeyDictionary()
JUST_UNDER = 8.0  # inches within the deck's edge: no beam, so no post, stands there; our own
UNDER_HEADER = 4.0  # inches by which a header's narrowest board may pass the end of the plumb cut; our own


@dataclass(frozen=True)
class _Stretch:
    """A flight or landing of a stair, or what is walked on at its foot, `order` from the deck down: its plan with the
    guard posts beside it."""

    order: int
    plan: Polygon
    what: Flight | Landing

    def walked(self, point: tuple[float, float]) -> float:
        """Level of the line of the nosings, or of the landing."""
        w = self.what
        return w.level if isinstance(w, Landing) else min(max(w.pitch_level(w.position(point)[0]), w.foot), w.top)

    def underside(self, point: tuple[float, float], below: Sequence[Flight], carried: bool) -> float:
        """Lowest level of what it is built of. `below`: the flights of the stair; `carried`: on cross pieces."""
        w = self.what
        if isinstance(w, Landing):
            return min(w.frame_bottom, below[w.index + 1].plumb_bottom - UNDER_HEADER)
        x = min(max(w.position(point)[0], 0.0), w.end)
        return max(w.lower_edge(x), w.bearing) - (2 * cross_piece().width if carried else 0.0)


@dataclass(frozen=True)
class _Way:
    """A stair's flights and landings, and the cross pieces under its flights."""

    layout: LevelPlan
    flights: Sequence[Flight]
    landings: Sequence[Landing]
    carriers: Sequence[CrossPiece] = ()

    def limit(self, name: str) -> float:
        """A published limit; where there is none, one that nothing breaks."""
        row = find_limit(name, self.layout.parameters.local.edition)
        return float(row.value) if row else math.inf if name.endswith("max") else 0.0

    @property
    def in_front(self) -> Polygon:
        """What has to be free in front of the lowest riser."""
        foot = self.flights[-1]
        return foot.rectangle(foot.run, foot.run + self.limit("landing_length_min"), ASIDE, foot.width - ASIDE)

    @property
    def stretches(self) -> list[_Stretch]:
        post = self.layout.parameters.stock(self.layout.parameters.guard.post).width
        found = [
            _Stretch(2 * f.index, f.rectangle(0.0, max(f.run, f.lead) + f.nosing, -post, f.width + post), f)
            for f in self.flights
        ]
        found += [_Stretch(2 * m.index + 1, m.polygon.buffer(post, join_style="mitre"), m) for m in self.landings]
        foot = self.flights[-1]
        return sorted([*found, _Stretch(2 * foot.index + 1, self.in_front, foot)], key=lambda s: s.order)

    def clear(self) -> bool:
        """Whether nothing that is judged is in its way."""
        stretches = self.stretches
        if self.under_the_deck():
            return False
        if max(f.risers * f.rise for f in self.flights) > self.limit("flight_vertical_rise_max"):
            return False
        return all(self._passes(upper, [s for s in stretches if s.order > upper.order + 2]) for upper in stretches)

    def under_the_deck(self) -> bool:
        """Whether anything but its first flight comes back under the deck."""
        return any(self._comes_under(s) for s in self.stretches[1:])

    def _comes_under(self, s: _Stretch) -> bool:
        """Whether a stretch comes back under the deck where nobody stands upright or posts would have to give way to
        it."""
        deck, here = self.layout, s.plan.intersection(self.layout.outline.polygon)
        if here.area <= IN_THE_FRAME:
            return False
        low = deck.planes.frame_bottom - (0.0 if deck.flush else deck.beam.width)
        if low - max(s.walked(q) for q in here.convex_hull.exterior.coords) < self.limit("headroom_min"):
            return True
        return here.intersection(deck.outline.polygon.buffer(-JUST_UNDER)).area > IN_THE_FRAME

    def _passes(self, upper: _Stretch, later: Sequence[_Stretch]) -> bool:
        """Whether one passes upright under a stretch, and no post under it stands where one walks."""
        p, w = self.layout.parameters, upper.what
        own = [s.size for s in self.layout.footings if any(t.stair == self.flights[0].stair for t in s.stands)]
        half = max(LIKELY_FOOTING, statistics.median([*own, 0.0])) / 2
        legs = [q for c in self.carriers if c.flight.index == upper.order / 2 for q in c.squares]
        if isinstance(w, Landing) and not w.on_ground:
            legs = w.legs(p.stock(p.frame.post).width)
        for leg in legs:
            walked = any(leg.intersection(s.plan).area > IN_THE_FRAME for s in later)
            if walked or leg.centroid.distance(self.in_front) < half:
                return False
        return all(self._headroom(upper, s) >= self.limit("headroom_min") for s in later)

    def _headroom(self, upper: _Stretch, lower: _Stretch) -> float:
        """The least height over a stretch under one above it; infinite where they do not lie over each other."""
        over = upper.plan.intersection(lower.plan)
        if over.area <= IN_THE_FRAME:
            return math.inf
        carried = any(c.flight.index == upper.order / 2 for c in self.carriers)
        corners = over.convex_hull.exterior.coords
        return min(upper.underside(q, self.flights, carried) - lower.walked(q) for q in corners)


def landings_that_do(deck: Deck, at: int) -> Iterator[Value]:
    """The nearest landings to those of the file with which stair `at` is clear; none where none are found, or where the
    stair does not turn."""
    known = _FOUND.setdefault(deck, {})
    if at not in known:
        known[at] = _found(deck.layout, at)
    if (value := known[at]) is not None:
        yield value


def under_the_deck(deck: Deck) -> Iterator[int]:
    """The stairs of which something comes back under the deck, where posts give way to it."""
    for plan in deck.layout.stair_plans:
        if _Way(deck.layout, plan.flights, plan.landings).under_the_deck():
            yield plan.index


def _found(layout: LevelPlan, at: int) -> Value | None:
    plan = layout.stair_plans[at]
    stops = plan.spot.parameters.landings
    if not any(s.turn != "straight" for s in stops):
        return None
    for changed in _ways(stops, plan.risers):
        spot = replace(plan.spot, parameters=plan.spot.parameters.model_copy(update={"landings": changed}))
        sketched = _Way(layout, *flights_and_landings(layout, spot, plan.risers, plan.rise))
        if sketched.clear() and _draws(layout, spot):
            return _named(at, stops, changed)
    return None


def _draws(layout: LevelPlan, spot: StairSpot) -> bool:
    """Whether the whole stair can be drawn so, with all its landings, is clear, and its stringers are carried."""
    try:
        plan = plan_stair(layout, spot)
    except DesignError:
        return False
    way, carried = _Way(layout, plan.flights, plan.landings, plan.carriers), {c.flight.index for c in plan.carriers}
    span = way.limit(f"stringer_{'solid' if plan.flights[0].solid else 'cut'}_span_max")
    alone = [f for f in plan.flights if f.index not in carried and f.end > span]
    return len(plan.landings) == len(spot.parameters.landings) and not alone and way.clear()


def _named(at: int, before: Sequence[StairLanding], after: Sequence[StairLanding]) -> Value:
    """The one key that is another, or all landings."""
    other = [j for j, (a, b) in enumerate(zip(before, after)) if a != b]
    if len(before) == len(after) and len(other) == 1:
        return f"stair.{at}.landings.{other[0]}.after_risers", after[other[0]].after_risers
    return f"stair.{at}.landings", [s.model_dump(exclude_unset=True) for s in after]


def _ways(stops: Sequence[StairLanding], risers: int) -> Iterator[list[StairLanding]]:
    """Landings after other numbers of risers, the least changed first; then fewer landings."""
    for n in range(len(stops), 0, -1):
        places = itertools.combinations(range(FEWEST, risers - FEWEST + 1), n)
        given = [s.after_risers for s in stops[:n]]
        apart = [p for p in places if all(b - a >= FEWEST for a, b in itertools.pairwise(p))]
        for p in sorted(apart, key=lambda p: sum(abs(a - b) for a, b in zip(p, given)))[:MOST_WAYS]:
            yield [s.model_copy(update={"after_risers": k}) for s, k in zip(stops, p)]
