"""The page that the calculation opens with: the governing check of each kind of member, as bars and as a table."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from reportlab.platypus import Flowable

from ...model.structure.prescribed import Prescribed
from ...model.structure.verdicts import NOT_CHECKED, NOT_MET, Verdict
from ...shared.said import Words
from ..drafting import style
from ..drafting.wording import worded
from .calc_style import PAGE_ROOM, figure, ratio_text, table, text

if TYPE_CHECKING:
    from ...model.structure.structure import MemberResult

_BAR, _PITCH = 8.0, 12.5  # points
_NAMES, _VALUES = 120.0, 84.0  # points left of the bars, and right of them
_BEYOND = 1.5  # times its limit to which the bars' axis goes at least where something is not met
_LETTERS = 6.6


class Bars(Flowable):
    """One bar a member, as long as its ratio: grey where it is met, black where not, none where nothing was checked."""

    def __init__(self, members: Sequence[MemberResult]):
        super().__init__()
        self.members = members
        self.width, self.height = PAGE_ROOM, _PITCH * len(members) + 22
        ratios = [m.worst[0] for m in members if math.isfinite(m.worst[0])]
        self.most = max(1.0, _BEYOND if any(m.result == NOT_MET for m in members) else 1.0, *ratios)

    def draw(self) -> None:
        c, room = self.canv, PAGE_ROOM - _NAMES - _VALUES
        c.setFont(style.FONT_PDF, _LETTERS)
        base = 14.0
        self._axis(base, room)
        for n, m in enumerate(reversed(self.members)):
            y, ratio = base + _PITCH * n, m.worst[0]
            c.drawRightString(_NAMES - 6, y + 2, style.letters(f"{m.kind} {m.mark}"))
            checked = m.result != NOT_CHECKED
            if checked:
                long = room * min(ratio, self.most) / self.most if math.isfinite(ratio) else room
                c.setFillGray(0.0 if m.result == NOT_MET else 0.72)
                c.rect(_NAMES, y, long, _BAR, stroke=0, fill=1)
                c.setFillGray(0)
            c.drawString(_NAMES + room + 8, y + 2, f"{ratio_text(ratio)} {m.result}" if checked else m.result)

    def _axis(self, base: float, room: float) -> None:
        c, top = self.canv, self.height - 6
        c.setLineWidth(0.5)
        c.line(_NAMES, base - 2, _NAMES, top)
        step = 0.25 if self.most <= 2 else 1.0 if self.most <= 6 else math.ceil(self.most / 6)
        for n in range(math.floor(self.most / step + 1e-9) + 1):
            x = _NAMES + room * n * step / self.most
            c.line(x, base - 2, x, base - 5)
            c.drawCentredString(x, base - 12, f"{n * step:g}")
        limit = _NAMES + room / self.most
        c.setLineWidth(1.0)
        c.setDash([3, 2], 0)
        c.line(limit, base - 2, limit, top)
        c.setDash()
        c.drawRightString(limit - 3, top - 3, "limit")


def opening_table(members: Sequence[MemberResult]):
    """A row a kind: the member with least room, the rule that governs it, demand, limit, ratio and result."""
    return table(
        ("member", "mark", "stock", "what governs", "demand", "limit", "ratio", "rule", "result"),
        [
            (
                r.kind,
                r.mark,
                r.stock,
                worded(r.governs),
                *_pair(r),
                ratio_text(r.worst[0]) if r.result != NOT_CHECKED else "-",
                text(governing_rule(r), "small"),
                r.result,
            )
            for r in members
        ],
        (52, 30, 44, 108, 48, 54, 32, 98, 56),
        (6,),
    )


def _pair(r: MemberResult) -> tuple[str, str]:
    """What is asked of a member by what governs it, and its limit."""
    match _named(r):
        case None:
            return "-", "-"
        case Prescribed() as p:
            return figure(p.measured, p.unit), figure(p.limit, p.unit)
        case v:
            return figure(v.demand, v.unit), figure(v.capacity, v.unit)


def _named(r: MemberResult) -> Prescribed | Verdict | None:
    """The row that `governs` names."""
    return r.left_open if r.result == NOT_CHECKED and r.left_open is not None else r.decides


def governing_rule(r: MemberResult) -> str:
    """Document and section of what governs a member."""
    found = _named(r)
    if found is None:
        return "-"
    return section_of(found.source if isinstance(found, Prescribed) else found.rule)


def section_of(source: Words) -> str:
    """A citation without the row that is used of it: `IRC 2021 Table R507.6`, with its mark where it is from memory."""
    told = worded(source)
    short = re.split(r": |; | \(numbers | \(from memory\)| \(DOUBTFUL\)| \(effective", told)[0]
    marks = [m for m in ("(from memory)", "(DOUBTFUL)") if m in told]
    return " ".join([short, *marks]) or "-"
