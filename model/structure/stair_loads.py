"""What a stair brings to its stringers, and they to the frame: of each one's strip of treads what simple spans, or one
beam over a cross piece, bring to its supports; a hip stringer what statics give of its triangle of treads and of the
jack stringers that begin at it."""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from shapely.geometry import MultiPolygon, Polygon, box

from ..measuring.contacts import Contact
from ..measuring.flight_seen import MITRED
from ..plan.edges import FAR
from ..solid.part import Part
from ..solid.roles import named
from ..strength.beams import AnyLoad, Beam, Load, PointLoad
from .members import SQFT, clipped, rounded
from .tributary import FramingLine, divide, loaded_surface, turned, widths

BESIDE = 6.0  # inches: treads reach past the outer stringers by less than this
HEADS = named("takes stringers")
Holding = list[tuple[Part, tuple[float, float]]]  # what holds a stringer at one place, and the plan points


@dataclass(frozen=True, eq=False)
class StringerLoad:
    """A stringer of a horizontal `length` with the treads nearest to it, a `strip` of inches an inch from its head on;
    `held` by the pieces at its ends, whatever they meet, and by cross pieces between, by their places from its head;
    and what jack stringers have `brought` to a hip, in square feet."""

    part: Part
    length: float
    strip: tuple[Load, ...]
    held: Mapping[float, Holding]
    brought: tuple[PointLoad, ...] = ()

    @cached_property
    def loads(self) -> tuple[AnyLoad, ...]:
        """All that stands on it: square feet an inch, or square feet at places. What lies past an end is at that
        end."""
        every: list[AnyLoad] = [*(Load(l.start, l.end, l.w0 / SQFT, l.last / SQFT) for l in self.strip), *self.brought]
        return tuple(rounded(p) for l in every for p in clipped(l, 0.0, self.length, 0.0, self.length))

    @property
    def places(self) -> tuple[float, ...]:
        """Where it is held, from its head."""
        return tuple(min(round(at, 6), self.length) for at in self.held)  # none off its end by what was rounded

    @property
    def area(self) -> float:
        """Square feet."""
        return math.fsum(l.total for l in self.loads)


def stair_loads(
    parts: Sequence[Part], touching: Sequence[Contact]
) -> Iterator[tuple[Part, tuple[float, float], float]]:
    """(piece that takes it, plan point, square feet) for every place where a stringer bears on the frame or on a cross
    piece.

    A stringer is taken as simple spans between its supports, or as one beam over them, whichever brings more to each.
    Ends on a pad go to the ground and are left out. Where steps go on round a corner, a hip stringer brings to the
    corner what statics give of all that stands on it.
    """
    for s in stringers_loaded(parts, touching):
        yield from _reactions(s) if s.part.role in MITRED else _ends(s)


def stringers_loaded(parts: Sequence[Part], touching: Sequence[Contact]) -> Iterator[StringerLoad]:
    """Every stringer that treads rest on: the strip of treads between stringers is divided as the deck's surface is."""
    by_id = {p.id: p for p in parts}
    stringers = [p for p in parts if p.role == "stringer"]
    met: dict[str, list[tuple[Part, Contact]]] = {p.id: [] for p in parts if p.role in ("stringer", *MITRED)}
    mitred: dict[int | None, list[Part]] = defaultdict(list)
    for p in parts:
        if p.role in MITRED:
            mitred[p.stair].append(p)
    for c in touching:
        for a, b in ((c.id_a, c.id_b), (c.id_b, c.id_a)):
            if a in met:
                met[a].append((by_id[b], c))
    groups: dict[tuple, list[Part]] = {}
    for s in stringers:
        u = way_down(s)
        groups.setdefault((s.stair, *(round(float(v), 3) for v in (*u, s.box[1, 2]))), []).append(s)
    for (stair, ux, uy, _), group in groups.items():
        u = np.array([ux, uy]) / np.hypot(ux, uy)
        more = mitred[stair]  # a stair that goes on round a corner is one flight
        ids = {s.id for s in group}
        treads = [
            p.footprint
            for p in parts
            if p.role == "tread"
            and p.stair == stair
            and (more or any(i in ids or ids & set(by_id[i].carried_by) for i in p.carried_by))
        ]
        if treads:
            shares = _shared_out(loaded_surface(treads), [*group, *more], u)
            found = [_loaded(p, share, u, met[p.id]) for p, share in shares]
            yield from _brought_on(found, by_id) if more else found


def way_down(stringer: Part) -> np.ndarray:
    """(2,) plan direction of a stringer's long axis, going down it; of a level one, its own."""
    d = np.asarray(stringer.place.x, float)
    found: np.ndarray = d[:2] / np.hypot(*d[:2]) * (-1.0 if d[2] > 0 else 1.0)
    return found


def _shared_out(
    surface: Polygon | MultiPolygon, group: Sequence[Part], u: np.ndarray
) -> list[tuple[Part, Polygon | MultiPolygon]]:
    """Each stringer of a flight down `u` with the part of its treads that is nearest to it across the flight, in
    coordinates turned so that u runs down the flight."""
    n = np.array([-u[1], u[0]])
    lines, square = [], []
    for s in group:
        along, across = s.vertices[:, :2] @ u, s.vertices[:, :2] @ n
        start, end, v = float(along.min()), float(along.max()), float((across.min() + across.max()) / 2)
        h = way_down(s)
        slope = float(h @ n) / float(h @ u) if s.role == "hip stringer" else 0.0
        lines.append(FramingLine(v - slope * (end - start) / 2, start, end, slope))
        if s.role == "stringer":
            square.append(lines[-1])
    low, high = min(l.u0 for l in square), max(l.u1 for l in square)
    left, right = min(l.v for l in square), max(l.v for l in square)
    if len(square) < len(lines):
        left, right = -FAR, FAR  # as wide as its mitred treads are
    # this flight's treads alone
    own = turned(surface, u).intersection(box(low - BESIDE, left - BESIDE, high + BESIDE, right + BESIDE))
    return [] if own.is_empty else list(zip(group, divide(own, lines)))


