"""Beams in notches at the upper ends of posts, read off the solids: the shoulder a beam bears on, what is left of the
post beside it. Inches, square inches."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from ..solid.part import Part
from .contacts import Contact
from .saw import Notch, sizes_of


@dataclass(frozen=True)
class NotchedSeat:
    """The beam pieces `on` the shoulder of a notched post: its level, the notch as the saw cuts it, what is `left`
    beside it across the post, the `area` of bearing, and how far its middle lies off the post's axis."""

    post: Part
    on: tuple[Part, ...]
    shoulder: float
    notch: Notch
    left: float
    area: float
    off_axis: float


def notched_seats(touching: Iterable[Contact]) -> dict[str, NotchedSeat]:
    """By the post's id, of all posts on whose shoulder a beam bears. Ids must be set."""
    found: dict[str, list[Contact]] = defaultdict(list)
    for c in touching:
        if c.kind == "bearing" and c.a.role == "beam" and c.b.role == "post" and c.z < float(c.b.box[1, 2]) - 1e-6:
            found[c.b.id].append(c)
    seats = {}
    for post, rows in found.items():
        part = rows[0].b
        notch = next((n for n in sizes_of(part).notches if n.corner), None)
        if notch is None:
            continue
        areas = [c.area for c in rows]
        middle = np.average([c.point[:2] for c in rows], axis=0, weights=areas)
        off = float(np.hypot(*(middle - part.box[:, :2].mean(axis=0))))
        on = {c.a.id: c.a for c in rows}
        seats[post] = NotchedSeat(
            part, tuple(on[k] for k in sorted(on)), rows[0].z, notch, part.stock.width - notch.depth, sum(areas), off
        )
    return seats
