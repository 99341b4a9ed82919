"""Who carries whom, from where the solids touch.

A piece is carried only by a piece it touches; its role's row says which kinds of touching count. A
joist's end against a rim is a support of the joist only where it does not already lie on two others; elsewhere the
joist carries the rim; a rim that stands on posts is a flush beam and carries the joist, and the rim beside the joists
that ends on it. A joist that lies on beams at
one place alone (at a corner, where two beams meet on a post) is held at its ends by rims that other joists carry.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from ...shared.standards import assumed
from ..solid.part import Part
from ..solid.roles import END, HUNG, ROLES, named
from .contacts import Contact
from .measure import Measured

UNDER_BEAMS = tuple(r for r in ROLES["beam"].carriers if r != "beam")  # a flush beam may lie on one under the joists
_UNDER_JOISTS = ("beam", "ledger", "post")
CALCULATED = named("member")
SEAT = assumed("bearing_on_wood_min").value  # what a hanger gives: an end that bears on less beside one hangs
LEAST_BEVEL = 0.02  # sine of the angle at which a side of a piece is a cut across it; our own
PARALLEL = 0.9998  # cosine: within about one degree
PLY_GAP = 0.1  # inches between plies that lie side by side: rounding
BUTTS = 0.9  # cosine between an end's face and its piece within which it butts and is not mitred; our own


def carriers(parts: Sequence[Part], touching: Sequence[Contact]) -> list[tuple[str, ...]]:
    """For every part, the ids of those that carry it, in the order of `parts`. Ids must be set."""
    found: list[dict[int, None]] = [{} for _ in parts]
    ends_on_rim: list[tuple[int, int]] = []
    for c in touching:
        for a, b in ((c.i, c.j), (c.j, c.i)):
            first, second = parts[a], parts[b]
            if first.role == "joist" and second.role == "rim" and c.kind == "end" and a == c.i:
                ends_on_rim.append((a, b))
            for roles, kinds in ROLES[first.role].carried or ():
                if second.role not in roles:
                    continue
                if kinds == HUNG:
                    if c.kind == "bearing" and a == c.j:
                        found[a][b] = None
                    continue
                if c.kind not in kinds:
                    continue
                if (c.kind == "bearing" or kinds == END) and a != c.i:
                    continue  # `i` rests on `j`, and an end of `i` meets `j`: never the other way round
                found[a][b] = None
    # a rim that touches a post at one end and hangs nowhere else is no beam: joists that lie on others carry it
    standing = {
        k
        for k, row in enumerate(found)
        for j in row
        if parts[k].role == "rim" and parts[j].role in UNDER_BEAMS and len(row) > 1
    }
    _hang_rims(parts, touching, found, standing)
    met: dict[int, list[tuple[int, Contact]]] = {j: [] for j, _ in ends_on_rim}
    for c in touching:
        for a, b in ((c.i, c.j), (c.j, c.i)):
            if a in met:
                met[a].append((b, c))
    lies = {j: _places(parts[j], row, found[j], parts) for j, row in met.items()}
    held = {rim for joist, rim in ends_on_rim if lies[joist] > 1}
    for joist, rim in ends_on_rim:
        supports = [k for k in found[joist] if parts[k].role in _UNDER_JOISTS]
        if len(supports) < 2 or rim in standing or (lies[joist] < 2 and rim in held):
            found[joist][rim] = None
        else:
            found[rim][joist] = None
    _hang_bevels(parts, touching, found)
    _bolt_posts(parts, touching, found)
    _hang_corners(parts, touching, found)
    _nail_corners(parts, touching, found, standing)
    _pass_on(parts, touching, found, "rim", ("end", "side"))  # on the rims its ends meet, or on the ply beside it
    _pass_on(parts, touching, found, "stair header", ("side",))
    _strap_headers(parts, touching, found)
    ids = [p.id for p in parts]
    return [tuple(sorted(ids[k] for k in row)) for row in found]


def _strap_headers(parts: Sequence[Part], touching: Sequence[Contact], found: list[dict[int, None]]) -> None:
    """A stair header that nothing else carries is strapped to the rim over it (`loose_ends.strapped_headers`)."""
    loose = {k for k, p in enumerate(parts) if p.role == "stair header" and not found[k]}
    for c in touching if loose else ():
        if c.kind == "bearing" and c.j in loose and parts[c.i].role == "rim":
            found[c.j][c.i] = None


def _hang_rims(
    parts: Sequence[Part], touching: Sequence[Contact], found: list[dict[int, None]], standing: set[int]
) -> None:
    """A rim beside the joists that butts on one that is their beam hangs there as they do."""
    for c in touching:
        butts = c.kind == "end" and parts[c.i].role == parts[c.j].role == "rim" and c.j in standing - {c.i}
        if butts and c.i not in standing and abs(float(np.dot(c.normal, parts[c.i].place.x))) > BUTTS:
            found[c.i][c.j] = None


def _hang_bevels(parts: Sequence[Part], touching: Sequence[Contact], found: list[dict[int, None]]) -> None:
    """A joist that nothing else carries, or that at an end only grazes the top of a post, is nailed to the rim along
    which its end is cut, at however small an angle."""
    loose = {k for k, p in enumerate(parts) if p.role == "joist" and not found[k]}
    loose |= _grazing(parts, touching, found)
    for c in touching if loose else ():
        for a, b in ((c.i, c.j), (c.j, c.i)):
            if a not in loose or c.kind != "side" or parts[b].role != "rim":
                continue
            if abs(float(np.dot(c.normal, parts[a].place.x))) > LEAST_BEVEL:
                found[a][b] = None
                found[b].pop(a, None)


def _grazing(parts: Sequence[Part], touching: Sequence[Contact], found: list[dict[int, None]]) -> set[int]:
    """The joists that lie on a post at an end by less than a seat, and on nothing else there."""
    seats: dict[int, list[tuple[float, float, str]]] = {}  # place along, area, role of what carries it
    for c in touching:
        for a, b in ((c.i, c.j), (c.j, c.i)):
            if parts[a].role == "joist" and b in found[a]:
                area = c.area if c.kind == "bearing" else np.inf
                seats.setdefault(a, []).append((_along(parts[a], c), area, parts[b].role))
    ends = {}
    for k, rows in seats.items():
        corners = parts[k].vertices @ np.asarray(parts[k].place.x)
        near = [[r for r in rows if abs(r[0] - end) < parts[k].stock.width] for end in (corners.min(), corners.max())]
        least = SEAT * parts[k].stock.thickness
        ends[k] = any(at and all(role == "post" and area < least for _, area, role in at) for at in near)
    return {k for k, grazes in ends.items() if grazes}


def _hang_corners(parts: Sequence[Part], touching: Sequence[Contact], found: list[dict[int, None]]) -> None:
    """A rim or joist that lies on one place alone, short or at the corner of a cantilever, is nailed at its ends to the
    rims that it meets there, of which each lies on two by itself: they carry it, unless it carries them."""
    seats: dict[int, list[tuple[int, Contact]]] = {k: [] for k, p in enumerate(parts) if p.role in ("rim", "joist")}
    corners: dict[int, list[int]] = {}
    mates: dict[int, list[int]] = {}
    for c in touching:
        for a, b in ((c.i, c.j), (c.j, c.i)):
            alike = parts[a].role == parts[b].role and parts[a].role in CALCULATED
            if alike and _parallel(parts[a], parts[b]):
                mates.setdefault(a, []).append(b)  # plies and lengths of one member
            if a in seats:
                seats[a].append((b, c))
                if c.kind == "end" and parts[b].role == "rim" and _at_end(parts[a], c):
                    corners.setdefault(a, []).append(b)

    def places(k: int) -> int:
        """Of the whole member: a ply's seats hold those beside it."""
        of = [k, *mates.get(k, ())]
        return _apart(parts[k], [(b, c) for m in of for b, c in seats[m] if b in found[m] and b not in of], parts)

    def could(a: int, b: int) -> bool:
        """Whether `b` would lie on two places, and not on `a`, without what `a` carries of it now."""
        on = found[b]
        found[b] = {k: None for k in on if k != a}
        free = places(b) > 1 and not _carries(a, b, found, mates)
        found[b] = on
        return free

    short = {k for k in corners if places(k) == 1}
    while True:
        hung = False
        for a in sorted(short):
            for b in corners[a]:
                if b not in found[a] and could(a, b):
                    found[b].pop(a, None)
                    found[a][b] = None
                    hung = True
        if not hung:
            return
        short = {a for a in short if places(a) == 1}


