"""What stands on the surface, given to the lines of framing under it: the uniform loads by their strips, area loads and
snow from a roof above by the lever between two lines. At a slanted edge the border lies on its rim all along, the
boards beside it end on blocks at an angle to the joists. Plan inches, square feet that load a place, pounds."""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
from shapely.geometry import MultiPolygon, Polygon
from shapely.ops import unary_union

from ...shared.said import Words, decimal, number, said
from ...shared.said import surface as surface_of
from ..input.area_load import AreaLoad
from ..measuring.member_seen import PARALLEL, axis, extent
from ..plan.roof_snow import SnowStrip
from ..solid.part import Part
from ..solid.roles import in_group, named
from ..strength.beams import Load
from .members import SQFT, Brought, Member, part_of
from .tributary import (
    CLOSED_GAP,
    FramingLine,
    along_member,
    divide,
    divide_by_lever,
    line_of,
    loaded_surface,
    turned,
    widths,
)

ACROSS = 0.3  # cosine: a rim closer to square to the joists lies across their ends; boards run along it
AT_MITRE = 3.0  # inches between the end of a border at a mitre and the joist that the blocks under it reach


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


OnBlock = tuple[Part, np.ndarray, Brought]  # a block, the plan point on it, and what it is given there


@dataclass(frozen=True)
class _Ground:
    """A turned stretch of surface with the lines under it and what each of them is. Where it `tips`, what lies past the
    outermost line is shared by the lever too: a border's boards are stiff across. A line `near` it, inches, carries it
    too."""

    whole: Polygon | MultiPolygon
    u: np.ndarray
    lines: Sequence[FramingLine]
    holders: Sequence[Member | LedgerLoad | Part]
    near: float = 0.0
    tips: bool = False

    def shares(self) -> list[list[Load]]:
        """The widths, inches along u, of what each line has of an even load."""
        if self.tips:
            return divide_by_lever(self.whole, self.whole, self.lines, tips=True)
        return [widths(share) for share in divide(self.whole, self.lines, self.near)]

    def under(self, stands: Polygon, each: float) -> list[list[Load]]:
        """What each line takes of a load of `each` a square inch, along u."""
        found = divide_by_lever(self.whole, turned(stands, self.u), self.lines, self.near, self.tips)
        return [[w.scaled(each) for w in loads] for loads in found]

    def point(self, line: FramingLine, u: float) -> np.ndarray:
        """The place in plan on a line."""
        return self.u * u + np.array([-self.u[1], self.u[0]]) * line.at(u)


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
) -> tuple[float, list[OnBlock]]:
    """Gives each line of framing its part of the surface above it, and of the loads `placed` on the deck's and the
    `snow` from a roof above. Returns the loaded area in square feet, and what lies on blocks at an angle to the joists,
    on which the boards at a slanted edge end."""
    total = 0.0
    on_blocks: list[OnBlock] = []
    levels: dict[tuple, list[Member]] = defaultdict(list)
    for m in members:
        if m.role in ("joist", "rim"):
            levels[round(float(m.first.box[1, 2]), 1), m.first.stair].append(m)
    for (top, stair), level in levels.items():
        boards = [p for p in parts if p.role in named("walked") and abs(p.box[0, 2] - top) < 0.25 and p.stair == stair]
        surface = loaded_surface([p.footprint for p in boards] or [Polygon(g.exterior) for g in _hull(level)])
        grounds = _grounds(level, surface, boards, parts, ledgers)
        loaded = sum(_evenly(g, on_blocks) for g in grounds)
        total += surface.area / SQFT
        if stair is None:
            _beside(placed, snow, grounds, on_blocks, notes)
        missed = surface.area / SQFT - loaded
        if missed > 0.01:
            notes.append(
                said(
                    "{area} of surface at {top} lies on no joist or rim along the joists",
                    area=surface_of(missed),
                    top=decimal(top, None),
                )
            )
    return total, on_blocks


def _grounds(
    level: Sequence[Member],
    surface: Polygon | MultiPolygon,
    boards: Sequence[Part],
    parts: Sequence[Part],
    ledgers: dict[str, LedgerLoad],
) -> list[_Ground]:
    """The surface of a level cut into what is carried in one direction: the borders along slanted rims, which lie on
    these all along and on the blocks beside them, and all else, whose boards run across the joists."""
    joists = [m for m in level if m.role == "joist"] or level
    u = max(joists, key=lambda m: m.length).u
    top = float(joists[0].first.box[1, 2])
    blocks = [  # one that stands upright, higher than it is long, has no direction in plan
        p for p in parts if p.role in in_group("blocking") and abs(p.box[1, 2] - top) < 0.25 and abs(p.place.x[2]) < 0.5
    ]
    every: list[Member | LedgerLoad | Part] = [m for m in level if abs(float(m.u @ u)) > PARALLEL]
    lines = [line_of(m, u) for m in every if isinstance(m, Member)]
    found = []
    for m in level:
        if m.role != "rim" or not ACROSS < abs(float(m.u @ u)) <= PARALLEL:
            continue
        if not (border := _border_on(m, boards)):
            every.append(m)
            lines.append(line_of(m, u))
            continue
        band = loaded_surface([p.footprint for p in border])
        beside = [p for p in _under(blocks, band) if abs(float(axis(p) @ m.u)) > PARALLEL]
        on = [line_of(m, m.u), *(_line_of_piece(p, m.u) for p in beside)]
        found.append(_Ground(turned(band, m.u), m.u, on, [m, *beside], tips=True))
        surface = surface.difference(band)
    for p in _under(blocks, surface) if found else ():
        if ACROSS < abs(float(axis(p) @ u)) <= PARALLEL:
            every.append(p)
            lines.append(_line_of_piece(p, u))
    for p in parts:
        if p.role == "ledger" and abs(p.box[1, 2] - top) < 0.25 and abs(float(axis(p) @ u)) > PARALLEL:
            every.append(ledgers[p.id])
            lines.append(_line_of_piece(p, u))
    return [_Ground(turned(surface, u), u, lines, every, AT_MITRE if found else 0.0), *found]


