"""Which ends of joists and rims take a hanger, which two share one, and where its flanges find no room."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from ...shared.practice import practice
from ...shared.said import Words
from ..measuring.carriers import BUTTS, in_hanger, standing_rims
from ..measuring.contacts import Contact
from ..measuring.measure import Measured
from .tally import Placed

FLANGE = practice("flange of a hanger")
ALONG_IT = 0.94  # cosine: a support within 20 degrees of the board's own direction is along it, not across
PLY_REACH = 2.0  # inches along a board within which two supports are plies of one
_IN_LINE = 0.25  # inches between two pieces of one carrier, in line or out of it
HungEnd = tuple[int, float]  # position in the list measured, inches along the piece


def hung(measured: Sequence[Measured], contacts: Iterable[Contact]) -> list[Contact]:
    """Where ends of joists and of rims hang on ledgers, on beams, or on rims that are beams: each takes a hanger.
    `contacts` as in `fasteners`."""
    stood, found = standing_rims(measured), []
    for c in contacts:
        a, b = c.a.role, c.b.role
        standing = measured[c.j].id in stood and measured[c.j].id in measured[c.i].carried_by
        # rims mitred on one another are nailed
        mitred = a == b == "rim" and abs(float(np.dot(c.normal, measured[c.i].axis))) <= BUTTS
        if c.kind == "end" and in_hanger(a, b, standing) and not mitred:
            found.append(c)
    return found


def hanger_ends(measured: Sequence[Measured], hanging: Iterable[Contact]) -> dict[HungEnd, Contact]:
    """Of what is `hung` the ends that take a hanger, each once (position in `measured`, inches along it): an end over
    the joint of a spliced rim or beam meets both its pieces."""
    ends: dict[HungEnd, Contact] = {}
    for c in hanging:
        ends.setdefault((c.i, round(float(np.dot(measured[c.i].axis, c.point)), 1)), c)
    return ends


def hangers_counted(
    measured: Sequence[Measured], contacts: Sequence[Contact], ends: Mapping[HungEnd, Contact]
) -> list[Placed]:
    """A hanger for each end, or for two joists side by side; its size is that of what hangs. Where that stands so near
    the end of what carries it that a flange would hang over, the flanges are turned in."""
    pairs = _side_by_side(measured, contacts, ends)
    second = set(pairs.values())
    out = []
    for end, c in ends.items():
        if end in second:
            continue
        held = [measured[c.i]] + ([measured[pairs[end][0]]] if end in pairs else [])
        turned = any(_at_end(measured, ends[e]) for e in (end, *([pairs[end]] if end in pairs else [])))
        name = held[0].stock.name
        size: Words = f"{name}, two" if len(held) > 1 else name
        if turned:
            size = f"{size}, flanges turned in"
        out.append(Placed("doubled joist hanger" if len(held) > 1 else "joist hanger", 1, (*held, c.b), size))
    return out


def _side_by_side(
    measured: Sequence[Measured], contacts: Sequence[Contact], ends: Mapping[HungEnd, Contact]
) -> dict[HungEnd, HungEnd]:
    """Of the joists' ends that hang those that lie side by side, two and two: one hanger takes both."""
    of: dict[int, list[HungEnd]] = {}
    for end in ends:
        of.setdefault(end[0], []).append(end)
    pairs: dict[HungEnd, HungEnd] = {}
    taken: set[HungEnd] = set()
    for c in contacts:
        if c.kind == "side" and c.a.role == c.b.role == "joist" and measured[c.i].axis @ measured[c.j].axis > ALONG_IT:
            for a in of.get(c.i, []):
                b = next((e for e in of.get(c.j, []) if abs(e[1] - a[1]) < PLY_REACH and e not in taken), None)
                if b is not None and a not in taken:
                    pairs[a] = b
                    taken |= {a, b}
    return pairs


def _at_end(measured: Sequence[Measured], c: Contact) -> bool:
    """Whether one flange of a hanger would hang over the end of what carries it, pieces in line taken as one."""
    carrier = measured[c.j]
    along = carrier.axis[:2] / np.hypot(*carrier.axis[:2])
    out = np.array([-along[1], along[0]])

    def reach(m: Measured, way: np.ndarray) -> tuple[float, float]:
        at = np.array(m.part.footprint.exterior.coords) @ way
        return float(at.min()), float(at.max())

    low, high = reach(carrier, along)
    line = reach(carrier, out)
    others = [
        reach(m, along)
        for m in measured
        if m.role == carrier.role
        and m.id != carrier.id
        and abs(m.box[1, 2] - carrier.box[1, 2]) < _IN_LINE
        and np.abs(np.subtract(reach(m, out), line)).max() < _IN_LINE
    ]
    for a, b in sorted(others):
        if a <= high + _IN_LINE and b >= high:
            high = b
    for a, b in sorted(others, reverse=True):
        if b >= low - _IN_LINE and a <= low:
            low = a
    at, half = float(np.array(c.point[:2]) @ along), measured[c.i].stock.thickness / 2
    return min(at - half - low, high - at - half) < FLANGE - 1e-6
