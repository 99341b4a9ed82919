"""What stands on the surface, given to the lines of framing under it: the uniform loads by their strips, area loads and
snow from a roof above by the lever between two lines. Plan inches, square feet that load a place, pounds."""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
from shapely.geometry import Polygon
from shapely.ops import unary_union

from ...shared.said import Words, decimal, number, said
from ...shared.said import surface as surface_of
from ..input.area_load import AreaLoad
from ..measuring.member_seen import PARALLEL, axis, extent
from ..plan.roof_snow import SnowStrip
from ..solid.part import Part
from ..solid.roles import named
from ..strength.beams import Load
from .members import SQFT, Brought, Member, part_of
from .tributary import FramingLine, along_member, divide, divide_by_lever, line_of, loaded_surface, turned, widths

ACROSS = 0.3  # cosine: a rim closer to square to the joists lies across their ends; boards run along it


@dataclass
class LedgerLoad:
    """What one run of ledger takes: `joists` bring (position along it, their load, the joist; None for what stands on
    it without one); a ledger along the joists takes `area` square feet of surface itself, a strip `strip` inches wide,
    and `spread` evenly along it, snow from a roof above."""

    parts: tuple[Part, ...]
    joists: list[tuple[float, Brought, Member | None]] = field(default_factory=list)
    area: float = 0.0
    strip: float = 0.0
    spread: Brought = field(default_factory=Brought)


@dataclass(frozen=True)
class _Ground:
    """A turned stretch of surface with the lines under it and what each of them is."""

    whole: Polygon
    u: np.ndarray
    lines: Sequence[FramingLine]
    holders: Sequence[Member | LedgerLoad]


def split_at(load: Load, places: Iterable[float]) -> list[Load]:
    """The load cut at places, so that each piece lies on one side of every one."""
    marks = [load.start, *sorted(p for p in places if load.start < p < load.end), load.end]
    return [p for a, b in itertools.pairwise(marks) if (p := part_of(load, a, b))]


def load_lines(
    members: list[Member],
    parts: Sequence[Part],
    ledgers: dict[str, LedgerLoad],
    notes: list[Words],
    placed: Sequence[AreaLoad] = (),
    snow: Sequence[SnowStrip] = (),
) -> float:
    """Gives each line of framing its part of the surface above it, and of the loads `placed` on the deck's and the
    `snow` from a roof above. Returns the loaded area in square feet."""
    total = 0.0
    levels: dict[tuple, list[Member]] = defaultdict(list)
    for m in members:
        if m.role in ("joist", "rim"):
            levels[round(float(m.first.box[1, 2]), 1), m.first.stair].append(m)
    for (top, stair), level in levels.items():
        joists = [m for m in level if m.role == "joist"] or level
        u = max(joists, key=lambda m: m.length).u
        boards = [
            p.footprint
            for p in parts
            if p.role in named("walked") and abs(p.box[0, 2] - top) < 0.25 and p.stair == stair
        ]
        surface = loaded_surface(boards or [Polygon(g.exterior) for g in _hull(level)])
        total += surface.area / SQFT
        lines = [m for m in level if abs(float(m.u @ u)) > PARALLEL]
        every = [*lines, *(m for m in level if m.role == "rim" and ACROSS < abs(float(m.u @ u)) <= PARALLEL)]
        n = np.array([-u[1], u[0]])
        along = [
            p
            for p in parts
            if p.role == "ledger" and abs(p.box[1, 2] - top) < 0.25 and abs(float(axis(p) @ u)) > PARALLEL
        ]
        fixed = [FramingLine(float(np.mean(extent(p, n))), *extent(p, u), drawn=False) for p in along]
        holders: list[Member | LedgerLoad] = [*every, *(ledgers[p.id] for p in along)]
        ground = _Ground(turned(surface, u), u, [*(line_of(m, u) for m in every), *fixed], holders)
        shares = divide(ground.whole, ground.lines)
        for p, line, share in zip(along, fixed, shares[len(every) :]):
            ledgers[p.id].area, ledgers[p.id].strip = share.area / SQFT, share.area / (line.u1 - line.u0)
        for k, (m, share) in enumerate(zip(every, shares)):
            if k < len(lines):  # a slanted rim has no strip of its own: the ends of boards lie on it
                m.area, m.together = share.area / SQFT, len(lines)
            for load in along_member(m, widths(share), u):
                for w in split_at(load, [0.0, m.length]):
                    m.add(Load(w.start, w.end, w.w0 / SQFT, w.last / SQFT))
        if stair is None:
            _beside(placed, snow, ground, notes)
        missed = (surface.area - sum(s.area for s in shares)) / SQFT
        if missed > 0.01:
            notes.append(
                said(
                    "{area} of surface at {top} lies on no joist or rim along the joists",
                    area=surface_of(missed),
                    top=decimal(top, None),
                )
            )
    return total


def _beside(placed: Sequence[AreaLoad], snow: Sequence[SnowStrip], ground: _Ground, notes: list[Words]) -> None:
    """The loads beside the uniform ones: what of each stands on the ground; of snow what lies past it falls off."""
    for standing in placed:
        each = standing.psf / SQFT
        stood = 0.0
        for holder, loads in _on(ground, Polygon(standing.polygon), each):
            stood += sum(w.total for w in loads)
            if isinstance(holder, Member):
                holder.own += along_member(holder, loads, ground.u)
            else:
                ahead = float(np.sign(axis(holder.parts[0]) @ ground.u))
                holder.joists += [(ahead * _middle(w), Brought(own=w.total), None) for w in loads]
        off = round(Polygon(standing.polygon).area * each - stood, 6)
        if off > 1.0:
            told = "{lb} lb of {name} stand on no part of the surface (area_load)"
            notes.append(said(told, lb=number(off, 0), name=standing.name))
    for fallen in snow:
        for holder, loads in _on(ground, fallen.area, fallen.psf / SQFT):
            if isinstance(holder, Member):
                lies = holder.drift if fallen.kind == "drift" else holder.slide
                lies += along_member(holder, loads, ground.u)
            else:
                holder.spread += Brought(**{fallen.kind: sum(w.total for w in loads)})


def _on(ground: _Ground, stands: Polygon, each: float) -> list[tuple[Member | LedgerLoad, list[Load]]]:
    """What each line takes of a load of `each` pounds a square inch, along the ground's u."""
    found = divide_by_lever(ground.whole, turned(stands, ground.u), ground.lines)
    return [(h, [w.scaled(each) for w in loads]) for h, loads in zip(ground.holders, found) if loads]


def _middle(w: Load) -> float:
    """The place of a load's resultant."""
    share = (w.w0 + 2 * w.last) / (3 * (w.w0 + w.last)) if w.total else 0.5
    return w.start + (w.end - w.start) * share


def _hull(level: list[Member]):
    whole = unary_union([p.footprint.buffer(0.01, join_style="mitre") for m in level for p in m.parts])
    return getattr(whole, "geoms", [whole])
