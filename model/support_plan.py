"""Where beams and their posts go, in plan.

A beam follows every free edge across the joists, set back by the cantilever; where two such edges meet at an angle their
beams are mitred over a shared post. Where joists would still span further than the published table allows, straight beams
are added between. Posts stand under corners and ends and evenly between, no further apart than the table's beam span.
"""
from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from shapely.geometry import LineString, Point, Polygon

from ..shared.errors import DesignError
from ..shared.standards import beam_span, footing, joist_span
from ..shared.stock import lumber
from .edges import Edge
from .layout import Layout
from .nds import Lumber, NoValue
from .prescribed import JOIST_OVERHANG_SHARE
from .spans import longest_beam_span

FALLBACK_POST_SPACING = 72.0  # where the table has no row for the beam; the check then says "outside the table"
FALLBACK_JOIST_SPAN = 144.0
LEAST_BEAM = 12.0
OVERHANG = 12.0  # usual beam overhang past its end post, common practice, no source
OWN_WEIGHT = 3.0  # psf, posts and beams on top of the dead load: only for choosing a size


@dataclass
class BeamRun:
    """One straight beam: its plies' plan outlines, centre line from `start` to `end`, and its post centres."""

    plies: list[Polygon]
    start: tuple[float, float]
    end: tuple[float, float]
    where: str
    edge: str | None = None
    posts: list[tuple[float, float]] = field(default_factory=list)
    mitred: tuple[bool, bool] = (False, False)

    @property
    def direction(self) -> np.ndarray:
        d = np.subtract(self.end, self.start)
        return d / np.hypot(*d)

    @property
    def length(self) -> float:
        return math.dist(self.start, self.end)

    @property
    def polygon(self) -> Polygon:
        from shapely.ops import unary_union

        return unary_union([p.buffer(1e-6, join_style="mitre") for p in self.plies])


def plan_beams(layout: Layout) -> list[BeamRun]:
    """All beams with their posts. Raises DesignError where an explicit beam line misses the deck."""
    f = layout.parameters.frame
    runs = _explicit(layout) if f.beam_lines is not None else _along_edges(layout)
    if f.beam_lines is None:
        runs += _between(layout, runs)
    span = _longest_joist_span(layout, runs)
    corners: list[tuple[float, float]] = []
    for run in runs:
        _set_posts(layout, run, f.post_spacing or _post_spacing(layout, run, span), corners)
    layout.footing_size = f.footing.size or _footing_size(layout, runs, span)
    return runs


def _footing_size(layout: Layout, runs: list[BeamRun], span: float) -> float:
    """A size for all footings from the greatest load of any post: the table's, or load over soil bearing where that is more.

    The load is estimated high (a post between two beam spans takes 5/4 of its share, a joist's overhang levers load onto
    its beam: both are handbook reactions); the checks judge the footings by the load path of the finished model.
    """
    p = layout.parameters
    f, loads = p.frame, p.loads
    area = 0.0
    for run in runs:
        wide = _tributary(layout, run, span)
        at = sorted(float(np.dot(np.subtract(q, run.start), run.direction)) for q in run.posts)
        for k, a in enumerate(at):
            low = (a - at[k - 1]) / 2 if k else a
            high = (at[k + 1] - a) / 2 if k + 1 < len(at) else run.length - a
            area = max(area, (low + high) * (1.25 if 0 < k < len(at) - 1 else 1.1) * wide / 144)
    load = area * (max(loads.live_psf, loads.ground_snow_psf) + loads.dead_psf + OWN_WEIGHT)
    height = (f.footing.thickness if f.footing.shape == "square" else f.footing.depth + f.footing.above_grade) / 12
    net = max(loads.soil_bearing_psf - 150.0 * height, 0.2 * loads.soil_bearing_psf)
    need = load / net * 144
    size = math.sqrt(need) if f.footing.shape == "square" else 2 * math.sqrt(need / math.pi)
    row = footing(p.local.edition, loads.soil_bearing_psf, tributary_sqft=area)
    if row is not None:
        size = max(size, float((row.square if f.footing.shape == "square" else row.round).value))
    return 2.0 * math.ceil(size / 2 - 1e-9)


def _tributary(layout: Layout, run: BeamRun, span: float) -> float:
    """Inches of joist that a beam carries: a joist's reaction over its load, for the overhang at a free edge; between spans
    5/4 of a span, the middle reaction of a joist that runs on over two (handbook), and a little for unequal ones."""
    c = layout.parameters.frame.cantilever
    return (span + c) ** 2 / (2 * span) if run.edge is not None and span > 0 else 1.27 * span