def _nail_corners(
    parts: Sequence[Part], touching: Sequence[Contact], found: list[dict[int, None]], standing: set[int]
) -> None:
    """A rim across the ends of joists is nailed at the corner to the rim that runs beside them and lies on two places
    as they do: it does not end free past the last joist."""
    joists = {k for k, p in enumerate(parts) if p.role == "joist"}
    met: dict[int, list[tuple[int, Contact]]] = {}
    for c in touching:
        for a, b in ((c.i, c.j), (c.j, c.i)):
            if parts[a].role == "rim":
                met.setdefault(a, []).append((b, c))
    for c in touching:
        if c.kind != "end" or not parts[c.i].role == parts[c.j].role == "rim":
            continue
        if _parallel(parts[c.i], parts[c.j]):
            continue
        for a, b in ((c.i, c.j), (c.j, c.i)):
            across = b not in standing and joists & set(found[b]) and a not in found[b] and _at_end(parts[b], c)
            if across and _places(parts[a], met[a], found[a], parts) > 1 and not _carries(b, a, found, {}):
                found[b][a] = None


def _along(part: Part, c: Contact) -> float:
    """Where a contact lies along a piece's long axis."""
    return float(np.dot(c.point, part.place.x))


def _at_end(part: Part, c: Contact) -> bool:
    """Whether a contact lies at either end of a piece, within its depth."""
    corners, at = part.vertices @ np.asarray(part.place.x), _along(part, c)
    return min(at - float(corners.min()), float(corners.max()) - at) < part.stock.width


