"""Skirting: upright boards from the frame down to the ground, on a rail under the rim and one above their lower ends.

In an edge's own elevation: `s` runs along the edge, z is the level. Boards lie outside the frame's face, rails behind
it. Where a footing or a beam stands in the way, boards end above it and rails leave it room.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from shapely.geometry import Polygon

from ...shared.as_toml import down_to
from ...shared.errors import DesignError
from ...shared.practice import practice
from ...shared.stock import Stock, sold
from ..input.built_ins import Skirting
from ..plan.edges import FAR, Edge
from ..plan.seats import post_square
from ..plan.stages import LevelPlan
from ..plan.stair_spots import side_reach
from ..solid.part import Part, Place, Workshop
from .edge_boards import board_stock

LEAST_BOARD = 4.0  # inches: a shorter board closes nothing that the fascia does not; our own
HELD_ALONE = practice("skirting held by one rail")
LEAST_HOLD = practice("skirting on its upper rail")
ABOVE_GROUND = practice("lower rail of skirting")
ROOM = 0.25  # inches round what stands in the way, and round a panel that comes off
LEAST_RAIL = practice("shortest block")  # inches: a shorter rail is left out


def build_skirting(layout: LevelPlan, shop: Workshop) -> list[Part]:
    """All pieces of the skirting. Raises DesignError, naming the key, for an edge or a panel that is not there."""
    asked = layout.parameters.skirting
    if asked is None:
        return []
    names = asked.edges if asked.edges is not None else [e.name for e in layout.outline.edges if not e.house]
    for key, name in [(f"edges.{k}", n) for k, n in enumerate(names)] + [("access_edge", asked.access_edge)]:
        if name is not None and (name not in layout.outline or layout.outline[name].house):
            free = [e.name for e in layout.outline.edges if not e.house]
            would = free[0] if key != "access_edge" else next((n for n in free if n in names), free[0])
            raise DesignError(
                f"skirting.{key}",
                f"no free edge {name!r}; the free edges are {', '.join(free)}",
                (f"skirting.{key}", would),
            )
    if asked.access_edge is not None and asked.access_edge not in names:
        raise DesignError(
            "skirting.access_edge", f"edge {asked.access_edge} has no skirting", ("skirting.access_edge", names[0])
        )
    return [p for n in dict.fromkeys(names) for p in _Side(layout, shop, asked, layout.outline[n]).parts()]


@dataclass
class _Side:
    """The skirting of one edge."""

    layout: LevelPlan
    shop: Workshop
    asked: Skirting
    edge: Edge

    def __post_init__(self) -> None:
        p, planes = self.layout.parameters, self.layout.planes
        thickness = self.asked.thickness or p.trim.thickness
        self.stock = board_stock(thickness, self.asked.width, p.trim.material)
        self.rail = p.stock(self.asked.rail)
        self.top = min(planes.frame_bottom, planes.frame_top - self.layout.fascia_height)
        if self.top - (planes.frame_bottom - self.rail.width) < LEAST_HOLD:
            deep = planes.frame_bottom - self.top + LEAST_HOLD
            wider = next((s.name for s in sold() if s.width >= deep and s.thickness == self.rail.thickness), None)
            raise DesignError(
                "skirting.rail",
                f"a {self.rail.name} rail lies behind the fascia",
                ("skirting.rail", wider) if wider else ("trim.fascia", False),
            )
        self.about = {"edge": self.edge.name}

    def parts(self) -> list[Part]:
        where = f"skirting, {self.edge.name} edge"
        upper = self.layout.planes.frame_bottom
        found: list[Part] = []
        a0, b0 = self._whole(self.rail.thickness)
        stretches = self._stretches()
        panel = self._panel(stretches)
        for low, high in stretches:
            found += self._rails(max(low, a0), min(high, b0), upper, where)
            cuts = [(low, high, where)]
            if panel and low < panel[0] and panel[1] < high:
                cuts = [
                    (low, panel[0] - ROOM, where),
                    (*panel, f"{where}, access panel"),
                    (panel[1] + ROOM, high, where),
                ]
            for a, b, name in cuts:
                boards = self._boards(a, b, name)
                found += boards
                if boards and name != where:
                    found += self._rails(a, b, upper - self.rail.width - 2 * ROOM, name)
                if boards and min(float(p.box[1, 2] - p.box[0, 2]) for p in boards) > HELD_ALONE:
                    found += self._lower_rail(a, b, name)
        return found

    def _ground(self, s: float, *inside: float) -> float:
        return max(self.layout.planes.grade(*self.edge.point(s, i)) for i in inside)

    def _whole(self, thickness: float) -> tuple[float, float]:
        """Along the edge, where a piece so thick behind the frame's face clears those of the neighbours."""
        names = self.layout.outline.names
        strip = self.layout.outline.strip(self.edge, dict.fromkeys(names, 0.0), dict.fromkeys(names, thickness))
        at = sorted(self.edge.position(q)[0] for q in list(strip.exterior.coords)[:4])
        return at[1], at[2]

    def _stretches(self) -> list[tuple[float, float]]:
        """Where boards may stand: off the stairs and their posts, short of a neighbour past a reflex corner."""
        outline, post = self.layout.outline, self.layout.parameters.stock(self.layout.parameters.guard.post).width
        low = 0.0 if outline.turn(self.edge) > 0 else self.stock.thickness + ROOM
        high = self.edge.length - (0.0 if outline.turn(outline.after(self.edge)) > 0 else self.stock.thickness + ROOM)
        shut = [(s.start - post - ROOM, s.end + post + ROOM) for s in self.layout.stairs if s.edge is self.edge]
        # posts wider than their beam stand out past the frame's face
        out = self.edge.rectangle(-FAR, FAR, -self.stock.thickness, 0.0)
        shut += self._along(
            [post_square(self.layout, r, c).intersection(out) for r in self.layout.runs for c in r.posts]
        )
        shut += self._along([q.intersection(out) for q in self._of_stairs()])
        free = [(low, high)]
        for start, end in shut:
            free = [(a, b) for c, d in free for a, b in ((c, min(d, start)), (max(c, end), d))]
        return [(a, b) for a, b in free if b - a > 2 * LEAST_BOARD]

    def _of_stairs(self) -> Iterator[Polygon]:
        """The plans of flights with their skirts and treads, of posts and landings that may come out in front of the
        edge: of stairs that leave another one at its corner, or turn back beside it."""
        for plan in self.layout.stair_plans:
            past = side_reach(self.layout, plan.spot)
            for f in plan.flights[1 if plan.spot.edge is self.edge else 0 :]:
                yield f.rectangle(0.0, max(f.run + f.nosing, past), -past, f.width + past)
            yield from (p.polygon for p in plan.posts)
            yield from (m.polygon for m in plan.landings)

    def _panel(self, stretches: list[tuple[float, float]]) -> tuple[float, float] | None:
        """Of this edge; in the middle of the longest stretch where the file does not say where."""
        if self.asked.access_edge != self.edge.name:
            return None
        wide, at = self.asked.access_width, self.asked.access_at
        if at is None and stretches:
            start, end = max(stretches, key=lambda s: s[1] - s[0])
            at = (start + end) / 2 - wide / 2
        if at is None or not any(a < at and at + wide < b for a, b in stretches):
            room = [(a, b) for a, b in stretches if b - a > wide + 1 / 8]
            longest = max((b - a for a, b in stretches), default=0.0)
            if self.asked.access_at is not None and room:
                a, b = min(room, key=lambda s: abs((s[0] + s[1] - wide) / 2 - wide))
                mended: tuple[str, object] | None = ("skirting.access_at", down_to((a + b - wide) / 2))
            else:
                mended = ("skirting.access_width", down_to(longest - 1 / 8)) if longest > 1 else None
            runs = ", ".join(f"{a:.1f} to {b:.1f} in" for a, b in stretches) or "nowhere"
            raise DesignError(
                f"skirting.{'access_width' if self.asked.access_at is None else 'access_at'}",
                f"a panel {wide:g} in wide does not lie within the skirting of edge {self.edge.name}: {runs}",
                mended,
            )
        return at, at + wide

    def _boards(self, low: float, high: float, where: str) -> list[Part]:
        """Boards with the stated gap between; the first and the last are ripped alike."""
        w, gap = self.asked.width, self.asked.gap
        count = max(1, math.ceil((high - low + gap) / (w + gap) - 1e-9))
        end = high - low if count == 1 else (high - low - (count - 2) * w - (count - 1) * gap) / 2
        found, at = [], low
        for k in range(count):
            wide = end if k in (0, count - 1) else w
            left, right = (self._foot(s, at, at + wide) for s in (at, at + wide))
            if min(self.top - left, self.top - right) >= LEAST_BOARD:
                ring = [(at, left), (at + wide, right), (at + wide, self.top), (at, self.top)]
                found.append(self._piece("skirting board", self.stock, ring, self.stock.thickness, 0.0, where, step=k))
            at += wide + gap
        return found

    def _foot(self, s: float, low: float, high: float) -> float:
        """Level of a board's lower end at `s`: above the ground, and above any footing the board stands over."""
        t = self.stock.thickness
        plan = self.edge.rectangle(low, high, -t, 0.0)
        tops = [f.top + ROOM for f in self.layout.footings if f.polygon.intersects(plan)]
        return max([self._ground(s, 0.0, -t) + self.asked.clearance, *tops])

    def _in_the_way(self, thickness: float, level: float) -> list[tuple[float, float]]:
        """Stretches along the edge where beams, posts, footings or stairs' headers stand behind the face at a level."""
        strip = self.edge.rectangle(-FAR, FAR, 0.0, thickness)
        shapes = [post_square(self.layout, r, c) for r in self.layout.runs for c in r.posts]
        shapes += [f.polygon for f in self.layout.footings if f.top > level]
        shapes += [r.polygon for r in self.layout.runs if level > self.layout.beam_bottom(r.flush)]
        hung, rim = self.layout.hung, self.layout.rim_of
        shapes += [s.edge.rectangle(s.start, s.end, 0.0, rim(s.edge)) for s in hung if s.edge is not self.edge]
        return self._along([shape.intersection(strip) for shape in shapes])

    def _along(self, hits) -> list[tuple[float, float]]:
        """Where shapes lie along the edge, and some room on either side."""
        found = []
        for g in (g for hit in hits for g in getattr(hit, "geoms", [hit]) if g.area > 1e-6):
            at = [self.edge.position(q)[0] for q in g.exterior.coords]
            found.append((min(at) - ROOM, max(at) + ROOM))
        return found

    def _free(self, low: float, high: float, level: float) -> list[tuple[float, float]]:
        free = [(low, high)]
        for a, b in self._in_the_way(self.rail.thickness, level):
            free = [(x, y) for c, d in free for x, y in ((c, min(d, a)), (max(c, b), d))]
        longest = self.layout.parameters.longest(self.rail)
        cut = []
        for a, b in free:
            if b - a >= LEAST_RAIL:
                n = max(1, math.ceil((b - a) / longest - 1e-9))
                cut += [(a + (b - a) * k / n, a + (b - a) * (k + 1) / n) for k in range(n)]
        return cut

    def _rails(self, low: float, high: float, top: float, where: str) -> list[Part]:
        """Level rails with their upper edge at `top`."""
        bottom = top - self.rail.width
        return [
            self._piece(
                "skirting rail", self.rail, [(a, bottom), (b, bottom), (b, top), (a, top)], self.rail.thickness,
                self.rail.thickness, where,
            )
            for a, b in self._free(low, high, bottom)
        ]  # fmt: skip

    def _lower_rail(self, low: float, high: float, where: str) -> list[Part]:
        """Rails along the ground's slope, above the boards' lower ends."""
        t, rise = self.rail.thickness, self.asked.clearance + ABOVE_GROUND
        a0, b0 = self._whole(t)
        found = []
        for a, b in self._free(max(low, a0), min(high, b0), self._ground((low + high) / 2, 0.0, t) + rise):
            za, zb = (max(self._ground(s, 0.0, t), self._ground(s, 0.0, -self.stock.thickness)) + rise for s in (a, b))
            ring = [(a, za), (b, zb), (b, zb + self.rail.width), (a, za + self.rail.width)]
            found.append(self._piece("skirting rail", self.rail, ring, t, t, where))
        return found

    def _piece(self, role: str, stock: Stock, ring, thickness: float, inside: float, where: str, **more) -> Part:
        """A piece from its outline (s, z) on the edge, from `inside` out by its thickness."""
        x, y = self.edge.point(0.0, inside)
        dx, dy = self.edge.direction
        place = Place((float(x), float(y), 0.0), (float(dx), float(dy), 0.0), (0.0, 0.0, 1.0))
        return self.shop.prism(role, stock, ring, thickness, place, where=where, **self.about, **more)