def _border_on(m: Member, boards: Sequence[Part]) -> list[Part]:
    """The courses of a border along a rim: the one on it, and those beside that."""
    along = [p for p in boards if p.role == "border" and abs(float(axis(p) @ m.u)) > PARALLEL]
    reached = unary_union([p.footprint for p in m.parts])
    found: list[Part] = []
    while more := [p for p in along if p not in found and p.footprint.distance(reached) < CLOSED_GAP]:
        if not found and not any(p.footprint.intersection(reached).area > m.breadth for p in more):
            return []
        found += more
        reached = unary_union([p.footprint for p in found])
    return found


def _under(blocks: Sequence[Part], surface: Polygon | MultiPolygon) -> list[Part]:
    """The blocks that lie under a stretch of surface for the greater part."""
    return [p for p in blocks if p.footprint.intersection(surface).area > p.footprint.area / 2]


def _line_of_piece(p: Part, u: np.ndarray) -> FramingLine:
    """A piece as a line of framing that ends where it ends, in coordinates turned along `u`."""
    n = np.array([-u[1], u[0]])
    if abs(float(axis(p) @ u)) > PARALLEL:
        return FramingLine(float(np.mean(extent(p, n))), *extent(p, u), drawn=False)
    along, across = axis(p), np.array([-axis(p)[1], axis(p)[0]])
    ends = [across * float(np.mean(extent(p, across))) + along * x for x in extent(p, along)]
    (u0, v0), (u1, v1) = sorted((float(e @ u), float(e @ n)) for e in ends)
    return FramingLine(v0, u0, u1, (v1 - v0) / (u1 - u0), drawn=False)


def _evenly(ground: _Ground, on_blocks: list[OnBlock]) -> float:
    """Gives the lines of a stretch of surface the square feet that load them; returns their sum."""
    straight = [h for h in ground.holders if isinstance(h, Member) and abs(float(h.u @ ground.u)) > PARALLEL]
    total = 0.0
    for holder, line, found in zip(ground.holders, ground.lines, ground.shares()):
        area = sum(w.total for w in found) / SQFT
        total += area
        if isinstance(holder, Member):
            # a slanted rim has no strip of its own: the ends of boards lie on it, or their border
            if holder in straight and not ground.tips:
                holder.area, holder.together = area, len(straight)
            for load in along_member(holder, found, ground.u):
                for w in split_at(load, [0.0, holder.length]):
                    holder.add(Load(w.start, w.end, w.w0 / SQFT, w.last / SQFT))
        elif isinstance(holder, LedgerLoad):
            holder.area, holder.strip = area, area * SQFT / (line.u1 - line.u0)
        else:
            for w in found:
                much = w.total / SQFT
                on_blocks.append(
                    (holder, ground.point(line, _middle(w)), Brought(much, max(much, 0.0), min(much, 0.0)))
                )
    return total


def _beside(
    placed: Sequence[AreaLoad],
    snow: Sequence[SnowStrip],
    grounds: Sequence[_Ground],
    on_blocks: list[OnBlock],
    notes: list[Words],
) -> None:
    """The loads beside the uniform ones: what of each stands on the grounds; of snow what lies past them falls off."""
    for standing in placed:
        each = standing.psf / SQFT
        stood = sum(_stand(g, Polygon(standing.polygon), each, "own", on_blocks) for g in grounds)
        off = round(Polygon(standing.polygon).area * each - stood, 6)
        if off > 1.0:
            told = "{lb} lb of {name} stand on no part of the surface (area_load)"
            notes.append(said(told, lb=number(off, 0), name=standing.name))
    for fallen in snow:
        for g in grounds:
            _stand(g, fallen.area, fallen.psf / SQFT, fallen.kind, on_blocks)


def _stand(ground: _Ground, stands: Polygon, each: float, kind: str, on_blocks: list[OnBlock]) -> float:
    """Gives the lines of a stretch of surface what of a load of `each` pounds a square inch stands there, as their
    loads of a `kind` (a field of `Brought`); returns its pounds."""
    total = 0.0
    for holder, line, found in zip(ground.holders, ground.lines, ground.under(stands, each)):
        total += sum(w.total for w in found)
        if isinstance(holder, Member):
            getattr(holder, kind).extend(along_member(holder, found, ground.u))
        elif isinstance(holder, Part):
            on_blocks += [(holder, ground.point(line, _middle(w)), Brought(**{kind: w.total})) for w in found]
        elif kind == "own":
            ahead = float(np.sign(axis(holder.parts[0]) @ ground.u))
            holder.joists += [(ahead * _middle(w), Brought(own=w.total), None) for w in found]
        else:
            holder.spread += Brought(**{kind: sum(w.total for w in found)})
    return total


def _middle(w: Load) -> float:
    """The place of a load's resultant."""
    share = (w.w0 + 2 * w.last) / (3 * (w.w0 + w.last)) if w.total else 0.5
    return w.start + (w.end - w.start) * share


def _hull(level: list[Member]):
    whole = unary_union([p.footprint.buffer(0.01, join_style="mitre") for m in level for p in m.parts])
    return getattr(whole, "geoms", [whole])
