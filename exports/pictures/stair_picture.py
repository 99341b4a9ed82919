"""A flight of stairs side on, with the rise, the going, the nosing, the pitch line and the headroom that were measured.

The near skirt, the near stringer and the near guard are left out, so that the steps are seen; the deck behind is cut
through the middle of the flight. Every number is read off the solids by the checking room.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np
from shapely.geometry import box

from ...model.measuring.flight_seen import BEARS_TREADS, FlightSeen
from ...model.measuring.measure import measure_all
from ...model.rules.check_result import Checking, CheckResult
from ...model.rules.check_stairs import check_stairs
from ...shared.units import feet_inches, inches
from ..drafting.cautions import SENTENCES
from ..drafting.wording import worded
from ..linework.eye import Eye
from ..linework.shading import visible
from ..linework.views import cut_faces
from .canvas import INK, SOFT, Lettering, Picture, Region, Stroke
from .colours import RGB, colour
from .shades import name_of, shaded

_CUT: RGB = (216, 203, 178)
_PITCH: RGB = (20, 82, 90)
_CLEAR: RGB = (156, 74, 35)
_BEHIND, _BEYOND = 40.0, 30.0  # inches of deck shown behind the flight and of ground before its foot


def stair_pictures(deck, measured: Sequence | None = None) -> dict[str, Picture]:
    """A picture a flight, by file name: `stair-1`, and `stair-1-flight-2` where a stair has several."""
    stairs = getattr(deck.parameters, "stair", ())
    if not stairs:
        return {}
    checking = Checking(deck, measured if measured is not None else measure_all(deck.parts))
    check_stairs(checking)
    out = {}
    for number in range(len(stairs)):
        for n, flight in enumerate(checking.seen.flights(number)):
            name = f"stair-{number + 1}" + (f"-flight-{n + 1}" if n else "")
            out[name] = _flight(deck, number, flight, checking.results, name_of(deck))
    return out


def _flight(deck, stair: int, f: FlightSeen, results: Sequence[CheckResult], name: str) -> Picture:
    view = Eye.looking(f.across, through=f.out * 0 + f.across * sum(f.sides) / 2)
    picture = Picture(f"{name}, {f.name} from its side, near stringer and guard left out", " ".join(SENTENCES))
    nosings = [(s.front, s.level) for s in f.steps]
    itself = _stair_itself(deck, stair, view)
    widest = max(r.polygon.bounds[2] for r in itself if isinstance(r, Region))
    x0, x1 = f.top.front - _BEHIND, min(max(widest + 2, f.last.front + _BEYOND), f.last.front + 3 * _BEYOND)
    picture.add(*_deck_behind(deck, stair, view, (x0, x1)), *itself)
    _ground(picture, deck, f, (x0, x1))
    _rises(picture, f, x1)
    _goings(picture, f, nosings)
    _nosing(picture, f, results)
    over = box(f.walk[0], -1e5, f.walk[1], 1e5)
    rails = [
        r.polygon.intersection(over).bounds[3] for r in itself if isinstance(r, Region) and r.polygon.intersects(over)
    ]
    top = _headroom(picture, f, nosings, results, max(f.top.level, *rails))
    low = min([f.foot, *(float(m.box[0][2]) for m in f.stringers)]) - 26
    picture.window = (x0, low, x1 + 26, top + 7)
    return picture


def _deck_behind(deck, stair: int, view: Eye, span) -> list[Region]:
    """What the plane through the middle of the flight cuts of the deck, within the picture."""
    frame = box(span[0], -1e5, span[1], 1e5)
    out = []
    for part in deck.parts:
        if part.stair == stair:
            continue
        for face in cut_faces(part, view):
            kept = face.intersection(frame)
            for piece in getattr(kept, "geoms", [kept]):
                if piece.geom_type == "Polygon" and piece.area > 1e-6:
                    pale = tuple(round(0.45 * a + 0.55 * b) for a, b in zip(colour(part), _CUT))
                    out.append(Region(piece, pale, INK, 0.9))
    return out


def _stair_itself(deck, stair: int, view: Eye) -> list[Region]:
    """The stair's own pieces from its middle on: those wholly on the near side would hide the steps."""
    toward = np.array(view.toward)
    middle = float(view.plane)
    near = {*BEARS_TREADS, "skirt"}
    kept = []
    for part in deck.parts:
        if part.stair != stair:
            continue
        depth = part.vertices @ toward
        if depth.min() > middle and (part.role in near or part.group == "guards"):
            continue
        kept.append(part)
    return shaded(visible(kept, view))


def _ground(picture: Picture, deck, f: FlightSeen, span) -> None:
    across = np.array([-f.out[1], f.out[0]]) * sum(f.sides) / 2
    points = [(a, float(deck.planes.grade(*(f.out * a + across)))) for a in span]
    picture.add(
        Stroke(tuple(points), SOFT, 1.4),
        Lettering((points[0][0] + 2, points[0][1] - 2.5), "grade", 13, "start", colour=SOFT),
    )


