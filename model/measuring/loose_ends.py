"""Ends that rest on nothing and spans between what bears, read from where the solids touch. No plan, no parameter is
looked at.

Lengths in inches, areas in square inches.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from ..solid.faces import boxes, read
from ..solid.part import Part
from ..solid.roles import ROLES, named
from .contacts import Contact
from .saw import sizes_of

AT_END = 1.5  # what touches a member within its own thickness of an end holds that end (our own)
ALONG_A_LINE = 0.25  # square inches: ends that touch by less in all touch along a line (our own)
MEANT_TO_HOLD = 0.01  # a solid nearer than this to a free end was meant to hold it
MEMBERS = named("held at its ends")
HOLDS = named("holds ends")
TREAD_BEARS_ON = ROLES["tread"].carriers
HEADER_HANGS_ON = tuple(r for r in ROLES["stair header"].carriers if r != "rim")  # it lies under the rim, not on it
STRINGERS = named("stringer")
STRINGER_HELD_BY = (*named("holds ends", "concrete"), "hip block", "jack block")
_SQUARE, _ALONG = 0.02, 0.99  # cosines within which pieces cross squarely, or run along each other
_APART = 3.0  # bearings of a beam nearer than this are one place


@dataclass(frozen=True, eq=False)
class FreeEnd:
    """An end of a member that nothing holds, or only along a line: `area` is what it touches there, `by` the pieces
    that are near enough to have been meant to hold it."""

    part: Part
    end: str
    area: float
    by: tuple[Part, ...]
    point: tuple[float, float, float]


@dataclass(frozen=True, eq=False)
class Stretch:
    """A length along a piece without bearing: past its last bearing (`past`), or between two of them."""

    part: Part
    length: float
    past: bool
    skew: float = 1.0  # sine of the angle between the piece and the joists that bear it


def touching(found: Iterable[Contact]) -> dict[int, list[Contact]]:
    """Contacts by the position of either piece."""
    by: dict[int, list[Contact]] = defaultdict(list)
    for c in found:
        by[c.i].append(c)
        by[c.j].append(c)
    return by


def free_ends(parts: Sequence[Part], by: dict[int, list[Contact]]) -> list[FreeEnd]:
    """Ends of joists, blocks and headers at which no frame member touches them by `ALONG_A_LINE` or more."""
    out, box = [], None
    for k, part in enumerate(parts):
        if part.role not in MEMBERS:
            continue
        around = np.array([(c.low, c.high) for c in by[k]]).reshape(-1, 2, 3)
        for end, low, high in _end_boxes(part):
            area = 0.0
            off = np.maximum(low - around[:, 1], around[:, 0] - high).max(axis=1).tolist()
            for c, away in zip(by[k], off):
                if away >= AT_END:  # further than anything holds
                    continue
                other = c.j if c.i == k else c.i
                if parts[other].role in (*HOLDS, "guard post") and not _along(part, parts[other], c, c.i == k, end):
                    # what hangs on this piece does not hold it: its own end must meet the other one
                    reach = AT_END if c.i == k or c.kind == "side" else MEANT_TO_HOLD
                elif part.role == "stair header" and parts[other].role == "pad" and c.kind == "side":
                    reach = AT_END  # anchored to it all along
                else:
                    continue
                if away < reach:
                    area += c.area
            if area >= ALONG_A_LINE:
                continue
            if box is None:
                box = boxes(parts)
            near = ((box[:, 0] <= high + MEANT_TO_HOLD) & (box[:, 1] >= low - MEANT_TO_HOLD)).all(axis=1)
            held = tuple(parts[j] for j in np.flatnonzero(near).tolist() if j != k and parts[j].role in HOLDS)
            out.append(FreeEnd(part, end, area, held, tuple(((low + high) / 2).tolist())))
    return out


def _along(part: Part, other: Part, c: Contact, first: bool, end: str) -> bool:
    """Two members side by side along their length (plies, a cleat) do not hold each other's ends. A bevel does, however
    long: it is cut across its own piece, if at a small angle, and the piece ends in it, at the end that it looks out
    at. `first`: the contact's normal leads out of the part."""
    beside = abs(float(np.dot(part.place.x, other.place.x))) > _ALONG
    outward = float(np.dot(part.place.x, c.normal)) * (1 if first == (end == "B") else -1)
    return c.kind == "side" and beside and outward < _SQUARE


