"""Beams on posts on footings.

Beams sit on caps on top of the posts (not in notches): the whole post section bears, and a cap can be had for one to four
plies. Posts stand on bases that hold them off the concrete.
"""
from __future__ import annotations

import math

import numpy as np
from shapely.geometry import Polygon

from ..shared.errors import DesignError
from ..shared.stock import Stock, lengths_sold, lumber
from .layout import Layout
from .part import Part, Workshop
from .support_plan import BeamRun, post_square

SHORTEST_POST = 1.5  # inches: less cannot be cut and fixed; our own
CONCRETE = Stock("concrete", 0.0, 0.0, "concrete")


def build_support(layout: Layout, shop: Workshop, runs: list[BeamRun]) -> list[Part]:
    """Beam plies, posts, post bases and footings as parts."""
    parts = []
    for run in runs:
        parts += _beam(layout, shop, run)
        for centre in run.posts:
            parts += _post(layout, shop, run, centre)
    return parts


def _beam(layout: Layout, shop: Workshop, run: BeamRun) -> list[Part]:
    stock = lumber(layout.parameters.frame.beam)
    top = layout.planes.frame_bottom
    longest = max(lengths_sold(stock), default=math.inf)
    at_posts = sorted(float(np.dot(np.subtract(p, run.start), run.direction)) for p in run.posts)
    parts = []
    for k, ply in enumerate(run.plies):
        for piece in _split(ply, run, longest, at_posts, k):
            parts.append(shop.upright("beam", stock, piece, top - stock.width, top, run.direction, where=run.where, edge=run.edge, step=k))
    return parts


def _split(ply: Polygon, run: BeamRun, longest: float, at_posts: list[float], number: int) -> list[Polygon]:
    """A ply too long for the yard is spliced over posts; neighbouring plies at different posts where there is a choice."""
    d = run.direction
    s = (np.asarray(ply.exterior.coords) - run.start) @ d
    low, high = float(s.min()), float(s.max())
    cuts = []
    at = low
    inner = [p for p in at_posts if low + 24 < p < high - 24]
    while high - at > longest + 1e-6:
        reach = [p for p in inner if at + 24 < p <= at + longest]
        if not reach:
            break
        pick = reach[-1] if number % 2 == 0 or len(reach) < 2 or cuts else reach[-2]
        cuts.append(pick)
        at = pick
    if not cuts:
        return [ply]
    n = np.array([-d[1], d[0]])
    o = np.asarray(run.start)
    pieces = []
    for a, b in zip([low - 1, *cuts], [*cuts, high + 1]):
        band = Polygon([o + d * a - n * 99, o + d * b - n * 99, o + d * b + n * 99, o + d * a + n * 99])
        pieces.append(ply.intersection(band))
    return pieces


def _post(layout: Layout, shop: Workshop, run: BeamRun, centre) -> list[Part]:
    f = layout.parameters.frame
    stock, beam = lumber(f.post), lumber(f.beam)
    top = layout.planes.frame_bottom - beam.width
    return post_on_footing(layout, shop, post_square(layout, run, centre), top, stock, run.where, run.edge)


def post_on_footing(layout: Layout, shop: Workshop, square: Polygon, top: float, stock: Stock, where: str, edge=None, stair=None) -> list[Part]:
    """A post up to `top` on its base on a footing down to frost depth below grade at its centre. Used by landings too."""
    f = layout.parameters.frame
    c = square.centroid
    grade = layout.planes.grade(c.x, c.y)
    about = dict(where=where, edge=edge, stair=stair)
    if f.footing.shape == "round":
        low, high = grade - f.footing.depth, grade + f.footing.above_grade
        footing = shop.cylinder("footing", CONCRETE, (c.x, c.y, low), (0, 0, 1), layout.footing_size / 2, high - low, **about)
    else:
        h = layout.footing_size / 2
        low, high = grade - f.footing.depth, grade - f.footing.depth + f.footing.thickness
        plan = Polygon([(c.x - h, c.y - h), (c.x + h, c.y - h), (c.x + h, c.y + h), (c.x - h, c.y + h)])
        footing = shop.upright("footing", CONCRETE, plan, low, high, **about)
    parts = [footing]
    foot = high
    if f.post_base > 0:
        base = Stock("post base", f.post_base, stock.width, "steel")
        parts.append(shop.upright("post base", base, square, high, high + f.post_base, **about))
        foot = high + f.post_base
    if abs(top - foot) > 1e-6:
        if top - foot < SHORTEST_POST:
            raise DesignError("levels.surface", f"leaves {top - foot:.2f} in between the footing's top and what the post carries {where}, at least "
                              f"{SHORTEST_POST:g} in is wanted: raise the surface, take a shallower beam or joist, or lower frame.footing.above_grade")
        x, y = list(square.exterior.coords)[:2]
        d = np.subtract(y, x) / math.dist(x, y)
        h = stock.width
        parts.append(shop.box_along("post", stock, (c.x, c.y, foot), (c.x, c.y, top), (d[0], d[1], 0.0), h, h, **about))
    return parts
