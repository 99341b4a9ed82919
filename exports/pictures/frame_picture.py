"""Frames in plan, one or several side by side at one scale: joists, rims and ledgers, beams on their posts, footings,
the house's wall, and the stairs as outlines. Drawn from the plan alone: a frame need not be built to be shown.
"""

from __future__ import annotations

from collections.abc import Sequence

from shapely.affinity import translate
from shapely.geometry import MultiPolygon, Polygon, box
from shapely.geometry.base import BaseGeometry

from ...model.plan.beam_run import BeamRun
from ...model.plan.stages import LevelPlan
from ...shared.said import Words, said, size
from ...shared.standards import beam_name
from ..drafting.cautions import SENTENCES
from ..drafting.wording import worded
from .canvas import INK, SOFT, Lettering, Picture, Region, Stroke
from .colours import MATERIAL_COLOURS, RGB

_JOIST: RGB = (222, 196, 150)
_EDGE: RGB = (96, 82, 60)
_RIM: RGB = (200, 166, 112)
_LEDGER: RGB = (150, 112, 74)
_BEAM: RGB = (178, 134, 84)
_POST: RGB = (62, 56, 50)
_HOUSE: RGB = (214, 210, 202)
_WALL = 14.0  # inches of the house's wall that are shown
_GAP = 0.14  # of the widest plan: between two
_TEXT, _TITLE = 14.0, 17.0  # points, of a single plan; several stand smaller
_SMALLER = (1.0, 0.85)  # by the number of plans
_SMALLEST = 0.75
_LINE = 1.9  # times the text's size from one line to the next
_ROOM = 1528.0  # points: of a picture of the usual width, between its margins


def plans_side_by_side(plans: Sequence[tuple[str, LevelPlan]], title: str, metric: bool = False) -> Picture:
    """The plans from left to right, the house at the top, each under its name with its frame in a few words below."""
    picture = Picture(title, " ".join(SENTENCES))
    boxes = [_bounds(plan) for _, plan in plans]
    wide = max(b[2] - b[0] for b in boxes)
    high = max(b[3] - b[1] for b in boxes)
    step = wide * (1 + _GAP)
    smaller = _SMALLER[len(plans) - 1] if len(plans) <= len(_SMALLER) else _SMALLEST
    line = _LINE * _TEXT * smaller / min(_ROOM / (len(plans) * step), _ROOM / (1.2 * high))  # inches of the model
    for k, ((name, plan), b) in enumerate(zip(plans, boxes)):
        dx, dy = k * step - (b[0] + b[2]) / 2, -b[3]
        picture.add(*(_moved(item, dx, dy) for item in plan_items(plan)))
        picture.add(*(_named_house(p, smaller) for p in _pieces(translate(_wall(plan), dx, dy))))
        picture.add(Lettering((k * step, line), name, _TITLE * smaller))
        for n, words in enumerate(frame_words(plan)):
            told = worded(words, metric)
            picture.add(Lettering((k * step, -high - line * (1 + n)), told, _TEXT * smaller, colour=SOFT))
    lines = max(len(frame_words(plan)) for _, plan in plans)
    picture.window = (-step / 2, -high - line * (lines + 1), (len(plans) - 0.5) * step, 2 * line)
    return picture


def _named_house(wall: Polygon, smaller: float) -> Lettering:
    x0, y0, x1, y1 = wall.bounds
    return Lettering(
        wall.representative_point().coords[0], "house", _TEXT * smaller, angle=90 if y1 - y0 > x1 - x0 else 0
    )


