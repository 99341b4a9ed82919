"""Stair rules against the solids: rises, goings, nosings, width, headroom, landings, stringers, handrails.

Treads are found by their level; the direction of travel is that of the stringers they rest on. Every number is read off
the solids: `stair` and `role` only say which pieces belong together.
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from .check_result import Checking, places
from .faces import read
from .measure import Measured
from .silhouette import ball, seen, top_at

_LEVEL = 1e-3  # inches: pieces whose tops agree this closely are one tread
WALKED = ("board", "border", "breaker")


@dataclass
class Step:
    """One walked level of a flight: its pieces, level, foremost and rearmost place along the direction of travel."""

    pieces: list[Measured]
    level: float
    front: float
    back: float


@dataclass
class FlightSeen:
    """One flight as measured. `out` is the plan direction going down; places along it are in inches from the plan origin."""

    name: str
    out: np.ndarray
    stringers: list[Measured]
    top: Step
    treads: list[Step]
    foot: float
    sides: tuple[float, float]
    foot_pieces: list[Measured]

    @property
    def across(self) -> np.ndarray:
        return np.array([-self.out[1], self.out[0]])

    @property
    def levels(self) -> list[float]:
        return [self.top.level, *(t.level for t in self.treads), self.foot]


def check_stairs(c: Checking) -> None:
    """All stair rules on every stair."""
    for k in range(len(c.deck.parameters.stair)):
        flights = find_flights(c, k)
        for f in flights:
            _rises(c, f)
            _goings(c, f)
            _nosings(c, f)
            _open_risers(c, f)
            _width(c, f)
            _headroom(c, f)
            _stringers(c, f)
            _handrail(c, f)
        _uniform(c, flights, k)
        _landings(c, flights, k)


def find_flights(c: Checking, stair: int) -> list[FlightSeen]:
    """The flights of a stair, from the deck down, found from which treads rest on which stringers."""
    if stair not in c.flights:
        c.flights[stair] = _flights(c, stair)
    return c.flights[stair]


def _flights(c: Checking, stair: int) -> list[FlightSeen]:
    stringers = c.of("stringer", stair=stair)
    groups: dict[tuple, list[Measured]] = {}
    for s in stringers:
        out = _out(s)
        across = np.array([-out[1], out[0]])
        groups.setdefault((round(out[0], 6), round(out[1], 6), round(float(s.box[1][2]), 3)), []).append(s)
    carried = {m.id: m for m in stringers}
    flights = []
    for (ox, oy, _), members in sorted(groups.items(), key=lambda g: -g[0][2]):
        out = np.array([ox, oy])
        ids = {m.id for m in members}
        treads = _steps([t for t in c.of("tread", stair=stair) if ids & _stringers_under(c, t)], out)
        if not treads:
            continue
        treads.sort(key=lambda t: -t.level)
        sides = _extent([p for t in treads for p in t.pieces], np.array([-oy, ox]))
        top = _surface_above(c, stair, treads[0], out, sides)
        foot, pieces = _surface_below(c, stair, treads[-1], out, sides, members)
        if top is None or foot is None:
            c.skip("stair", "IRC R311.7", f"stair {stair + 1}", "no surface found at the top or foot of a flight", places(members))
            continue
        name = f"stair {stair + 1}" + (f" flight {len(flights) + 1}" if len(groups) > 1 else "")
        flights.append(FlightSeen(name, out, members, top, treads, foot, sides, pieces))
    return flights


def _stringers_under(c: Checking, tread: Measured) -> set[str]:
    found = set()
    for i in tread.carried_by:
        m = c.by_id[i]
        found |= {i} if m.role == "stringer" else set(m.carried_by)
    return found


def _out(stringer: Measured) -> np.ndarray:
    """Plan direction in which a stringer goes down."""
    a = stringer.axis
    d = np.array([a[0], a[1]]) / np.hypot(a[0], a[1])
    return -d if a[2] > 0 else d


def _along(m: Measured, direction) -> tuple[float, float]:
    s = m.part.vertices[:, :2] @ np.asarray(direction)
    return float(s.min()), float(s.max())


def _extent(pieces, direction) -> tuple[float, float]:
    spans = [_along(m, direction) for m in pieces]
    return min(a for a, _ in spans), max(b for _, b in spans)


def _steps(pieces: list[Measured], out) -> list[Step]:
    steps: list[list[Measured]] = []
    for m in sorted(pieces, key=lambda m: -m.box[1][2]):
        if steps and abs(steps[-1][0].box[1][2] - m.box[1][2]) < _LEVEL:
            steps[-1].append(m)
        else:
            steps.append([m])
    result = []
    for group in steps:
        back, front = _extent(group, out)
        result.append(Step(group, max(float(m.box[1][2]) for m in group), front, back))
    return result


def _surface_above(c: Checking, stair: int, first: Step, out, sides) -> Step | None:
    """The walked surface just above and behind the first tread: its edge along the direction of travel."""
    band = _band(out, sides, first.back - 24, first.front + 1)
    near = [m for m in c.of(*WALKED) if m.box[1][2] > first.level + _LEVEL and m.part.footprint.intersects(band)]
    if not near:
        return None
    level = min(float(m.box[1][2]) for m in near)
    near = [m for m in near if abs(m.box[1][2] - level) < _LEVEL]
    across = np.array([-out[1], out[0]])
    middle = (sides[0] + sides[1]) / 2
    line = shapely.LineString([out * (first.back - 24) + across * middle, out * (first.front + 24) + across * middle])
    fronts = []
    for m in near:
        cut = m.part.footprint.intersection(line)
        if not cut.is_empty:
            fronts.append(float((np.asarray(shapely.get_coordinates(cut)) @ out).max()))
    if not fronts:
        return None
    return Step(near, level, max(fronts), max(fronts) - 24)


def _surface_below(c: Checking, stair: int, last: Step, out, sides, stringers):
    """(level, pieces) of what one steps on at the foot: a landing's boards or the pad."""
    band = _band(out, sides, last.front - 2, last.front + 30)
    near = [m for m in c.of("pad", *WALKED, stair=stair) if m.box[1][2] < last.level - _LEVEL and m.part.footprint.intersection(band).area > 36]
    if not near:
        return None, []
    level = max(float(m.box[1][2]) for m in near)
    return level, [m for m in c.of("pad", *WALKED, stair=stair) if abs(m.box[1][2] - level) < _LEVEL]


