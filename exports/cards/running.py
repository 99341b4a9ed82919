"""Running dimensions: figures measured from one end along a line, each at its own point, moved apart where they
crowd."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from ..drafting import drawing as d
from ..drafting import style
from ..drafting.dimensioning import readable
from .pages import BIG

RUNNING_LAYER = "A-ANNO-DIMS"


def spread(stations: Sequence[float], pitch: float) -> list[float]:
    """Places in the same order at least `pitch` apart, as near to `stations` (rising) as that allows (least squares).

    With i x pitch taken off it is an isotonic regression, solved by pooling neighbours that are out of order.
    """
    pools: list[list[float]] = []  # mean, count
    for i, s in enumerate(stations):
        pools.append([s - i * pitch, 1.0])
        while len(pools) > 1 and pools[-2][0] > pools[-1][0]:
            b, a = pools.pop(), pools.pop()
            pools.append([(a[0] * a[1] + b[0] * b[1]) / (a[1] + b[1]), a[1] + b[1]])
    flat = [mean for mean, count in pools for _ in range(int(count))]
    return [z + i * pitch for i, z in enumerate(flat)]


def running(
    view: d.View,
    points: Sequence[d.Point],
    zero: d.Point,
    along: float,
    off: float,
    at: float,
    text: Callable[[float], str],
    *,
    height: float = BIG,
    suffix: Callable[[int], str] = lambda n: "",
    mark: str = "",
) -> list[float]:
    """Adds to `view` the distances of `points` from `zero`, measured along the direction `along` (degrees).

    Figures stand off in the direction `off` (along + 90 or - 90), `at` view inches from `zero` measured along `off`,
    and read along it. `text` letters a distance, `suffix(n)` follows the figure of the n-th point. Returns the
    distances.
    """
    u, w = np.array(style.unit(along)), np.array(style.unit(off))
    origin, scale = np.asarray(zero, float), view.scale
    order = sorted(range(len(points)), key=lambda n: float((np.asarray(points[n]) - origin) @ u))
    found = [float((np.asarray(points[n]) - origin) @ u) for n in order]
    places = spread(found, height * 1.5 * scale)
    turn = readable(off)
    align = "left" if abs(turn - off) % 360 < 1e-6 else "right"
    for n, s, p in zip(order, found, places):
        start = float((np.asarray(points[n]) - origin) @ w) + style.DIM_GAP * scale
        knee, end = at, at + 0.12 * scale
        if knee < start:
            knee = start
        path = [origin + u * s + w * start, origin + u * s + w * knee, origin + u * p + w * end]
        if abs(p - s) < 1e-6 * scale:
            path = [path[0], path[-1]]
        view.add(d.Polyline([(float(x), float(y)) for x, y in path], layer=RUNNING_LAYER, mark=mark))
        foot = origin + u * p + w * (end + style.DIM_GAP * scale)
        view.add(
            d.Text(
                (float(foot[0]), float(foot[1])),
                text(s) + suffix(n),
                height,
                align,
                "middle",
                turn,
                layer=RUNNING_LAYER,
                mark=mark,
            )
        )
    return found
