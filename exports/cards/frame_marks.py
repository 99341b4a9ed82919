"""Frame marks: where joists and rims go on every ledger, rim and beam, and guard posts along every edge, running from
one end."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import count

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon, box

from ..drafting import drawing as d
from ..drafting import style
from ..drafting.layers import layer_for
from ..sheets import in_plan
from ..sheets.stage import Stage
from .corners import corner_at, corners
from .pages import PLAIN, Pages, fit, size_of
from .running import running
from .setting_out import house_line, out_words

JOIST_STUB = 0.2  # paper inches of each joist that are drawn
HIGH = 3.2  # paper inches a strip may be high
NEAR_RUN = 1.0  # inches round a run's box: what lies further off does not meet it


@dataclass(frozen=True)
class Carrier:
    """A straight run of a ledger, rim or beam and the joists on it: (near station, far station, joist), from its low
    end.

    Stations are taken on the face that is marked. `rims` likewise: rims that end against it. `face` names the one of
    two faces of a flush beam that joists hang on, as the strip is drawn.
    """

    role: str
    line: in_plan.BeamLine
    joists: tuple[tuple[float, float, object], ...]
    rims: tuple[tuple[float, float, object], ...] = ()
    face: str = ""

    @property
    def name(self) -> str:
        return f"{self.role.upper()} {' + '.join(sorted({p.mark for p in self.line.plies}))}{self.face}"

    @property
    def length(self) -> float:
        return self.line.along[1] - self.line.along[0]


def carriers(stage: Stage) -> list[Carrier]:
    """Every ledger, rim and beam that joists meet or cross, measured off the pieces."""
    out = []
    joists = stage.of("joist")
    for role in ("ledger", "rim", "beam"):
        # plies of ledgers and rims, side by side and end to end, are gathered just as those of a beam are
        for line in in_plan.beam_lines([p.replaced(role="beam") for p in stage.of(role)]):
            found = _on(line, joists, role)
            if found:
                own = {p.id for p in line.plies}
                rims = (
                    []
                    if role == "beam"
                    else [
                        r
                        for r in _on(line, [p for p in stage.of("rim") if p.id not in own], role)
                        if r[0] > -in_plan.FITTED and r[1] < line.along[1] - line.along[0] + in_plan.FITTED
                    ]
                )
                out += [Carrier(role, line, some, tuple(rims), face) for face, some in _faces(line, found, role)]
    return out


def _faces(line: in_plan.BeamLine, found: tuple, role: str) -> list[tuple[str, tuple]]:
    """The joists on a run: those on each face by themselves where they hang on both, else all."""
    up = np.array([-line.axis[1], line.axis[0]])
    middle = float(np.asarray(line.point(0.0)) @ up)
    over = tuple(f for f in found if float(np.asarray(in_plan.centre(f[2])) @ up) > middle)
    under = tuple(f for f in found if f not in over)
    if role == "beam" and over and under and all(_level(line, f[2]) for f in found):
        return [(", UPPER FACE", over), (", LOWER FACE", under)]
    return [("", found)]


def _level(line: in_plan.BeamLine, piece) -> bool:
    """Whether a piece lies at the level of a run and not on top of it."""
    return in_plan.overlap((line.bottom, line.top), (piece.box[0, 2], piece.box[1, 2])) >= 1


def _on(line: in_plan.BeamLine, pieces, role: str) -> tuple:
    boxes = np.array([p.box[:, :2] for p in line.plies])
    low, high = boxes[:, 0].min(0) - NEAR_RUN, boxes[:, 1].max(0) + NEAR_RUN
    near = [p for p in pieces if (p.box[1, :2] > low).all() and (p.box[0, :2] < high).all()]
    return tuple(sorted(((*ab, p) for p in near if (ab := _meets(line, p, role))), key=lambda f: f[0]))


def marked_side(line: in_plan.BeamLine, pieces) -> int:
    """+1 where figures stand over the run, -1 under it: away from what it carries; under a beam that everything
    crosses."""
    up = np.array([-line.axis[1], line.axis[0]])  # over the run, as the strip is drawn
    middle = float(np.asarray(line.point(0.0)) @ up)
    over = sum(float(np.asarray(in_plan.centre(p)) @ up) > middle for p in pieces)
    return -1 if over * 2 >= len(pieces) else 1


def _meets(line: in_plan.BeamLine, joist, role: str) -> tuple[float, float] | None:
    """Stations along the line, from its low end, between which a joist meets its face or crosses the face that is
    marked."""
    axis, n = line.axis, in_plan.square(line.axis)
    if abs(float(in_plan.plan_axis(joist) @ axis)) > 0.999:
        return None
    if role == "beam" and not _level(line, joist):
        if abs(line.top - joist.box[0, 2]) > in_plan.FITTED:
            return None
        same = float(np.array([-axis[1], axis[0]]) @ n) > 0
        face = line.across[0] if (marked_side(line, [joist]) < 0) == same else line.across[1]
        for at in (face, sum(line.across) - face):  # a joist that ends on the beam may not reach the face marked
            over = joist.footprint.intersection(
                LineString([line.point(line.along[0], at), line.point(line.along[1], at)])
            )
            if over.length > 0.1:
                break
        flat = shapely.get_coordinates(over)
    else:
        if not _level(line, joist):
            return None
        flat = joist.vertices[:, :2]
        off = flat @ n
        flat = flat[(np.abs(off - line.across[0]) < in_plan.FITTED) | (np.abs(off - line.across[1]) < in_plan.FITTED)]
    s = flat @ axis - line.along[0]
    if (
        len(s) < 2
        or s.max() < -in_plan.FITTED
        or s.min() > line.along[1] - line.along[0] + in_plan.FITTED
        or np.ptp(s) < 0.1
    ):
        return None
    return float(s.min()), float(s.max())


def place_words(stage: Stage, carrier: Carrier) -> str:
    """Which of several alike: how far out a beam stands, which stair's landing a piece belongs to."""
    first = carrier.line.plies[0]
    if first.stair is not None:
        where = first.where.upper()
        return f" OF {where}" if "LANDING" in where else f" OF STAIR {first.stair + 1}'S LANDING"
    out = out_words(stage, carrier.line).replace(" AT ONE END, ", " TO ").removesuffix(" AT THE OTHER")
    return (
        f", {out} OUT"
        if carrier.role == "beam" and abs(float(carrier.line.axis @ np.asarray(house_line(stage)[0].direction))) > 0.999
        else ""
    )


