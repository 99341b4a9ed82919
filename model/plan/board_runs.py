"""The field boards in plan: runs from the outer edge towards the house, clipped, notched, ripped and split at joists.

All outlines here are local: u along the boards, v square to them and rising towards the house. Lengths in inches.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely.geometry import Polygon, box

from ...shared.said import Words, area, length, said, size
from ..solid.board_ends import NOTCH
from ..solid.union import common
from .board_shapes import apart_at_necks, fastened, local, polygons, with_tongues, without_slivers, without_strips
from .board_tips import cut_back
from .border_and_field import HALF_ON_RIM, field_begins
from .edges import still
from .joint_seats import NEARLY_SQUARE, JointSeats
from .row_places import LEAST_RIP, borne_rows
from .splits import ALIGNED, CLOSE, SECOND_JOIST, split
from .spots import FieldBoard, FieldLaid, JointSupport
from .stages import Bordered, Joisted, Laid, Posted, Stepped, grown
from .stair_posts import through_surface

CRUMB = 1.0  # inches: a shorter piece is left out and reported
SHORTEST_BOARD = (
    32.0  # a board on fewer than three joists rocks; longer ones are preferred (common practice, no source)
)
TONGUE = 0.6  # inches: less of a board beside a notch carries nothing (our own, off the halves and quarters of stock)
MIDDLE_IN = 0.5  # inches: twice what a run's middle line lies inside its rim at least (our own)
AT_ITS_EDGE = -1e-9  # inches: a notch that passes a board's edge by less ends in it
TURNED = 0.5  # share of its area by which a notch's box is larger from about 15 degrees on: no strip lies beside it
FRAGILE = 0.5  # a strip narrower than this beside a notch breaks off on the saw: the notch is opened through it


@dataclass
class _Laying:
    """The field as it is laid: its boards, what goes beside which joist, and notes."""

    x: np.ndarray
    y: np.ndarray
    limits: np.ndarray
    boards: list[FieldBoard] = field(default_factory=list)
    beside_joists: list[JointSupport] = field(default_factory=list)
    notes: list[Words] = field(default_factory=list)


def board_axes(layout: Bordered) -> tuple[np.ndarray, np.ndarray]:
    """Unit vectors along the boards and square to them, the second pointing towards the house (up the sheet without
    one)."""
    d = np.asarray(layout.board_direction, float)
    n = np.array([-d[1], d[0]])
    house = [e for e in layout.outline.edges if e.house]
    if house:
        weights = [e.length for e in house]
        middle = np.average([np.add(e.start, e.end) / 2 for e in house], axis=0, weights=weights)
        centre = np.asarray(layout.outline.polygon.centroid.coords[0])
        if abs(float((middle - centre) @ n)) > 1e-6:
            return (d, n) if float((middle - centre) @ n) > 0 else (-d, -n)
    if layout.ahead(n) < 0:
        return -d, -n
    return d, n


def run_limits(
    low: float, high: float, width: float, gap: float, sliver: float, share: bool, keep: float | None = None
) -> np.ndarray:
    """(n, 2) limits of the runs that fill low to high. The last run is ripped to what is left; with `share` first and
    last (or as many as it takes) are ripped alike where that would be narrower than `sliver`.

    `keep` is where a run at its full width must begin. At `low` the first is not ripped, and the last two share
    instead; above it (an edge that stands back) runs are laid from there both ways, and either end is ripped as it
    comes out.
    """
    if keep is not None and keep - low > 1e-6:
        above, below = run_limits(keep, high, width, gap, sliver, share, keep), np.empty((0, 2))
        if keep - gap - low >= LEAST_RIP:
            below = -run_limits(gap - keep, -low, width, gap, sliver, share, gap - keep)[::-1, ::-1]
        return np.vstack([below, above])
    pitch = width + gap
    whole = max(int((high - low + gap) / pitch + 1e-9), 0)
    rest = high - low - whole * pitch  # width left for a ripped run
    starts = low + pitch * np.arange(whole)
    limits = np.column_stack([starts, starts + width])
    if rest < LEAST_RIP and whole:
        return limits
    if share and rest < sliver and whole > (keep is not None):
        n = 2  # as few as are wide enough then, on both sides where neither is kept
        while ((n - 1) * width + rest) / n < sliver and n < whole + (keep is None):  # the one kept is not ripped
            n += 1
        rip, first = ((n - 1) * width + rest) / n, 0 if keep is not None else n // 2
        widths = np.array([rip] * first + [width] * (whole + 1 - n) + [rip] * (n - first))
        starts = low + np.concatenate([[0.0], np.cumsum(widths[:-1] + gap)])
        return np.column_stack([starts, starts + widths])
    return np.vstack([limits, [high - rest, high]])


@dataclass(frozen=True, eq=False)
class BoardRows:
    """The rows of boards across the field: `ground` is the field in the boards' own axes `x`, `y`, `limits` (n, 2) of
    the rows across them, `plain` what they would be without an edge to keep whole, which begins at `keep`."""

    x: np.ndarray
    y: np.ndarray
    ground: Polygon
    limits: np.ndarray
    plain: np.ndarray
    keep: float | None
    moved: bool  # off where they would lie, so that those at every edge reach its rim

    def cut_in_two(self, notch: Polygon) -> bool:
        """Whether a notch (plan) leaves nothing of some row beside it but tongues that carry nothing; not of one
        turned against the boards."""
        u0, low, u1, high = local(notch, self.x, self.y).bounds
        if (u1 - u0) * (high - low) > notch.area * (1 + 2 * NEARLY_SQUARE):
            return False  # turned against the boards: it cuts each on the skew
        for v0, v1 in self.limits[(self.limits[:, 1] > low) & (self.limits[:, 0] < high)]:
            for a, b in ((u0 - CRUMB - FRAGILE, u0 - CRUMB), (u1 + CRUMB, u1 + CRUMB + FRAGILE)):
                beside = box(a, v0, b, v1)
                there = beside.intersection(
                    self.ground
                )  # an edge may leave less of the row there than it has elsewhere
                if there.is_empty or there.bounds[3] - there.bounds[1] < LEAST_RIP:
                    continue
                if low - there.bounds[1] < TONGUE and there.bounds[3] - high < TONGUE:
                    return True
        return False


def board_rows(layout: Bordered) -> BoardRows:
    """Where the rows of the field's boards lie."""
    s = layout.parameters.surface
    x, y = board_axes(layout)
    ground = local(layout.field_polygon, x, y)
    _, v0, _, v1 = ground.bounds
    ends = _edge_at(ground, v0), _edge_at(ground, v1)
    # a run that ends in a corner leaves no sliver to share: where only the first does, the rip goes there
    asked = v0, v1, s.board_width, s.edge_gap, _narrowest(layout), s.rip == "share" and all(ends)
    limits = plain = run_limits(*asked)
    if s.rip == "share" and ends == (False, True) and np.ptp(limits[-1]) < _narrowest(layout):
        limits = plain = -run_limits(-v1, -v0, *asked[2:])[::-1, ::-1]
    keep = _whole_line(layout, ground, y)
    if keep is not None:
        edge = layout.whole_edge
        assert edge is not None  # the line is this edge's
        turned = float(edge.inward @ y) < 0  # the field lies below this edge: runs are laid downwards from it
        limits = -run_limits(-v1, -v0, *asked[2:], -keep)[::-1, ::-1] if turned else run_limits(*asked, keep)
    moved = borne_rows(layout, y, (v0, v1), limits)
    return BoardRows(x, y, ground, moved, plain, keep if moved is limits else None, moved is not limits)


