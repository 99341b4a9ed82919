"""What a stair brings to its stringers, and they to the frame: half of each one's strip of treads, at its head."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from shapely.geometry import MultiPolygon, Polygon, box

from ..measuring.contacts import Contact
from ..solid.part import Part
from ..solid.roles import named
from .tributary import FramingLine, divide, loaded_surface, turned

BESIDE = 6.0  # inches: treads reach past the outer stringers by less than this
HEADS = named("takes stringers")


@dataclass(frozen=True, eq=False)
class StringerLoad:
    """A stringer with the `share` of its flight's treads that is nearest to it, in coordinates turned so that u runs
    down the flight; from `low` to `high`, its ends; and by their places along it what holds it up: its ends, whatever
    they meet, and cross pieces between."""

    part: Part
    share: Polygon | MultiPolygon
    low: float
    high: float
    held: dict[float, list[tuple[Part, tuple[float, float]]]]

    @property
    def area(self) -> float:
        """Square feet."""
        return float(self.share.area) / 144


def stair_loads(
    parts: Sequence[Part], touching: Sequence[Contact]
) -> Iterator[tuple[Part, tuple[float, float], float]]:
    """(piece that takes it, plan point, square feet) for every place where a stringer bears on the frame or on a cross
    piece.

    A stringer is taken as simple spans between its supports. Ends on a pad go to the ground and are left out. Where
    steps go on round a corner, half of what the mitred treads leave to hip and jack stringers comes to the corner.
    """
    shared: dict[int, float] = {}
    for s in stringers_loaded(parts, touching):
        yield from _ends(s)
        assert s.part.stair is not None, "a stringer is a stair's"
        shared[s.part.stair] = shared.get(s.part.stair, 0.0) + s.area
    by_id = {p.id: p for p in parts}
    for stair, area in shared.items():
        hips = [p for p in parts if p.role == "hip stringer" and p.stair == stair]
        if not hips:
            continue
        rest = loaded_surface([p.footprint for p in parts if p.role == "tread" and p.stair == stair]).area / 144 - area
        for hip in hips:
            for block in (by_id[i] for i in hip.carried_by if by_id[i].role == "hip block"):
                heads = [by_id[i] for i in block.carried_by if by_id[i].role in HEADS]
                heads = [h for h in heads if h.role != "stair header"] or heads
                for head in heads:
                    yield head, block.plan_middle, rest / 2 / len(hips) / len(heads)


def stringers_loaded(parts: Sequence[Part], touching: Sequence[Contact]) -> Iterator[StringerLoad]:
    """Every stringer that treads rest on: the strip of treads between stringers is divided as the deck's surface is."""
    by_id = {p.id: p for p in parts}
    stringers = [p for p in parts if p.role == "stringer"]
    met: dict[str, list[tuple[Part, Contact]]] = {s.id: [] for s in stringers}
    for c in touching:
        for a, b in ((c.id_a, c.id_b), (c.id_b, c.id_a)):
            if a in met:
                met[a].append((by_id[b], c))
    groups: dict[tuple, list[Part]] = {}
    for s in stringers:
        d = np.asarray(s.place.x)  # a stringer's long axis, down or up the flight
        u = d[:2] / np.hypot(*d[:2]) * (-1.0 if d[2] > 0 else 1.0)
        groups.setdefault((s.stair, *(round(float(v), 3) for v in (*u, s.box[1, 2]))), []).append(s)
    for (stair, ux, uy, _), group in groups.items():
        u = np.array([ux, uy]) / np.hypot(ux, uy)
        ids = {s.id for s in group}
        treads = [
            p.footprint
            for p in parts
            if p.role == "tread"
            and p.stair == stair
            and any(i in ids or ids & set(by_id[i].carried_by) for i in p.carried_by)
        ]
        if not treads:
            continue
        n = np.array([-u[1], u[0]])
        lines = []
        for s in group:
            along, across = s.vertices[:, :2] @ u, s.vertices[:, :2] @ n
            lines.append(FramingLine(float((across.min() + across.max()) / 2), float(along.min()), float(along.max())))
        surface = turned(loaded_surface(treads), u)
        low, high = min(l.u0 for l in lines), max(l.u1 for l in lines)
        left, right = min(l.v for l in lines), max(l.v for l in lines)
        surface = surface.intersection(
            box(low - BESIDE, left - BESIDE, high + BESIDE, right + BESIDE)
        )  # this flight's treads alone
        if surface.is_empty:
            continue
        shares = divide(surface, lines)
        for s, share in zip(group, shares):
            heads = [(other, c) for other, c in met[s.id] if other.role in HEADS and other.id in s.carried_by]
            along = s.vertices[:, :2] @ u
            low, high = float(along.min()), float(along.max())
            yield StringerLoad(s, share, low, high, _held(s, low, high, heads, u))


def _held(stringer: Part, low: float, high: float, heads, u: np.ndarray) -> dict[float, list]:
    places: dict[float, dict[str, tuple[Part, tuple[float, float]]]] = {low: {}, high: {}}
    for other, contact in heads:
        at = float(np.dot(contact.point[:2], u))
        if other.role == "beam" and stringer.stair == other.stair:  # a cross piece between the ends
            places.setdefault(at, {}).setdefault(other.id, (other, contact.point[:2]))
        else:
            end = low if other.box[1, 2] > float(np.mean(stringer.vertices[:, 2])) else high
            places[end].setdefault(other.id, (other, contact.point[:2]))
    return {at: list(places[at].values()) for at in sorted(places)}


def _ends(s: StringerLoad) -> Iterator[tuple[Part, tuple[float, float], float]]:
    """Each of a stringer's supports with its part of the area: half of the stretches beside it, its own ends among the
    supports. What bears on several pieces at one place is theirs in equal parts."""
    order = list(s.held)
    for k, at in enumerate(order):
        stretch = (order[min(k + 1, len(order) - 1)] - order[max(k - 1, 0)]) / 2
        here = s.held[at]
        here = [h for h in here if h[0].role != "stair header"] or here  # one is nailed to the rim it hangs under
        for other, point in here:
            yield other, point, s.area * stretch / (s.high - s.low) / len(here)
