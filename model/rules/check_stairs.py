"""Stair rules against the solids: rises, goings, nosings, open risers, width, headroom, stringers.

Every number is read off the solids. One row a rule and flight: the step with least room, and how many there are.
"""

from __future__ import annotations

import itertools

import numpy as np
import shapely
from shapely.geometry import box

from ...shared.cited import Named
from ...shared.said import decimal, said
from ...shared.standards import clause
from ...shared.stock import lumber
from ..measuring.flight_seen import WALKED, FlightSeen, along, band_of, heading, riser_boards, runs_with, underside
from ..measuring.measure import Measured
from ..measuring.mitre_seen import mitre_gaps
from ..measuring.silhouette import seen
from ..measuring.throat import throat
from .check_handrails import check_handrail, check_handrail_load
from .check_landings import check_landings
from .check_result import Checking, places

_LOW = 12.0  # inches over that line up to which a piece leaves the width as it is: a block under a rail; our own
OVERHEAD = 48.0  # inches over the line of the nosings from which on a piece hangs over a flight, not beside it; our own


def check_stairs(c: Checking) -> None:
    """All stair rules on every stair."""
    for k in range(len(c.deck.parameters.stair)):
        flights = c.seen.flights(k)
        for u in c.seen.unread(k):
            c.skip("stair", clause("stairways"), f"stair {k + 1}", u.why, places(u.stringers))
        nosings: list[float] = []
        for f in flights:
            _rises(c, f)
            _goings(c, f)
            nosings += _nosings(c, f)
            _open_risers(c, f)
            _width(c, f)
            _headroom(c, f)
            if f.stringers:
                _stringers(c, f)
            check_handrail(c, f)
        if len(nosings) > 1:
            c.add(
                "nosings alike",
                c.row("nosing_uniformity_max_difference"),
                "at most",
                max(nosings) - min(nosings),
                f"stair {k + 1}",
                why="over all flights, their landings and the deck's edge",
            )
        check_landings(c, flights)
    check_handrail_load(c)


def _rises(c: Checking, f: FlightSeen) -> None:
    """Every rise from grade, or the landing, to the surface; and greatest less smallest over the whole flight."""
    rises = f.rises
    steps = [*f.treads, f.last]
    found = [(r, f"{f.name} riser {k}", places(s.pieces)) for k, (r, s) in enumerate(zip(rises, steps), 1)]
    c.worst("rise", c.row("riser_height_max"), "at most", found, "rises", local=c.local.riser_height)
    if len(rises) < 2:
        return
    c.add(
        "rises alike",
        c.row("riser_uniformity_max_difference"),
        "at most",
        max(rises) - min(rises),
        f.name,
        why=said(
            "{least} to {most}, the first from the foot and the last to the surface among them",
            least=decimal(min(rises), figures=4, bare=True),
            most=decimal(max(rises), figures=4),
        ),
    )


def _goings(c: Checking, f: FlightSeen) -> None:
    goings = f.goings
    found = [(g, f"{f.name} tread {k}", places(t.pieces)) for k, (g, t) in enumerate(zip(goings, f.treads), 1)]
    c.worst("going (run)", c.row("tread_depth_min"), "at least", found, "treads", local=c.local.tread_depth)
    if len(goings) > 1:
        c.add("goings alike", c.row("tread_uniformity_max_difference"), "at most", max(goings) - min(goings), f.name)
    slopes = [
        (
            float(max(m.box[1][2] for m in t.pieces) - min(_top_low(m) for m in t.pieces)),
            f"{f.name} tread {k}",
            places(t.pieces),
        )
        for k, t in enumerate(f.treads, 1)
    ]
    c.worst(
        "tread slope",
        c.row("tread_slope_max"),
        "at most",
        [(d / max(t.front - t.back, 1.0), p, i) for (d, p, i), t in zip(slopes, f.treads)],
        "treads",
        unit="in per in",
    )


def _top_low(m: Measured) -> float:
    """Lowest corner of a piece's upper face."""
    z = m.part.vertices[:, 2]
    return float(z[z > (z.min() + z.max()) / 2].min())