def _end_boxes(part: Part):
    reading, m = read(part.shape), part.place.matrix
    for end, k in zip("AB", sizes_of(part).end_faces):
        ring = reading.faces[k].outer @ m[:3, :3].T + m[:3, 3]
        yield end, ring.min(axis=0), ring.max(axis=0)


def tipping_beams(parts: Sequence[Part], by: dict[int, list[Contact]]) -> list[Part]:
    """Lengths of beam that bear at fewer than two places."""
    out = []
    for k, part in enumerate(parts):
        if part.role != "beam":
            continue
        u = np.asarray(part.place.x)
        at = sorted(float(u @ np.asarray(c.point)) for c in by[k] if (c.i == k and c.kind == "bearing") or _hung(c, k))
        if not at or at[-1] - at[0] < _APART:
            out.append(part)
    return out


def tipping_headers(parts: Sequence[Part], by: dict[int, list[Contact]]) -> list[Part]:
    """Headers of stairs that hang, with the plies beside them, on cleats or posts at fewer than two places, or lie
    against a pad by hardly any of their length, and lie under no rim to which they could be strapped."""
    return [parts[k] for k in _at_one_place(parts, by) if not _under_rims(k, parts, by)]


def strapped_headers(parts: Sequence[Part], by: dict[int, list[Contact]]) -> list[tuple[int, float]]:
    """(position, inches under the rim) of headers whose cleats and posts hold them at fewer than two places: they are
    strapped to the rim over them (common practice, no source). Of plies side by side the longest alone."""
    lengths = {k: max(_under_rims(k, parts, by), default=0.0) for k in _at_one_place(parts, by)}
    found = []
    for k, length in lengths.items():
        beside = [j for j in _plies(k, parts, by) if j in lengths]
        if length and k == max(beside, key=lambda j: (round(lengths[j], 6), -j)):
            found.append((k, length))
    return found


def _under_rims(k: int, parts: Sequence[Part], by: dict[int, list[Contact]]) -> list[float]:
    """Lengths along a piece over which rims lie on it."""
    u = parts[k].place.x
    start, end = parts[k].reach(u)
    over = [parts[c.i].reach(u) for c in by[k] if c.kind == "bearing" and c.j == k and parts[c.i].role == "rim"]
    return [min(end, high) - max(start, low) for low, high in over]


def _at_one_place(parts: Sequence[Part], by: dict[int, list[Contact]]) -> list[int]:
    """Positions of headers that hang on cleats or posts at fewer than two places."""
    headers = [k for k, p in enumerate(parts) if p.role == "stair header"]
    places: dict[int, list[float]] = {}
    for k in headers:
        u, found = np.asarray(parts[k].place.x), []
        for ply in _plies(k, parts, by):
            for c in by[ply]:
                on = parts[c.j if c.i == ply else c.i].role
                if on in HEADER_HANGS_ON:
                    # anchored to concrete all along, else in one place
                    half = math.dist(c.low[:2], c.high[:2]) / 2 if on == "pad" and c.kind == "side" else 0.0
                    at = float(u @ np.asarray(c.point))
                    found += [at - half, at + half]
        places[k] = found
    return [k for k in headers if not places[k] or max(places[k]) - min(places[k]) < _APART]


def _plies(k: int, parts: Sequence[Part], by: dict[int, list[Contact]]) -> set[int]:
    """The piece and all of its role that lie side by side with it, one against the other."""
    found, front = {k}, [k]
    while front:
        one = front.pop()
        beside = {c.j if c.i == one else c.i for c in by[one] if c.kind == "side"}
        more = {j for j in beside - found if parts[j].role == parts[k].role}
        found |= more
        front += more
    return found


def _hung(c: Contact, k: int) -> bool:
    return c.kind == "end" and c.i == k


def loose_stringers(parts: Sequence[Part], by: dict[int, list[Contact]]) -> list[tuple[Part, str]]:
    """Stringers whose "head" or "foot" (the upper or lower third of their height) touches what holds it by less than
    `ALONG_A_LINE`."""
    out = []
    for k, part in enumerate(parts):
        if part.role not in STRINGERS:
            continue
        low, high = part.box[:, 2]
        held = [c for c in by[k] if parts[c.j if c.i == k else c.i].role in STRINGER_HELD_BY]
        # a short one may meet its header over its whole height: the upper end of what it touches counts at the head
        if sum(c.area for c in held if (c.high[2] - low) / (high - low) > 2 / 3) < ALONG_A_LINE:
            out.append((part, "head"))
        if sum(c.area for c in held if (c.z - low) / (high - low) < 1 / 3) < ALONG_A_LINE:
            out.append((part, "foot"))
    return out


