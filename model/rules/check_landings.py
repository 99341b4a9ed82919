"""Landing rules against the solids: at the foot and the top of every flight, and the height between landings."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from ...shared.cited import Missing
from ...shared.said import decimal, said, together
from ..measuring.flight_seen import (
    STRIDE,
    WALKED,
    FlightSeen,
    along,
    band_of,
    extent,
    lowest_riser,
    underside,
)
from ..measuring.measure import Measured
from .check_result import Checking, places

AROUND_A_POST = 1.0  # inches beside a post that are not walked: the boards' gap round it, and as much again; our own
OFF_PAD = "step down off a pad of concrete"
FILLED_UP = "to the ground along its edges; filled up to them there is none"
OVER_PAD = "ground over a pad of concrete"
DRAINS = "common practice, no source: water and soil run off a pad, not onto it"
LEVEL_WITH = 0.01  # inches of rounding
UNDERFOOT = 1.0  # inches over a landing's level: what comes up no higher does not end it; our own
WAIST = 36.0  # inches over it: what begins higher hangs over the landing and does not stand in it; our own
LEFT_BY_A_POST = 2.0  # inches beside a post in which corners of boards too small to hold may be missing; our own
ASIDE = 2.0  # inches inside a flight's sides between which its landings are walked; our own
ABREAST = 6.0  # inches across, of floor that is wanting beside a post; our own
AT_THE_WALL = "cut short at the house's wall"
_AT_WALL = 1.0  # inches from the wall within which a pad ends at it: a joint is left; our own
_FAR = 400.0  # inches: further than any landing is looked for


def check_landings(c: Checking, flights: list[FlightSeen]) -> None:
    """The landings of every flight of one stair."""
    for f in flights:
        c.add(
            "flight's rise between landings", c.row("flight_vertical_rise_max"), "at most", f.top.level - f.foot, f.name
        )
        _foot(c, f)
        _top(c, f)
        _head(c, f)
    for stair in dict.fromkeys(f.stair for f in flights):
        _ground_over(c, stair)
    if flights:
        _off_the_pad(c, flights[-1])


def _ground_over(c: Checking, stair: int) -> None:
    """How far grade comes up over the top of a stair's concrete somewhere: there the ground has to be cut back."""
    for m in c.of("pad"):
        if m.part.stair != stair:
            continue
        if c.deck.parameters.stair[stair].total_rise is not None:
            why = "the total rise is given: grade at the foot is not the plane's"
            c.skip(OVER_PAD, DRAINS, m.part.where, why)
            continue
        v = m.part.vertices
        over = max(c.deck.planes.grade(x, y) - z for x, y, z in v[v[:, 2] > v[:, 2].max() - 1e-6].tolist())
        ids, why = places([m]), "" if over <= LEVEL_WITH else "the ground is cut back there, or the total rise given"
        c.add(OVER_PAD, DRAINS, "at most", over, m.part.where, ids, bound=LEVEL_WITH, unit="in", why=why)


def _off_the_pad(c: Checking, f: FlightSeen) -> None:
    """The greatest drop from the concrete at a stair's foot to the ground along its edges from the lowest riser on,
    where one walks off; not those at the house's wall. Grade and the pad's top are planes: it is at a corner."""
    pads = [m for m in f.foot_pieces if m.role == "pad"]
    row, place = c.row("riser_height_max"), f"{f.name} foot"
    if not pads:
        return
    if c.deck.parameters.stair[f.stair].total_rise is not None:
        c.skip(OFF_PAD, row, place, "the total rise is given: grade at the foot is not the plane's", places(pads))
        return
    found = []
    for m in pads:
        before = band_of(f.out, (f.sides[0] - _FAR, f.sides[1] + _FAR), f.last.front, f.last.front + _FAR)
        corners = [
            (x, y)
            for x, y in shapely.get_coordinates(m.part.footprint.intersection(before)).tolist()
            if not c.deck.layout.house_wall.distance(shapely.Point(x, y)) < _AT_WALL
        ]
        drops = [f.foot - c.deck.planes.grade(x, y) for x, y in corners]
        found += [(max(0.0, *drops), place, places([m]))] if drops else []
    c.worst(OFF_PAD, row, "at most", found, local=c.local.riser_height, why=FILLED_UP)


