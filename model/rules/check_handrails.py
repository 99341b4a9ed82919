"""Handrail rules against the solids: where one is needed, its height, its ends, its grip and the space for the hand."""

from __future__ import annotations

import contextlib
import itertools

import numpy as np

from ...shared.errors import InputError
from ...shared.said import decimal, number, said
from ...shared.standards import clause
from ..measuring.flight_seen import FlightSeen, along, riser_boards, runs_with
from ..measuring.measure import Measured
from ..measuring.mitre_seen import corners_seen
from ..measuring.rail_ends import rail_ends
from ..measuring.silhouette import span, top_at
from ..plan.posts_at_corner import ON_POST
from ..strength.nds import Lumber, NoValue, bending
from .check_result import Checking, places

ENDS = clause("handrail ends")
FURTHEST_ASIDE = 6.1  # inches from a rail to a post that its bracket goes to: the most clearance a file may ask for


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
    back = c.deck.parameters.stair[f.stair].nosing  # an open riser has its place behind the nosing over it
    first, last = (min(faces), max(faces)) if faces else (f.top.front - back, f.last.front - back)
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
    meet = _meet_posts(c)
    short = [m for m in near if m.id not in meet]
    whole = len(near) - len(short) >= 2
    why = f"{len(near) - len(short)} returns to the guard or wall at its ends"
    if short:
        why += f"; {len(short)} stops short of its post"
    c.state(
        "handrail ends returned",
        ENDS,
        whole,
        f.name,
        why + ("" if whole else ": each end returns, or ends at a newel"),
        places(near),
    )


def _meet_posts(c: Checking) -> set[str]:
    """The ids of the pieces of handrails of which an end has half of its section on a guard post or its sleeve."""
    ends = rail_ends(c.deck.parts, c.deck.touching, ("handrail",))
    return {e.part.id for e in ends if e.on >= ON_POST * e.area}


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


def check_handrail_load(c: Checking) -> None:
    """Of all handrails the one whose brackets are furthest apart: the load on handrails (Table R301.5) half way between
    the posts that they go to, and how near they would have to be by the lumber's own strength. Brackets are no solids,
    and rails are sold by their makers' tests: it is told, not judged."""
    row = c.row("guard_handrail_concentrated_load")
    flights = [f for k in c.seen.stairs for f in c.seen.flights(k)]
    rails = [(_between_posts(c, m), f.name, m) for f in flights for m in _rails(c, f)]
    if not rails or c.lacks("handrail, load on it", "handrails", row, ids=places([m for *_, m in rails])):
        return
    apart, name, m = max(rails, key=lambda x: x[0])
    section = m.width * m.thickness**2 / 6
    why = said(
        "{lb} lb half way between posts {apart} apart bend it with {psi} psi: take one that its maker rates for that",
        lb=number(row.value),
        apart=decimal(apart, 1),
        psi=number(row.value * apart / 4 / section, 0, grouped=True),
    )
    with contextlib.suppress(NoValue, InputError):
        fb = bending(Lumber.of(c.deck.parameters.lumber), m.stock, "live (occupancy)", False)
        near = decimal(4 * fb.value * section / row.value, 1)
        why = said("{why}, or brackets at most {near} apart (graded lumber, Fb' {fb} psi)", why=why, near=near,
                   fb=number(fb.value, 0, grouped=True))  # fmt: skip
    place = f"{name}, longest of {len(rails)}" if len(rails) > 1 else name
    c.skip("handrail, load on it", row, place, why, places([m]))


def _between_posts(c: Checking, m: Measured) -> float:
    """The longest part of a rail between posts beside it that its brackets go to, along it; without two, all of it."""
    level = float(np.hypot(*m.axis[:2]))
    u = m.axis[:2] / level
    here = m.part.footprint.buffer(FURTHEST_ASIDE)
    posts = [p for p in c.of("guard post") if p.part.footprint.intersects(here)]
    at = sorted(float(p.box.mean(axis=0)[:2] @ u) for p in posts)
    return max((b - a for a, b in itertools.pairwise(at)), default=m.length * level) / level
