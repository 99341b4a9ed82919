"""Guard rules on level edges, of the deck and of landings: where one is needed, its height, the widest ball that
passes.

Openings are found by looking square at the guard: what the pieces leave free between the walking surface and the
required height. Nothing is taken from the parameters but grade and which edge lies against the house.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Geometry
from shapely.geometry import Point, Polygon, box

from ...shared.cited import Missing
from ...shared.said import decimal, number, said, together
from ..measuring.flight_seen import WALKED, FlightSeen
from ..measuring.measure import Measured
from ..measuring.silhouette import openings, seen, widest
from ..plan.beside_house import closes
from ..plan.edges import Edge
from ..plan.stages import LevelPlan
from ..structure.guard_checks import BOLT, LAG_INSTEAD
from ..structure.rated_hardware import AS_GIVEN
from ..structure.structure import Structure
from .check_result import Checking, LocalValue, in_words, places
from .check_stair_guards import BARRIER, BESIDE_WALL, check_flight_guards, none_needed

_PLANE = 8.0  # inches inside the frame's outer face within which a guard counts as that edge's
_JOG = 12.0  # inches of a landing's edge below which it is told of only where it is open: a jog beside a post
ROUNDED = 0.1  # inches a post's own width is taken wider by, so that rounding on a turned sheet leaves none of it
_NEAR_WALL = 24.0  # inches from a wall within which a guard's last pieces are looked for; our own
_OUTSIDE = 6.0  # inches outside a landing's surface: its posts are bolted to its rims


@dataclass
class Open:
    """One open edge: its `level`, the greatest fall within the published reach (`high`), what stands along it, the
    stretches where stairs leave or reach it, and from where to where its guard has to run."""

    edge: Edge
    place: str
    level: float
    high: float
    barrier: list[Measured]
    stairs: list[tuple[float, float]]
    start: float
    end: float

    @property
    def rails(self) -> list[Measured]:
        """Level top rails: a flight's sloping one beside a landing is judged with its flight."""
        return [m for m in self.barrier if m.role == "top rail" and abs(m.axis[2]) < 0.05]


def check_guards(c: Checking) -> None:
    """Every free edge of the deck, every landing's edges, both sides of every flight."""
    for plan in c.deck.levels:
        for e in plan.outline.edges:
            if not e.house:
                _check(c, _deck_edge(c, plan, e))
    for k in range(len(c.deck.parameters.stair)):
        flights = c.seen.flights(k)
        for f in flights:
            check_flight_guards(c, f)
        for above, below in itertools.pairwise(flights):
            for o in _landing_edges(c, above, below):
                _check(c, o)


def check_guard_hardware(c: Checking, structure: Structure) -> None:
    """What holds a guard's posts: the pull on the bolt that is pulled most. Its device is no solid."""
    posts = c.of("guard post")
    if not posts:
        return
    load, hold = (c.row(i) for i in ("guard_handrail_concentrated_load", "guard_post_holddown_capacity_min"))
    own = c.local.guard_post_load_lb
    governs = own is not None and not own <= load.value
    facts = [(f, r.ids[0]) for r in structure.of("guard post") for f in r.facts]
    pulls, lags = ([(f.value, post) for f, post in facts if f.label == label] for label in (BOLT, LAG_INSTEAD))
    number_of = f"{len(posts)} posts"
    if own is None and c.lacks("guard post attachment", number_of, load, ids=places(posts)):
        return
    why = said(
        "fasten each post and the blocks beside it for {load} lb at the top in any direction",
        load=number(own if own is not None and governs else load.value),
    )
    if pulls and not isinstance(hold, Missing):
        pull, post = max(pulls)
        why = said(
            "{why}; at {post} that pulls the upper of two bolts with {pull} lb: choose a device rated for it"
            " (hardware.guard_post_lb), no less than the {hold} lb published; one lag screw, its thread in the whole"
            " post, holds {lag} lb",
            why=why,
            lag=number(min(lags)[0], 0, grouped=True),
            post=post,
            pull=number(pull, 0, grouped=True),
            hold=number(hold.value, 0, grouped=True),
        )
    local = None if own is None else LocalValue(own, "lb", governs)
    allowed = c.deck.parameters.hardware.guard_post_lb
    if pulls and allowed is not None:
        pull, post = max(pulls)
        asked = number(pull, 0, grouped=True)
        told = said("upper of two bolts at {post}", post=post)
        if pull > allowed:
            told = said("{told}: choose a device rated for {lb} lb (hardware.guard_post_lb)", told=told, lb=asked)
        c.add(
            "guard post attachment",
            AS_GIVEN,
            "at most",
            pull,
            number_of,
            places(posts),
            bound=allowed,
            unit="lb",
            why=told,
        )
        return
    c.skip("guard post attachment", load, number_of, why, places(posts), local)