def plan_items(plan: LevelPlan) -> list[Region | Stroke]:
    """A frame in plan coordinates, what lies lower first."""
    items: list[Region | Stroke] = [Region(p, _HOUSE) for p in _pieces(_wall(plan))]
    for footing in plan.footings:
        items.append(Region(footing.polygon, MATERIAL_COLOURS["concrete"], SOFT, 0.8))
    flush = [r for r in plan.runs if r.flush]
    items += [Region(ply, _BEAM, _EDGE, 0.6) for r in plan.runs if not r.flush for ply in r.plies]
    items += [Region(p, _JOIST, _EDGE, 0.4) for _, p in plan.joist_lines]
    items += [Region(q, _LEDGER if plan.has_ledger(e) else _RIM, _EDGE, 0.6) for e, _, q in plan.rims]
    items += [Region(ply, _BEAM, _EDGE, 0.6) for r in flush for ply in r.plies]
    items += [_dashed(r) for r in plan.runs if not r.flush]
    for footing in plan.footings:
        items += [Region(s.square, _POST, None) for s in footing.stands if footing.posted]
        items.append(Stroke(_ring(footing.polygon), SOFT, 0.8, dash=True))
    for stair in plan.stair_plans:
        steps = [f.rectangle(0.0, f.run, 0.0, f.width) for f in stair.flights] + [m.polygon for m in stair.landings]
        items += [Stroke(_ring(p), SOFT, 1.0) for p in steps]
    return [*items, Stroke(_ring(plan.outline.polygon), INK, 1.6)]


def frame_words(plan: LevelPlan) -> list[Words]:
    """Joists, beams, posts and footings, a line each."""
    f = plan.parameters.frame
    own = [s for s in plan.footings if any(t.stair is None for t in s.stands)]  # a stair's landing has its own
    stands = sum(footing.posted for footing in own)
    by_name: dict[str, int] = {}
    for r in plan.runs:
        name = beam_name(len(r.plies), plan.beam_stock(r.flush).name) + (", flush" if r.flush else "")
        by_name[name] = by_name.get(name, 0) + 1
    beams = "; ".join(f"{n} beam{'s' if n > 1 else ''} {name}" for name, n in by_name.items()) or "no beam"
    count = len(own)
    return [
        said("joists {joist}, {spacing} on centre", joist=f.joist, spacing=size(plan.joist_spacing)),
        beams,
        said(
            "{n} footing{s} of {size}, {posts} post{p} {post}",
            n=count,
            s="" if count == 1 else "s",
            size=size(plan.footing_size),
            posts=stands,
            p="" if stands == 1 else "s",
            post=f.post,
        ),
    ]


def _dashed(run: BeamRun) -> Stroke:
    """The centre line of a beam under the joists."""
    return Stroke((run.start, run.end), _POST, 1.2, dash=True)


def _wall(plan: LevelPlan) -> BaseGeometry:
    """Of the house's wall what lies beside the deck."""
    x0, y0, x1, y1 = plan.outline.polygon.bounds
    return plan.house_wall.intersection(box(x0 - _WALL, y0 - _WALL, x1 + _WALL, y1 + _WALL))


def _bounds(plan: LevelPlan) -> tuple[float, float, float, float]:
    boxes = [i.polygon.bounds for i in plan_items(plan) if isinstance(i, Region)]
    boxes += [Polygon(i.points).bounds for i in plan_items(plan) if isinstance(i, Stroke) and len(i.points) > 2]
    lows, highs = list(zip(*(b[:2] for b in boxes))), list(zip(*(b[2:] for b in boxes)))
    return min(lows[0]), min(lows[1]), max(highs[0]), max(highs[1])


def _moved(item: Region | Stroke, dx: float, dy: float) -> Region | Stroke:
    if isinstance(item, Region):
        return Region(translate(item.polygon, dx, dy), item.fill, item.edge, item.weight)
    points = tuple((x + dx, y + dy) for x, y in item.points)
    return Stroke(points, item.colour, item.weight, item.dash)


def _ring(polygon: Polygon) -> tuple[tuple[float, float], ...]:
    return tuple((float(x), float(y)) for x, y in polygon.exterior.coords)


def _pieces(shape: BaseGeometry) -> list[Polygon]:
    if isinstance(shape, MultiPolygon):
        return list(shape.geoms)
    return [shape] if isinstance(shape, Polygon) and not shape.is_empty else []