def _nosings(c: Checking, f: FlightSeen) -> list[float]:
    """Nosings over riser boards, of every step of the flight and of the surface above; returned for the comparison."""
    boards = riser_boards(c.measured, f)
    row, exempt = c.row("nosing_projection_min"), c.row("nosing_exempt_tread_depth")
    going = min(f.goings, default=0.0)
    found = []
    for k, (upper, lower) in enumerate(zip(f.steps, [*f.treads, None]), 1):
        bottom = lower.level if lower else f.foot
        below = [m for m in boards if bottom - 2 < (m.box[0][2] + m.box[1][2]) / 2 < upper.level]
        faces = [a for m in below if abs((a := along(m, f.out)[1]) - upper.front) < 6]
        if faces:
            found.append((upper.front - max(faces), f"{f.name} nosing over riser {k}", places(upper.pieces)))
    if not found:
        bare = "the edge of concrete: it has no nosing"
        concrete = not f.treads and f.top.pieces[0].role == "pad"
        why = bare if concrete else "open risers: the row asks for a nosing with solid risers only"
        c.skip("nosing, least", row, f.name, why)
        return []
    least = min(n for n, _, _ in found)
    if not least >= row.value and c.lacks("nosing, least", f.name, row, exempt):
        pass
    elif going >= float(exempt.value) - 1e-6 and least < float(row.value):
        c.state(
            "nosing, least",
            exempt,
            True,
            f.name,
            said(
                "treads are {going} deep: no nosing is required; the least is {least}",
                going=decimal(going, 3),
                least=decimal(least, 3),
            ),
        )
    else:
        c.worst("nosing, least", row, "at least", found, "nosings")
    c.worst("nosing, greatest", c.row("nosing_projection_max"), "at most", found, "nosings")
    return [n for n, _, _ in found]


def _open_risers(c: Checking, f: FlightSeen) -> None:
    """The ball between a tread and the next one down, seen from the side with risers and pieces between them."""
    row, exempt = c.row("open_riser_sphere"), c.row("open_riser_exempt_height")
    if c.lacks("open riser", f.name, row, exempt):
        return
    top = {m.id for m in f.top.pieces}
    closers = [
        m
        for m in c.of("tread", "riser", "tread blocking", "step frame", "pad", "rim", "stair header", "fascia", *WALKED)
        if m.part.stair == f.stair or m.id in top or m.role in ("riser", "rim")
    ]
    outlines = np.array([seen(m.part, f.out) for m in closers], object)
    found: list[tuple[float, str, tuple[str, ...]]] = []
    low: list[tuple[float, str, tuple[str, ...]]] = []
    for k, (upper, lower) in enumerate(zip(f.steps, [*f.treads, None]), 1):
        level = lower.level if lower else f.foot
        back = lower.back if lower else upper.front - 2
        under = min(float(m.box[0][2]) for m in upper.pieces)
        if under - level < 0.05:
            continue
        depth = max(upper.front - back, 1.5)
        way = box(upper.front - depth - 2, level, upper.front, under)
        clear = _clear_height(outlines[shapely.intersects(outlines, way)], *way.bounds)
        above = level - min(c.deck.planes.grade(*(f.out * upper.front + f.across * s)) for s in f.sides)
        exempted = clear > 0.05 and above <= float(exempt.value) + 1e-6 and clear >= float(row.value)
        (low if exempted else found).append((clear, f"{f.name} riser {k}", places(upper.pieces)))
    c.worst("open riser", row, "less than", found, "openings")
    if low:
        c.state(
            "open riser",
            exempt,
            True,
            low[-1][1],
            said(
                "{n} openings of {most} or less, from where a fall is {fall} or less: not limited",
                n=len(low),
                most=decimal(max(l[0] for l in low), 3),
                fall=decimal(float(exempt.value), None),
            ),
            low[-1][2],
        )


def _clear_height(outlines, a0, z0, a1, z1) -> float:
    """Clear height through which something could pass between a0 and a1: the lowest of all passages on the way."""
    if not len(outlines):
        return z1 - z0
    at = np.linspace(a0 + 0.01, a1 - 0.01, 40)
    lines = shapely.linestrings(
        np.stack([np.column_stack([at, np.full(40, z0 + 1e-4)]), np.column_stack([at, np.full(40, z1 - 1e-4)])], axis=1)
    )
    rest = shapely.difference(lines, shapely.union_all(outlines))
    pieces, owner = shapely.get_parts(rest, return_index=True)
    open_here = np.zeros(40)
    np.maximum.at(open_here, owner, shapely.length(pieces))
    return float(min(open_here.min(), z1 - z0))


