"""A value that would do for a key that is refused, found by trying: where no formula says how far a beam, a breaker or
a border has to give way.

Only what one key can mend is tried, from the value given on. Named is the nearest to it with which the whole plan can
be drawn; before one that a published rule then forbids, one that it allows.
"""

from __future__ import annotations

import contextlib
import math
from collections.abc import Callable, Iterator
from typing import Any, TypeVar

import numpy as np
import shapely
from shapely.geometry import Polygon

from ...shared.as_toml import TAPE, down_to, up_to
from ...shared.errors import DesignError, InputError
from ..input.parameters import Parameters

STEPS = 16  # values tried between the one given and the end of what the key may be; our own


def with_value(p: Parameters, key: str, value: object) -> Parameters:
    """The parameters with one key changed, checked as a file's are. ValueError, or InputError, for what it may not
    be."""
    data: Any = p.model_dump(exclude_unset=True)
    *path, last = [int(k) if k.isdecimal() else k for k in key.split(".")]
    at = data
    for k in path:
        at = at[k] if isinstance(k, int) else at.setdefault(k, {})
    at[last] = value
    return Parameters.model_validate(data)


Value = tuple[str, object]  # a key, and what would do there
Drawn = TypeVar("Drawn")


def value_found(
    p: Parameters,
    refused: DesignError,
    names: tuple[str, ...],
    extent: float,
    draw: Callable[[Parameters], Drawn],
    allowed: Callable[[Drawn, str], bool] = lambda drawn, key: True,
    alone: bool = False,
) -> tuple[Value, ...]:
    """The key that was refused and a value of it with which `draw` does not refuse; none where none was found. Where
    another key is refused with each of them, a value of that as well, unless one `alone` is asked for.

    `names`: the edges, `extent`: the deck's longer side, within which lines across it lie. `allowed`: whether what was
    drawn with another value of a key keeps to the rule that this key could break.
    """
    if type(p) is not Parameters:  # a deck as it stands: its measurements are what is wrong
        return ()
    tried = _Tried(p, refused, draw, allowed)
    for key in (refused.key, *_instead(refused.key)):
        before: object = None
        for value in _candidates(p, key, names, extent):
            if tried.does(key, value):
                return ((key, tried.nearest(key, before, value)),)
            before = value
    if tried.forbidden is not None:
        return (tried.forbidden,)
    if tried.then is None or alone:
        return ()
    first, changed, second = tried.then
    further = second.values or value_found(changed, second, names, extent, draw, alone=True)
    return (first, *further) if further else ()


class _Tried:
    """What came of values tried for a refused key: `forbidden`, the first that is drawn but not allowed; `then`, the
    first with which another key is refused, and that refusal."""

    def __init__(
        self,
        p: Parameters,
        refused: DesignError,
        draw: Callable[[Parameters], Drawn],
        allowed: Callable[[Drawn, str], bool],
    ):
        self._p, self._refused, self._draw, self._allowed = p, refused, draw, allowed
        self.forbidden: Value | None = None
        self.then: tuple[Value, Parameters, DesignError] | None = None

    def does(self, key: str, value: object) -> bool:
        """Whether the plan can be drawn with a value, and is allowed."""
        with contextlib.suppress(InputError, ValueError):
            changed = with_value(self._p, key, value)
            try:
                drawn = self._draw(changed)
            except DesignError as other:
                if self.then is None and other.key.rpartition(".")[0] != self._refused.key.rpartition(".")[0]:
                    self.then = (key, value), changed, other
                return False
            if self._allowed(drawn, key):
                return True
            self.forbidden = self.forbidden or (key, value)
        return False

    def nearest(self, key: str, before: object, value: object) -> object:
        """The value between one that does not do and the next tried, that does, nearest to the one that does not: of
        lengths, halved down to a sixteenth of an inch."""
        if before is None:  # the one given
            at: Any = self._p
            for k in key.split("."):
                at = at[int(k)] if k.isdecimal() else getattr(at, k)
            before = at
        if not (isinstance(value, float) and isinstance(before, float)):
            return value
        off, on = (up_to(before), value) if before > value else (down_to(before), value)
        while abs(on - off) > 1.5 / TAPE:
            middle = down_to((on + off) / 2)
            off, on = (off, middle) if self.does(key, middle) else (middle, on)
        return on


