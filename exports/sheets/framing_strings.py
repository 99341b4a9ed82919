"""Strings of dimensions round the framing plan: spans, posts of beams, overall and the first joist spaces; of a deck
askew on the sheet along its own edges."""

from __future__ import annotations

import numpy as np
import shapely

from ...model.solid.roles import named
from ..drafting import drawing as d
from ..drafting.dimensioning import dimension
from . import in_plan
from .askew import Askew, askew
from .datum import datum
from .house import WALL
from .landing_strings import landing_strings
from .set_out_tables import joist_rows_seen, longest_even
from .stage import AT_JOIST_LEVEL, Stage, joined_box
from .strings import MOST_ABREAST, OUTERMOST, Strings, too_near

SQUARE_ON = 0.9999  # cosine to the deck's own axes above which a member runs along one of them
_SPANS, _POSTS = 1, 2  # ranks of strings: posts, whose places the tables have, give way first
_LAYOUT_OFF = 0.3  # paper inches from the frame, or the wall behind it, to the string of the joists' layout; our own
_ARROW, _ARROW_OFF = 0.9, 0.22  # paper inches of the arrow of that layout, and from its string; our own
TOO_NEAR = (
    2.0  # inches from a beam's end to its last post that nobody sets out by: the string then gives the posts alone
)


def own_boxes(
    stage: Stage, shown: d.Box, frame: d.Box, whole: d.Box, marks: list[d.Box]
) -> tuple[d.Box, d.Box, list[d.Box]]:
    """Boxes of the frame, of all that is drawn and of the marks in the deck's own coordinates."""
    turned, window = askew(stage), shapely.box(*shown)
    if not turned.degrees:
        return frame, whole, marks
    pieces = (*stage.of(*named("framing plan")), *stage.of(*named("under the frame")))
    drawn = [g for p in pieces if not (g := p.footprint.intersection(window)).is_empty]
    own = [turned.upright(m) for m in marks]
    joists = turned.box([p.footprint for p in stage.deck_of(*AT_JOIST_LEVEL)])
    return joists, joined_box([turned.box(drawn), *own]), own


def frame_strings(stage: Stage, view: d.View, frame: d.Box, whole: d.Box, marks: list[d.Box]) -> None:
    """Strings outside the view: spans and cantilevers, grid of posts, overall (outermost). All in the deck's own
    coordinates, the boxes too."""
    turned = askew(stage)
    framed = (p.footprint for p in stage.of(*named("framing plan")) if p.stair is not None)
    clear = turned.shape(g for f in framed if not (g := f.intersection(turned.outline(whole))).is_empty)
    strings = Strings(
        view, whole, blocks=marks, spacing=stage.string_spacing, turned=turned, stairs=clear, most=MOST_ABREAST
    )
    x0, y0, x1, y1 = frame
    landing_strings(stage, view, strings, frame)
    _span_strings(stage, strings, turned, frame)
    seen: set[tuple] = set()
    askew_beams: list[in_plan.BeamLine] = []
    for line in stage.beams:
        if too_near(line.stations, view.scale):
            continue
        axis = np.asarray(turned.into(line.axis))
        if max(abs(axis)) < SQUARE_ON:
            askew_beams.append(line)
            continue
        stations = [turned.into(line.point(s))[int(abs(axis[1]) > 0.7071)] for s in _set_out(line)]
        lengthwise = abs(axis[0]) > 0.7071
        side = "below" if lengthwise else "left"
        key = (side, tuple(round(s, 2) for s in sorted(stations)))
        if key in seen:
            continue
        seen.add(key)
        at = y0 if lengthwise else x0
        strings.chain(side, [(s, at) if lengthwise else (at, s) for s in stations], _POSTS)
    lines = [(turned.into(b.axis), turned.into(b.point(sum(b.along) / 2))) for b in stage.beams]
    for side, stations in (
        ("left", [y0, *(v for axis, (_, v) in lines if abs(axis[0]) > SQUARE_ON), y1]),
        ("below", [x0, *(u for axis, (u, _) in lines if abs(axis[1]) > SQUARE_ON), x1]),
    ):
        if len(stations) > 2:
            strings.chain(side, [(x0, s) if side == "left" else (s, y0) for s in stations])
    corners = [turned.into(e.start) for e in stage.edges]
    if len(corners) > 4:
        strings.chain("below", [(x, y0) for x, _ in corners], OUTERMOST)
        strings.chain("left", [(x0, y) for _, y in corners], OUTERMOST)
    strings.chain("below", [(x0, y0), (x1, y0)], OUTERMOST)
    strings.chain("left", [(x0, y0), (x0, y1)], OUTERMOST)
    _layout_string(stage, view, strings, turned, frame, marks)
    for line in askew_beams:
        stairs = (p for p in stage.of(*named("framing plan")) if p.stair is not None)
        window = turned.outline(whole)
        drawn = [g for p in stairs if not (g := p.footprint.intersection(window)).is_empty]
        _askew_beam(stage, view, line, [turned.outline(m) for m in marks], drawn)


def _span_strings(stage: Stage, strings: Strings, turned: Askew, frame: d.Box) -> None:
    """Spans and cantilevers of the joists of each group that lie square to the deck's edges."""
    x0, y0, _, _ = frame
    seen: set[tuple] = set()
    at = in_plan.stations(s for group in stage.groups for pair in group.spans for s in pair)
    for group in stage.groups:
        axis = np.asarray(turned.into(group.axis))
        if max(abs(axis)) < SQUARE_ON:
            continue
        lengthwise = abs(axis[1]) > 0.7071
        side = "left" if lengthwise else "below"
        sign = float(np.sign(axis[1] if lengthwise else axis[0]))
        stations = sorted({round(sign * s, 3) for pair in [*group.spans, *group.overhangs] for s in pair})
        key = (side, tuple((at[a], at[b]) for a, b in group.spans))
        if len(stations) < 2 or key in seen or (len(group.joists) < 3 and seen):
            continue
        seen.add(key)
        strings.chain(side, [(x0, s) if lengthwise else (s, y0) for s in stations], _SPANS)