def lay_field(layout: Stepped) -> Laid:
    """The plan with every field board of the deck, and what its butt joints ask for beside the joists."""
    runs = _runs(layout)
    laid = FieldLaid(
        still(runs.x),
        still(runs.y),
        still(runs.limits),
        tuple(runs.boards),
        tuple(runs.beside_joists),
        tuple(runs.notes),
    )
    return grown(layout, Laid, field=laid)


def _runs(layout: Stepped) -> _Laying:
    rows = board_rows(layout)
    x, y, ground, limits, plain, keep = rows.x, rows.y, rows.ground, rows.limits, rows.plain, rows.keep
    u0, _, u1, v1 = ground.bounds
    runs = _Laying(x, y, limits)
    if keep is not None and (limits.shape != plain.shape or np.abs(limits - plain).max() > 1e-6):
        runs.notes.append(_moved(layout, plain, keep))
    if rows.moved:
        runs.notes.append(
            said(
                "the first run is {width} wide: so the boards at every edge along them reach over its rim, and none is"
                " a sliver there where that can be had (surface.rip)",
                width=size(limits[0, 1] - limits[0, 0]),
            )
        )
    if _edge_at(ground, v1) and v1 - limits[-1, 1] > 1e-6:
        runs.notes.append(
            said(
                "the last run stops {gap} short of the edge: too narrow to fill (surface.rip)",
                gap=size(v1 - limits[-1, 1]),
            )
        )
    # bands reach past the field where they end with it: edges that only nearly agree make the clipping unsure
    low, high = limits[:, 0].copy(), limits[:, 1].copy()
    low[0] -= 1.0
    high[-1] += 1.0 if v1 - high[-1] < 1e-6 else 0.0
    bands = shapely.box(u0 - 1, low, u1 + 1, high)
    gap = layout.parameters.surface.end_gap
    clipped = [[n for p in polygons(g) for n in apart_at_necks(p, gap)] for g in shapely.intersection(bands, ground)]
    row = np.repeat(np.arange(len(clipped)), [len(c) for c in clipped])
    flat = np.array([g for c in clipped for g in c], dtype=object)
    obstacles = _obstacles(layout, x, y)
    flat, row, blocked = _take_out(flat, row, limits, obstacles)
    pieces = [_without_strips(layout, g, local(layout.outline.polygon, x, y)) for g in flat]
    row = np.repeat(row, [len(p) for p in pieces])
    flat = np.array([g for p in pieces for g in p], dtype=object)
    _split(layout, runs, flat, row, blocked)
    return runs