def _foot(c: Checking, f: FlightSeen) -> None:
    place = f"{f.name} landing at the foot"
    length, row = c.row("landing_length_min"), c.row("tread_slope_max")
    area = _joined([m.part.footprint for m in f.foot_pieces])
    strip = area.intersection(
        band_of(f.out, (f.sides[0] + ASIDE, f.sides[1] - ASIDE), f.last.front - 1, f.last.front + _FAR)
    )
    if strip.is_empty:
        c.skip("landing length", length, place, "no landing surface found in front of the lowest riser")
        return
    at = shapely.get_coordinates(strip) @ f.out
    riser = lowest_riser(c.measured, f)
    end, stands = _stands_in(c, f, riser, float(at.max()))
    if not stands:  # a pad is cut round what stands in it
        flush = [m.part.footprint for m in c.of("footing") if abs(m.box[1][2] - f.foot) < LEVEL_WITH]
        end = _floor_to(f, _joined([area, *flush]) if flush else area, riser, end)
    c.add(
        "landing length",
        length,
        "at least",
        end - riser,
        place,
        places([*f.foot_pieces, *stands]),
        why=together(
            "from the lowest riser, in the direction of travel",
            *(said("up to the {role} that stands there", role=m.role) for m in stands),
            AT_THE_WALL if not stands and strip.distance(c.deck.layout.house_wall) < _AT_WALL else "",
        ),
    )
    _over(c, f, riser, place)
    wide = extent(f.stringers, f.across) if f.stringers else f.sides
    across = shapely.get_coordinates(area) @ f.across
    c.add(
        "landing width",
        length,
        "at least",
        float(across.max() - across.min()),
        place,
        places(f.foot_pieces),
        bound=wide[1] - wide[0],
        why="not less than the width of the stair served",
    )
    tops = [float(m.box[1][2]) for m in f.foot_pieces]
    run = max(float(at.max() - at.min()), 1.0)
    c.add(
        "landing slope", row, "at most", (max(tops) - min(tops)) / run, place, places(f.foot_pieces), unit="in per in"
    )


def _joined(shapes: Sequence[BaseGeometry]) -> BaseGeometry:
    """One floor of what lies side by side, the gaps between too narrow to step into."""
    return shapely.union_all([s.buffer(0.5, join_style="mitre") for s in shapes]).buffer(-0.5, join_style="mitre")


def _floor_to(f: FlightSeen, area: BaseGeometry, riser: float, end: float) -> float:
    """How far from `riser` to `end` there is floor over the whole width that is walked: up to where a part of it more
    than a post across is cut away, as a pad at the house's wall is."""
    if end - riser <= UNDERFOOT:
        return end
    missing = band_of(f.out, (f.sides[0] + ASIDE, f.sides[1] - ASIDE), riser + UNDERFOOT, end - LEVEL_WITH).difference(
        area
    )
    for part in getattr(missing, "geoms", [missing]):
        if part.is_empty:
            continue
        corners = shapely.get_coordinates(part)
        if np.ptp(corners @ f.across) > ABREAST and np.ptp(corners @ f.out) > UNDERFOOT:
            end = min(end, float((corners @ f.out).min()))
    return end


def _stands_in(c: Checking, f: FlightSeen, riser: float, end: float) -> tuple[float, list[Measured]]:
    """How far along the way down a landing from `riser` to `end` is free over the flight's width, and what ends it."""
    low, high = _walked(c, f)
    if end - riser <= UNDERFOOT or high <= low:
        return end, []
    way = band_of(f.out, (low, high), riser + UNDERFOOT, end)
    first: list[Measured] = []
    own = {m.id for t in f.treads for m in t.pieces}  # the lowest tread reaches past its riser
    for m in c.measured:
        if m.id in own:
            continue
        bottom, top = float(m.box[0][2]), float(m.box[1][2])
        if bottom > f.foot + WAIST or top < f.foot + UNDERFOOT or m.role == "handrail":
            continue
        hit = m.part.footprint.intersection(way)
        if hit.area > UNDERFOOT and (near := float((shapely.get_coordinates(hit) @ f.out).min())) < end - LEVEL_WITH:
            end, first = near, [m]
    return end, first


def _walked(c: Checking, f: FlightSeen) -> tuple[float, float]:
    """Between which places across it one steps off a flight; a pad stepped onto reaches further, by `pad.side`."""
    low, high = f.sides
    on_pad = not f.treads and np.allclose(f.sides, extent(f.foot_pieces, f.across))
    aside = ASIDE + (c.deck.parameters.stair[f.stair].pad.side if on_pad else 0.0)
    return low + aside, high - aside


