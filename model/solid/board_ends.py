"""The ends of a board by its outline: which of its sides end it, and how much of them bears on what lies below.

The board's long axis is x; lengths in inches, areas in square inches.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon

from ...shared.practice import practice
from ...shared.stock import lumber

# inches a board's end may stand out past what carries it
STANDS_OUT = practice("board end past its bearing")
# how far from its end a board is looked at: that and the thickness of the member that should be there
ZONE = STANDS_OUT + lumber("2x8").thickness
# mean length of bearing over the end's width below which an end counts as hanging
LEAST_BEARING = practice("least bearing of a board end")
NOTCH = 6.0  # a recess in an end no deeper than this is a notch round a post: what stands beside it is the end
LEAST_HALF = 1.0  # square inches of a half near an end: less is the rest of a notch (our own)
SOME_OF_HALF = 0.01  # inches in the mean that a half bears: less is a line (our own)
OUTER = 0.1  # of an end's width on either side: what lies under that alone keeps no end from tipping (our own)
POINT = 0.25  # inches: a taper planed to this is a point (our own)
_END = 0.17  # cosine to the long axis, as on the saw table: a flatter side is an edge or a rip

FAR_OUT = 1e4  # inches: longer than any board

EndFace = tuple[np.ndarray, np.ndarray, np.ndarray]  # from, to, outward normal


def end_faces(outline: Polygon) -> dict[str, list[EndFace]]:
    """The sides that end a board at "A" (low x) and at "B".

    A notch's walls look along the board too, but the board goes on beyond them; the wall of a notch in the end itself
    lies within `NOTCH` of the tip, and the tongues beside it are the end. What is left are tips, and the ends of
    shorter legs. A side shorter than `POINT` is the point of a taper and no end: what bears is the board behind it, up
    to the wall of a notch that left the point.
    """
    ring = np.asarray(shapely.normalize(outline).exterior.coords)[::-1]  # counter-clockwise
    steps = np.diff(ring, axis=0)
    lengths = np.hypot(*steps.T)
    found: dict[str, list[EndFace]] = {}
    for name, sense in (("A", -1.0), ("B", 1.0)):
        tip = float((sense * ring[:, 0]).max()) * sense
        faces: dict[int, EndFace] = {}
        behind: dict[int, EndFace] = {}
        for k, (a, b, step, length) in enumerate(zip(ring, ring[1:], steps, lengths)):
            n = np.array([step[1], -step[0]]) / max(length, POINT)
            if length < POINT + 1e-6 or sense * n[0] < _END:  # planed to a point it is as wide as that
                continue
            far = sense * max(sense * a[0], sense * b[0])
            if abs(far - tip) < 1e-6:
                faces[k] = a, b, n
            elif not _goes_on(outline, (a + b) / 2, sense, tip):
                (faces if abs(far - tip) > NOTCH else behind)[k] = a, b, n
        goes_on_from = {(k + d) % len(steps) for k in faces for d in (-1, 1)}
        faces |= {k: f for k, f in behind.items() if k in goes_on_from and _juts_out(steps, k)}
        found[name] = list((faces or behind).values())
    return found


def _juts_out(steps: np.ndarray, k: int) -> bool:
    """Whether a counter-clockwise outline turns out at both ends of its side `k`."""
    before, at, after = (steps[n % len(steps)] for n in (k - 1, k, k + 1))
    return all(a[0] * b[1] - a[1] * b[0] > 0 for a, b in ((before, at), (at, after)))


def _goes_on(outline: Polygon, point: np.ndarray, sense: float, tip: float) -> bool:
    ray = LineString([(point[0] + sense * 1e-3, point[1]), (tip + sense, point[1])])
    return bool(outline.intersection(ray).length > 1e-3)


def zone(a: np.ndarray, b: np.ndarray, n: np.ndarray, axis: np.ndarray) -> Polygon:
    """The end face swept back along the board, `ZONE` square to the face: a mitre is followed along both edges of its
    board."""
    back = -axis * ZONE / float(axis @ n)
    return Polygon([a, b, b + back, a + back])


def between_outer(faces: list[EndFace], axis: np.ndarray) -> Polygon:
    """The stripe along the board's `axis` behind the middle of an end's width, without the `OUTER` parts: what is to
    carry the end is looked for there."""
    side = np.array([-axis[1], axis[0]])
    at = [float(p @ side) for a, b, _ in faces for p in (a, b)]
    low, high = min(at), max(at)
    edges = [side * (low + (high - low) * share) for share in (OUTER, 1 - OUTER)]
    return Polygon(
        [edges[0] - axis * FAR_OUT, edges[0] + axis * FAR_OUT, edges[1] + axis * FAR_OUT, edges[1] - axis * FAR_OUT]
    )


def overhang(borne: Any, faces: list[EndFace], axis: np.ndarray) -> float:
    """Inches from an end back to the first of what bears it, `borne`; inf where that lies under its outer parts
    alone."""
    within = shapely.intersection(borne, between_outer(faces, axis))
    lines = shapely.multilinestrings([[a, b] for a, b, _ in faces])
    return float(within.distance(lines)) if not within.is_empty else math.inf


def swept(faces: list[EndFace]) -> Any:
    """The zones of all faces of one end."""
    axis = np.array([1.0, 0.0])
    zones = [zone(a, b, n, axis * np.sign(n[0])) for a, b, n in faces]
    return zones[0] if len(zones) == 1 else shapely.union_all(zones)


def bears(outline: Polygon, faces: list[EndFace], under: Any) -> bool:
    """Whether an end with these faces rests on `under` by the mean that counts, and does not stand out past it."""
    width = sum(math.dist(a, b) for a, b, _ in faces)
    if not faces:
        return True
    borne = shapely.intersection(shapely.intersection(outline, swept(faces)), under)
    if borne.area < LEAST_BEARING * width - 1e-6:
        return False
    return overhang(borne, faces, np.array([1.0, 0.0])) <= STANDS_OUT + 1e-6


def on_both_halves(outline: Polygon, faces: list[EndFace], under: Any) -> bool:
    """Whether an end `bears`, and both halves of its board's width carry some of it, as far as a notch leaves them: a
    border borne under one half tips when it is stepped on."""
    if not bears(outline, faces, under):
        return False
    width = sum(math.dist(a, b) for a, b, _ in faces)
    last = shapely.intersection(outline, swept(faces))
    u0, v0, u1, v1 = outline.bounds
    middle = (v0 + v1) / 2
    for low, high in ((v0, middle), (middle, v1)):
        half = shapely.intersection(last, shapely.box(u0 - 1, low, u1 + 1, high))
        if half.area > LEAST_HALF and shapely.intersection(half, under).area <= SOME_OF_HALF * width:
            return False
    return True