def _deck_edge(c: Checking, plan: LevelPlan, e: Edge) -> Open:
    walked = [m for m in c.of(*WALKED) if m.part.stair is None]
    level = _surface_level(plan, e, walked)
    stairs = _stair_stretches(c, plan, e)
    guard = c.deck.parameters.guard
    post = max(c.deck.parameters.stock(guard.post).width, guard.sleeve.size if guard.sleeve else 0.0)
    barrier = _on_edge(c, e, inside=max(_PLANE, plan.rim_of(e) + post + 1))  # its posts stand behind the rim
    return Open(
        e, f"{e.name} edge", level, level - _lowest_near(c, e, walked), barrier, stairs, *_ends(plan, e, barrier)
    )


def _surface_level(plan: LevelPlan, e: Edge, walked: list[Measured]) -> float:
    """Top of the walked surface along an edge, off the pieces that reach it."""
    band = e.rectangle(-6, e.length + 6, -6, 6)
    x0, y0, x1, y1 = band.bounds
    near = [m for m in walked if m.box[0][0] < x1 and m.box[1][0] > x0 and m.box[0][1] < y1 and m.box[1][1] > y0]
    return max((float(m.box[1][2]) for m in near if m.part.footprint.intersects(band)), default=plan.planes.surface_top)


def _lowest_near(c: Checking, e: Edge, walked: list[Measured]) -> float:
    """Lowest grade within the published reach outside the edge of the surface. Grade is a plane: it is lowest at a
    corner."""
    reach = float(c.row("guard_required_horizontal_reach").value)
    out = 0.0
    if walked:
        a, i = _positions(e, np.vstack([m.part.vertices[:, :2] for m in walked])).T
        near = (a > -6) & (a < e.length + 6) & (abs(i) < 12)
        out = max(0.0, float(-i[near].min())) if near.any() else 0.0
    return min(c.deck.planes.grade(*e.point(a, -i)) for a in (0.0, e.length) for i in (out, out + reach))


def _positions(e: Edge, points: np.ndarray) -> np.ndarray:
    """(n, 2): along the edge and inside it."""
    d = points - np.asarray(e.start)
    return np.column_stack([d @ e.direction, d @ e.inward])


def _on_edge(
    c: Checking,
    e: Edge,
    stair: int | None = None,
    outside: float = 1.0,
    level: float | None = None,
    inside: float = _PLANE,
) -> list[Measured]:
    """What stands along an edge; of a stair's landing, what reaches above its `level`."""
    found = []
    for m in c.of(*BARRIER):
        if m.part.stair != stair and not (stair is None and m.role == "guard post"):
            continue
        if level is not None and (m.box[1][2] < level + 1 or m.box[0][2] > level + 60):
            continue
        s = _positions(e, m.part.vertices[:, :2])
        if m.role == "top rail" and level is not None and abs(m.axis[2]) < 0.05 and not 0 < s[:, 0].mean() < e.length:
            continue  # of the next landing, one step away in line with this one
        deep, past = float(s[:, 1].max()), outside
        if m.role in ("guard post", "post sleeve"):  # one turned to another edge reaches further in at a corner
            deep = min(deep, float(s[:, 1].mean()) + (1 - math.sqrt(0.5)) * math.sqrt(m.part.footprint.area))
            past = max(outside, _PLANE)  # and at an obtuse one stands past the edge's end
        if s[:, 1].min() > -outside and deep < inside and s[:, 0].max() > -past and s[:, 0].min() < e.length + past:
            found.append(m)
    return found


def _stair_stretches(c: Checking, plan: LevelPlan, e: Edge) -> list[tuple[float, float]]:
    """Where stairs leave an edge: the stretch that their steps take up, off the solids."""
    found = []
    for s in plan.stairs:
        if s.edge is e:
            top, treads = c.seen.flights(s.index)[:1], c.of("tread", stair=s.index)
            high = max((x.box[1][2] for x in treads), default=0.0)
            at = [_positions(e, t.part.vertices[:, :2])[:, 0] for t in treads if t.box[1][2] > high - 1e-3]
            if top and not top[0].treads:  # one step: from one side of its riser to the other
                f = top[0]
                at = [_positions(e, np.array([f.out * f.top.front + f.across * x for x in f.sides]))[:, 0]]
            if at:
                found.append((float(min(a.min() for a in at)), float(max(a.max() for a in at))))
    return sorted(found)