def _band(out, sides, a0, a1) -> Polygon:
    out = np.asarray(out, float)
    across = np.array([-out[1], out[0]])
    return Polygon([out * a + across * s for a, s in ((a0, sides[0]), (a1, sides[0]), (a1, sides[1]), (a0, sides[1]))])


def _rises(c: Checking, f: FlightSeen) -> None:
    row = c.row("riser_height_max")
    for k, (upper, lower) in enumerate(zip(f.levels, f.levels[1:]), 1):
        step = f.treads[k - 1] if k <= len(f.treads) else f.treads[-1]
        c.add("rise", row, "at most", upper - lower, f"{f.name} riser {k}", places(step.pieces), local=c.local.riser_height)


def _goings(c: Checking, f: FlightSeen) -> None:
    row = c.row("tread_depth_min")
    for k, (upper, lower) in enumerate(zip([f.top, *f.treads], f.treads), 1):
        c.add("going (run)", row, "at least", lower.front - upper.front, f"{f.name} tread {k}", places(lower.pieces), local=c.local.tread_depth)


def _uniform(c: Checking, flights: list[FlightSeen], stair: int) -> None:
    """Greatest less smallest, over each whole flight, the step from grade and the step onto the surface among them."""
    for f in flights:
        rises = [a - b for a, b in zip(f.levels, f.levels[1:])]
        goings = [b.front - a.front for a, b in zip([f.top, *f.treads], f.treads)]
        c.add("rises alike", c.row("riser_uniformity_max_difference"), "at most", max(rises) - min(rises), f.name)
        if len(goings) > 1:
            c.add("goings alike", c.row("tread_uniformity_max_difference"), "at most", max(goings) - min(goings), f.name)


def riser_boards(c: Checking, f: FlightSeen) -> list[Measured]:
    pieces = []
    for m in c.of("riser"):
        if m.part.stair == f.treads[0].pieces[0].part.stair and f.foot - 1 < (m.box[0][2] + m.box[1][2]) / 2 < f.top.level:
            if set(m.carried_by) & {s.id for s in f.stringers} or _touches_flight(f, m):
                pieces.append(m)
    return pieces


def _touches_flight(f: FlightSeen, m: Measured) -> bool:
    lo, hi = _along(m, f.across)
    return lo < f.sides[1] and hi > f.sides[0] and _along(m, f.out)[0] > f.top.front - 12


