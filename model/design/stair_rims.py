"""Rims along the joists that carry a stair, judged on the plan: as a beam from one support to the next, one takes the
stair's half and the surface beside it, and is the member that most often asks for a second ply. Seen before anything is
built, that costs no second build and judging of the whole deck.

It decides only what is built first: the checks are of the finished solids, and the search goes on from there.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon

from ...shared.said import Words, number, said
from ..input.parameters import Parameters
from ..plan.edges import Edge
from ..plan.joist_spans import supports
from ..plan.layout import lay_out
from ..plan.spots import StairPlan
from ..plan.stages import LevelPlan
from ..strength.beams import Beam, Load
from ..strength.loads import OCCUPANTS, Patterns, those_that_count
from ..strength.nds import Lumber, bending
from ..strength.spans import section
from ..structure.members import SQFT
from .landing_keys import MOST_PLIES
from .mends import with_keys

RIM_PLIES = "rim_plies"
DOUBLED_UNSEEN = 1.2  # times its limit, from which a rim is doubled: estimates were 3 to 12 percent high (our own)


@dataclass(frozen=True)
class BentRim:
    """A rim of one ply by estimate: its edge, its bending stress and what it may be, psi."""

    edge: str
    stress: float
    limit: float

    @property
    def share(self) -> float:
        return self.stress / self.limit

    @property
    def why(self) -> Words:
        return said(
            "bending, sagging of the rim {edge} edge, which carries a stair, would by estimate be {stress} against "
            "{limit} psi with one ply",
            edge=self.edge,
            stress=number(self.stress, 0, grouped=True),
            limit=number(self.limit, 0, grouped=True),
        )


def with_rims(
    p: Parameters, layout: LevelPlan | None, given: bool
) -> tuple[Parameters, LevelPlan | None, Words | None]:
    """A file with as many plies of its rims as those under stairs ask for by estimate, its plan where that is known,
    and why; unchanged where the file has `given` them. Raises DesignError for a file that cannot be laid out."""
    if given or p.frame.rim_plies > 1 or not p.stair:
        return p, layout, None
    layout = layout or lay_out(p)
    rims = bent_rims(layout)
    if (plies := plies_asked(rims)) == 1:
        return p, layout, None
    return with_keys(p, {RIM_PLIES: plies}), None, max(rims, key=lambda b: b.share).why


def plies_asked(rims: Sequence[BentRim]) -> int:
    """Plies, as far as they go, that the one of these rims asks for which is bent most: one within what the estimate is
    high by."""
    share = max((b.share for b in rims), default=0.0)
    return 1 if share <= DOUBLED_UNSEEN else min(math.ceil(share), MOST_PLIES)


def bent_rims(layout: LevelPlan) -> list[BentRim]:
    """The rims along the joists with a stair on them."""
    found = []
    for stair in layout.stair_plans:
        edge = stair.spot.edge
        rim = next((poly for e, _, poly in layout.rims if e is edge), None)
        if rim is None or not stair.flights or not layout.is_lengthwise(edge) or layout.has_ledger(edge):
            continue
        limit = bending(Lumber.of(layout.parameters.lumber), layout.joist, OCCUPANTS, False).value
        found.append(BentRim(edge.name, _share(layout, stair, rim) * limit, limit))
    return found


def _share(layout: LevelPlan, stair: StairPlan, rim: Polygon) -> float:
    """The bending stress of one ply where the stair stands, as a share of what it may be under the same loads."""
    loads, wood, size = layout.parameters.loads, Lumber.of(layout.parameters.lumber), layout.joist
    stands = sorted(float(np.dot(stair.spot.edge.point(at), layout.along)) for at in (stair.spot.start, stair.spot.end))
    low, high = (f(np.asarray(rim.exterior.coords) @ layout.along) for f in (np.min, np.max))
    first = stair.flights[0]
    # inches of its steps that hang here: the other half stands at its foot, or on the piece that first carries it
    half = min([first.run, *(c.x for c in stair.carriers if c.flight.index == first.index)]) / 2
    carried = [(low, high, _strip(layout, stair.spot.edge) / SQFT), (*stands, half / SQFT)]  # of 1 psf
    worst = 0.0
    for at in _pieces(layout, rim, *stands):
        start, end = at[0], at[-1]
        beam = Beam(end - start, [x - start for x in at])
        pattern = Patterns(beam, [Load(max(a, start) - start, min(b, end) - start, w) for a, b, w in carried])
        for c in those_that_count(loads):
            stress = pattern.envelope(*c.psf(loads)).sag / section(size)[2]
            worst = max(worst, stress / bending(wood, size, c.duration, False).value)
    return worst


def _pieces(layout: LevelPlan, rim: Polygon, start: float, end: float) -> Iterator[list[float]]:
    """The supports, inches on `along`, of each span under the stair, with those of its neighbours as far as one length
    of lumber reaches over them: it is cut over a support."""
    carried = [(low + high) / 2 for low, high, _ in supports(layout, rim, layout.runs)]
    longest = layout.parameters.longest(layout.joist)
    for first, last in itertools.pairwise(range(len(carried))):
        if not (carried[first] < end and carried[last] > start):
            continue
        while last + 1 < len(carried) and carried[last + 1] - carried[first] <= longest:
            last += 1
        while first > 0 and carried[last] - carried[first - 1] <= longest:
            first -= 1
        yield carried[first : last + 1]


def _strip(layout: LevelPlan, edge: Edge) -> float:
    """Inches of surface that a rim along the joists takes: half way to the next joist, and what hangs past it."""
    at = float(np.dot(edge.start, layout.across))
    apart = [d for x, _ in layout.joist_lines if (d := abs(x - at)) > layout.joist.thickness]
    return min(apart, default=0.0) / 2 + layout.overhang(edge)