def _over(c: Checking, f: FlightSeen, riser: float, place: str) -> None:
    """What hangs over a landing, as far as one has to be long: straight up from its floor. Where nothing of the model
    does, the flight's own headroom says to look up."""
    row, length = c.row("headroom_min"), c.row("landing_length_min")
    if isinstance(length, Missing):
        return
    way = band_of(f.out, _walked(c, f), riser, riser + float(length.value))
    over = [
        m
        for m in c.measured
        if float(m.box[0][2]) > f.foot + WAIST
        and m.part.group != "guards"
        and m.part.footprint.intersection(way).area > UNDERFOOT
    ]
    if over:
        levels = [underside(m, shapely.get_coordinates(m.part.footprint.intersection(way))) for m in over]
        level, lowest = min(zip(levels, over), key=lambda o: o[0])
        c.add("headroom at a landing", row, "at least", level - f.foot, place, places([lowest]))


def _posts_behind(c: Checking, f: FlightSeen) -> list[tuple[Measured, tuple[float, float]]]:
    """The guard posts behind the top nosing of a flight that stand up from what one steps on, each with its reach
    across."""
    found = []
    for m in c.of("guard post"):
        a0, a1 = along(m, f.out)
        if f.top.front - 2 * STRIDE < a0 and a1 < f.top.front and m.box[1][2] > f.top.level > m.box[0][2]:
            found.append((m, along(m, f.across)))
    return found


def _clear_of_posts(
    sides: tuple[float, float], reaches: Iterable[tuple[float, float]], room: float
) -> tuple[float, float]:
    """What of the way between two sides across lies `room` clear of posts, each on the side that it is nearer to."""
    low, high = sides
    for s0, s1 in reaches:
        if s0 + s1 < low + high:
            low = max(low, s1 + room)
        else:
            high = min(high, s0 - room)
    return low, high


def _head(c: Checking, f: FlightSeen) -> None:
    """The width at the head of a flight where a guard post behind it, as of a corner that the stair reaches, stands
    within its sides."""
    over = [(m, s, min(s[1], f.sides[1]) - max(s[0], f.sides[0])) for m, s in _posts_behind(c, f)]
    # its own posts stand beside the stringers, under the ends of its treads
    within = [m for m, _, width in over if width > ASIDE]
    if within:
        low, high = _clear_of_posts(f.sides, [s for _, s, width in over if width > 0], 0.0)
        why = "between guard posts behind the top nosing"
        row, ids = c.row("stair_clear_width_min"), places(within)
        c.add("stair width at its head", row, "at least", high - low, f.name, ids, local=c.local.stair_width, why=why)


def _between_posts(c: Checking, f: FlightSeen) -> tuple[float, float]:
    """From where to where across a flight one steps onto what it leaves: `ASIDE` inside its sides, clear of guard posts
    behind its edge, round which the boards are cut."""
    sides = f.sides[0] + ASIDE, f.sides[1] - ASIDE
    return _clear_of_posts(sides, [s for _, s in _posts_behind(c, f)], AROUND_A_POST)


def _top(c: Checking, f: FlightSeen) -> None:
    """What one steps on at the top: its length behind the top nosing, over the flight's whole width, without a gap."""
    row, place = c.row("landing_length_min"), f"{f.name} landing at the top"
    if c.lacks("landing length", place, row):
        return
    x0, y0, x1, y1 = band_of(f.out, f.sides, f.top.front - 2 * float(row.value), f.top.front).bounds
    level = [
        m
        for m in c.of(*WALKED, "pad")
        if abs(float(m.box[1][2]) - f.top.level) < 0.05
        and (m.role != "pad" or m.part.stair == f.stair)
        and m.box[0][0] < x1
        and m.box[1][0] > x0
        and m.box[0][1] < y1
        and m.box[1][1] > y0
    ]
    if not level:
        c.skip("landing length", row, place, "no surface found behind the top nosing")
        return
    # gaps between boards are walked over, and what a post leaves open between boards that lie askew and a border
    beside = [m.part.footprint.buffer(LEFT_BY_A_POST, join_style="mitre") for m, _ in _posts_behind(c, f)]
    area = shapely.union_all([*(m.part.footprint.buffer(0.5, join_style="mitre") for m in level), *beside])
    across = np.linspace(*_between_posts(c, f), 5)
    reach = []
    for s in across:
        a, b = f.out * (f.top.front - 0.5) + f.across * s, f.out * (f.top.front - _FAR) + f.across * s
        first = shapely.get_parts(shapely.LineString([a, b]).intersection(area))
        runs = [g.length for g in first if g.distance(shapely.Point(a)) < 1.0]
        reach.append(max(runs, default=0.0))
    c.add(
        "landing length",
        row,
        "at least",
        min(reach),
        place,
        places(level),
        why=together(
            "behind the top nosing; a door in the house is not modelled",
            said("at least that: it was followed for {far}", far=decimal(2 * float(row.value), None))
            if min(reach) > 2 * float(row.value)
            else "",
        ),
    )
