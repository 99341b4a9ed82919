"""Joists of a plan by themselves, as the search for beam lines reads them: where each lies along its own line, and
which of its ends a ledger holds. Inches, positions along the joists from the end that things are set out from.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
from shapely.geometry import LineString, Point, Polygon

from ..plan.clear_of_posts import clear_places
from ..plan.house_places import kept_clear_of_posts, ways_out
from ..plan.joist_spans import MEETS_BEAM
from ..plan.post_places import OVERHANG
from ..plan.stages import LevelPlan

POST_OFF_END = 4.0  # inches from a beam's end within which no post stands; our own
BESIDE_KEPT = 11.5  # inches off a place kept clear at the wall: room for half a footing; our own
ALIKE_ENDS = 0.5  # inches: ends of joists that differ by less are one case; our own

_STRIPS = 8  # across a joist's thickness, in which its end is measured; our own

_Alike = tuple[int, int, bool, bool, bool, tuple[float, float]]  # what alike joists have in common


@dataclass(frozen=True)
class JoistRows:
    """All joists and single rims along them, alike ones once: (n,) positions of both ends, whether a ledger holds them,
    and (n, 2) where alike ones lie across, the first and the last. `slanted` says that an end of it is nailed to a rim
    askew to it, and the other one too, or to a ledger. `line_lengths` gives the beam that a straight line across them
    would be."""

    low: np.ndarray
    high: np.ndarray
    held_low: np.ndarray
    held_high: np.ndarray
    places: np.ndarray
    slanted: np.ndarray
    outline: Polygon
    along: np.ndarray  # (2,) unit vectors
    across: np.ndarray
    begin: float  # of the end that positions are told from, along
    walls: tuple[float, ...] = ()  # where the house stands across the joists without a ledger
    kept: tuple[Polygon, ...] = ()  # plan: where the file wants no post
    covered: tuple[tuple[float, float], ...] = ()  # of each: inches under loads of an area, pounds a square foot there
    rim: float = 0.0  # inches across the rim at the ends that no ledger holds: an overhang is told with it
    bevels: tuple[tuple[float, float], ...] = ()  # of each: inches that one side is shorter at its low, its high end
    _known: dict[float, list[float]] = field(default_factory=dict, compare=False, repr=False)
    _ends: dict[float, tuple[float, float]] = field(default_factory=dict, compare=False, repr=False)

    def seats(self, k: int, lines: np.ndarray, half: float) -> np.ndarray:
        """Inches that a joist lies on lines `2 half` wide, on the mean across its thickness, of those under it: less
        than they are wide where its end is cut aslant over one."""
        low, high = self.low[k], self.high[k]
        at_low, at_high = self.bevels[k] if self.bevels else (0.0, 0.0)
        across = (np.arange(_STRIPS) + 0.5) / _STRIPS  # a joist between two rims is cut alike or the other way round
        first = np.maximum(lines[..., None] - half, low + at_low * across)
        last = np.minimum(lines[..., None] + half, high - at_high * across)
        return np.clip(last - first, 0.0, None).mean(axis=-1)

    def more_load(self, span: float) -> np.ndarray:
        """(n,) pounds a square foot over a whole span that bend it as much as what stands in its middle does: c (2 L -
        c) / L^2 of a load over c inches of L (handbook)."""
        share = np.array([min(1.0, c / span) for c, _ in self.covered] or np.zeros(len(self.low)))
        return share * (2 - share) * np.array([psf for _, psf in self.covered] or np.zeros(len(self.low)))

    def weighs_more(self, load: float) -> np.ndarray:
        """(n,) times as much as under a `load` everywhere, pounds a square foot, each weighs on what carries it."""
        more = [c * psf for c, psf in self.covered] or np.zeros(len(self.low))
        return 1 + np.array(more) / np.maximum(self.high - self.low, 1.0) / load

    @property
    def depth(self) -> float:
        """Of the plan, along the joists."""
        corners = np.asarray(self.outline.exterior.coords) @ self.along
        return float(corners.max() - corners.min())

    def from_low_end(self, layout: LevelPlan, places: Sequence[float]) -> list[float]:
        """Places as the file tells them: from the low end of the plan along its joists, rising."""
        ahead = float(self.along @ layout.along) > 0
        return sorted(float(x) if ahead else round(self.depth - float(x), 6) for x in places)

    def line_lengths(self, at: float) -> list[float]:
        """Of the pieces of a straight line across the joists that lie under the deck: asked for again with every size
        of joists and beams, cut once."""
        if at not in self._known:
            self._known[at] = [g.length for g in self._pieces(at)]
        return self._known[at]

    def line_ends(self, at: float) -> tuple[float, float]:
        """Across the joists, where a straight line across them meets the deck's edges first and last."""
        if at not in self._ends:
            across = [float(np.dot(q, self.across)) for g in self._pieces(at) for q in g.coords]
            self._ends[at] = min(across, default=0.0), max(across, default=0.0)
        return self._ends[at]

    def _pieces(self, at: float) -> list[LineString]:
        corners = np.asarray(self.outline.exterior.coords) @ self.across
        a, b = (self.across * v + self.along * (self.begin + at) for v in (corners.min() - 1, corners.max() + 1))
        cut = self.outline.intersection(LineString([a, b]))
        return [g for g in getattr(cut, "geoms", [cut]) if g.length > 0]

    def has_no_room(self, at: float) -> bool:
        """Whether a beam there would have no place for its posts out of the stretches that are `kept` clear: an end of
        it, or all of it, lies in one further than it may hang past a post."""
        for piece in self._pieces(at) if self.kept else ():
            for place in self.kept:
                inside = piece.intersection(place)
                ends = [piece.interpolate(d) for d in (0.0, piece.length)]
                if inside.length > OVERHANG and any(inside.distance(end) < POST_OFF_END for end in ends):
                    return True
        return False


