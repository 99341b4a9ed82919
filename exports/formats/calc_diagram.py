"""The small diagram of a member in the calculation: what holds it and what stands on it, shear and moment, one over
the other at one scale along the member."""

from __future__ import annotations

import itertools

import numpy as np
from reportlab.platypus import Flowable

from ...model.strength.beams import Load, PointLoad
from ...model.structure.diagrams import HeldAt, LoadDiagram
from ...shared.units import feet_inches
from ..drafting import style
from .calc_style import figure

_WIDE = 276.0  # points
_SIDE = 26.0  # left free beside the member, for what is lettered there
_LOADS, _BELOW, _CURVE, _GAP = 34.0, 30.0, 34.0, 17.0
_LETTERS = 6.0
_ARROW = 2.2
_MOST_LETTERED = 4  # single loads that are lettered each; more are told as a range
_CLEAR = 1.0  # points between two letterings
_TELLS = 0.02  # of the greatest: a moment the other way that is less is not lettered


class DiagramFlowable(Flowable):
    """A `LoadDiagram` as vector lines."""

    def __init__(self, diagram: LoadDiagram):
        super().__init__()
        self.diagram = diagram
        self.width = _WIDE
        self.height = 12 + _LOADS + _BELOW + (2 * (_CURVE + _GAP) if diagram.curves is not None else 0.0)

    def _x(self, x: float) -> float:
        d = self.diagram
        return _SIDE + (x - d.start) / (d.end - d.start) * (_WIDE - 2 * _SIDE)

    def draw(self) -> None:
        c = self.canv
        c.saveState()
        c.setFont(style.FONT_PDF, _LETTERS)
        c.setLineWidth(0.5)
        level = self.height - 12 - _LOADS
        self._member(level)
        self._loads(level)
        self._supports(level)
        if (curves := self.diagram.curves) is not None:
            d = self.diagram
            low = level - _BELOW - _GAP - _CURVE
            self._curve("shear V, lb" + _of(d.shear_of), "lb", curves.shear_x, curves.shear, low)
            low -= _CURVE + _GAP
            self._curve("moment M, ft lb" + _of(d.moment_of), "ft lb", curves.x, curves.moment / 12, low)
        c.restoreState()

    def _text(self, x: float, y: float, told: str, align: str = "centre") -> None:
        told = style.letters(told)
        wide = self.canv.stringWidth(told, style.FONT_PDF, _LETTERS)
        left = x - {"left": 0.0, "centre": wide / 2, "right": wide}[align]
        self.canv.drawString(max(0.0, min(left, _WIDE - wide)), y, told)

    def _member(self, y: float) -> None:
        self.canv.setLineWidth(1.4)
        self.canv.line(self._x(self.diagram.start), y, self._x(self.diagram.end), y)
        self.canv.setLineWidth(0.4)

    def _loads(self, y: float) -> None:
        d = self.diagram
        top = y + _LOADS
        most = max((max(l.w0, l.last) for l in d.spread), default=0.0)
        taken = 0.0
        for load in d.spread:
            taken = max(taken, self._spread(load, y, most))
        heavy = max((p.p for p in d.single), default=0.0)
        for p in d.single:
            self._arrow(p, y, taken, heavy)
        for n, told in enumerate(_told_of_loads(d)):
            self._text(_WIDE / 2, top + 4 - 7 * n, told)

    def _spread(self, load: Load, y: float, most: float) -> float:
        """A load spread along the member, to scale with the others; returns its height."""
        c, high = self.canv, 10.0
        a, b = self._x(load.start), self._x(load.end)
        ya, yb = (y + 1.5 + high * w / most if most > 0 else y + 1.5 for w in (load.w0, load.last))
        path = c.beginPath()
        path.moveTo(a, y + 1.5)
        path.lineTo(a, ya)
        path.lineTo(b, yb)
        path.lineTo(b, y + 1.5)
        c.drawPath(path)
        count = max(1, int((b - a) / 12))
        for n in range(count):
            x = a + (b - a) * (n + 0.5) / count
            self._head(x, y + 1.5, ya + (yb - ya) * (n + 0.5) / count)
        return float(max(ya, yb) - y)

    def _arrow(self, p: PointLoad, y: float, above: float, heavy: float) -> None:
        foot = y + 1.5 + above
        tip = foot + 4 + (16 - above / 2) * abs(p.p) / max(heavy, abs(p.p), 1e-9)
        self._head(self._x(p.x), *((foot, tip) if p.p >= 0 else (tip, foot)))

    def _head(self, x: float, foot: float, top: float) -> None:
        """A line to a head, down or up."""
        c = self.canv
        c.line(x, top, x, foot)
        reach = min(_ARROW, abs(top - foot)) * (1 if top >= foot else -1)
        c.line(x, foot, x - _ARROW / 3, foot + reach)
        c.line(x, foot, x + _ARROW / 3, foot + reach)

    def _supports(self, y: float) -> None:
        d = self.diagram
        held = sorted(d.held, key=lambda h: h.x)
        last = {0: -1e9, 1: -1e9}
        for h in held:
            self._support(h, y)
            if h.most is not None:
                told = f"R {figure(round(h.most))} lb" if not h.fixed else ""
                wide = self.canv.stringWidth(told, style.FONT_PDF, _LETTERS)
                row = next((n for n, at in last.items() if self._x(h.x) - wide / 2 > at + _CLEAR), None)
                if row is not None:
                    self._text(self._x(h.x), y - 14 - 6.5 * row, told)
                    last[row] = self._x(h.x) + wide / 2
        marks = sorted({d.start, *(h.x for h in held), d.end})
        self._dimensions([m for n, m in enumerate(marks) if not n or m - marks[n - 1] > 0.25], y - 27)

    def _support(self, h: HeldAt, y: float) -> None:
        c, x = self.canv, self._x(h.x)
        if h.fixed:
            c.setLineWidth(1.2)
            c.line(x, y - 8, x, y + 8)
            c.setLineWidth(0.4)
            for n in range(6):
                c.line(x, y - 8 + 3 * n, x - 3, y - 10 + 3 * n)
            return
        path = c.beginPath()
        path.moveTo(x, y - 0.7)
        path.lineTo(x - 3.5, y - 7)
        path.lineTo(x + 3.5, y - 7)
        path.close()
        c.drawPath(path)

    def _dimensions(self, marks: list[float], y: float) -> None:
        c = self.canv
        for m in marks:
            x = self._x(m)
            c.line(x, y - 2, x, y + 2)
            c.line(x - 1.5, y - 1.5, x + 1.5, y + 1.5)
        for a, b in itertools.pairwise(marks):
            c.line(self._x(a), y, self._x(b), y)
            told = feet_inches(b - a)
            if self._x(b) - self._x(a) > c.stringWidth(told, style.FONT_PDF, _LETTERS) + _CLEAR:
                self._text((self._x(a) + self._x(b)) / 2, y + 1.8, told)

    def _curve(self, name: str, unit: str, x: np.ndarray, both: np.ndarray, low: float) -> None:
        """Greatest and least at each place, the room between them tinted, over a line of zero."""
        c = self.canv
        high, least = both
        top, bottom = max(0.0, float(high.max())), min(0.0, float(least.min()))
        scale = _CURVE / max(top - bottom, 1e-9)
        zero = low - bottom * scale
        across = _SIDE + (x - self.diagram.start) / (self.diagram.end - self.diagram.start) * (_WIDE - 2 * _SIDE)
        pairs = np.concatenate(
            [np.column_stack([across, zero + high * scale]), np.column_stack([across, zero + least * scale])[::-1]]
        )
        path = c.beginPath()
        path.moveTo(*pairs[0])
        for p in pairs[1:]:
            path.lineTo(*p)
        path.close()
        c.setFillGray(0.9)
        c.drawPath(path, fill=1)
        c.setFillGray(0)
        c.line(_SIDE, zero, _WIDE - _SIDE, zero)
        self._text(0.0, low + _CURVE + 8, name, "left")
        for values, sign in ((high, 1.0), (least, -1.0)):
            at = int(np.argmax(values * sign))
            value = float(values[at])
            if value * sign > _TELLS * max(top, -bottom) and value * sign > 0:
                y = zero + value * scale
                self._text(float(across[at]), y + 1.5 if sign > 0 else y - 6, f"{figure(value)} {unit}")


def _of(plies: str) -> str:
    return f", {plies}" if plies else ""


def _told_of_loads(d: LoadDiagram) -> list[str]:
    """The loads in words, over the member."""
    told = []
    if d.spread:
        every = sorted({round(12 * w, 1) for l in d.spread for w in (l.w0, l.last)})
        told.append(f"{figure(every[-1])} plf" if len(every) == 1 else f"{figure(every[0])} to {figure(every[-1])} plf")
    if d.anywhere:
        told.append(f"P {figure(d.single[0].p)} lb, anywhere")
    elif d.single:
        loads = [round(p.p) for p in d.single]
        if len(loads) <= _MOST_LETTERED:
            told.append(f"{', '.join(figure(p) for p in loads)} lb")
        else:
            told.append(f"{len(loads)} loads of {figure(min(loads))} to {figure(max(loads))} lb")
    said = "; ".join(told)
    return [f"{said}, under {d.under}" if d.under else said]
