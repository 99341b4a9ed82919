"""The values next to the one that a key of the frame has, of what is sold: what each would save or cost by volume, and
what it would make of the members that the key decides (`resized`, or in closed form where places move with it).

Lengths in inches, timber in cubic inches, below 0 where it is saved.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from ...shared.as_toml import up_to
from ...shared.stock import Stock
from ..deck import Deck
from ..plan.joist_spacing import joist_spacing
from ..solid.part import Part
from ..structure.prescribed import OF_THICKNESS, SHARES
from ..structure.structure import MemberResult, Structure
from ..structure.verdicts import NOT_CHECKED
from .frame_cost import FrameCost, volume
from .landing_keys import A_FOOTING, LandingKey, landing_key
from .member_mends import MOST_BEAM_PLIES, SIZES
from .mends import FOOTING_SIZE, MOST_PLIES, POSTS, SPACINGS, Unmet, with_keys
from .resized import Resized

SPAN_POWER = {"deflection": 3, "bending": 2}  # of the span, by which what is checked grows; all else as the span
OVER_BEAMS, BETWEEN_JOISTS = "over the beam", "between joists"  # where blocking of either kind is told to be
ON_POSTS = "bearing on post"
FOOTING_STEP = 2.0  # inches: footings are of even inches


@dataclass(frozen=True)
class RunnerUp:
    """Another value of a key, with what it would take more than the frame as built: cubic inches of timber and of
    concrete, posts with their footings, and their price where all of it has one. `beside` are the other keys that would
    change with it; `check` would have the ratio `ratio` then, None where it was not judged."""

    value: object
    timber: float
    posts: int = 0
    concrete: float = 0.0
    price: float | None = None
    beside: Mapping[str, object] = field(default_factory=dict)
    check: str = ""
    ratio: float | None = None

    @property
    def passes(self) -> bool:
        """Whether it was judged, and no row would be over its limit."""
        return self.ratio is not None and self.ratio <= 1.0 + 1e-9

    @property
    def weighs(self) -> float:
        """Cubic inches of timber, a footing counted as timber."""
        return self.timber + A_FOOTING * self.posts


LessAndMore = tuple[RunnerUp | None, RunnerUp | None]  # the next value that takes less, and the next that takes more


@dataclass(frozen=True)
class NextValues:
    """The next values of each key of a deck's frame."""

    deck: Deck
    structure: Structure
    cost: FrameCost

    @cached_property
    def _resized(self) -> Resized:
        return Resized(self.deck, self.structure)

    @cached_property
    def _by_kind(self) -> Mapping[str, Sequence[MemberResult]]:
        """The members of the deck's own frame."""
        found: dict[str, list[MemberResult]] = {}
        for r in self.structure.results:
            if all(self.deck.by_id[i].stair is None for i in r.ids):
                found.setdefault(r.kind, []).append(r)
        return found

    def decided(self, key: str) -> Sequence[MemberResult]:
        """The members that a key decides: their rows say whether its value will do."""
        if (found := landing_key(key)) is not None:
            place = _landing(found)
            return [r for r in self.structure.results if r.kind == "rim" and r.where == place]
        found_of = [r for kind in DECIDES.get(key, (key,)) for r in self._by_kind.get(kind, ())]
        if key in OF_BEAMS:  # at a free edge a flush beam is the rim
            return found_of + [r for r in self._by_kind.get("rim", ()) if _as_beam(r)]
        if key == "cantilever" and self.deck.layout.flush:
            return []
        return [r for r in found_of if not _as_beam(r)] if key == "rim_plies" else found_of

    @cached_property
    def on_posts(self) -> Sequence[tuple[MemberResult, Unmet]]:
        """The rows of bearing on posts: they grow as the posts are thinner."""
        members = itertools.chain.from_iterable(self._by_kind.values())
        return [(r, row) for r in members for row in _rows(r) if row.check == ON_POSTS]

    def beside(self, key: str) -> LessAndMore:
        """The next values of a key; None where none is sold, or no other can be named."""
        f, deck = self.deck.parameters.frame, self.deck
        if landing_key(key) is not None:
            return self._landing_plies(key)
        if key == "joist":
            return self._sizes(key, f.joist, SIZES, lambda p: p.stock.name == f.joist and p.role != "beam")
        if key == "beam" and not deck.layout.flush:
            return self._sizes(key, deck.layout.beam.name, SIZES, lambda p: p.role == "beam")
        if key == "post":
            return self._sizes(key, f.post, POSTS, lambda p: p.role == "post")
        if key == "beam_plies":
            return self._plies(key, f.beam_plies, MOST_BEAM_PLIES)
        if key == "rim_plies":
            return self._plies(key, f.rim_plies, MOST_PLIES)
        if key == "joist_spacing":
            return self._spacings(deck.layout.joist_spacing)
        if key == "post_spacing":
            return self._post_spacings()
        return self._footing_sizes() if key == FOOTING_SIZE else self._without(key)

    def _without(self, key: str) -> LessAndMore:
        """A row of blocking less, or none of what is there or not: no calculation says what it does."""
        rows = self.deck.parameters.frame.blocking_rows
        of: dict[str, tuple[object, Callable[[Part], bool], int]] = {
            "knee_braces": (False, lambda p: p.role == "knee brace", 1),
            "blocking_at_beams": (False, lambda p: p.role == "blocking" and p.where.startswith(OVER_BEAMS), 1),
            "blocking_rows": (rows - 1, lambda p: p.role == "blocking" and p.where == BETWEEN_JOISTS, rows),
        }
        if key not in of or not of[key][2]:
            return None, None
        value, one, share = of[key]
        taken = [p for p in self.cost.pieces if one(p)]
        if not taken:
            return None, None
        less = -sum(map(volume, taken)) / share
        return RunnerUp(value, less, price=self.cost.of_stock(taken[0].stock, less)), None

    def _judged(
        self, key: str, made: RunnerUp, stock: Stock | None = None, plies: int = 0, load: float = 1.0
    ) -> RunnerUp:
        found = self._resized.worst(self.decided(key), stock, plies, load)
        if found is None:
            return made
        row = found[1]
        return replace(made, check=row.check, ratio=None if row.result == NOT_CHECKED else row.ratio)

    def _sizes(self, key: str, now: str, sizes: Sequence[str], of: Callable[[Part], bool]) -> LessAndMore:
        if now not in sizes:
            return None, None
        at = sizes.index(now)
        less = self._size(key, now, sizes[at - 1], of) if at else None
        return less, self._size(key, now, sizes[at + 1], of) if at + 1 < len(sizes) else None

    def _size(self, key: str, now: str, after: str, of: Callable[[Part], bool]) -> RunnerUp:
        stock, other = self.deck.parameters.stock(now), self.deck.parameters.stock(after)
        before = self.cost.timber(of)
        grown = before * other.thickness * other.width / (stock.thickness * stock.width)
        posts = [p for p in self.cost.pieces if p.role == "post"] if key != "post" else []
        shorter = (other.width - stock.width) * sum(p.footprint.area for p in posts)  # under what is deeper
        prices = (
            self.cost.of_stock(stock, -before),
            self.cost.of_stock(other, grown),
            self.cost.of_stock(posts[0].stock, -shorter) if posts else 0.0,
        )
        price = None if None in prices else math.fsum(x or 0.0 for x in prices)
        made = self._judged(key, RunnerUp(after, grown - before - shorter, price=price), other)
        if key != "post" or made.ratio is None:
            return made
        bears = max((row.ratio or 0.0 for _, row in self.on_posts), default=0.0) * stock.width / other.width
        return replace(made, check=ON_POSTS, ratio=bears) if bears > made.ratio else made

    def _plies(self, key: str, now: int, most: int) -> LessAndMore:
        pieces = [self.deck.by_id[i] for r in self.decided(key) for i in r.ids]
        each = sum(map(volume, pieces)) / now
        stock = pieces[0].stock if pieces else None

        def made(by: int) -> RunnerUp | None:
            if stock is None or not 1 <= now + by <= most:
                return None
            price = self.cost.of_stock(stock, by * each)
            return self._judged(key, RunnerUp(now + by, by * each, price=price), plies=by)

        return made(-1), made(1)

    def _landing_plies(self, key: str) -> LessAndMore:
        found = landing_key(key)
        assert found is not None, "asked of a landing's key"
        if found.key != "rim_plies":
            return None, None
        landing = self.deck.layout.stair_plans[found.stair].landings[found.landing]
        return self._plies(key, landing.rim_plies, MOST_PLIES)

    def _spacings(self, now: float) -> LessAndMore:
        layout = self.deck.layout
        widest = max(
            now, joist_spacing(with_keys(layout.parameters, {"joist_spacing": None}), layout.along, layout.across)
        )
        joists = self.cost.timber(lambda p: p.role == "joist")

        def made(value: float | None) -> RunnerUp | None:
            if value is None:
                return None
            more = joists * (now / value - 1)
            price = self.cost.of_stock(layout.joist, more)
            return self._judged("joist_spacing", RunnerUp(value, more, price=price), load=value / now)

        wider, closer = [s for s in SPACINGS if now < s <= widest], [s for s in SPACINGS if s < now - 1e-9]
        return made(min(wider, default=None)), made(max(closer, default=None))

    def _post_spacings(self) -> LessAndMore:
        """The next spacings at which a beam has a post fewer, or the one with the longest spans has a post more."""
        beams = [(r, len(found), sum(found)) for r in self.decided("post_spacing") if (found := _spans(r))]
        fewer = min((whole / (n - 1) for _, n, whole in beams if n > 1), default=None)
        more = max((whole / n, whole / (n + 1)) for _, n, whole in beams)[1] if beams else None

        def made(value: float | None) -> RunnerUp | None:
            if value is None:
                return None
            rows, posts = [], 0
            for r, n, whole in beams:
                after = max(1, math.ceil(whole / value - 1e-6))
                posts += after - n
                rows += [
                    (row.check, (row.ratio or 0.0) * (n / after) ** _span_power(row.check))
                    for row in _rows(r)
                    if row.check not in SHARES
                ]
            check, ratio = max(rows, key=lambda r: r[1], default=("", None))
            each = self.cost.a_footing
            price = None if each is None else posts * each
            return RunnerUp(up_to(value), 0.0, posts, price=price, check=check, ratio=ratio)

        return made(fewer), made(more)

    def _footing_sizes(self) -> LessAndMore:
        now = self.deck.layout.footing_size
        rows = [row for r in self.decided(FOOTING_SIZE) for row in _rows(r) if row.check != OF_THICKNESS]
        concrete = sum(map(volume, self.cost.footings))

        def made(value: float) -> RunnerUp | None:
            if not rows or value <= 0:
                return None
            share = now / value
            judged = [(row.check, (row.ratio or 0.0) * (share if row.unit == "in" else share**2)) for row in rows]
            check, ratio = max(judged, key=lambda r: r[1])
            more = concrete * (1 / share**2 - 1)
            price = self.cost.of_concrete(more)
            return RunnerUp(value, 0.0, concrete=more, price=price, check=check, ratio=ratio)

        return made(now - FOOTING_STEP), made(now + FOOTING_STEP)