def rows_of(layout: LevelPlan) -> JoistRows:
    """The joists of a plan, with the rims along them that are one ply, read from where things are set out: so that a
    deck in a mirror is given the same beams."""
    along = layout.along * layout.ahead(layout.along)
    pieces = [piece for _, piece in layout.joist_lines]
    pieces += [q for e, ply, q in layout.rims if ply == 0 and layout.is_lengthwise(e) and not layout.has_ledger(e)]
    begin = float((np.asarray(layout.outline.polygon.exterior.coords) @ along).min())
    ledgers = [
        e.rectangle(0, e.length, 0, layout.joist.thickness)
        for e in layout.outline.edges
        if layout.has_ledger(e) and not layout.is_lengthwise(e)
    ]
    found: dict[_Alike, tuple[float, float, bool, bool, tuple[float, float], bool]] = {}
    bevels: dict[_Alike, tuple[float, float]] = {}
    for piece in pieces:
        s = np.asarray(piece.exterior.coords) @ along - begin
        low, high, at = float(s.min()), float(s.max()), float(np.dot(piece.centroid.coords[0], layout.across))
        at_low = at_high = False
        for ledger in ledgers:
            if ledger.distance(piece) <= MEETS_BEAM:
                on = float(np.dot(ledger.intersection(piece.buffer(1.0)).centroid.coords[0], along)) - begin
                at_low, at_high = at_low or on <= (low + high) / 2, at_high or on > (low + high) / 2
        askew_ends = [_at_slant(layout, along * (x + begin) + layout.across * at) for x in (low, high)]
        slanted = any(askew_ends) and all(a or held for a, held in zip(askew_ends, (at_low, at_high)))
        alike = int(low / ALIKE_ENDS), int(high / ALIKE_ENDS), at_low, at_high, slanted, _covered(layout, piece)
        *_, (first, last), _ = found.get(alike, (low, high, at_low, at_high, (at, at), slanted))
        bevels.setdefault(alike, _bevels(piece, along, layout.across))
        found[alike] = low, high, at_low, at_high, (min(first, at), max(last, at)), slanted
    lows, highs, held_low, held_high, places, askew = (np.array(c) for c in zip(*found.values(), strict=True))
    walls = tuple(
        float(np.dot(e.point(e.length / 2), along)) - begin
        for e in layout.outline.edges
        if e.house and not layout.has_ledger(e) and not layout.is_lengthwise(e)
    )
    kept = tuple(_off_posts(layout)) if any(s.posted for s in layout.footings) else ()
    whole = layout.outline.polygon
    rim = layout.joist.thickness * layout.parameters.frame.rim_plies
    columns = lows, highs, held_low, held_high, places, askew
    covered = tuple(key[-1] for key in found) if layout.parameters.area_load else ()
    return JoistRows(*columns, whole, along, layout.across, begin, walls, kept, covered, rim, tuple(bevels.values()))


def _off_posts(layout: LevelPlan) -> Iterator[Polygon]:
    """Where the middle of no post may be: in stretches and ways out by half of it, in places kept clear at the wall by
    half of its footing."""
    post = layout.parameters.stock(layout.parameters.frame.post).width / 2
    yield from (place for _, place in clear_places(layout))
    yield from (way.buffer(post, join_style="mitre") for way in ways_out(layout))
    yield from (place.buffer(BESIDE_KEPT, join_style="mitre") for place in kept_clear_of_posts(layout))


def _bevels(joist: Polygon, way: np.ndarray, aside: np.ndarray) -> tuple[float, float]:
    """Inches that one side of a joist is shorter than the other, at its low and at its high end."""
    ring = np.asarray(joist.exterior.coords)
    along, across = ring @ way, ring @ aside
    right = across > (across.min() + across.max()) / 2
    lows, highs = ([f(along[side]) for side in (right, ~right)] for f in (np.min, np.max))
    return float(abs(lows[0] - lows[1])), float(abs(highs[0] - highs[1]))


def _covered(layout: LevelPlan, joist: Polygon) -> tuple[float, float]:
    """Inches of a joist under loads of an area, and pounds a square foot of those on the mean."""
    on = [(joist.intersection(Polygon(a.polygon)).area, a.psf) for a in layout.parameters.area_load]
    area = sum(part for part, _ in on)
    if area <= 0:
        return 0.0, 0.0
    return round(area / layout.joist.thickness, 1), round(sum(part * psf for part, psf in on) / area, 3)


def _at_slant(layout: LevelPlan, end: np.ndarray) -> bool:
    """Whether the edge at the end of a joist lies askew to it and carries no ledger."""
    across = [e for e in layout.outline.edges if not layout.is_lengthwise(e)]
    edge = min(across, key=lambda e: (round(LineString([e.start, e.end]).distance(Point(end)), 3), e.index))
    return not (edge.parallel_to(layout.across) or layout.has_ledger(edge))