def _narrowest(layout: Bordered) -> float:
    """The width below which the first and the last run share their rip: the file's, and at an edge without a border as
    much as puts the middle of the run over the rim that it overhangs."""
    s = layout.parameters.surface
    if s.border.courses:
        return s.sliver
    out = [layout.overhang(e) for e in layout.outline.edges if not e.house and e.parallel_to(layout.board_direction)]
    return max([s.sliver, *(min(2 * o + MIDDLE_IN, s.board_width) for o in out)])


def _whole_line(layout: Bordered, ground: Polygon, y: np.ndarray) -> float | None:
    """Where, across the boards, the field begins at the edge kept whole; None where the boards do not run along it.

    At an edge that is a little out of true it is the outermost point, so that the full board is tapered and not pieced
    out.
    """
    edge = layout.whole_edge
    if edge is None or not edge.parallel_to(layout.board_direction):
        return None
    begins = field_begins(layout, edge)
    ends = [float(np.asarray(edge.point(a, begins)) @ y) for a in (0.0, edge.length)]
    outer = min(ends) if float(edge.inward @ y) > 0 else max(ends)
    _, v0, _, v1 = ground.bounds
    # the mitre at a corner draws the field's own line in from the edge's ends
    near = [v for v in (v0, v1) if abs(v - outer) < 1.0 and _edge_at(ground, v)]
    return near[0] if near else outer


def _moved(layout: Bordered, plain: np.ndarray, keep: float) -> Words:
    """What keeping the edge whole changed about the runs asked for."""
    edge, width = layout.whole_edge, layout.parameters.surface.board_width
    assert edge is not None  # the line is this edge's
    at = plain[np.abs(plain - keep).min(axis=1).argmin()]
    if at[1] - at[0] < width - 1e-6 and np.abs(at - keep).min() < 1e-6:
        return said(
            "the {name} edge is kept whole: its run is not ripped to {width} as surface.rip would have it; the rip is"
            " taken off the runs at the other side (order.whole_edge)",
            name=edge.name,
            width=size(at[1] - at[0]),
        )
    return f"the {edge.name} edge is kept whole: full runs are laid from there (order.whole_edge)"


def notches(layout: Stepped) -> list[Polygon]:
    """What the surface leaves free round each guard post: its plan and the clearance on every side."""
    clear = layout.parameters.surface.notch_clearance
    stands = [p.polygon for p in layout.posts] + through_surface(layout)
    return [notch_round(q, clear) for q in stands]


def notch_round(post: Polygon, clear: float) -> Polygon:
    return post.buffer(clear, join_style="mitre") if clear else post


def open_fragile(notch: Polygon, outline: Polygon, low: float, high: float) -> Polygon:
    """A local notch, opened through the edge of a board (from v = low to high) that would leave a strip too thin to
    hold.

    Round a post that stands a little askew the notch is cut square to the board all the same, the clearance being the
    least. One that ends in the edge itself, give or take rounding, is opened too: no hair of a board joins its halves.
    """
    a, b, c, d = notch.bounds
    turned = (c - a) * (d - b) / notch.area - 1  # without strips of constant width beside it
    if turned > TURNED:
        return notch
    least = FRAGILE - 1e-6  # a strip just as wide stays, wherever the deck lies
    if AT_ITS_EDGE < b - low < least:
        b = low - 1.0
    if AT_ITS_EDGE < high - d < least:
        d = high + 1.0
    u0, _, u1, _ = outline.bounds
    if AT_ITS_EDGE < a - u0 < least:
        a = u0 - 1.0
    if AT_ITS_EDGE < u1 - c < least:
        c = u1 + 1.0
    if turned > 2 * NEARLY_SQUARE:
        return notch if (a, b, c, d) == notch.bounds else notch.union(_past_corners(notch, box(a, b, c, d)))
    return box(a, b, c, d)