def _rises(picture: Picture, f: FlightSeen, x: float) -> None:
    """A chain of the rises, and the total rise, beyond the foot."""
    chain, total = x + 4, x + 19
    for upper, lower, front in zip(f.levels, f.levels[1:], [s.front for s in f.steps]):
        _measure(picture, (chain, lower), (chain, upper), inches(upper - lower), upright=True)
        picture.add(Stroke(((front + 1.5, upper), (chain + 2, upper)), SOFT, 0.4))
    picture.add(Stroke(((f.last.front + 1.5, f.foot), (total + 2, f.foot)), SOFT, 0.4))
    picture.add(Stroke(((chain, f.top.level), (total + 2, f.top.level)), SOFT, 0.4))
    counted = f"{len(f.rises)} rise{'s' if f.treads else ''}"
    _measure(picture, (total, f.foot), (total, f.top.level), "", upright=True)
    picture.add(
        Lettering(
            (total + 3, (f.foot + f.top.level) / 2),
            f"total rise {feet_inches(f.top.level - f.foot)} in {counted}",
            14,
            angle=90,
        )
    )


def _goings(picture: Picture, f: FlightSeen, nosings) -> None:
    """A chain of the goings (nosing to nosing) and the total run, under the flight."""
    chain = min([f.foot, *(float(m.box[0][2]) for m in f.stringers)]) - 9
    for (a, _), (b, level) in itertools.pairwise(nosings):
        _measure(picture, (a, chain), (b, chain), inches(b - a))
        picture.add(Stroke(((b, level - 1.5), (b, chain - 2)), SOFT, 0.4, dash=True))
    a, b = nosings[0][0], nosings[-1][0]
    picture.add(Stroke(((a, nosings[0][1] - 1.5), (a, chain - 2)), SOFT, 0.4, dash=True))
    if len(nosings) > 2:
        _measure(picture, (a, chain - 10), (b, chain - 10), f"total run {feet_inches(b - a)}")


def _nosing(picture: Picture, f: FlightSeen, results: Sequence[CheckResult]) -> None:
    """The projection of the nosing over the riser below, at the lowest tread that has one."""
    found = [
        r
        for r in results
        if r.rule in ("nosing, least", "nosing, greatest")
        and worded(r.place).startswith(f"{f.name} nosing over riser ")
        and r.measured is not None
    ]
    if not found:
        return
    row = max(found, key=lambda r: int(worded(r.place).rsplit(" ", 1)[1]))
    step = f.steps[int(worded(row.place).rsplit(" ", 1)[1]) - 1]
    at = (step.front, step.level - 0.5)
    text = (step.front + 11, step.level + 9)
    picture.add(
        Stroke((at, text), INK, 0.8),
        Lettering((text[0] + 1, text[1] + 1), f"nosing {inches(row.measured)}", 15, "start"),
    )


def _headroom(picture: Picture, f: FlightSeen, nosings, results: Sequence[CheckResult], rails: float) -> float:
    """The pitch line through the nosings, and the headroom over it. Returns the highest level drawn. `rails` is the top
    of the guards, over which words stand free."""
    row = next((r for r in results if r.rule == "headroom" and r.place == f.name), None)
    if len(nosings) < 2:
        return nosings[0][1]
    slope = (nosings[-1][1] - nosings[0][1]) / (nosings[-1][0] - nosings[0][0])
    a, b = nosings[0][0] - 10, nosings[-1][0] + 10

    def pitch(x: float) -> float:
        return nosings[0][1] + slope * (x - nosings[0][0])

    angle = float(np.degrees(np.arctan(slope)))
    picture.add(Stroke(((a, pitch(a)), (b, pitch(b))), _PITCH, 1.6, dash=True))
    third = nosings[0][0] + 0.3 * (nosings[-1][0] - nosings[0][0])
    picture.add(Lettering((third, pitch(third) + 4.5), f"pitch line {abs(angle):.1f}°", 15, angle=angle, colour=_PITCH))
    middle = nosings[len(nosings) // 2][0]
    if row is None or row.measured is None:
        # open above: a line that ends in no tick, and in words
        top = rails + 8
        picture.add(Stroke(((middle, pitch(middle)), (middle, top)), _CLEAR, 1.0, dash=True))
        picture.add(
            Lettering(
                (middle, top + 3),
                "headroom: nothing of the model lies above; the house is not drawn",
                14,
                colour=_CLEAR,
            )
        )
        return top + 4
    over = max(rails + 3, pitch(a) + row.measured)
    picture.add(Stroke(((a, pitch(a) + row.measured), (b, pitch(b) + row.measured)), _CLEAR, 1.2, dash=True))
    _measure(picture, (middle, pitch(middle)), (middle, pitch(middle) + row.measured), "", upright=True, tint=_CLEAR)
    picture.add(
        Lettering(
            (middle + 2, pitch(middle) + 0.8 * row.measured),
            f"headroom {feet_inches(row.measured)}",
            14,
            "start",
            colour=_CLEAR,
        )
    )
    return over


def _measure(picture: Picture, a, b, words: str, upright: bool = False, tint: RGB = INK) -> None:
    """A plain dimension: a line with a slanted tick at each end, its words beside it."""
    picture.add(Stroke((a, b), tint, 0.9))
    for x, y in (a, b):
        picture.add(Stroke(((x - 1, y - 1), (x + 1, y + 1)), tint, 1.4))
    if words:
        middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
        if upright:
            picture.add(Lettering((middle[0] + 1.5, middle[1]), words, 14, "start", colour=tint))
        else:
            picture.add(Lettering((middle[0], middle[1] + 3), words, 14, colour=tint))