def from_high_end(stage: Stage, line: in_plan.BeamLine) -> bool:
    """Whether the figures of a run begin at its high end: where the joists, and the posts with them, are set out from
    there. Those of a stair's landing begin at the low one."""
    return line.plies[0].stair is None and stage.deck.layout.ahead(line.axis) < 0


def zero_words(stage: Stage, line: in_plan.BeamLine) -> str:
    """Which end of a run the figures begin at."""
    high = from_high_end(stage, line)
    where = corner_at(stage, line.point(line.along[high]))
    if where:
        return f"0 AT CORNER {where}"
    if abs(line.axis[0]) > 0.5:
        return "0 AT RIGHT END" if high else "0 AT LEFT END"
    return "0 AT HIGH END ON PLAN" if high else "0 AT LOW END ON PLAN"


def build(stage: Stage) -> None:
    found = carriers(stage)
    if not found:
        return
    pages = Pages(stage, 100, "FRAME MARKS")
    pages.text(
        "FROM 0 TO THE NEAR FACE, SEEN FROM ABOVE. MARK THE LINE; THE PIECE GOES BEYOND IT, TO ITS X OR MARK.",
        PLAIN,
        gap=0.12,
    )
    for n, carrier in enumerate(found):
        number = len(carrier.joists)
        head = (
            f"{carrier.name}{place_words(stage, carrier)}, {stage.text(carrier.length)}, {number}"
            f" JOIST{'S' if number > 1 else ''}. {zero_words(stage, carrier.line)}"
        )
        marks = [(a, b, j, "X") for a, b, j in carrier.joists] + [(a, b, r, r.mark) for a, b, r in carrier.rims]
        _add(stage, pages, head, carrier.line, marks, carrier.role, n)
    n = len(found)
    for line, posts in post_edges(stage):
        marks = [(a, b, p, p.mark) for a, b, p in posts]
        head = (
            f"GUARD POSTS, {line.edge.upper()} EDGE, {stage.text(line.along[1] - line.along[0])}."
            f" {zero_words(stage, line)}"
        )
        _add(stage, pages, head, line, marks, "rim", n)
        n += 1


def _add(stage: Stage, pages: Pages, head: str, line, marks, role: str, n: int) -> None:
    shapes = _laid(line, (*line.plies, *(piece for *_, piece, _ in marks)))
    name = f"marks {n + 1} {head.split(',')[0].lower()}"
    view = fit(
        stage,
        lambda scale: _strip(stage, d.View(name, scale), line, marks, shapes, role),
        (line.along[1] - line.along[0], 1.0),
        (pages.width, HIGH),
        4.0,
    )
    pages.heading(head, size_of(view, stage.metric)[1])
    pages.view(view, gap=0.2)


@dataclass
class EdgeRun(in_plan.BeamLine):
    """The outer members along one edge of the outline as a run. It goes from corner to corner, also where the side's
    own member stops against another."""

    edge: str = ""
    corners: tuple[float, float] = (0.0, 0.0)

    @property
    def along(self) -> tuple[float, float]:
        return self.corners