def _askew_beam(
    stage: Stage, view: d.View, line: in_plan.BeamLine, marks: list[shapely.Polygon], stairs: list[shapely.Geometry]
) -> None:
    """The string of a beam askew to the deck, beside it, outside the frame and past the stairs there, clear of other
    strings and of the marks of sections."""
    x0, y0, x1, y1 = stage.deck.layout.outline.polygon.bounds
    middle = np.array([(x0 + x1) / 2, (y0 + y1) / 2])
    n = in_plan.square(line.axis)
    out = 1.0 if float((np.asarray(line.point(sum(line.along) / 2)) - middle) @ n) > 0 else -1.0
    edge = max(
        out * float(np.dot(e.start, n))
        for e in stage.edges
        if abs(out * float(np.dot(e.start, n)) - out * line.middle) < 60
    )
    stations, far = _set_out(line), edge + 0.45 * view.scale
    figures = 0.2 * view.scale  # over the line
    ahead = [g for g in stairs if in_plan.overlap(_along(g, line.axis), (min(stations), max(stations))) > 0]
    far = max([far, *(max(_along(g, out * n)) + 0.3 * view.scale for g in ahead)])
    strung = [dimension(i, view.scale, stage.metric).line for i in view.items if type(i) is d.Dimension]
    taken = shapely.union_all([*marks, *map(shapely.LineString, strung)])
    for _ in range(40):  # past a stair, which goes out a long way
        ends = [line.point(s, out * far) for s in (min(stations), max(stations))]
        if not shapely.LineString(ends).buffer(figures).intersects(taken):
            break
        far += stage.string_spacing * view.scale
    angle = float(np.degrees(np.arctan2(line.axis[1], line.axis[0])))
    view.add(*d.chain([line.point(s) for s in stations], line.point(line.along[0], out * far), angle))


def _along(shape: shapely.Geometry, axis: np.ndarray) -> tuple[float, float]:
    """Lowest and highest station of a plan shape along a direction."""
    at = shapely.get_coordinates(shape) @ axis
    return float(at.min()), float(at.max())


def _set_out(line: in_plan.BeamLine) -> list[float]:
    """The stations of a beam's string: its ends, where they are not as good as at a post, and its posts."""
    low, high = line.along
    if not line.stations:
        return [low, high]
    first, last = line.stations[0], line.stations[-1]
    return [*([low] if first - low > TOO_NEAR else []), *line.stations, *([high] if high - last > TOO_NEAR else [])]


def _layout_string(
    stage: Stage, view: d.View, strings: Strings, turned: Askew, frame: d.Box, marks: list[d.Box]
) -> None:
    """The carpenter's layout of the longest row of joists: from the frame's end to the first joist that is evenly
    spaced, then even spaces in one figure, their number and size before it, and an arrow the way it is laid out. It
    stands beside the marks of sections, with as many spaces as find room there, else beyond them."""
    rows = [r for r in joist_rows_seen(stage) if not r.doubled and max(map(abs, r.across.tolist())) > SQUARE_ON]
    row = max(rows, key=lambda r: len(r.joists), default=None)
    run = row and longest_even([s for s, _ in row.joists])
    if row is None or run is None:
        return
    (first, last, count), (u, v) = run, turned.into(datum(stage))
    step, level = (last - first) / count, abs(row.across[0]) > SQUARE_ON
    x0, _, x1, y1 = frame
    begin, base, sign, edge = (x0, u, 1.0, y1) if level else (y1, v, -1.0, x1)
    low, high, beside = (0, 2, 3) if level else (1, 3, 2)
    near = [m for m in marks if m[beside] > edge]
    clear = next(
        (
            n
            for n in range(count, 0, -1)
            if not _meets(begin, base + sign * (first + n * step), near, low, high, view.scale)
        ),
        0,
    )
    stations = [begin, base + sign * first, base + sign * (first + (clear or count) * step)]
    points = [(s, edge) if level else (edge, s) for s in stations]
    if clear:
        off = edge + (WALL if stage.house_edges else 0.0) + _LAYOUT_OFF * view.scale
        place = turned.back((0.0, off) if level else (off, 0.0))
        angle = (0.0 if level else 90.0) + turned.degrees
        dims = d.chain([turned.back(p) for p in points], place, angle)
        view.add(*dims)
    else:
        dims = strings.chain("above" if level else "right", points)
    if not dims:
        return
    long = dims[-1] if level else dims[0]
    if clear == 1:
        long.suffix = " O.C. TYP."
    else:
        part = f"{clear} OF {count}" if 0 < clear < count else count
        long.prefix = f"{part} @ {stage.text(step)} = "
    at = turned.into(long.at)[1 if level else 0] + _ARROW_OFF * view.scale
    ends = [begin, begin + sign * _ARROW * view.scale]
    view.add(d.Arrow([turned.back((s, at) if level else (at, s)) for s in ends]))


def _meets(a: float, b: float, marks: list[d.Box], low: int, high: int, scale: float) -> bool:
    """Whether a stretch, with the figures that may stand past its ends, meets one of some marks."""
    a, b = min(a, b) - 0.1 * scale, max(a, b) + 0.1 * scale
    return any(m[low] < b and m[high] > a for m in marks)
