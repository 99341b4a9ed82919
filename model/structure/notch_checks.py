"""The calculated route at the notch of a post in which a beam sits, line by line."""

from __future__ import annotations

from ...shared.design_values import factor
from ...shared.said import number, put_in, said
from ...shared.standards import clause
from ..measuring.notched_seat import NotchedSeat
from ..strength.loads import Combination, DesignLoads, those_that_count
from ..strength.nds import Lumber, bending, compression, modulus
from .load_path import Column
from .verdicts import CalcLine, Verdict, areas, tried, value_line, verdict, worst

ECCENTRIC = "load off the post's axis"


def most(c: Column, loads: DesignLoads) -> list[tuple[float, Combination]]:
    """(pounds from the frame, combination) of a column, for every combination that counts."""
    return [(c.load.pressing(k, loads), k) for k in those_that_count(loads)]


def check_at_notch(c: Column, seat: NotchedSeat, wood: Lumber, loads: DesignLoads, height: float) -> list[Verdict]:
    """Compression along the grain on the shoulder (NDS 3.10.1), and the post below it, `height` inches long, under a
    load off its axis (NDS 15.4.1)."""
    return tried("compression on the shoulder", lambda: _shoulder(c, seat, wood, loads)) + tried(
        ECCENTRIC, lambda: _eccentric(c, seat, wood, loads, height)
    )


def _load_line(c: Column, p: float, k: Combination, loads: DesignLoads) -> CalcLine:
    return CalcLine("axial load P", p, "lb", areas(c.load, k, loads), k.source)


def _shoulder(c: Column, seat: NotchedSeat, wood: Lumber, loads: DesignLoads) -> list[Verdict]:
    found = []
    for p, k in most(c, loads):
        star = compression(wood, seat.post.stock, k.duration, 0.0)
        stress = p / seat.area
        how = said("P / A = {p} lb / {area} in2", p=put_in(p), area=put_in(seat.area))
        lines = [
            _load_line(c, p, k, loads),
            CalcLine("shoulder", seat.area, "sq in", "contact with the beam", "measured"),
            CalcLine("compression stress fc", stress, "psi", how, clause("bearing on end grain").source),
            value_line("Fc*", star),
        ]
        found.append(verdict("compression on the shoulder", stress, star.value, "psi", k.name, lines))
    return worst(found)


def _eccentric(c: Column, seat: NotchedSeat, wood: Lumber, loads: DesignLoads, height: float) -> list[Verdict]:
    """(fc/Fc')^2 + fc (6 e/d) (1 + 0.234 fc/FcE) / (Fb' (1 - fc/FcE)) of the whole section under the notch, the load
    at the pinned upper end as far off the axis as the middle of its bearing lies; at most 1."""
    size, d, e = seat.post.stock, seat.post.stock.width, seat.off_axis
    section, ratio = size.thickness * size.width, height / d
    found = []
    for p, k in most(c, loads):
        fc, allowed = p / section, compression(wood, size, k.duration, ratio)
        bent = bending(wood, size, k.duration, False, d, d, height)
        euler = factor("KcE", "column", "").value * modulus(wood, size, "Emin").value / max(ratio, 1e-6) ** 2
        grows = factor("growth", "column", "bending").value
        bend = fc * 6 * e / d * (1 + grows * fc / euler)
        room = bent.value * (1 - fc / euler)
        total = (fc / allowed.value) ** 2 + bend / room if room > 0 else float("inf")
        how = said(
            "(fc/Fc')^2 + fc (6 e/d) (1 + {grows} fc/FcE) / (Fb' (1 - fc/FcE)), fc {fc} psi, FcE {euler} psi",
            grows=number(grows),
            fc=number(fc, 1),
            euler=number(euler, 0, grouped=True),
        )
        lines = [
            _load_line(c, p, k, loads),
            CalcLine("off the axis e", e, "in", "middle of the bearing on the shoulder to the post's axis", "measured"),
            value_line("Fc'", allowed),
            value_line("Fb'", bent),
            CalcLine("compression and bending", total, "", how, clause("column loaded off its axis").source),
        ]
        found.append(verdict(ECCENTRIC, total, 1.0, "", k.name, lines))
    return worst(found)