def outline_found(
    p: Parameters,
    refused: DesignError,
    shortest: float,
    draw: Callable[[Parameters], object],
) -> tuple[Value, ...]:
    """Values of the outline's keys with which `draw` does not refuse a deck with an edge shorter than `shortest`, or
    too narrow; none where none was found. Of an outline of corners, the corners without those that follow short edges,
    or those of its convex hull; names and house edges go with the edges that are left."""
    o = p.outline
    if type(p) is not Parameters:
        return ()
    if o.points is None:
        sizes = {"outline.width": o.width, "outline.depth": o.depth}
        given = sizes.get(refused.key)
        tried: list[tuple[Value, ...]] = (
            [((refused.key, up_to(max(given, shortest) * k)),) for k in (1, 2, 4, 8)] if given else []
        )
    else:
        names = list(o.edges or (f"e{n + 1}" for n in range(len(o.points))))
        corners = list(zip(names, [list(q) for q in o.points]))
        hull = shapely.MultiPoint(o.points).convex_hull
        around = {tuple(q) for q in hull.exterior.coords} if isinstance(hull, Polygon) else set()
        tried = [
            _with_corners(p, left)
            for left in (_without_short(corners, shortest), [c for c in corners if tuple(c[1]) in around])
            if len(left) > 2
        ]
    for values in tried:
        with contextlib.suppress(DesignError, InputError, ValueError):
            changed = p
            for key, value in values:
                changed = with_value(changed, key, value)
            draw(changed)
            return values
    return ()


def _without_short(corners: list[tuple[str, list[float]]], shortest: float) -> list[tuple[str, list[float]]]:
    """The corners, each with the name of the edge that it starts, without those at which edges shorter than that
    end."""
    left = list(corners)
    while len(left) > 2:
        lengths = [math.dist(a, b) for (_, a), (_, b) in zip(left, left[1:] + left[:1])]
        if min(lengths) >= shortest:
            break
        left.pop((lengths.index(min(lengths)) + 1) % len(left))
    return left


def _with_corners(p: Parameters, left: list[tuple[str, list[float]]]) -> tuple[Value, ...]:
    """The keys of an outline with these corners left; names only where they no longer count through."""
    o = p.outline
    values: list[Value] = [("outline.points", [q for _, q in left])]
    if o.edges is not None or o.house or p.stair or p.guard.edges:
        values.append(("outline.edges", [name for name, _ in left]))
    house = [n for n in o.house or () if n in {name for name, _ in left}]
    if o.house and house != list(o.house):
        values.append(("outline.house", house))
    return tuple(values)


def _instead(key: str) -> tuple[str, ...]:
    """Keys that may mend what no value of a key does: a stair that fits nowhere on its edge is narrower, leaves another
    edge, or one with fewer plies at its corners."""
    stair, _, last = key.rpartition(".")
    if stair.startswith("stair.") and last == "at":
        return f"{stair}.width", f"{stair}.edge", "frame.rim_plies", "frame.beam_plies"
    return ()


def _candidates(p: Parameters, key: str, names: tuple[str, ...], extent: float) -> Iterator[object]:
    """Values of a key worth trying, the nearest to the one given first."""
    head, _, last = key.rpartition(".")
    if key in ("frame.cantilever", "surface.overhang"):
        given = p.frame.cantilever if key == "frame.cantilever" else p.surface.overhang
        yield from (down_to(given * k / STEPS) for k in range(STEPS - 1, -1, -1))
        yield from (up_to(given + k) for k in range(1, STEPS))
    elif key in ("frame.rim_plies", "frame.beam_plies"):
        yield from range((p.frame.rim_plies if key == "frame.rim_plies" else p.frame.beam_plies) - 1, 0, -1)
    elif key == "surface.border.courses":
        yield from range(p.surface.border.courses - 1, -1, -1)
    elif head in ("frame.beam_lines", "surface.breakers"):
        lines = (p.frame.beam_lines or []) if head == "frame.beam_lines" else p.surface.breakers
        places = np.arange(1, 2 * STEPS) * extent / (2 * STEPS)
        yield from (down_to(float(x)) for x in sorted(places, key=lambda x: abs(x - lines[int(last)])))
    elif last == "edge" or head == "guard.edges":
        yield from names
    elif head.startswith("stair.") and last == "at":
        places = np.arange(4 * STEPS) * extent / (4 * STEPS)
        yield from (up_to(float(x)) for x in sorted(places, key=lambda x: abs(x - (p.stair[int(head[6:])].at or 0.0))))
    elif ".landings." in head and last in ("turn", "side"):
        stop = p.stair[int(head.split(".")[1])].landings[int(head.split(".")[3])]
        yield from (
            v for v in ("left", "right", *(("straight",) if last == "turn" else ())) if v != getattr(stop, last)
        )
    elif head.startswith("stair.") and last == "width":
        given = p.stair[int(head[6:])].width
        yield from (down_to(given * k / STEPS) for k in range(STEPS - 1, 0, -1))
    elif head.startswith("stair.") and last == "rise":
        given = p.stair[int(head[6:])].rise
        yield from (up_to(given + k / 2) for k in range(1, 2 * STEPS))