def stretches(
    parts: Sequence[Part],
    by: dict[int, list[Contact]],
    roles: Sequence[str],
    on: Sequence[str],
    mitred: bool = False,
) -> list[Stretch]:
    """For each piece of `roles`, its ends past what bears it, then its longest stretch between bearings, on its middle
    line.

    A crossing takes the thickness of what crosses over the sine of the angle; what runs along the piece takes its whole
    length. Ends count to their furthest corners; of pieces that are `mitred` from the middle of the cut, square
    to it.
    """
    out = []
    joists = {_way(p) for p in parts if p.role == "joist"}
    for k, part in enumerate(parts):
        if part.role not in roles:
            continue
        size = sizes_of(part)
        m = part.place.matrix
        u = m[:3, :3] @ size.axes[0]
        along, square = _ends_along(part, u, mitred)
        spans, skew = _borne(u, by[k], k, parts, on, joists)
        if not spans:
            out.append(Stretch(part, along[1] - along[0], True))
            continue
        past = (spans[0][0] - along[0]) * square[0], (along[1] - max(b for _, b in spans)) * square[1]
        out.append(Stretch(part, max(past), True, skew))
        reach, longest = spans[0][1], 0.0
        for a, b in spans[1:]:
            longest, reach = max(longest, a - reach), max(reach, b)
        out.append(Stretch(part, longest, False, skew))
    return out


def _ends_along(part: Part, u: np.ndarray, mitred: bool) -> tuple[tuple[float, float], tuple[float, float]]:
    """(least, greatest) place of a piece along a unit vector, and the cosines of the angles by which its ends there are
    cut off square: 1 unless it is `mitred`, the places then those of the middles of the cuts."""
    reading, turn, origin = read(part.shape), part.place.matrix[:3, :3], part.place.matrix[:3, 3]
    if not mitred:
        along = (reading.vertices @ turn.T + origin) @ u
        return (float(along.min()), float(along.max())), (1.0, 1.0)
    ends = []
    for face in (reading.faces[e] for e in sizes_of(part).end_faces):
        at = (face.outer @ turn.T + origin) @ u
        ends.append((float(at.min() + at.max()) / 2, abs(float(turn @ face.normal @ u))))
    (low, first), (high, second) = sorted(ends)
    return (low, high), (first, second)


def _way(part: Part) -> tuple[float, float]:
    """Which way a piece runs in the plan, either of its two."""
    x, y = np.round(part.place.x[:2], 6).tolist()
    return (x, y) if (x, y) > (0, 0) else (-x, -y)


def _borne(u, found, k: int, parts, on, joists):
    """Sorted (from, to) along `u` that rest on something, and the least sine of the angle to the joists, or to what
    runs as they do (`joists`: their ways), that cross underneath."""
    spans, skew = [], 1.0
    square_to_axes, size_along = bool(np.abs(u).max() > 1 - 1e-9), np.abs(u)
    for c in found:
        if c.kind != "bearing" or c.i != k or parts[c.j].role not in on:
            continue
        way = np.asarray(parts[c.j].place.x[:2])  # in the plan: a stringer slopes
        cosine = abs(float(u[:2] @ way)) / max(float(np.hypot(*way)), 1e-9)
        size = np.subtract(c.high, c.low)
        crossing = False
        if square_to_axes and not _SQUARE < cosine < _ALONG:
            half = float(size_along @ size) / 2
        elif cosine >= _ALONG:
            half = float(np.hypot(size[0], size[1])) / 2
        else:
            crossing = True
            sine = float(np.sqrt(1 - cosine**2))
            half = min(sizes_of(parts[c.j]).thickness / sine, float(np.hypot(size[0], size[1]))) / 2
            if _way(parts[c.j]) in joists:
                skew = min(skew, sine)
        middle = float(u @ np.asarray(c.point)) if crossing else float(u @ np.add(c.low, c.high)) / 2
        spans.append((middle - half, middle + half))
    return sorted(spans), skew