def _carries(low: int, high: int, found: Sequence[Mapping[int, None]], mates: Mapping[int, Sequence[int]]) -> bool:
    """Whether `low` or one of its `mates`, plies and lengths of one member with it, carries `high`, itself or through
    others."""
    lows = {low, *mates.get(low, ())}
    ask, seen = [high], {high}
    while ask:
        k = ask.pop()
        for n in (*found[k], *mates.get(k, ())):
            if n in lows:
                return True
            if n not in seen:
                seen.add(n)
                ask.append(n)
    return False


def _bolt_posts(parts: Sequence[Part], touching: Sequence[Contact], found: list[dict[int, None]]) -> None:
    """A guard post that finds neither rim nor block, at a corner askew, is bolted to the joists beside it."""
    loose = {k for k, p in enumerate(parts) if p.role == "guard post" and not found[k]}
    for c in touching:
        for a, b in ((c.i, c.j), (c.j, c.i)):
            if a in loose and c.kind == "side" and parts[b].role == "joist":
                found[a][b] = None


def _places(joist: Part, met: Sequence[tuple[int, Contact]], on: dict[int, None], parts: Sequence[Part]) -> int:
    """How many places further apart than it is deep a joist lies on, of those where it `met` a piece."""
    return _apart(joist, [(b, c) for b, c in met if b in on and parts[b].role in _UNDER_JOISTS], parts)


def _apart(part: Part, seats: Sequence[tuple[int, Contact]], parts: Sequence[Part]) -> int:
    """The places of these seats of a piece, as its supports are read: seats nearer than it is deep to the first of a
    place hold it there, and so does the next ply of a beam; the beam of the next edge, whose last ply it lies on as far
    as that from the first, holds it in a place of its own."""
    beams: list[tuple[float, float]] = []  # the first and the last seat on the plies of each
    last = part
    for x, on in sorted(((_along(part, c), parts[b]) for b, c in seats), key=lambda s: s[0]):
        if beams and _next_ply(last, on):
            beams[-1] = beams[-1][0], x
        else:
            beams.append((x, x))
        last = on
    count, first = 0, 0.0
    for start, end in beams:
        if not count or end - first >= part.stock.width:
            count, first = count + 1, start
    return count


def _next_ply(a: Part, b: Part) -> bool:
    return _parallel(a, b) and a.footprint.distance(b.footprint) < PLY_GAP


def _parallel(a: Part, b: Part) -> bool:
    return abs(float(np.dot(a.place.x, b.place.x))) > PARALLEL


def standing_rims(pieces: Sequence[Part] | Sequence[Measured]) -> set[str]:
    """The ids of rims that stand on posts: flush beams, where joists hang on them, and not the other way round."""
    stands = {p.id for p in pieces if p.role in UNDER_BEAMS}
    joists = {p.id for p in pieces if p.role == "joist"}
    return {p.id for p in pieces if p.role == "rim" and stands & set(p.carried_by) and not joists & set(p.carried_by)}


def in_hanger(role: str, on: str, standing: bool) -> bool:
    """Whether the end of a piece hangs in a hanger on another: joists on ledgers, beams and rims that stand on posts,
    rims on ledgers and on such rims. Other ends are nailed or screwed (common practice, no source)."""
    if on == "ledger" or (on == "rim" and standing):
        return role in ("joist", "rim")
    return role == "joist" and on == "beam"


def _pass_on(
    parts: Sequence[Part], touching: Sequence[Contact], found: list[dict[int, None]], role: str, kinds: tuple[str, ...]
) -> None:
    """Pieces of a role that nothing carries are carried by those of the same role beside them that something
    carries."""
    pairs = [(c.i, c.j) for c in touching if c.kind in kinds and parts[c.i].role == parts[c.j].role == role]
    while True:
        alone = {k for pair in pairs for k in pair if not found[k]}
        held = [(a, b) for i, j in pairs for a, b in ((i, j), (j, i)) if a in alone and b not in alone]
        if not held:
            return
        for a, b in held:
            found[a][b] = None