def _nosings(c: Checking, f: FlightSeen) -> None:
    boards = riser_boards(c, f)
    row_min, row_max, exempt = c.row("nosing_projection_min"), c.row("nosing_projection_max"), c.row("nosing_exempt_tread_depth")
    found = []
    for k, (upper, lower) in enumerate(zip([f.top, *f.treads], [*f.treads, None])):
        bottom = lower.level if lower else f.foot
        below = [m for m in boards if bottom - 2 < (m.box[0][2] + m.box[1][2]) / 2 < upper.level]
        faces = [_along(m, f.out)[1] for m in below if abs(_along(m, f.out)[1] - upper.front) < 6]
        if not faces:
            continue
        nosing = upper.front - max(faces)
        found.append(nosing)
        place = f"{f.name} nosing over riser {k + 1}"
        going = min([b.front - a.front for a, b in zip([f.top, *f.treads], f.treads)], default=0.0)
        if going >= float(exempt.value) - 1e-6 and nosing < float(row_min.value):
            c.state("nosing, least", exempt, True, place, f"treads are {going:.3f} in deep: no nosing is required", places(upper.pieces))
        else:
            c.add("nosing, least", row_min, "at least", nosing, place, places(upper.pieces))
        c.add("nosing, greatest", row_max, "at most", nosing, place, places(upper.pieces))
    if len(found) > 1:
        c.add("nosings alike", c.row("nosing_uniformity_max_difference"), "at most", max(found) - min(found), f.name)
    if not found:
        c.skip("nosing, least", row_min, f.name, "open risers: the row asks for a nosing with solid risers only")


def _open_risers(c: Checking, f: FlightSeen) -> None:
    """The ball between a tread and the next one down, seen from the side with risers and pieces between them."""
    row, exempt = c.row("open_riser_sphere"), c.row("open_riser_exempt_height")
    stair = f.treads[0].pieces[0].part.stair
    closers = [m.part for m in c.of("tread", "riser", "tread blocking", "pad", *WALKED)
               if m.part.stair == stair or m in f.top.pieces or m.role == "riser"]
    for k, (upper, lower) in enumerate(zip([f.top, *f.treads], [*f.treads, None]), 1):
        level = lower.level if lower else f.foot
        back = lower.back if lower else upper.front - 2
        under = min(float(m.box[0][2]) for m in upper.pieces)
        if under - level < 0.05:
            continue
        region = box(upper.front - 1.5, level, upper.front, under)
        depth = max(upper.front - back, 1.5)
        solids = [p for p in closers if seen(p, f.out).intersects(box(upper.front - depth - 2, level, upper.front, under))]
        clear = _clear_height(solids, f.out, upper.front - depth - 2, upper.front, level, under)
        above = level - min(c.deck.planes.grade(*(f.out * upper.front + f.across * s)) for s in f.sides)
        place = f"{f.name} riser {k}"
        if clear > 0.05 and above <= float(exempt.value) + 1e-6 and clear >= float(row.value):
            c.state("open riser", exempt, True, place, f"opening {clear:.3f} in, {above:.1f} in above grade: at or under the height from which it is limited")
        else:
            c.add("open riser", row, "less than", clear, place)


def _clear_height(parts, out, a0, a1, z0, z1) -> float:
    """Greatest clear height through which something could pass between a0 and a1: the lowest of all passages on the way."""
    clear = z1 - z0
    union = unary_union([seen(p, out) for p in parts]) if parts else Polygon()
    for a in np.linspace(a0 + 0.01, a1 - 0.01, 40):
        line = shapely.LineString([(a, z0 + 1e-4), (a, z1 - 1e-4)])
        rest = line.difference(union)
        open_here = max((g.length for g in getattr(rest, "geoms", [rest])), default=0.0)
        clear = min(clear, open_here)
    return clear