OF_BEAMS = {"beam", "beam_plies", "beam_position", "post_spacing"}
# the members whose rows say whether the value of a key will do, where they are not called as the key
DECIDES = {
    "support": ("ledger",),
    "joist": ("joist", "rim"),
    "joist_spacing": ("joist",),
    "joist_direction": ("joist",),
    "beam_lines": ("joist",),
    "cantilever": ("joist", "rim"),
    "beam_plies": ("beam",),
    "beam_position": ("beam",),
    "post_spacing": ("beam",),
    "rim_plies": ("rim",),
    FOOTING_SIZE: ("footing",),
    "knee_braces": ("knee brace",),
}


def _landing(key: LandingKey) -> str:
    """What its pieces are told to be of."""
    return f"stair {key.stair + 1} landing {key.landing + 1}"


def _rows(r: MemberResult) -> Sequence[Unmet]:
    """The rows of a member that judge it by a ratio."""
    rows = itertools.chain[Unmet](r.table, r.calculation)
    return [row for row in rows if row.ratio is not None and row.result != NOT_CHECKED]


def _as_beam(r: MemberResult) -> bool:
    """Whether a rim is held to the table of beams: it lies on posts."""
    return r.kind == "rim" and any(row.check == "beam span" for row in r.table)


def _spans(r: MemberResult) -> Sequence[float]:
    return [line.value for line in r.facts if line.label == "span"]


def _span_power(check: str) -> int:
    return next((power for name, power in SPAN_POWER.items() if name in check), 1)