def post_edges(stage: Stage) -> list[tuple[EdgeRun, tuple[tuple[float, float, object], ...]]]:
    """Guard posts of every edge of the deck that has some: (near station, far station, post) from the run's low end.

    A post in a corner stands on both its edges. The run is the frame's own outer member from corner to corner.
    """
    found, names = corners(stage), list(corners(stage))
    posts = stage.deck_of("guard post")
    out = []
    for k, edge in enumerate(stage.edges):
        a, b = np.asarray(found[names[k]]), np.asarray(found[names[(k + 1) % len(names)]])
        long = float(np.hypot(*(b - a)))
        u = (b - a) / long
        near = []
        for p in posts:
            flat = p.vertices[:, :2] - a
            s, inside = flat @ u, flat @ np.asarray(edge.inward)
            sides = np.diff(np.asarray(p.footprint.exterior.coords), axis=0)
            along = (
                np.abs(sides @ np.array([-u[1], u[0]])) < 0.02 * np.hypot(*sides.T)
            ).any()  # its face lies along this edge
            over = 6.0 if p.edge == edge.name else 1.0  # in a re-entrant corner its own post stands past the edge's end
            if along and -6 < inside.mean() < 6 and s.max() > -1 and s.min() < long + over:
                near.append(p)
        if not near or edge.house:
            continue
        outer = [
            p
            for p in stage.deck_of("ledger", "rim", "joist")
            if abs(float(in_plan.plan_axis(p) @ u)) > 0.999
            and -0.5 < float(((p.vertices[:, :2] - a) @ np.asarray(edge.inward)).mean()) < 2.5
            and in_plan.overlap(tuple(np.sort(list((p.vertices[:, :2] - a) @ u))[[0, -1]]), (0.0, long)) > 1
        ]
        if not outer:
            continue
        axis = in_plan.plan_axis(outer[0])
        low, high = sorted(float(c @ axis) for c in (a, b))
        rows = []
        for p in near:
            s = p.vertices[:, :2] @ axis - low
            rows.append((float(s.min()), float(s.max()), p))
        out.append((EdgeRun(outer, axis, edge=edge.name, corners=(low, high)), tuple(sorted(rows, key=lambda r: r[0]))))
    return out


def _laid(line: in_plan.BeamLine, pieces) -> dict[str, Polygon]:
    """The outlines of pieces from above, by their id, as they lie where the run lies along x."""
    ux, uy = line.axis
    turn = np.array([[ux, uy], [-uy, ux]])
    base = np.asarray(line.point(line.along[0], line.across[0]))
    return {p.id: Polygon((np.asarray(p.footprint.exterior.coords)[:, :2] - base) @ turn.T) for p in pieces}


def _strip(stage: Stage, view: d.View, line: in_plan.BeamLine, marks, shapes: dict[str, Polygon], role: str) -> d.View:
    """A run lying along x as seen from above, a stub of every piece marked on it, and the running figures. `shapes`:
    `_laid` of all these pieces."""
    scale, long = view.scale, line.along[1] - line.along[0]
    ends = [shapes[q.id].bounds for q in line.plies]
    low, high = min(b[1] for b in ends), max(b[3] for b in ends)
    for ply in line.plies:  # a member may run on past the corner in which its edge ends
        shape = shapes[ply.id].intersection(box(-0.01, low - 1, max(long, *(b for _, b, *_ in marks)) + 0.01, high + 1))
        if shape.geom_type == "Polygon" and shape.area > 0:
            view.add(
                d.Polyline(
                    [(float(x), float(y)) for x, y in shape.exterior.coords[:-1]],
                    True,
                    layer=layer_for(role),
                    mark=ply.id,
                )
            )
    side = marked_side(line, [p for *_, p, _ in marks])
    stub = JOIST_STUB * scale
    window = box(-1e4, low - stub, 1e4, high + stub)
    reached = low if side < 0 else high  # how far stubs stand out on the side of the figures
    row: dict[int, float] = {}  # how far the letters of each row of letters reach
    for a, b, piece, letter in sorted(marks, key=lambda m: m[0]):
        shape = shapes[piece.id].intersection(window)
        at = (a + b) / 2
        if shape.geom_type == "Polygon" and shape.area > 0:
            ring = [(float(x), float(y)) for x, y in shape.exterior.coords[:-1]]
            view.add(d.Polyline(ring, True, layer=layer_for(piece.role), mark=piece.id))
            tip = max(y * -side for _, y in ring)
            at = float(np.mean([x for x, y in ring if abs(y * -side - tip) < 1e-6]))
            reached = min(reached, *(y for _, y in ring)) if side < 0 else max(reached, *(y for _, y in ring))
        wide = (style.text_width(letter, PLAIN) / 2 + 0.03) * scale
        up = next(k for k in count() if row.get(k, -1e9) <= at - wide)
        row[up] = at + wide
        beyond = stub + (0.11 + up * 0.18) * scale
        y = (high + beyond) if side < 0 else (low - beyond)
        view.add(d.Text((at, y), letter, PLAIN, "centre", "middle", layer="A-ANNO-IDEN", mark=piece.mark))
    face = low if side < 0 else high
    high = from_high_end(stage, line)
    begin, end, near = (long, 0.0, 1) if high else (0.0, long, 0)  # the face of a piece that is nearer to 0
    stations = [begin]  # joists that end on a beam from either side share a figure
    for m in sorted(marks, key=lambda m: m[0]):
        if all(abs(m[near] - s) > 1 / 32 for s in stations):
            stations.append(m[near])
    stations.append(end)
    running(
        view,
        [(s, face) for s in stations],
        (begin, face),
        180.0 if high else 0.0,
        90.0 * side,
        abs(reached - face) + 0.08 * scale,
        stage.text,
        mark=line.plies[0].mark,
    )
    return view
