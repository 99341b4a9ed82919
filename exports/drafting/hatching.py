"""Hatch patterns by material, and the lines of a hatch clipped to its region.

The patterns are the common CAD ones that every program knows by name (their line families come with ezdxf), sized so
that they read alike on paper at any scale. The DXF carries name and families, the PDF the clipped lines: the same
families.
"""

from __future__ import annotations

import math
from functools import cache

from .drawing import Hatch, Point, Ring
from .style import unit

Family = tuple[
    float, Point, Point, tuple[float, ...]
]  # angle, base point, step to the next line, dashes (gaps negative)

# pattern: name in CAD programs, size that gives paper inches
_PATTERNS: dict[str, tuple[str, float]] = {
    "end grain": ("ANSI31", 0.36),  # 45 degree lines 0.045 in apart
    "long grain": ("AR-RROOF", 0.1),
    "concrete": ("AR-CONC", 0.055),
    "earth": ("EARTH", 0.5),
    "steel": ("ANSI32", 0.2),
    "gravel": ("GRAVEL", 0.2),
}
_THIN = 0.14  # regions narrower than this on paper get a pattern half as large, so that a lath still shows lines
_DOT = 0.006  # paper inches of ink for a dash of no length


@cache
def _families(name: str) -> tuple[Family, ...]:
    from ezdxf.tools.pattern import IMPERIAL_PATTERN

    return tuple((a, tuple(b), tuple(o), tuple(d)) for a, b, o, d in IMPERIAL_PATTERN[name])


def _size(item: Hatch, scale: float) -> float:
    xs, ys = [p[0] for p in item.outline], [p[1] for p in item.outline]
    thin = min(max(xs) - min(xs), max(ys) - min(ys)) / scale < _THIN and item.pattern in (
        "end grain",
        "long grain",
        "steel",
    )
    return _PATTERNS[item.pattern][1] * scale * (0.5 if thin else 1.0)


def definition(item: Hatch, scale: float) -> tuple[str, float, list[Family]]:
    """Name, size and line families of a hatch in view inches, turned by its angle; the pattern starts at (0, 0) of the
    view."""
    name, size = _PATTERNS[item.pattern][0], _size(item, scale)
    ux, uy = unit(item.angle)

    def put(p: Point) -> Point:
        return (size * (p[0] * ux - p[1] * uy), size * (p[0] * uy + p[1] * ux))

    return (
        name,
        size,
        [
            (angle + item.angle, put(base), put(step), tuple(d * size for d in dashes))
            for angle, base, step, dashes in _families(name)
        ],
    )


def hatch_lines(item: Hatch, scale: float) -> list[tuple[Point, Point]]:
    """The pen strokes of a hatch, clipped to its region (outline less holes), in view inches. None for a solid."""
    if item.pattern == "solid":
        return []
    rings = [item.outline, *item.holes]
    out: list[tuple[Point, Point]] = []
    for angle, base, step, dashes in definition(item, scale)[2]:
        out += _family_lines(rings, angle, base, step, dashes, _DOT * scale)
    return out


def _family_lines(rings: list[Ring], angle: float, base: Point, step: Point, dashes: tuple[float, ...], dot: float):
    ux, uy = unit(angle)
    across, shift = step[1] * ux - step[0] * uy, step[0] * ux + step[1] * uy
    if across < 0:
        across, shift = -across, -shift
    # every ring in the family's own axes: s along the lines, t across them in steps
    edges = []
    low, high = math.inf, -math.inf
    for ring in rings:
        local = [
            ((x - base[0]) * ux + (y - base[1]) * uy, ((y - base[1]) * ux - (x - base[0]) * uy) / across)
            for x, y in ring
        ]
        for (s0, t0), (s1, t1) in zip(local, local[1:] + local[:1]):
            low, high = min(low, t0), max(high, t0)
            if t0 != t1:
                edges.append((s0, t0, s1, t1) if t0 < t1 else (s1, t1, s0, t0))
    crossings: dict[int, list[float]] = {}
    for s0, t0, s1, t1 in edges:
        slope = (s1 - s0) / (t1 - t0)
        for k in range(math.ceil(t0), math.ceil(t1)):  # half open: a corner on a line counts once
            crossings.setdefault(k, []).append(s0 + (k - t0) * slope)
    out = []
    for k, stations in crossings.items():
        stations.sort()
        ox, oy = base[0] - k * across * uy, base[1] + k * across * ux
        for a, b in zip(stations[::2], stations[1::2]):
            for c, d in ((a, b),) if not dashes else _dashes(a, b, k * shift, dashes, dot):
                if d - c > 1e-9:
                    out.append(((ox + c * ux, oy + c * uy), (ox + d * ux, oy + d * uy)))
    return out


def _dashes(a: float, b: float, start: float, dashes: tuple[float, ...], dot: float):
    """The dashes between stations a and b of a line whose pattern starts at `start`."""
    period = sum(abs(d) for d in dashes)
    at = start + math.floor((a - start) / period) * period
    while at < b:
        for dash in dashes:
            if dash >= 0:
                c, d = max(at, a), min(at + max(dash, dot), b)
                if c < d:
                    yield c, d
            at += abs(dash)