def _post_spacing(layout: Layout, run: BeamRun, span: float) -> float:
    """What both the published table and the calculation allow a beam between its posts.

    The table is entered with the joist span that loads the beam as much: its own assumption is a joist that overhangs by a
    quarter, (1 + 1/4)^2 / 2 = 0.78125 of the joist span (the same reading as `model/prescribed`).
    """
    f, l = layout.parameters.frame, layout.parameters.lumber
    joists = max(span, _tributary(layout, run, span) / JOIST_OVERHANG_SHARE)
    row = beam_span(l.species, f.beam_plies, f.beam, joists / 12, layout.parameters.local.edition)
    allowed = float(row.value) if row else FALLBACK_POST_SPACING
    try:
        wood = Lumber(l.species, l.grade, l.wet, l.incised)
        loads = layout.parameters.loads
        calculated = longest_beam_span(wood, f.beam, f.beam_plies, joists / 12, max(loads.live_psf, loads.ground_snow_psf), loads.dead_psf)
        allowed = min(allowed, calculated.value)
    except NoValue:
        pass
    return max(allowed, 24.0)


def _width(layout: Layout) -> float:
    return layout.parameters.frame.beam_plies * lumber(layout.parameters.frame.beam).thickness


def _carries(layout: Layout, e: Edge) -> bool:
    """True for an edge that wants a beam behind it: across the joists and not on a ledger."""
    return not layout.is_lengthwise(e) and not layout.has_ledger(e)


def _side(layout: Layout, edge: Edge, other: Edge) -> float:
    """Inside distance of a neighbour that carries no beam, at which this edge's beam ends."""
    second = edge if layout.outline.before(edge) is other else other
    t = layout.joist.thickness
    if layout.has_ledger(other):
        return t
    if layout.outline.turn(second) < 0:  # run on under the rim that runs on past a reflex corner
        s = layout.parameters.surface
        strips = layout.field_inset[other.name] + s.end_gap + t if s.border.courses else 0.0
        return max(layout.rim_of(other), strips)
    at_start = layout.outline.before(edge) is other
    reach = edge.point(0.0 if at_start else edge.length, layout.parameters.frame.cantilever)
    s = other.position(reach)[0]
    for stair in layout.stairs:  # a stair's header hangs below the rim there
        if stair.edge is other and stair.start - 6 < s < stair.end + 6:
            return t
    return 0.0


def _along_edges(layout: Layout) -> list[BeamRun]:
    f, t = layout.parameters.frame, lumber(layout.parameters.frame.beam).thickness
    runs = []
    for e in layout.outline.edges:
        if not _carries(layout, e):
            continue
        b, a = layout.outline.before(e), layout.outline.after(e)

        def at(distance: float):
            d = {e.name: distance}
            for other in (b, a):
                d[other.name] = distance if _carries(layout, other) else _side(layout, e, other)
            return d

        plies = [layout.outline.strip(e, at(f.cantilever + k * t), at(f.cantilever + (k + 1) * t)) for k in range(f.beam_plies)]
        middle = layout.outline.strip(e, at(f.cantilever + f.beam_plies * t / 2), at(f.cantilever + f.beam_plies * t / 2 + 1e-3))
        p0, p1 = middle.exterior.coords[0], middle.exterior.coords[1]
        if any(not p.is_valid or p.area < LEAST_BEAM * t for p in plies) or np.dot(np.subtract(p1, p0), e.direction) < LEAST_BEAM:
            raise DesignError("frame.cantilever", f"leaves no room for a beam behind edge {e.name}; make the cantilever shorter or give frame.beam_lines")
        runs.append(BeamRun(plies, tuple(p0), tuple(p1), f"behind the {e.name} edge", e.name, mitred=(_carries(layout, b), _carries(layout, a))))
    return runs


def _straight(layout: Layout, at: float, low: float, high: float, where: str) -> list[BeamRun]:
    """Straight beams centred at `at` along the joists, between two positions across them, clipped to the outline."""
    t, w = lumber(layout.parameters.frame.beam).thickness, _width(layout)
    a, b = layout.across, layout.along

    def band(l0, l1, v0=low, v1=high):
        return Polygon([a * v0 + b * l0, a * v1 + b * l0, a * v1 + b * l1, a * v0 + b * l1])

    room = layout.outline.polygon.intersection(band(at - w / 2, at + w / 2))
    runs = []
    for g in getattr(room, "geoms", [room]):
        if g.area < LEAST_BEAM * w:
            continue
        v = np.asarray(g.exterior.coords) @ a
        plies = [g.intersection(band(at - w / 2 + k * t, at - w / 2 + (k + 1) * t)) for k in range(layout.parameters.frame.beam_plies)]
        ends = [tuple(map(float, a * x + b * at)) for x in (v.min(), v.max())]
        runs.append(BeamRun(plies, ends[0], ends[1], where))
    return runs


def _explicit(layout: Layout) -> list[BeamRun]:
    corners = np.asarray(layout.outline.polygon.exterior.coords)
    low = float((corners @ layout.along).min())
    across = corners @ layout.across
    runs = []
    for i, line in enumerate(layout.parameters.frame.beam_lines):
        found = _straight(layout, low + line, float(across.min()), float(across.max()), f"beam line {i + 1}")
        if not found:
            raise DesignError(f"frame.beam_lines.{i}", f"a beam at {line:g} in along the joists does not lie under the deck")
        runs += found
    return runs