def _loaded(s: Part, share: Polygon | MultiPolygon, u: np.ndarray, met: Sequence[tuple[Part, Contact]]) -> StringerLoad:
    """A stringer with its `share` of the treads of a flight down `u`. Of a hip each step across the flight comes down
    where the flight's own place lies on the mitre: its own run is longer than the flight's."""
    h = way_down(s) if s.role == "hip stringer" else u
    scale = float(h @ u)
    along, own = s.vertices[:, :2] @ u, s.vertices[:, :2] @ h
    first, low, high = float(along.min()), float(own.min()), float(own.max())
    strip = (
        Load((w.start - first) / scale, (w.end - first) / scale, w.w0 * scale, w.last * scale) for w in widths(share)
    )
    heads = [(other, c) for other, c in met if other.role in HEADS and other.id in s.carried_by]
    return StringerLoad(s, round(high - low, 6), tuple(strip), _held(s, low, high, heads, h))


def _brought_on(found: Sequence[StringerLoad], by_id: Mapping[str, Part]) -> Iterator[StringerLoad]:
    """The stringers of a flight whose steps go on round a corner: hips held by what carries their block at the corner,
    with what the jacks that begin at them bring; jacks held by their hips."""
    on: dict[str, list[PointLoad]] = defaultdict(list)
    lone: dict[str, Part] = {}  # by jack: its block, where that lies against the corner's block alone
    for s in found:
        if s.part.role == "jack stringer":
            block = next((by_id[i] for i in s.part.carried_by if by_id[i].role == "jack block"), None)
            under = [by_id[i] for i in block.carried_by if by_id[i].role == "hip stringer"] if block else []
            if block is not None and not under:
                lone[s.part.id] = block
            reactions = dict(zip(s.held, Beam(s.length, s.places).solve(s.loads).reactions))
            for hip in under:
                h = way_down(hip)
                low = float((hip.vertices[:, :2] @ h).min())
                at = float(np.asarray(block.plan_middle) @ h) - low if block else 0.0
                on[hip.id].append(PointLoad(at, float(reactions[0.0]) / len(under)))
    for s in found:
        at_corner = s.part if s.part.role == "hip stringer" else lone.get(s.part.id)
        if at_corner is None:
            yield s
            continue
        blocks = [by_id[i] for i in at_corner.carried_by if by_id[i].role == "hip block"]
        heads = [(by_id[i], b.plan_middle) for b in blocks for i in b.carried_by if by_id[i].role in HEADS]
        yield StringerLoad(s.part, s.length, s.strip, {**s.held, 0.0: [*s.held[0.0], *heads]}, tuple(on[s.part.id]))


def _held(s: Part, low: float, high: float, heads: Sequence[tuple[Part, Contact]], u: np.ndarray) -> dict:
    length = round(high - low, 6)
    places: dict[float, dict[str, tuple[Part, tuple[float, float]]]] = {0.0: {}, length: {}}
    for other, contact in heads:
        at = float(np.dot(contact.point[:2], u)) - low
        if other.role == "beam" and s.stair == other.stair:  # a cross piece between the ends
            places.setdefault(at, {}).setdefault(other.id, (other, contact.point[:2]))
        else:
            end = 0.0 if other.box[1, 2] > float(np.mean(s.vertices[:, 2])) else length
            places[end].setdefault(other.id, (other, contact.point[:2]))
    return {at: list(places[at].values()) for at in sorted(places)}


def _ends(s: StringerLoad) -> Iterator[tuple[Part, tuple[float, float], float]]:
    """Each of a stringer's supports with what simple spans between them bring to it, by the lever: treads need not
    reach to its ends; where it runs on over a cross piece, with what that brings where it is more. What bears on
    several pieces at one place is theirs in equal parts."""
    places = list(s.places)
    found = [0.0] * len(places)
    for k, (a, b) in enumerate(itertools.pairwise(places)):
        on = [p for l in s.loads for p in clipped(l, a, b, 0.0, s.length)]
        low, high = Beam(b - a, (0.0, b - a)).solve(on).reactions
        found[k] += float(low)
        found[k + 1] += float(high)
    if len(places) > 2:
        found = np.maximum(found, Beam(s.length, places).solve(s.loads).reactions).tolist()
    for here, area in zip(s.held.values(), found):
        yield from _on(here, area)


def _reactions(s: StringerLoad) -> Iterator[tuple[Part, tuple[float, float], float]]:
    """Each support of a hip or jack stringer with its reaction. What a jack gives to a hip is among the hip's loads."""
    for here, area in zip(s.held.values(), Beam(s.length, s.places).solve(s.loads).reactions):
        yield from _on(here, float(area))


def _on(here: Holding, area: float) -> Iterator[tuple[Part, tuple[float, float], float]]:
    here = [h for h in here if h[0].role != "stair header"] or here  # one is nailed to the rim it hangs under
    for other, point in here:
        yield other, point, area / len(here)
