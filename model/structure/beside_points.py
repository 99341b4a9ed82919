"""The rows of a span table for a member to which loads come in single places: the tables are for loads spread evenly.
Such a row stands where the member, as long as its moment is greater, would keep it too: moments go with the square of
a span. Inches, pounds."""

from __future__ import annotations

import math
from dataclasses import replace

from ...shared.said import decimal, number, said, together
from ..strength.beams import AnyLoad, Load
from ..strength.loads import DesignLoads
from .ledger_checks import at_points
from .member_facts import heaviest
from .members import Member
from .prescribed import Prescribed
from .verdicts import MET, NOT_CHECKED


def beside_points(m: Member, row: Prescribed, loads: DesignLoads) -> Prescribed:
    """A row that is met as it stands, with the length under an even load that is bent as much, or left to the
    calculation."""
    points = at_points(m)
    if not points or row.result != MET or row.measured is None or row.limit is None:
        return row
    times = times_bent(m, loads, over_supports="overhang" in row.check)
    alike = row.measured * math.sqrt(times)
    if alike <= row.limit + 1e-6:
        why = said(
            "{own} long; with what comes to it in single places it is bent {times} times as much as by its strip alone,"
            " as {long} under an even load",
            own=decimal(row.measured, 1),
            times=number(times, 2),
            long=decimal(alike, 1),
        )
        return replace(row, measured=alike, why=together(row.why, why))
    pounds = points * sum(heaviest(loads).psf(loads))
    why = said(
        "{pounds} lb come to it in single places, and the table is for load spread evenly: the calculation decides",
        pounds=number(pounds, 0, grouped=True),
    )
    return replace(row, result=NOT_CHECKED, why=why)


def times_bent(m: Member, loads: DesignLoads, over_supports: bool) -> float:
    """Its greatest moment under all that it carries over that of its strip alone, between supports or over them; no
    less than 1, where points past a support take some of it off."""
    strip = replace(m, steady=_spread(m.steady), moving=_spread(m.moving), lifting=[], own=[], drift=[], slide=[])
    c = heaviest(loads)
    bent = []
    for x in (m, strip):
        found = [l.patterns.envelope(*c.psf(loads), c.snow) for _, l in x.lengths]
        bent.append(max(e.hog if over_supports else e.sag for e in found))
    return max(1.0, bent[0] / bent[1]) if bent[1] > 0 else math.inf


def _spread(every: list[AnyLoad]) -> list[AnyLoad]:
    return [l for l in every if isinstance(l, Load)]
