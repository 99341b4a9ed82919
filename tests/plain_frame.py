"""A square frame of invented sizes on a ledger and one beam: every number can be had by independent arithmetic."""

import itertools
from collections import Counter
from types import SimpleNamespace

import numpy as np

from plumbcut.model.measuring.carriers import carriers
from plumbcut.model.measuring.contacts import contacts
from plumbcut.model.solid.part import Workshop
from plumbcut.model.solid.roles import ROLES
from plumbcut.model.strength.nds import Lumber
from plumbcut.model.structure.structure import analyse_parts
from plumbcut.shared.stock import Stock, lumber

SP = Lumber("southern pine")


def loads(live=40.0, dead=10.0, snow=0.0, soil=1500.0):
    return SimpleNamespace(live_psf=live, dead_psf=dead, ground_snow_psf=snow, soil_bearing_psf=soil)


def rect(x0, y0, x1, y1):
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def frame(
    depth=120.0,
    width=145.5,
    cantilever=15.0,
    joist="2x8",
    beam="2x10",
    posts=(12.0, 133.5),
    spacing=16.0,
    splice=None,
    boards=True,
    drop=(),
    apart=0.0,
    plies=2,
    post="6x6",
):
    """Joists along y on a ledger at the back and a beam of plies; the surface is exactly the frame's outline. `splice`:
    where both plies are butted, or each of them by itself; `apart`: inches between the plies, then beams of their
    own, and on posts of their own where there is room."""
    shop, parts = Workshop(), []
    j, b = lumber(joist), lumber(beam)
    top = 40.0
    low = top - j.width

    def up(role, stock, ring, z0, z1, along):
        parts.append(shop.upright(role, stock, ring, z0, z1, along))

    up("ledger", j, rect(0, depth - 1.5, width, depth), low, top, (1, 0))
    up("rim", j, rect(0, 0, width, 1.5), low, top, (1, 0))
    lines = np.arange(0.0, width - 1.5 + 1e-6, spacing)
    for k, x in enumerate(lines):
        side = k in (0, len(lines) - 1)
        up("rim" if side else "joist", j, rect(x, 1.5, x + 1.5, depth - 1.5), low, top, (0, 1))
    for k in range(plies):
        y = cantilever + (1.5 + apart) * k
        cut = splice[k] if isinstance(splice, tuple) else splice
        for x0, x1 in [(0, width)] if cut is None else [(0, cut), (cut, width)]:
            up("beam", b, rect(x0, y, x1, y + 1.5), low - b.width, low, (1, 0))
    middles = [cantilever + 0.75 * plies + apart / 2] if apart < 5.5 else [cantilever + 0.75, cantilever + 2.25 + apart]
    for x, y in itertools.product(posts, middles):
        p = lumber(post)
        parts.append(shop.box_along("post", p, (x, y, 4.0), (x, y, low - b.width), (1, 0, 0), p.width, p.width))
        parts.append(
            shop.cylinder("footing", Stock("concrete", 0, 0, "concrete"), (x, y, -38.0), (0, 0, 1), 10.0, 42.0)
        )
    if boards:
        up("board", Stock("board", 1.0, 5.5, "composite board"), rect(0, 0, width, depth), top, top + 1, (1, 0))
    parts = [p for p in parts if p.role not in drop]
    count, named = Counter(), []
    for p in parts:
        letter = ROLES[p.role].letter
        count[letter] += 1
        named.append(p.replaced(mark=letter, id=f"{letter}-{count[letter]:02d}"))
    touching = contacts(named)
    return [p.replaced(carried_by=c) for p, c in zip(named, carriers(named, touching))], touching


def analysed(about=None, design=None, wood=SP, edition="DCA 6-2012", **frame_about):
    parts, touching = frame(**{**(about or {}), **frame_about})
    return analyse_parts(parts, touching, design or loads(), wood, edition)


def verdict_of(result, check):
    return next(v for v in result.calculation if v.check == check)


def line_of(verdict, label):
    return next(l for l in verdict.lines if l.label == label)