def supports(layout: Layout, piece: Polygon, runs: list[BeamRun]) -> list[tuple[float, float, str]]:
    """(low, high, what) of everything that carries a joist footprint, in order along it; what is "ledger" or "beam"."""
    b = layout.along
    along = np.asarray(piece.exterior.coords) @ b
    found = []
    for e in layout.outline.edges:
        if layout.has_ledger(e) and not layout.is_lengthwise(e):
            ledger = e.rectangle(0, e.length, 0, layout.joist.thickness)
            if ledger.distance(piece) < 1e-6:
                at = float(np.dot(e.start, b)) if abs(float(e.direction @ b)) < 1e-9 else float(along.max())
                near = float(along.max()) if abs(at - along.max()) < abs(at - along.min()) else float(along.min())
                found.append((near, near, "ledger"))
    for run in runs:
        hit = run.polygon.intersection(piece)
        if not hit.is_empty and hit.area > 0.2:
            s = np.concatenate([np.asarray(g.exterior.coords) @ b for g in getattr(hit, "geoms", [hit]) if g.geom_type == "Polygon"])
            found.append((float(s.min()), float(s.max()), "beam"))
    return sorted(found)


def spans(layout: Layout, piece: Polygon, runs: list[BeamRun]) -> list[tuple[float, float]]:
    """Clear spans of a joist footprint between its supports, along the joists."""
    s = supports(layout, piece, runs)
    return [(a[1], b[0]) for a, b in zip(s, s[1:]) if b[0] - a[1] > 1]


def _longest_joist_span(layout: Layout, runs) -> float:
    return max((hi - lo for _, piece in layout.joist_lines for lo, hi in spans(layout, piece, runs)), default=96.0)


def _between(layout: Layout, runs: list[BeamRun]) -> list[BeamRun]:
    """Beams to halve, third, ... the spans that are longer than the table's."""
    f, l = layout.parameters.frame, layout.parameters.lumber
    row = joist_span(l.species, f.joist, f.joist_spacing, layout.parameters.local.edition)
    allowed = row.value if row else FALLBACK_JOIST_SPAN
    groups: list[tuple[float, float, list[float]]] = []
    for v, piece in layout.joist_lines:
        for lo, hi in spans(layout, piece, runs):
            if hi - lo <= allowed + 1e-6:
                continue
            same = next((g for g in groups if abs(g[0] - lo) < 6 and abs(g[1] - hi) < 6 and v - g[2][-1] < 2.1 * f.joist_spacing), None)
            if same:
                same[2].append(v)
            else:
                groups.append((lo, hi, [v]))
    added = []
    for lo, hi, across in groups:
        count = math.ceil((hi - lo + _width(layout)) / (allowed + _width(layout)) - 1e-9)
        reach = f.joist_spacing + 1.5
        for k in range(1, count):
            added += _straight(layout, lo + (hi - lo) * k / count, across[0] - reach, across[-1] + reach, "between the supports")
    return added


def _set_posts(layout: Layout, run: BeamRun, spacing: float, corners: list) -> None:
    f = layout.parameters.frame
    half = lumber(f.post).width / 2
    tips = _tips(run)
    free = [not m for m in run.mitred]

    def ends(overhang: float | None, count: int) -> tuple[float, float]:
        """First and last post along the centre line: flush posts at mitres, else back from the beam's tip."""
        if overhang is None:  # a quarter of the span behind it at most
            overhang = min(OVERHANG, (run.length + sum(tips)) / (4 * count + sum(free)))
        inset = [max(overhang - tip, half) if f else 0.0 for tip, f in zip(tips, free)]
        return inset[0], run.length - inset[1]

    count = 1
    first, last = ends(f.beam_overhang, count)
    while (last - first) / count > spacing + 1e-9:
        count += 1
        first, last = ends(f.beam_overhang, count)
    marks = [run.length / 2] if last - first < 2 * half else [first + (last - first) * k / count for k in range(count + 1)]
    for m in marks:
        p = tuple(map(float, np.asarray(run.start) + run.direction * m))
        shared = next((c for c in corners if math.dist(c, p) < 2 * half), None)
        if shared is None:
            corners.append(p)
            run.posts.append(p)


def _tips(run: BeamRun) -> tuple[float, float]:
    """How far the beam's plies reach past the ends of its centre line: the points of bevelled ends."""
    along = np.concatenate([(np.asarray(p.exterior.coords) - run.start) @ run.direction for p in run.plies])
    return max(0.0, -float(along.min())), max(0.0, float(along.max()) - run.length)


def post_square(layout: Layout, run: BeamRun, centre) -> Polygon:
    """The plan square of a post, one face along its beam."""
    h, d = lumber(layout.parameters.frame.post).width / 2, run.direction
    n, c = np.array([-d[1], d[0]]), np.asarray(centre)
    return Polygon([c - d * h - n * h, c + d * h - n * h, c + d * h + n * h, c - d * h + n * h])
