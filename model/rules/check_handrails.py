"""Handrail rules against the solids: where one is needed, its height, its ends, its grip and the space for the hand."""

from __future__ import annotations

import numpy as np

from ...shared.standards import clause
from ..measuring.flight_seen import FlightSeen, along, riser_boards, runs_with
from ..measuring.measure import Measured
from ..measuring.mitre_seen import corners_seen
from ..measuring.silhouette import span, top_at
from .check_result import Checking, places

ENDS = clause("handrail ends")


def check_handrail(c: Checking, f: FlightSeen) -> None:
    """All handrail rules on one flight."""
    need = c.row("handrail_required_min_risers")
    risers = len(f.levels) - 1
    rails, counted = _rails(c, f), f"{risers} riser{'s' if risers > 1 else ''}"
    if risers < float(need.value):
        c.state("handrail needed", need, True, f.name, f"{counted}: none needed" + (", there is one" if rails else ""))
    else:
        beside = next(((g, on) for g in _round_the_corner(c, f) if (on := _rails(c, g))), None) if not rails else None
        told = "a handrail is there" if rails else "no handrail found"
        if beside is not None:
            told = f"one is on {beside[0].name}, whose treads these are, round the corner"
        ids = places(rails or (beside[1] if beside else []))
        c.state("handrail needed", need, bool(rails or beside), f.name, f"{counted}; {told}", ids)
    if not rails:
        return
    _heights(c, f, rails)
    _ends(c, f, rails)
    _grip(c, f, rails)
    _room_for_the_hand(c, f, rails)


def _round_the_corner(c: Checking, f: FlightSeen) -> list[FlightSeen]:
    """The other flights of one run of treads: mitred with this one over a hip stringer, or with one that is."""
    corners = corners_seen([g for k in c.seen.stairs for g in c.seen.flights(k)])
    found = [f]
    for at in found:  # grows as it is walked
        beside = [g for k in corners for g in (k.first, k.second) if at in (k.first, k.second)]
        found += [g for g in beside if g not in found]
    return found[1:]


def _rails(c: Checking, f: FlightSeen) -> list[Measured]:
    """The sloping handrails along a flight, inside or just outside its treads' ends."""
    return [m for m in c.of("handrail", stair=f.stair) if runs_with(f, m)]


def _heights(c: Checking, f: FlightSeen, rails: list[Measured]) -> None:
    """Above every nosing, each rail by itself: a low one is not excused by a higher one on the other side."""
    found = []
    for _n, t in enumerate(f.steps):
        found += [
            (z - t.level, f.name, places([m])) for m in rails if (z := top_at(m.part, f.out, t.front)) is not None
        ]
    c.worst("handrail height, least", c.row("handrail_height_min"), "at least", found, "places over nosings")
    c.worst("handrail height, greatest", c.row("handrail_height_max"), "at most", found, "places over nosings")


def _ends(c: Checking, f: FlightSeen, rails: list[Measured]) -> None:
    faces = [along(m, f.out)[1] for m in riser_boards(c.measured, f)]
    first, last = (min(faces), max(faces)) if faces else (f.top.front, f.last.front)
    middle = sum(f.sides) / 2
    sides = [[m for m in rails if (sum(along(m, f.across)) / 2 < middle) == low] for low in (True, False)]
    whole = any(
        s and min(along(m, f.out)[0] for m in s) <= first + 1e-3 and max(along(m, f.out)[1] for m in s) >= last - 1e-3
        for s in sides
    )
    c.state(
        "handrail runs the whole flight",
        ENDS,
        whole,
        f.name,
        "from above the top riser to above the lowest riser"
        if whole
        else "it stops short of the top or the lowest riser",
        places(rails),
    )
    returned = [m for m in c.of("handrail", stair=f.stair) if abs(float(np.dot(m.axis[:2], f.across))) > 0.5]
    ends = [e for m in rails for e in along(m, f.out)]
    near = [m for m in returned if any(abs(sum(along(m, f.out)) / 2 - e) < 3 for e in (min(ends), max(ends)))]
    c.state(
        "handrail ends returned",
        ENDS,
        len(near) >= 2,
        f.name,
        f"{len(near)} returns to the guard or wall at its ends"
        + ("" if len(near) >= 2 else ": each end returns, or ends at a newel"),
        places(near),
    )


def _grip(c: Checking, f: FlightSeen, rails: list[Measured]) -> None:
    """Of a square rail; edges are eased on site, which only makes the girth less."""
    square = [m for m in rails if abs(m.width - m.thickness) < 1e-6]
    if not square:
        c.skip(
            "handrail grip",
            c.row("handrail_type_I_noncircular_perimeter_max"),
            f.name,
            "not square: its grip was not measured",
            places(rails),
        )
        return
    around = [(2 * (m.width + m.thickness), f.name, places([m])) for m in square]
    c.worst(
        "handrail grip, perimeter least",
        c.row("handrail_type_I_noncircular_perimeter_min"),
        "at least",
        around,
        why="square section before its edges are eased",
    )
    c.worst("handrail grip, perimeter greatest", c.row("handrail_type_I_noncircular_perimeter_max"), "at most", around)
    corner = [(float(np.hypot(m.width, m.thickness)), f.name, places([m])) for m in square]
    c.worst(
        "handrail grip, across", c.row("handrail_type_I_cross_section_max"), "at most", corner, why="corner to corner"
    )


def _room_for_the_hand(c: Checking, f: FlightSeen, rails: list[Measured]) -> None:
    """Least level distance from the rail to the guard's rails and balusters beside it. Posts are newels it is fixed
    to."""
    found = []
    bays = [b for b in c.seen.bays if runs_with(f, b.top)]
    for m in rails:
        s0, s1 = along(m, f.across)
        a0, a1 = span(m.part, f.out)
        for g in (g for b in bays for g in (b.top, b.bottom, *b.balusters)):
            g0, g1 = along(g, f.out)
            if g1 < a0 or g0 > a1:
                continue
            b0, b1 = along(g, f.across)
            if abs((b0 + b1) - (s0 + s1)) < 24:
                found.append((max(b0 - s1, s0 - b1), f.name, places([m, g])))
    if found:
        c.worst(
            "space behind the handrail",
            c.row("handrail_clearance_to_wall_min"),
            "at least",
            found,
            why="to the guard's rails and balusters",
        )
    else:
        c.skip(
            "space behind the handrail",
            c.row("handrail_clearance_to_wall_min"),
            f.name,
            "no guard beside it; a wall is not modelled",
            places(rails),
        )