def _width(c: Checking, f: FlightSeen) -> None:
    """Clear width: between the guards where there are any, else between the tread's ends; and beside handrails."""
    stair = f.treads[0].pieces[0].part.stair
    lo, hi = f.sides
    middle = (lo + hi) / 2
    start, end = f.top.front, f.treads[-1].front
    low, high = lo, hi
    rails = []
    for m in c.measured:
        if m.part.group != "guards" or not (m.box[1][2] > f.treads[-1].level and m.box[0][2] < f.top.level + 40):
            continue
        a0, a1 = _along(m, f.out)
        if a1 < start + 0.5 or a0 > end - 0.5 or (m.part.stair is not None and m.part.stair != stair):
            continue
        s0, s1 = _along(m, f.across)
        if m.role == "handrail":
            rails.append((s0, s1))
        elif m.role == "post cap":
            continue
        elif (s0 + s1) / 2 < middle:
            low = max(low, s1)
        else:
            high = min(high, s0)
    c.add("stair width", c.row("stair_clear_width_min"), "at least", high - low, f.name, local=c.local.stair_width)
    if rails:
        sides = {"low": [s for s in rails if sum(s) / 2 < middle], "high": [s for s in rails if sum(s) / 2 >= middle]}
        a = max([s1 for _, s1 in sides["low"]], default=low)
        b = min([s0 for s0, _ in sides["high"]], default=high)
        both = bool(sides["low"]) and bool(sides["high"])
        row = c.row(f"stair_clear_width_min_below_handrail_{'both_sides' if both else 'one_side'}")
        c.add("stair width beside handrail", row, "at least", b - a, f.name)
        for side, edge in (("low", low), ("high", high)):
            for s0, s1 in sides[side]:
                reach = s1 - edge if side == "low" else edge - s0
                c.add("handrail projection", c.row("handrail_projection_max"), "at most", reach, f.name)
                break


def _headroom(c: Checking, f: FlightSeen) -> None:
    """Least vertical distance from the line of the nosings up to anything over the flight."""
    row = c.row("headroom_min")
    nosings = [(t.front, t.level) for t in [f.top, *f.treads]]
    own = {m.id for t in f.treads for m in t.pieces}
    inner = (f.sides[0] + 1, f.sides[1] - 1)
    band = _band(f.out, inner, f.top.front, f.treads[-1].front)
    least, over = None, None
    for m in c.measured:
        if m.id in own or m.part.group == "guards" or m.box[0][2] < f.treads[-1].level + 12 or not m.part.footprint.intersects(band):
            continue
        shadow = m.part.footprint.intersection(band)
        if shadow.area < 1:
            continue
        at = shapely.get_coordinates(shadow) @ f.out
        for a in (float(at.min()), float(at.max())):
            pitch = float(np.interp(a, [n[0] for n in nosings], [n[1] for n in nosings]))
            gap = float(m.box[0][2]) - pitch
            if gap > 12 and (least is None or gap < least):
                least, over = gap, m
    if least is None:
        c.state("headroom", row, True, f.name, "nothing of the model lies above the flight; the house is not modelled")
    else:
        c.add("headroom", row, "at least", least, f.name, places([over]))


def _stringers(c: Checking, f: FlightSeen) -> None:
    cut = [s for s in f.stringers if _reflex(s)]
    kind = "cut" if cut else "solid"
    row = c.row(f"stringer_{kind}_span_max")
    for s in f.stringers[:1]:
        a0, a1 = _along(s, f.out)
        c.add(f"stringer span, {kind}", row, "at most", a1 - a0, f.name, places(f.stringers))
    middles = sorted((sum(_along(s, f.across)) / 2 for s in f.stringers))
    gaps = [b - a for a, b in zip(middles, middles[1:])]
    if gaps:
        c.add("stringer spacing", c.row(f"stringer_spacing_max_{kind}"), "at most", max(gaps), f.name, places(f.stringers))
    for s in {id(s.part.shape): s for s in cut}.values():
        c.add("stringer throat", c.row("stringer_throat_min"), "at least", throat(s), f"{f.name} {s.mark}", places([s]))


def _reflex(s: Measured) -> list[tuple[float, float]]:
    """Inner corners of a stringer's side, as seen."""
    ring = np.asarray(_side(s).exterior.coords)[:-1]
    n = len(ring)
    found = []
    for i in range(n):
        (ax, ay), (bx, by), (cx, cy) = ring[i - 1], ring[i], ring[(i + 1) % n]
        if (bx - ax) * (cy - by) - (by - ay) * (cx - bx) < -1e-6:
            found.append((float(bx), float(by)))
    return found


def _side(s: Measured) -> Polygon:
    return shapely.geometry.polygon.orient(seen(s.part, _out(s)))


def throat(s: Measured) -> float:
    """Least wood behind the notches of a cut stringer, square to its lower edge: off the solid's side face."""
    polygon = _side(s)
    ring = np.asarray(polygon.exterior.coords)
    best = None
    for p, q in zip(ring, ring[1:]):  # the lower edge is the longest sloping one
        length = float(np.hypot(*(q - p)))
        if abs(q[1] - p[1]) > 0.05 * length and abs(q[0] - p[0]) > 0.05 * length and (best is None or length > best[0]):
            best = (length, p, (q - p) / length)
    _, p, d = best
    return min(abs(float((np.asarray(r) - p)[0] * d[1] - (np.asarray(r) - p)[1] * d[0])) for r in _reflex(s))