def _past_corners(notch: Polygon, opened: Polygon) -> Polygon:
    """What opens a notch turned against its board: from its middle out, between its corners on either side."""
    a, b, c, d = notch.bounds
    x, y = notch.centroid.coords[0]
    sides = [box(u0, b, u1, d) for u0, u1 in ((opened.bounds[0], x), (x, opened.bounds[2])) if u0 < a or u1 > c]
    sides += [box(a, v0, c, v1) for v0, v1 in ((opened.bounds[1], y), (y, opened.bounds[3])) if v0 < b or v1 > d]
    return shapely.union_all(sides)


def _edge_at(ground: Polygon, v: float) -> bool:
    """Whether an edge of the ground, near enough along the boards, begins or ends at v."""
    ring = np.asarray(ground.exterior.coords)
    at = np.abs(ring[:, 1] - v) < 1e-6
    du, dv = np.abs(np.diff(ring, axis=0)).T
    return bool(((du > 12.0) & (dv < du * NEARLY_SQUARE) & (at[1:] | at[:-1])).any())


def _obstacles(layout: Stepped, x, y) -> list[tuple[Polygon, bool]]:
    """(outline, is a notch): posts with their clearance, breakers with their end gaps."""
    gap = layout.parameters.surface.end_gap
    taken = [(local(n, x, y), True) for n in notches(layout)]
    for b in layout.breakers:
        u0, v0, u1, v1 = local(b, x, y).bounds
        taken.append((box(u0 - gap, v0 - gap, u1 + gap, v1 + gap), False))
    return taken


def _take_out(flat, row, limits, obstacles):
    """Runs without what stands in them: outlines, the row of each, and for each row the stretches with a notch."""
    blocked: dict[int, list[tuple[float, float]]] = defaultdict(list)
    if not len(flat) or not obstacles:
        return flat, row, blocked
    hit = defaultdict(list)
    for i, k in shapely.STRtree(flat).query([o for o, _ in obstacles], predicate="intersects").T.tolist():
        hit[k].append(i)
    out, rows = [], []
    for k, outline in enumerate(flat):
        r = int(row[k])
        if k in hit:
            cut, whole = [], []
            for i in hit[k]:
                shape, is_notch = obstacles[i]
                if is_notch:
                    blocked[r].append((shape.bounds[0], shape.bounds[2]))
                    cut.append(open_fragile(shape, outline, *limits[r]))
                else:
                    whole.append(shape)
            outline = outline.difference(shapely.union_all([*with_tongues(cut), *whole]))
        sound = [p for g in polygons(outline) for p in (without_slivers(g, cut, FRAGILE) if k in hit and cut else [g])]
        for g in sound:
            out.append(g)
            rows.append(r)
    return np.array(out, dtype=object), np.array(rows, int), blocked


def _without_strips(layout: Posted, outline: Polygon, frame: Polygon) -> list[Polygon]:
    """A board cut apart at strips that would break off, longer than beside a notch: too thin to hold, or longer than a
    bay in the overhang before an edge that stands back, with less of their width on the rim than carries half a
    border."""
    out, bay = layout.parameters.surface.overhang, layout.joist_spacing
    return [
        piece
        for whole in without_strips(outline, outline, FRAGILE, FRAGILE / 2, NOTCH)
        for piece in without_strips(
            whole, whole.intersection(frame), HALF_ON_RIM, out + HALF_ON_RIM / 2, bay + HALF_ON_RIM
        )
    ]


def _split(layout: Posted, runs: _Laying, flat, row, blocked) -> None:
    """Cut over-long runs on joists, each run's joints clear of its neighbour's, and keep what is no crumb."""
    longest = layout.parameters.surface.board_length
    bounds = shapely.bounds(flat) if len(flat) else np.empty((0, 4))
    over = bounds[:, 2] - bounds[:, 0] > longest + 1e-9
    whole = [FieldBoard(flat[k], int(row[k]) + 1) for k in np.flatnonzero(~over)]
    if over.any():
        whole += _cut_at_joints(layout, runs, flat[over], row[over], blocked)
    _keep(layout, runs, whole)


