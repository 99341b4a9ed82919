"""What people and things on a seat bring to the frame, and guards and skirting by their own weight: down from piece to
piece, to the members under their feet."""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Iterator, Sequence

import numpy as np

from ...shared.points import Vector
from ...shared.stock import weight
from ..measuring.contacts import Contact
from ..solid.part import Part
from ..solid.roles import OWN_WEIGHT, ROLES, SEAT_LOAD, named

FRAMING = frozenset(named("joist level", "member"))
ALL_ALONG = 6.0  # inches of contact from which a piece carries another all along it
ONE_SEAT = 1.0  # inches along a piece within which two contacts are one place
DEEPEST = 8  # pieces between a seat and the frame


class Resting(defaultdict[str, list[tuple[Part, np.ndarray]]]):
    """By id: what carries a piece, and where in plan. `along` has, by the ids of both, from where to where along the
    piece that carries it all along, and the line on which it does."""

    def __init__(self) -> None:
        super().__init__(list)
        self.along: dict[tuple[str, str], list[tuple[float, float, np.ndarray]]] = defaultdict(list)


def resting(parts: Sequence[Part], touching: Sequence[Contact]) -> Resting:
    """Where each piece rests on those that carry it."""
    by_id = {p.id: p for p in parts}
    on = Resting()
    for c in touching:
        one, other = by_id[c.a.id], by_id[c.b.id]
        for a, b in ((one, other), (other, one)):
            if b.id in a.carried_by:
                middle = np.asarray(c.point[:2], float)
                on[a.id].append((b, middle))
                if c.kind != "bearing":
                    continue
                d = np.asarray(a.place.x[:2], float)
                half = float(np.abs(d) @ (np.asarray(c.high[:2]) - np.asarray(c.low[:2]))) / 2
                if half > ALL_ALONG / 2:
                    on.along[a.id, b.id].append((float(middle @ d) - half, float(middle @ d) + half, middle))
    return on


def seat_loads(parts: Sequence[Part], on: Resting) -> Iterator[tuple[Part, tuple[float, float], float]]:
    """(piece of the frame, plan point, square feet) for every piece whose role brings `SEAT_LOAD`."""
    for p in parts:
        if ROLES[p.role].load == SEAT_LOAD:
            # each stretch of a long piece brings its own share to the carriers beside it
            x0, x1 = _reach(p)
            stops = _places(p, on.get(p.id, ()))
            cuts = [x0, *((a + b) / 2 for (a, _), (b, _) in itertools.pairwise(stops)), x1]
            for (_, group), low, high in zip(stops, cuts, cuts[1:]):
                area = p.footprint.area / 144 * (high - low) / max(x1 - x0, 1e-9)
                for part, point in group:
                    yield from down(part, point, area / len(group), on)


def own_weights(parts: Sequence[Part], on: Resting) -> Iterator[tuple[Part, tuple[float, float], float]]:
    """(piece of the frame, plan point, pounds): what pieces whose role brings `OWN_WEIGHT` weigh, each from its middle
    down, summed where it comes down."""
    found: dict[tuple[str, float, float], float] = defaultdict(float)
    below: dict[str, Part] = {}
    for p in parts:
        if ROLES[p.role].load == OWN_WEIGHT:
            pounds = weight(p.stock, p.shape.polygon.area * p.shape.thickness)
            for part, (x, y), share in down(p, p.box[:, :2].mean(axis=0), pounds, on):
                found[part.id, round(x, 3), round(y, 3)] += share
                below[part.id] = part
    for (key, x, y), pounds in found.items():
        yield below[key], (x, y), pounds


def _reach(p: Part) -> tuple[float, float]:
    s = p.vertices[:, :2] @ np.asarray(p.place.x[:2], float)
    return float(s.min()), float(s.max())


def _places(p: Part, carriers) -> list[tuple[float, list[tuple[Part, np.ndarray]]]]:
    """(position along the piece, what carries it there), in order."""
    axis = np.asarray(p.place.x[:2], float)
    if float(np.hypot(*axis)) < 0.5:  # upright: all in one place
        return [(0.0, list(carriers))] if carriers else []
    out: list[tuple[float, list]] = []
    for part, point in sorted(carriers, key=lambda c: float(c[1] @ axis)):
        at = float(point @ axis)
        if out and at - out[-1][0] < ONE_SEAT:
            out[-1][1].append((part, point))
        else:
            out.append((at, [(part, point)]))
    return out


def down(
    part: Part, point: Vector, area: float, on: Resting, path: tuple[str, ...] = ()
) -> Iterator[tuple[Part, tuple[float, float], float]]:
    """(piece of the frame, plan point, share of `area`) to which a load on a piece comes down.

    A piece that carries it between two of its carriers gives each its share by the lever rule; past the last one, all
    to that one. Of pieces that hold each other (skirting boards) none hands a load back up the `path` it came by.
    """
    carriers = [c for c in on.get(part.id, ()) if c[0].id not in path]
    if part.role in FRAMING or not carriers or len(path) == DEEPEST:
        yield part, (float(point[0]), float(point[1])), area
        return
    for below, where, share in by_lever(part, point, carriers, on):
        yield from down(below, where, area * share, on, (*path, part.id))


def by_lever(
    part: Part, point: Vector, carriers: Sequence[tuple[Part, np.ndarray]], on: Resting
) -> Iterator[tuple[Part, np.ndarray, float]]:
    """(piece, plan point, share) for a load at a point of a piece: all to the nearest piece that carries it all along
    there (a border on its rim), else between two of its carriers by the lever rule, past the last one all to that one;
    what carries it at one place in equal parts."""
    stops = _places(part, carriers)
    d = np.asarray(part.place.x[:2], float)
    at = float(np.asarray(point[:2]) @ d)
    under = [
        (below, middle + d * (at - float(middle @ d)))
        for below in {c[0].id: c[0] for c in carriers}.values()
        for low, high, middle in on.along.get((part.id, below.id), ())
        if low <= at <= high
    ]
    if under:
        yield *min(under, key=lambda u: float(np.hypot(*(u[1] - point[:2])))), 1.0
        return
    shares = [(stops[0][1], 1.0)]
    if len(stops) > 1:
        k = int(np.searchsorted([s for s, _ in stops], at))
        if k == len(stops):
            shares = [(stops[-1][1], 1.0)]
        elif k:
            (a, left), (b, right) = stops[k - 1], stops[k]
            shares = [(left, (b - at) / (b - a)), (right, (at - a) / (b - a))]
    for group, share in shares:
        group = [g for g in group if g[0].role != "stair header"] or group  # it is nailed to the rim it hangs under
        for below, where in group:
            if share > 1e-9:
                yield below, where, share / len(group)
