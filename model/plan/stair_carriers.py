"""Cross pieces under stringers longer than the published span, on posts of their own. Plan coordinates, inches.

A cross piece lies square to the pitch under the lower edges of all stringers, so that each bears on it over its whole
thickness; its posts are cut to the pitch at their tops and stand under its ends.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np
from shapely.geometry import Polygon

from ...shared.practice import practice
from ...shared.said import Words, decimal, said
from ...shared.standards import find_limit
from ...shared.stock import Stock, lumber
from .flight import Flight
from .footings import SHORTEST_POST
from .spots import CrossPiece, Landing
from .stages import Setting

CROSS_PIECE = "4x4"  # common practice, no source; it is calculated as a beam
POSTS_APART = practice("posts under a cross piece of a stair")
INSET = 1.0  # inches from the stringers' outer faces: clear of the caps of another flight's guard posts beside them
TRIES = 12  # places looked at between half height and as far down the flight as the span allows


def cross_piece() -> Stock:
    """The stock of a cross piece, square."""
    return lumber(CROSS_PIECE)


def plan_carriers(
    layout: Setting, flights: Sequence[Flight], landings: Sequence[Landing] = ()
) -> tuple[tuple[CrossPiece, ...], list[Words]]:
    """The cross pieces under all flights of a stair, and what is to be said of flights that have no room for one."""
    found: list[CrossPiece] = []
    notes: list[Words] = []
    for flight in flights:
        row = find_limit(f"stringer_{'solid' if flight.solid else 'cut'}_span_max", layout.parameters.local.edition)
        if row is None or flight.end <= row.value + 1e-6:
            continue
        own = _along(layout, flight, float(row.value), _below(layout, flight, flights, landings))
        found += own
        if not own:
            notes.append(
                said(
                    "stair {stair} flight {flight}: stringers {long} long, over the published {span}, lie too low for"
                    " a cross piece on posts under them, or over another flight ({key})",
                    key=f"stair.{flight.stair}.carriers",
                    stair=flight.stair + 1,
                    flight=flight.index + 1,
                    long=decimal(flight.end),
                    span=decimal(float(row.value), None),
                )
            )
    return tuple(found), notes


def _below(layout: Setting, flight: Flight, flights: Iterable[Flight], landings: Iterable[Landing]) -> list[Polygon]:
    """The plans of what of its own stair may pass under a flight, with the guards beside it."""
    size = layout.parameters.stock(layout.parameters.guard.post).width
    later = [f.rectangle(0.0, f.run + f.nosing, -size, f.width + size) for f in flights if f.index > flight.index + 1]
    return later + [m.polygon.buffer(size, join_style="mitre") for m in landings if m.index > flight.index]


def _along(layout: Setting, flight: Flight, span: float, below: Sequence[Polygon]) -> list[CrossPiece]:
    """The cross pieces of one flight, evenly divided; where the lowest has no room, all are moved up as far as the span
    below it allows. None where that is not enough, or where its posts would stand in what is `below` it."""
    spans = math.ceil(flight.end / span - 1e-9)
    even = flight.end / spans
    for lowest in np.linspace(even * (spans - 1), flight.end - span, TRIES):
        carriers = [_at(layout, flight, float(lowest) * k / (spans - 1)) for k in range(1, spans)]
        stood_in = any(q.intersection(b).area > 1e-3 for c in carriers for q in c.squares for b in below)
        if not stood_in and all(_has_room(layout, c) for c in carriers):
            return carriers
    return []


def _at(layout: Setting, flight: Flight, x: float) -> CrossPiece:
    size = layout.parameters.stock(layout.parameters.frame.post).width
    room = flight.width - 2 * INSET - size
    count = max(1, math.ceil(room / POSTS_APART - 1e-9))
    lefts: Sequence[float] = [INSET + room * k / count for k in range(count + 1)]
    thick = cross_piece().width
    post = x - thick * flight.rise / flight.hypotenuse  # under the middle of its lower face
    squares = tuple(flight.rectangle(post - size / 2, post + size / 2, s, s + size) for s in lefts)
    return CrossPiece(flight, x, flight.lower_edge(post) - thick * flight.hypotenuse / flight.going, squares)


def _has_room(layout: Setting, carrier: CrossPiece) -> bool:
    """Whether its posts, at their lower side, are as long as a post must be."""
    frame = layout.parameters.frame
    above = frame.footing.above_grade if frame.footing.shape == "round" else 0.0
    least = frame.post_base + above + SHORTEST_POST
    low = carrier.post_top - carrier.flight.slope * layout.parameters.stock(frame.post).width / 2
    return all(low - layout.planes.grade(*q.centroid.coords[0]) >= least for q in carrier.squares)