def _width(c: Checking, f: FlightSeen) -> None:
    """Clear width: between the guards where there are any, else between the tread's ends; and beside handrails. Only
    what stands higher than a handrail may counts as a guard here: the clause measures above that."""
    lo, hi = f.sides
    middle = (lo + hi) / 2
    start, end = f.walk
    low, high = lo, hi
    rails = []
    for m in c.measured:
        if m.part.group != "guards" or not (m.box[1][2] > f.last.level and m.box[0][2] < f.top.level + 40):
            continue
        a0, a1 = along(m, f.out)
        if a1 < start + 0.5 or a0 > end - 0.5 or (m.part.stair is not None and m.part.stair != f.stair):
            continue
        if m.role == "handrail" and m.part.stair is not None and not runs_with(f, m):
            continue
        if m.role != "handrail" and m.box[1][2] < f.pitch_level(min(a1, end)) + _LOW:
            continue
        if m.box[0][2] > f.pitch_level(max(a0, start)) + OVERHEAD:  # the deck's own, over a flight that turns back
            continue
        s0, s1 = along(m, f.across)
        if m.role == "handrail":
            rails.append((s0, s1))
        elif m.role == "post cap":
            continue
        elif (s0 + s1) / 2 < middle:
            low = max(low, s1)
        else:
            high = min(high, s0)
    c.add(
        "stair width",
        c.row("stair_clear_width_min"),
        "at least",
        max(high - low, 0.0),
        f.name,
        local=c.local.stair_width,
    )
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
    nosings = [(t.front, t.level) for t in f.steps]
    own = {m.id for t in f.treads for m in t.pieces}
    band = band_of(f.out, (f.sides[0] + 1, f.sides[1] - 1), *f.walk)
    x0, y0, x1, y1 = band.bounds
    least: float | None = None
    over: Measured | None = None
    for m in c.measured:
        if (
            m.box[0][2] < f.last.level + 12
            or m.box[0][0] > x1
            or m.box[1][0] < x0
            or m.box[0][1] > y1
            or m.box[1][1] < y0
        ):
            continue
        if m.id in own or m.part.group == "guards" or not m.part.footprint.intersects(band):
            continue
        shadow = m.part.footprint.intersection(band)
        if shadow.area < 1:
            continue
        corners = shapely.get_coordinates(shadow)
        at = corners @ f.out
        for a in (float(at.min()), float(at.max())):
            pitch = float(np.interp(a, [n[0] for n in nosings], [n[1] for n in nosings]))
            gap = underside(m, corners[np.isclose(at, a)]) - pitch
            if gap > 12 and (least is None or gap < least):
                least, over = gap, m
    if least is None or over is None:
        c.skip(
            "headroom",
            row,
            f.name,
            "no piece of the deck lies above the flight; the house and its eaves are not in the model: look on site",
        )
    else:
        c.add("headroom", row, "at least", least, f.name, places([over]))


def _stringers(c: Checking, f: FlightSeen) -> None:
    every = (*f.stringers, *f.hips, *f.jacks)
    throats = {s.id: t for s in every if (t := throat(s.part))}
    cut = [s for s in every if s.id in throats]
    kind = "cut" if cut else "solid"
    row = c.row(f"stringer_{kind}_span_max")
    runs = [(_span(c, f.out, s), f.name, places(f.stringers)) for s in f.stringers]
    runs += [(_span(c, heading(s), s), f"{f.name} {s.mark}", places([s])) for s in (*f.hips, *f.jacks)]
    carried = any(c.by_id[i].role == "beam" for s in f.stringers for i in s.carried_by)
    why = "horizontal, between its ends and the cross pieces under it" if carried else "horizontal, end to end"
    c.worst(f"stringer span, {kind}", row, "at most", runs, why=why)
    wanted = c.named("stringer_stock")
    if isinstance(wanted, Named):
        least = lumber(wanted.name)
        # what is bought: a cut stringer's own width is less than its stock's where it has few steps
        small = [s for s in every if s.stock.width < least.width - 1e-6 or s.thickness < least.thickness - 1e-6]
        c.state(
            "stringer stock",
            wanted,
            not small,
            f.name,
            f"{f.stringers[0].stock.name}, at least {wanted.name}",
            places(small),
        )
    else:
        c.lacks("stringer stock", f.name, wanted)
    middles = sorted(sum(along(s, f.across)) / 2 for s in f.stringers)
    gaps = [b - a for a, b in itertools.pairwise(middles)] + mitre_gaps(f)
    if gaps:
        c.add("stringer spacing", c.row(f"stringer_spacing_max_{kind}"), "at most", max(gaps), f.name, places(every))
    for s in {id(s.part.shape): s for s in cut}.values():
        if not throats[s.id].over_edge:
            why = "no notch of this short piece stands over its lower edge, to which a throat is measured"
            c.skip("stringer throat", c.row("stringer_throat_min"), f"{f.name} {s.mark}", why, places([s]))
            continue
        c.add(
            "stringer throat",
            c.row("stringer_throat_min"),
            "at least",
            throats[s.id].width,
            f"{f.name} {s.mark}",
            places([s]),
        )


def _span(c: Checking, out: np.ndarray, stringer: Measured) -> float:
    """The longest stretch of a stringer along `out` between its ends and the middles of what it bears on between
    them."""
    low, high = along(stringer, out)
    under = [sum(along(c.by_id[i], out)) / 2 for i in stringer.carried_by if c.by_id[i].role == "beam"]
    stops = sorted([low, high, *(a for a in under if low < a < high)])
    return max(b - a for a, b in itertools.pairwise(stops))