def _landing_edges(c: Checking, above: FlightSeen, below: FlightSeen) -> list[Open]:
    """The edges of the landing between two flights, from the outline of its boards."""
    pieces = [m for m in above.foot_pieces if m.role in (*WALKED, "pad")]
    area = shapely.union_all([m.part.footprint.buffer(0.5, join_style="mitre") for m in pieces]).buffer(
        -0.5, join_style="mitre"
    )
    whole = area.minimum_rotated_rectangle
    if not isinstance(whole, Polygon) or area.convex_hull.area < 0.97 * whole.area:
        whole = _with_its_posts(c, area, above)
    if not isinstance(whole, Polygon):
        c.skip(
            "guard needed",
            c.row("guard_required_height_above_grade"),
            f"{above.name} landing at the foot",
            "its boards do not make one surface: look at its guards yourself",
        )
        return []
    ring = shapely.geometry.polygon.orient(whole).exterior.coords
    level = max(float(m.box[1][2]) for m in pieces)
    # a post that two flights share stands behind the rims, and they behind what overhangs them
    plan = c.deck.layout.stair_plans[above.stair]
    rims = max((m.rim_plies for m in plan.landings), default=1) * c.deck.layout.joist.thickness
    post = c.deck.parameters.stock(c.deck.parameters.guard.post).width
    behind = max(_PLANE, rims + post + c.deck.layout.overhang(plan.spot.edge) + 1)
    reach = float(c.row("guard_required_horizontal_reach").value)
    found: list[Open] = []
    sphere = float(c.row("guard_opening_sphere").value)
    for n, (a, b) in enumerate(itertools.pairwise(ring)):
        e = Edge(f"landing {n + 1}", n, a, b, False)
        stairs = []
        for f, end in ((above, above.last.front), (below, below.top.front)):
            if abs(float(e.direction @ f.across)) > 0.99 and _off(e, f, end) < 14:
                s = sorted(_positions(e, np.array([f.out * end + f.across * x for x in f.sides]))[:, 0])
                stairs.append((float(s[0]), float(s[1])))
        lowest = min(c.deck.planes.grade(*e.point(x, -i)) for x in (0.0, e.length) for i in (0.0, reach))
        barrier = _on_edge(c, e, above.stair, _OUTSIDE, level, behind)
        place = _side_of(above, e, [o.place for o in found])
        o = Open(e, place, level, level - lowest, barrier, sorted(stairs), 0.0, e.length)
        if e.length >= _JOG or _widest_open(o) >= sphere:
            found.append(o)
    return found


def _side_of(above: FlightSeen, e: Edge, taken: Sequence[str]) -> str:
    """A name of its own for an edge of a landing: the side of the sheet it looks to, numbered where two do."""
    sides = {(1, 0): "right", (-1, 0): "left", (0, 1): "back", (0, -1): "front"}
    side = sides[max(sides, key=lambda d: float(np.dot(d, -e.inward)))]
    place = f"{above.name} landing at the foot, {side} side of the sheet"
    before = sum(t.startswith(place) for t in taken)
    return f"{place}, part {before + 1}" if before else place


def _with_its_posts(c: Checking, area: Geometry, above: FlightSeen) -> Geometry:
    """The outline of a landing whose boards make no rectangle (where the stair turns back, it is deeper under one
    flight): with the posts that they are cut round, without what of those stands out past it."""
    posts = [
        m.part.footprint.buffer(0.5, join_style="mitre") for m in c.of("guard post") if m.part.stair == above.stair
    ]
    whole = shapely.union_all([area, *(p for p in posts if p.intersects(area))])
    widest = max((_longest_side(p) for p in posts), default=0.0)
    aside = widest / 2 + ROUNDED
    for by in (-aside, aside):
        whole = whole.buffer(by, join_style="mitre")
    return whole.simplify(0.1)


def _longest_side(p: Polygon) -> float:
    """Of a polygon's edges, however it lies on the sheet."""
    return max(float(np.hypot(*(np.array(b) - a))) for a, b in itertools.pairwise(p.exterior.coords))


def _off(e: Edge, f: FlightSeen, end: float) -> float:
    """Distance of a flight's end from an edge, at the flight's middle."""
    middle = f.out * end + f.across * sum(f.sides) / 2
    return abs(float(_positions(e, middle[None, :])[0, 1]))


def _check(c: Checking, o: Open) -> None:
    trigger, reach, sphere = (
        c.row(i)
        for i in ("guard_required_height_above_grade", "guard_required_horizontal_reach", "guard_opening_sphere")
    )
    height = said("{high} above grade within {reach} of the edge", high=decimal(o.high), reach=in_words(reach))
    rails = o.rails
    if c.lacks("guard needed", o.place, trigger, reach, sphere, ids=places(rails)):
        pass
    elif closes(c.deck.layout.house_wall, o.edge.start, o.edge.end, -o.edge.inward, float(sphere.value)):
        c.state("guard needed", trigger, True, o.place, BESIDE_WALL)
    elif o.high <= float(trigger.value) + 1e-6:
        c.state("guard needed", trigger, True, o.place, none_needed(height, rails))
    else:
        gap = _widest_open(o)
        ok = gap < float(sphere.value)
        what = "a guard runs along it" if rails else "a stair takes it up" if o.stairs else "posts stand along it"
        c.state(
            "guard needed",
            trigger,
            ok,
            o.place,
            together(height, what if ok else said("{gap} of the edge has no guard", gap=decimal(gap, 1))),
            places(rails),
        )
    if not rails:
        return
    found = [(float(m.box[1][2]) - o.level, f"{o.place} {m.mark}", places([m])) for m in rails]
    c.worst("guard height", c.row("guard_height_min"), "at least", found, "rails", local=c.local.guard_height)
    _openings(c, o)
    _spacing(c, o)


