"""What no published rule has to forbid: solids in one another, pieces on nothing, ends in the air, wood in the ground.

Every row is measured on the solids and names the pieces. The bounds are our own: they are what rounding leaves, and what a
rim's fascia and overhang need. One row a kind says that nothing was found.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import numpy as np

from ...shared.stock import material
from ..measuring.bearing import LEAST_BEARING, OVERHANG, bearing_report
from ..measuring.clashes import TOLERANCE, clashes
from ..measuring.contacts import Contact
from ..solid.part import Part
from .check_result import Checking, places

SOURCE = "measured on the solids"
IN_GROUND = 0.05  # inches below grade that count as rounding of a level
OFF_BASE = 0.01  # share of a base that may stand off its footing: chords of a round footing
GROUND = ("footing", "pad", "ledger")  # what needs nothing under it: concrete, and the house behind the ledger


def check_solids(c: Checking) -> None:
    """Overlaps, carriers, ends of boards and treads, bases on their footings, wood in the ground."""
    _overlaps(c)
    _carried(c)
    _board_ends(c)
    _tread_ends(c)
    _bases(c)
    _in_ground(c)


def _overlaps(c: Checking) -> None:
    found = clashes(c.deck.parts)
    for marks, group in _grouped(found, lambda k: tuple(sorted((k.a.mark, k.b.mark)))).items():
        worst = max(group, key=lambda k: k.volume)
        x, y, z = (float(v) for v in np.mean([worst.low, worst.high], axis=0))
        more = f"; {len(group)} such pairs" if len(group) > 1 else ""
        c.add(
            "solids overlap",
            SOURCE,
            "at most",
            worst.volume,
            f"{worst.a.role} {marks[0] if worst.a.mark == marks[0] else marks[1]} and {worst.b.role} {worst.b.mark}",
            dict.fromkeys(p.id for k in group for p in (k.a, k.b)),
            bound=TOLERANCE,
            unit="cu in",
            why=f"{worst.a.where or worst.a.id} and {worst.b.where or worst.b.id}, near ({x:.1f}, {y:.1f}, {z:.1f}){more}",
        )
    if not found:
        c.state("solids overlap", SOURCE, True, "whole deck", f"no two pieces share more than {TOLERANCE:g} cu in")


def on_the_ground(parts: Sequence[Part]) -> set[str]:
    """Ids of the pieces from which a path of carriers ends at concrete or at the house."""
    held = {p.id for p in parts if p.role in GROUND}
    above: dict[str, list[str]] = defaultdict(list)
    for p in parts:
        for k in p.carried_by:
            above[k].append(p.id)
    reached = list(held)
    while reached:
        new = [i for i in above[reached.pop()] if i not in held]
        held.update(new)
        reached += new
    return held


def _carried(c: Checking) -> None:
    held = on_the_ground(c.deck.parts)
    loose = [p for p in c.deck.parts if p.id not in held]
    for mark, group in _grouped(loose, lambda p: p.mark).items():
        p = group[0]
        why = (
            "it touches nothing that carries it"
            if not p.carried_by
            else f"what carries it ({', '.join(p.carried_by)}) rests on nothing itself"
        )
        c.state(
            "carried down to the ground", SOURCE, False, f"{p.role} {mark}, {p.where or 'deck'}", why, places(group)
        )
    if not loose:
        c.state(
            "carried down to the ground",
            SOURCE,
            True,
            "whole deck",
            "every piece is carried to concrete or to the house",
        )


def _board_ends(c: Checking) -> None:
    report = bearing_report(c.deck.parts)
    bad = [e for e in report if not e.borne or e.overhang > OVERHANG + 1e-6]
    for (mark, end), group in _grouped(bad, lambda e: (e.part.mark, e.end)).items():
        e = max(group, key=lambda e: (e.overhang, -e.length))
        x, y, _ = e.point
        place = f"{e.part.role} {mark}, end {end}, at ({x:.1f}, {y:.1f})"
        ids = dict.fromkeys(e.part.id for e in group)
        if np.isfinite(e.overhang) and e.overhang > OVERHANG:
            c.add(
                "board ends past their last bearing",
                SOURCE,
                "at most",
                e.overhang,
                place,
                ids,
                bound=OVERHANG,
                unit="in",
            )
        elif e.length < LEAST_BEARING:
            on = ", ".join(e.by) or "nothing"
            why = f"the end is {e.width:.2f} in wide and rests on {on}"
            c.add("board ends bear", SOURCE, "at least", e.length, place, ids, bound=LEAST_BEARING, unit="in", why=why)
        else:
            c.state("board ends bear", SOURCE, False, place, "one half of the border rests on nothing", ids)
    if report and not bad:
        least = min(e.length for e in report)
        why = f"{len(report)} ends; the least bears {least:.2f} in, the mean over its width"
        c.state("board ends bear", SOURCE, True, "whole deck", why)


def _tread_ends(c: Checking) -> None:
    """How far a piece of a tread stands out past the outermost thing that carries it, along its length."""
    rests: dict[str, list[Contact]] = defaultdict(list)
    for k in c.deck.contacts:
        if k.kind == "bearing" and k.a.role == "tread" and k.b.id in c.by_id[k.a.id].carried_by:
            rests[k.a.id].append(k)
    found = []
    for m in c.of("tread"):
        if m.id not in rests:
            continue
        u = m.axis
        low, high = (f(m.part.vertices @ u) for f in (np.min, np.max))
        corners = np.array([np.where(m_, k.low, k.high) @ u for k in rests[m.id] for m_ in (u >= 0, u < 0)])
        found.append((float(max(corners.min() - low, high - corners.max())), m))
    bad = [(out, m) for out, m in found if out > _side(c, m.part)]
    for mark, group in _grouped(bad, lambda f: f[1].mark).items():
        out, m = max(group, key=lambda f: f[0])
        c.add(
            "tread ends past their last bearing",
            SOURCE,
            "at most",
            out,
            f"stair {m.part.stair + 1} tread {mark}",
            [m.id for _, m in group],
            bound=_side(c, m.part),
            unit="in",
        )
    if found and not bad:
        c.state(
            "tread ends past their last bearing",
            SOURCE,
            True,
            "whole deck",
            f"{len(found)} pieces of treads; the furthest end stands out {max(f[0] for f in found):.2f} in",
        )


def _side(c: Checking, tread: Part) -> float:
    """What may stand out: the overhang that the file asks for over the skirt, and what a board's end may at most."""
    stair, trim = c.deck.parameters.stair[tread.stair], c.deck.parameters.trim
    return max(OVERHANG, stair.side_overhang + trim.thickness)