def _handrail(c: Checking, f: FlightSeen) -> None:
    need = c.row("handrail_required_min_risers")
    stair = f.treads[0].pieces[0].part.stair
    risers = len(f.levels) - 1
    rails = [m for m in c.of("handrail", stair=stair)
             if abs(m.axis[2]) > 0.05 and abs(abs(float(np.dot(_out(m), f.out))) - 1) < 1e-6 and _along(m, f.out)[1] > f.top.front and _along(m, f.out)[0] < f.treads[-1].front
             and f.sides[0] - 8 < sum(_along(m, f.across)) / 2 < f.sides[1] + 8]
    if risers < float(need.value):
        c.state("handrail needed", need, True, f.name, f"{risers} risers: none needed" + (", there is one" if rails else ""))
    else:
        c.state("handrail needed", need, bool(rails), f.name, f"{risers} risers; {'a handrail is there' if rails else 'no handrail found'}", places(rails))
    if not rails:
        return
    low, high = None, None
    reach = [None, None]
    for m in rails:
        a0, a1 = _along(m, f.out)
        reach = [a0 if reach[0] is None else min(reach[0], a0), a1 if reach[1] is None else max(reach[1], a1)]
    for t in [f.top, *f.treads]:
        tops = [z for m in rails if (z := top_at(m.part, f.out, t.front)) is not None]
        if tops:
            h = max(tops) - t.level
            low, high = (h if low is None else min(low, h)), (h if high is None else max(high, h))
    if low is not None:
        c.add("handrail height, least", c.row("handrail_height_min"), "at least", low, f.name, places(rails))
        c.add("handrail height, greatest", c.row("handrail_height_max"), "at most", high, f.name, places(rails))
    faces = [_along(m, f.out)[1] for m in riser_boards(c, f)]
    first, last = (min(faces), max(faces)) if faces else (f.top.front, f.treads[-1].front)
    ends = reach[0] <= first + 1e-3 and reach[1] >= last - 1e-3
    c.state("handrail runs the whole flight", "IRC R311.7.8.4 (from memory)", ends, f.name,
            "from above the top riser to above the lowest riser" if ends else "it stops short of the top or the lowest riser", places(rails))
    m = rails[0]
    if m.sizes.width and abs(m.width - m.thickness) < 1e-6:
        around = 2 * (m.width + m.thickness)
        c.add("handrail grip, perimeter least", c.row("handrail_type_I_noncircular_perimeter_min"), "at least", around, f.name, places([m]),
              why="square section before its edges are eased")
        c.add("handrail grip, perimeter greatest", c.row("handrail_type_I_noncircular_perimeter_max"), "at most", around, f.name, places([m]))


def _landings(c: Checking, flights: list[FlightSeen], stair: int) -> None:
    for f in flights:
        c.add("flight's rise between landings", c.row("flight_vertical_rise_max"), "at most", f.top.level - f.foot, f.name)
        area = unary_union([m.part.footprint.buffer(0.5, join_style="mitre") for m in f.foot_pieces]).buffer(-0.5, join_style="mitre")
        band = _band(f.out, f.sides, f.treads[-1].front - 200, f.treads[-1].front + 400)
        place = f"{f.name} landing at the foot"
        across = np.asarray(shapely.get_coordinates(area)) @ f.across
        strip = area.intersection(_band(f.out, (f.sides[0] + 2, f.sides[1] - 2), f.treads[-1].front - 1, f.treads[-1].front + 400))
        if strip.is_empty:
            c.skip("landing length", c.row("landing_length_min"), place, "no landing surface found in front of the lowest riser")
            continue
        at = np.asarray(shapely.get_coordinates(strip)) @ f.out
        riser = max([_along(m, f.out)[1] for m in riser_boards(c, f)], default=f.treads[-1].front - 1)
        c.add("landing length", c.row("landing_length_min"), "at least", float(at.max()) - riser, place, places(f.foot_pieces))
        wide = _extent(f.stringers, f.across)
        c.add("landing width", c.row("landing_length_min"), "at least", float(across.max() - across.min()), place, places(f.foot_pieces),
              bound=wide[1] - wide[0], why="not less than the width of the stair served")
        tops = [float(m.box[1][2]) for m in f.foot_pieces]
        length = max(float(at.max() - at.min()), 1.0)
        c.add("landing slope", c.row("tread_slope_max"), "at most", (max(tops) - min(tops)) / length, place, places(f.foot_pieces), unit="in per in")