def _widest_open(o: Open) -> float:
    return max((b - a for a, b in _uncovered(o)), default=0.0)


def _uncovered(o: Open) -> list[tuple[float, float]]:
    """Stretches of an edge with neither guard nor stair. Beside a corner the guard's own plane bounds it."""
    covered = list(o.stairs)
    for m in o.barrier:
        if m.role in ("top rail", "guard post", "post sleeve"):
            s = _positions(o.edge, m.part.vertices[:, :2])[:, 0]
            covered.append((float(s.min()), float(s.max())))
    gaps, at = [], o.start
    for a, b in sorted(covered):
        if a > at + 1e-6:
            gaps.append((at, min(a, o.end)))
        at = max(at, b)
    if o.end > at + 1e-6:
        gaps.append((at, o.end))
    return gaps


def _ends(plan: LevelPlan, e: Edge, barrier: Sequence[Measured]) -> tuple[float, float]:
    """Along an edge, from wall to wall; at a corner with another guarded edge the guard's plane is there, not the
    corner."""
    outline = plan.outline
    deep = plan.rim_of(e) + 4.0
    start, end = 0.0, e.length
    if outline.before(e).house:
        start = -_to_wall(plan, barrier, lambda points: -_positions(e, points)[:, 0], -start)
    elif outline.turn(e) > 0:
        start = deep
    if outline.after(e).house:
        end = _to_wall(plan, barrier, lambda points: _positions(e, points)[:, 0], end)
    elif outline.turn(outline.after(e)) > 0:
        end = e.length - deep
    return start, end


def _to_wall(
    plan: LevelPlan, barrier: Sequence[Measured], along: Callable[[np.ndarray], np.ndarray], corner: float
) -> float:
    """Where a wall bounds the last opening of a guard that comes up to it: as far past the last piece as that is from
    the wall, which may stand out of square to the edge, or off it. Where nothing stands there, the corner."""
    reach = [(float(along(m.part.vertices[:, :2]).max()), m.part) for m in barrier]
    last = max((s for s, _ in reach), default=-math.inf)
    if last < corner - _NEAR_WALL:
        return corner
    return last + min(p.footprint.distance(plan.house_wall) for s, p in reach if s > last - _NEAR_WALL)


def _openings(c: Checking, o: Open) -> None:
    row, least, e = c.row("guard_opening_sphere"), c.row("guard_height_min"), o.edge
    if c.lacks("guard opening", o.place, row, least):
        return
    top = o.level + min(float(least.value), min(float(m.box[1][2]) for m in o.rails) - o.level)
    base = float(np.dot(e.start, e.direction))
    region = box(base + o.start, o.level, base + o.end, top)
    for a, b in o.stairs:
        region = region.difference(box(base + a, o.level - 1, base + b, top + 1))
    found = []
    for piece in getattr(region, "geoms", [region]):
        found += openings(piece, [m.part for m in o.barrier], e.direction)
    most = widest(found)
    if most is None:
        c.skip("guard opening", row, o.place, "no opening found: the guard has no gaps to measure")
        return
    ball, opening = most
    middle = Point(opening.centroid)
    near = sorted(o.barrier, key=lambda m: seen(m.part, e.direction).distance(middle))[:2]
    c.add(
        "guard opening",
        row,
        "less than",
        ball,
        o.place,
        places(near),
        why=said("widest of {n} openings, {at} along the edge", n=len(found), at=decimal(float(middle.x - base), 1)),
    )


def _spacing(c: Checking, o: Open) -> None:
    posts = sorted(
        float(_positions(o.edge, m.part.vertices[:, :2])[:, 0].mean()) for m in o.barrier if m.role == "guard post"
    )
    gaps = [b - a for a, b in itertools.pairwise(posts) if not any(a < (s0 + s1) / 2 < b for s0, s1 in o.stairs)]
    if not gaps:
        return
    why = said("greatest spacing {gap}", gap=decimal(max(gaps)))
    c.add("guard post spacing", c.row("guard_post_spacing_max"), "at most", max(gaps), o.place, why=why)