def _bases(c: Checking) -> None:
    """How much of what stands on a footing or a pad stands on the concrete."""
    area: dict[str, float] = defaultdict(float)
    for k in c.deck.contacts:
        if k.kind == "bearing" and k.b.group == "footings" and k.b.role != "post base":
            area[k.a.id] += k.area
    found = []
    for m in c.of("post base", "post"):
        if m.id in area:
            found.append((1.0 - min(1.0, area[m.id] / m.part.footprint.area), m))
    bad = [(off, m) for off, m in found if off > OFF_BASE]
    for off, m in bad:
        where = f"{m.role} {m.id}, {m.part.where or 'deck'}"
        c.add(
            "bases stand on their footings",
            SOURCE,
            "at most",
            100 * off,
            where,
            (m.id, *m.carried_by),
            bound=100 * OFF_BASE,
            unit="% off",
        )
    if found and not bad:
        c.state(
            "bases stand on their footings",
            SOURCE,
            True,
            "whole deck",
            f"{len(found)} bases and posts stand whole on concrete",
        )


def _in_ground(c: Checking) -> None:
    """Wood and boards below grade, at every corner of every piece. Posts on square pads stand in the ground as the file asks."""
    planes, found = c.deck.planes, []
    asked = ("post",) if c.deck.parameters.frame.footing.shape == "square" else ()
    for p in c.deck.parts:
        if p.role in asked:
            continue
        if material(p.stock.material).kind not in ("lumber", "board"):
            continue
        x, y, z = p.vertices.T
        depth = float(np.max(planes.grade(x, y) - z))
        if depth > IN_GROUND:
            found.append((depth, p))
    for (role, mark), group in _grouped(found, lambda f: (f[1].role, f[1].mark)).items():
        depth, p = max(group, key=lambda f: f[0])
        c.add(
            "wood above the ground",
            SOURCE,
            "at most",
            depth,
            f"{role} {mark}, {p.where or 'deck'}",
            [p.id for _, p in group],
            bound=0.0,
            unit="in",
            why="below grade as the file slopes it",
        )
    if not found:
        but = "; posts stand in the ground on square pads, as the file asks" if asked else ""
        c.state("wood above the ground", SOURCE, True, "whole deck", f"no piece of wood reaches below grade{but}")


def _grouped(items, key) -> dict:
    groups = defaultdict(list)
    for item in items:
        groups[key(item)].append(item)
    return groups
