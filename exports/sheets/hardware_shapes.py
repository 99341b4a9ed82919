"""Bought hardware in details as plain shapes of no make: what is bought is the builder's choice, what it does is drawn.
Every item says what it draws, so that a note finds it. Sizes are nominal, our own, true inches unless paper is said."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from ..drafting import drawing as d

LAYER = "S-JOIS-HNGR"
_WASHER, _HEAD, _PAST = 0.7, 0.35, 0.9  # half of a washer, depth of a head, what stands out past a washer
_PLATE = 0.02  # paper inches that a plate stands off what it lies against, so that both lines are read
_NAIL = 0.09  # radius of a nail's head as drawn


def ring(points: Iterable[d.Point], thing: str, layer: str = LAYER) -> d.Polyline:
    return d.Polyline([(float(x), float(y)) for x, y in points], True, layer=layer, thing=thing)


def box(x0: float, y0: float, x1: float, y1: float, thing: str, layer: str = LAYER) -> d.Polyline:
    return ring([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], thing, layer)


def path(points: Sequence[d.Point], thing: str, layer: str = LAYER) -> d.Polyline:
    return d.Polyline([(float(x), float(y)) for x, y in points], layer=layer, thing=thing)


def nails(points: Iterable[d.Point], thing: str) -> list[d.AnyItem]:
    return [d.Circle((float(x), float(y)), _NAIL, layer=LAYER, thing=thing) for x, y in points]


def bolt(a: d.Point, b: d.Point, thing: str, nut: bool = True) -> list[d.AnyItem]:
    """A bolt or screw through from face `a` to face `b`: shank, head and washer at `a`, washer and nut at `b`, or its
    point there."""
    far = math.dist(a, b)
    u = ((b[0] - a[0]) / far, (b[1] - a[1]) / far)

    def at(along: float, aside: float) -> d.Point:
        return a[0] + u[0] * along - u[1] * aside, a[1] + u[1] * along + u[0] * aside

    def plate(lo: float, hi: float, half: float) -> d.AnyItem:
        return ring([at(lo, -half), at(hi, -half), at(hi, half), at(lo, half)], thing)

    out = [
        d.Line(at(-0.12, 0), at(far + (_PAST if nut else 0.0), 0), layer=LAYER, thing=thing),
        plate(-0.12, 0.0, _WASHER),
        plate(-0.12 - _HEAD, -0.12, _HEAD),
    ]
    return [*out, plate(far, far + 0.12, _WASHER), plate(far + 0.12, far + 0.12 + _HEAD, _HEAD)] if nut else out


def hanger(face: float, side: float, low: float, high: float, scale: float) -> list[d.AnyItem]:
    """A face-mount hanger seen from the side: on the face at `face` of what carries, round the foot of a joist from
    `low` to `high` that runs away to `side` (+1 right)."""
    off, tall = _PLATE * scale, 0.65 * (high - low)
    out, far = 0.9, 2.2
    ends = [(face, low - off), (face + side * far, low - off), (face + side * far, low + 1.0)]
    ends += [(face + side * out, low + 1.6), (face + side * out, low + tall), (face, low + tall)]
    at = [
        (face + side * x, low + y) for x, y in ((0.45, 0.3 * tall), (0.45, 0.6 * tall), (0.45, 0.9 * tall), (1.6, 0.5))
    ]
    return [ring(ends, "joist hanger"), *nails(at, "joist hanger")]


def tie(face: float, side: float, joint: float, scale: float) -> list[d.AnyItem]:
    """A tie from the side of a joist down on the face of the beam under it, `joint` the height where they meet."""
    off = face + side * _PLATE * scale
    flat = [(face, joint + 2.8), (face + side * 1.4, joint + 2.8), (face + side * 1.4, joint + 0.2), (off, joint)]
    shape = ring([*flat, (off, joint - 2.8), (face, joint - 2.8)], "tie")
    return [shape, *nails([(face + side * 0.7, joint + z) for z in (1.0, 2.0)], "tie")]


def cap(beam: d.Box, post: d.Box, scale: float) -> list[d.AnyItem]:
    """A beam cap: a plate between beam and post, straps up the beam's sides and down the post's, with their nails."""
    t, seat, up = _PLATE * scale, post[3], min(4.0, beam[3] - post[3] - 0.5)
    out: list[d.AnyItem] = []
    for k, s in ((0, -1), (2, 1)):
        xs = (beam[k] + s * t, post[k] + s * t)
        out.append(path([(xs[0], seat + up), (xs[0], seat), (xs[1], seat), (xs[1], seat - 4)], "beam cap"))
        for x, zs in ((beam[k], (seat + 0.3 * up, seat + 0.75 * up)), (post[k], (seat - 1.2, seat - 3.0))):
            out += [d.Line((x + s * 2 * t, z), (x - s * 1.2, z), layer=LAYER, thing="beam cap") for z in zs]
    return out


def base(post: d.Box, top: float, scale: float) -> list[d.AnyItem]:
    """A post base's straps beside the post, and the anchor bolt from it down into the concrete at `top`."""
    t, mid = _PLATE * scale, (post[0] + post[2]) / 2
    up = min(4.0, post[3] - post[1] - 0.5)
    out: list[d.AnyItem] = []
    for x, s in ((post[0], -1), (post[2], 1)):
        out.append(path([(x, top + t), (x + s * t, top + t), (x + s * t, post[1] + up)], "post base"))
        zs = (post[1] + 0.35 * up, post[1] + 0.8 * up)
        out += [d.Line((x + s * 2 * t, z), (x - s * 1.2, z), layer=LAYER, thing="post base") for z in zs]
    return out + anchor(mid, post[1], top)


def anchor(at: float, head: float, top: float, deep: float = 7.0) -> list[d.AnyItem]:
    """An anchor bolt upright at `at`, from a nut under `head` down to a hook `deep` under the concrete's `top`."""
    half = 0.25
    shank = [(at - half, head), (at - half, top - deep), (at + 2.0, top - deep), (at + 2.0, top - deep + 2 * half)]
    shank += [(at + half, top - deep + 2 * half), (at + half, head)]
    return [ring(shank, "anchor bolt"), box(at - 2 * half, top, at + 2 * half, max(head, top + 0.3), "anchor bolt")]


def tension_device(face: float, side: float, level: float, thing: str = "tension device") -> list[d.AnyItem]:
    """A tension device screwed to the side of a member that runs from `face` to `side`: its seat against a rod at
    `level`, its back along the member."""
    x0, x1 = face + side * 1.2, face + side * 8.0
    out = [
        ring(
            [
                (x0, level - 1.0),
                (x1, level - 1.0),
                (x1, level + 0.4),
                (x0 + side * 1.0, level + 1.0),
                (x0, level + 1.0),
            ],
            thing,
        )
    ]
    return out + nails([(face + side * x, level - 0.4) for x in (3.2, 4.6, 6.0, 7.2)], thing)