def _cut_at_joints(layout: Posted, runs: _Laying, flat, row, blocked) -> list[FieldBoard]:
    s = layout.parameters.surface
    seats = JointSeats(layout, runs.x, runs.y)
    bounds = shapely.bounds(flat)
    known: dict = {}
    close = 1.5 * layout.joist_spacing / seats.x_across
    before: dict[int, dict[float, float]] = defaultdict(dict)  # joints of each row: joist and place along the boards
    used: dict[int, list[tuple[float, float]]] = defaultdict(list)  # of each joist, where joints lie along it
    outlines, cells, owner = [], [], []
    order = np.lexsort((bounds[:, 0] * layout.ahead(runs.x), row))
    found = {
        k: seats.places(
            runs.limits[row[k]][0],
            runs.limits[row[k]][1],
            bounds[k, 0],
            bounds[k, 2],
            blocked.get(int(row[k]), ()),
        )
        for k in order
    }
    serves = Counter(j for _, joists in found.values() for j in joists)  # how many runs could be joined on each joist
    for k in order:
        u0, u1, r = bounds[k, 0], bounds[k, 2], int(row[k])
        v0, v1 = runs.limits[r]
        places, joists = found[k]
        avoid = before[r - 1]
        ahead = max(serves.values(), default=1) or 1  # of the runs still to be cut
        # a joist is doubled once for all the joints that lie on it: one that can serve many runs is worth it sooner
        fresh = [SECOND_JOIST * (2.0 - serves[j] / ahead) * (s.joints == "doubled" and j not in used) for j in joists]
        question = (round(u0, 6), round(u1, 6), tuple(places), tuple(avoid.items()), tuple(fresh))
        if question not in known:
            penalties = [
                new + (ALIGNED if seats.at[j] in avoid else CLOSE * any(abs(u - a) < close for a in avoid.values()))
                for j, u, new in zip(joists, places, fresh)
            ]
            known[question] = split(
                u0,
                u1,
                places,
                s.board_length - seats.slant * s.board_width,
                SHORTEST_BOARD,
                penalties,
                trim=layout.parameters.order.end_trim,
                backwards=layout.ahead(runs.x) < 0,
            )
        serves.subtract(joists)
        chosen = [joists[i] for i in known[question]]
        before[r].update((seats.at[joists[i]], places[i]) for i in known[question])
        for j in chosen:
            used[j].append(seats.stretch(j, v0, v1))
        for cell in seats.cells(chosen, v0, v1, u0, u1, s.end_gap):
            outlines.append(flat[k])
            cells.append(cell)
            owner.append(r + 1)
    runs.beside_joists += seats.supports(used)
    if s.joints == "doubled" and runs.beside_joists:
        n = len(runs.beside_joists)
        runs.notes.append(f"{n} joist{'s' if n > 1 else ''} doubled under butt joints of boards (surface.joints)")
    cut = [common(outline, Polygon(cell)) for outline, cell in zip(outlines, cells)]
    return [FieldBoard(g, r) for shape, r in zip(cut, owner) for g in polygons(shape)]


def _keep(layout: Joisted, runs: _Laying, pieces: list[FieldBoard]) -> None:
    dropped, count = 0.0, 0
    frame = local(layout.outline.polygon, runs.x, runs.y)
    shapely.prepare(frame)
    held: list[FieldBoard] = []
    for p in pieces:
        cut = cut_back(p.outline, frame)
        dropped += p.outline.area - (cut.area if cut else 0.0)
        count += cut is not p.outline
        if cut is not None:
            held.append(p if cut is p.outline else FieldBoard(cut, p.run))
    pieces = held
    can = fastened(layout, [p.outline for p in pieces], runs.x, runs.y)
    bounds = shapely.bounds([p.outline for p in pieces]) if pieces else np.empty((0, 4))
    for p, fine, (u0, v0, u1, v1) in zip(pieces, can, bounds.tolist()):
        if not fine or u1 - u0 < CRUMB or v1 - v0 < LEAST_RIP:
            dropped += p.outline.area
            count += 1
            continue
        if u1 - u0 > layout.parameters.surface.board_length + 1e-6:
            runs.notes.append(
                said(
                    "run {run}: a board of {long} is longer than any sold ({sold}): no joist gives bearing for a joint"
                    " (surface.board_length)",
                    run=p.run,
                    long=length(u1 - u0),
                    sold=length(layout.parameters.surface.board_length),
                )
            )
        runs.boards.append(p)
    runs.boards.sort(key=lambda p: (p.run, round(p.outline.bounds[0], 6)))
    if count:
        runs.notes.append(
            said(
                "{scraps} of surface too small to fasten left out, {area} in all",
                scraps=f"{count} scrap{'s' if count > 1 else ''}",
                area=area(dropped),
            )
        )
