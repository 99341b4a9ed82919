"""The nails between the plies of a beam or rim on whose face members hang: what passes from the ply that they hang on
to the others. Where all bear on top of it nothing passes. Inches, pounds."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from ...shared.said import decimal, number, said
from ...shared.standards import assumed
from ..strength.dowels import lateral, nail
from ..strength.loads import DesignLoads, those_that_count
from ..strength.nds import Lumber
from .ledger_checks import line_load
from .members import Member
from .verdicts import NOT_CHECKED, NOT_MET, CalcLine, Verdict, value_line, verdict

PLY_NAILS = "nailing of plies"


def check_plies(m: Member, on: Sequence[Member], wood: Lumber, loads: DesignLoads) -> list[Verdict]:
    """The heaviest line load of the members that hang on the beam, less what the ply takes that they hang on, against
    the published pairs of nails, each through one ply into the next. Where those do not do, the spacing that does
    stands in `why`."""
    if m.plies < 2:
        return []
    ids = {p.id for p in m.parts}
    hung = [(j, k) for j in on for k, s in enumerate(j.supports) if s.hanger and ids & set(s.on)]
    if not hung:
        return []
    at = [m.position(j.supports[k].point) for j, k in hung]
    order = sorted(range(len(at)), key=lambda n: at[n])
    found = []
    pairs = assumed("ply_nail_spacing_max")
    for c in those_that_count(loads):
        totals = [hung[n][0].reactions.on(hung[n][1]).pressing(c, loads) for n in order]
        heaviest = line_load([at[n] for n in order], totals, (0.0, m.length))
        share = 1 - 1 / m.plies
        thick = m.first.stock.thickness
        z = lateral(nail(), wood, thick, thick, c.duration)
        holds = 2 * 12 / pairs.value * z.value
        passed = said("{w} lb/ft x {share}", w=number(heaviest, 0), share=number(share, figures=3))
        every = said("two rows, {apart} on centre: 2 x 12 / {apart} x Z'", apart=decimal(pairs.value, None))
        lines = [
            CalcLine("passes from ply to ply", heaviest * share, "lb/ft", passed, c.source),
            value_line("Z' of one 10d nail", z),
            CalcLine("nails hold", holds, "lb/ft", every, pairs.citation),
        ]
        v = verdict(PLY_NAILS, heaviest * share, holds, "lb/ft", c.name, lines)
        if v.result == NOT_MET:
            near = math.floor(4 * 24 * z.value / (heaviest * share)) / 4
            why = said("pairs of 10d nails {near} on centre would hold, or bolts", near=decimal(near, None))
            v = replace(v, result=NOT_CHECKED, why=why)
        found.append(v)
    return [max(found, key=lambda v: v.ratio or 0.0)]
