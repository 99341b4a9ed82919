"""Grade, frost line and level marks in upright views."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from ..drafting import drawing as d

if TYPE_CHECKING:
    from .stage import Stage


def ground_items(
    stage: Stage,
    ground: Callable[[float], float],
    u0: float,
    u1: float,
    scale: float,
    frost: bool = False,
    solid: list[tuple[float, float]] = (),
) -> list[d.AnyItem]:
    """The grade line from u0 to u1, with earth under it, both left out where something `solid` is cut, which lies in
    place of the earth; and the frost line where the file gives one."""
    deep = 0.12 * scale
    out: list[d.AnyItem] = []
    start = u0
    for low, high in [*sorted(solid), (u1, u1)]:
        if min(low, u1) - start > 1e-6:
            out.append(d.Line((start, ground(start)), (min(low, u1), ground(min(low, u1))), layer="C-TOPO"))
        start = max(start, high)
    long, step = 0.5 * scale, 1.5 * scale
    if u1 - u0 > long:
        count = max(2, int((u1 - u0) / step) + 1)
        for s in np.linspace(
            u0, u1 - long, count
        ):  # short stretches of earth, so that the ground does not drown the drawing
            if any(s < b and s + long > a for a, b in solid):
                continue
            ring = [
                (s, ground(s)),
                (s + long, ground(s + long)),
                (s + long, ground(s + long) - deep),
                (s, ground(s) - deep),
            ]
            out.append(d.Hatch([(float(x), float(y)) for x, y in ring], pattern="earth", layer="A-SECT-PATT"))
    depth = stage.deck.parameters.local.frost_depth
    if frost and depth:
        p, q = (u0, ground(u0) - depth), (u1, ground(u1) - depth)
        out += [
            d.Line(p, q, layer="C-TOPO-HDLN"),
            d.Leader(_on(p, q, 0.35), "FROST LINE", tips=[_on(p, q, t) for t in (0.25, 0.45, 0.55, 0.15)]),
        ]
    return out


def _on(p: d.Point, q: d.Point, t: float) -> d.Point:
    return p[0] + (q[0] - p[0]) * t, p[1] + (q[1] - p[1]) * t


def level_mark(stage: Stage, name: str, z: float, u: float, shown: float, scale: float, edge: float) -> list[d.AnyItem]:
    """A level mark at the right of a view, with a thin line to the height it means where it had to be moved."""
    out: list[d.AnyItem] = [d.Symbol("level", (u, shown), values={"LEVEL": f"{name} {signed(stage, z)}"})]
    if abs(shown - z) > 1e-6:
        out.append(d.Line((u - 0.12 * scale, shown), (u - 0.3 * scale, z), layer="A-ANNO-SYMB"))
        out.append(d.Line((u - 0.3 * scale, z), (u - 0.45 * scale, z), layer="A-ANNO-SYMB"))
    else:
        out.append(d.Line((u - 0.12 * scale, z), (u - 0.45 * scale, z), layer="A-ANNO-SYMB"))
    return out


def signed(stage: Stage, z: float) -> str:
    text = stage.text(z)
    return "±0" if not text.strip('0"') else text if text.startswith("-") else f"+{text}"
