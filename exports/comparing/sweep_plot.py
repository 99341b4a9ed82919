"""A sweep as a table for the terminal, a CSV file and a plot: what each value costs, weighs, and leaves of the frame's
capacity."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from pathlib import Path

import shapely

from ...shared.errors import LengthError
from ...shared.units import parse_length
from ..drafting.cautions import SENTENCES
from ..formats.rows import write_csv
from ..pictures.canvas import INK, SOFT, Lettering, Picture, Region, Stroke, save
from ..pictures.colours import RGB
from .side_by_side import columns
from .sweep import Figures, named

_SERIES: tuple[RGB, ...] = ((38, 84, 110), (176, 96, 40), (78, 122, 74), (128, 72, 116), (120, 120, 116), (150, 52, 52))
_WIDE, _PANEL, _GAP, _LEFT, _RIGHT = (
    1528.0,
    330.0,
    60.0,
    130.0,
    330.0,
)  # points; the drawing is as wide as the picture's room
_NEAREST = 0.08  # of the axis between two values, at least, so that their labels stand apart; our own
_Panel = tuple[str, Callable[[Figures], float | None], bool]  # its name, its figure, whether its scale begins at 0
_PRICE: _Panel = ("Price", lambda f: f.price, False)
_TIMBER: _Panel = ("Lumber of the frame, board feet; no price list is named in the file", lambda f: f.timber, False)
_PANELS: tuple[_Panel, ...] = (
    ("Weight delivered, lb", lambda f: f.weight, False),
    ("Least margin of the frame, percent", lambda f: None if f.margin is None else 100 * f.margin, True),
)
_HEADER = (
    "pieces",
    "marks",
    "length bought (ft)",
    "weight (lb)",
    "concrete (cu yd)",
    "frame lumber (board ft)",
    "footings",
    "price",
    "over the first",
    "without price",
    "least margin (%)",
    "governed by",
    "not met",
    "rules not met",
    "chosen for the frame",
    "fault",
)
_TOLD_BELOW = ("chosen for the frame", "fault")


def rows(found: Sequence[Figures]) -> tuple[tuple[str, ...], list[tuple]]:
    """Header and one row a variant, the varied values first."""
    keys = tuple(k for k, _ in found[0].label)
    first = found[0].price
    return keys + _HEADER, [
        (
            *(v for _, v in f.label),
            f.pieces,
            f.marks,
            None if f.bought is None else f.bought / 12,
            f.weight,
            f.concrete,
            f.timber,
            f.footings,
            f.price,
            None if f.price is None or first is None else f.price - first,
            f.unpriced,
            None if f.margin is None else 100 * f.margin,
            f.governs,
            f.not_met,
            f.rules_not_met,
            f.chosen,
            f.fault,
        )
        for f in found
    ]


def table(found: Sequence[Figures]) -> str:
    header, body = rows(found)
    keep = [i for i, name in enumerate(header) if name not in ("marks", "concrete (cu yd)", *_TOLD_BELOW)]
    out = columns([header[i] for i in keep], [[r[i] for i in keep] for r in body])
    out += [f"  {named(f.label)}: {f.fault}" for f in found if f.fault]
    out += [f"  {named(f.label)}: chosen {f.chosen}" for f in found if f.chosen]
    return "\n".join(
        [
            *out,
            "Least margin: what the most heavily used member of the frame has left of its capacity or span, "
            "by published table or by calculation.",
            *SENTENCES,
        ]
    )


WRITTEN = ("sweep.csv", "sweep.svg", "sweep.png")


def write_sweep(found: Sequence[Figures], folder: Path, title: str) -> list[Path]:
    """sweep.csv, sweep.svg and sweep.png into `folder`."""
    write_csv(folder / "sweep.csv", rows(found))
    return [folder / "sweep.csv", *save(plot(found, title), folder / "sweep")]


def plot(found: Sequence[Figures], title: str) -> Picture:
    """One panel a figure above the values of the first key; the other keys' combinations are lines of their own colour.
    A ring marks a variant with a rule that is not met."""
    first = found[0].label[0][0]
    steps = list(dict.fromkeys(f.label[0][1] for f in found))
    series: dict[str, list[Figures]] = {}
    for f in found:
        series.setdefault(named(f.label[1:]), []).append(f)
    picture = Picture(f"{title}: {first}", " ".join(SENTENCES))
    priced = any(f.price is not None for f in found)
    panels = (_PRICE if priced or all(f.timber is None for f in found) else _TIMBER, *_PANELS)
    height = len(panels) * (_PANEL + _GAP)
    at = {v: _LEFT + (_WIDE - _LEFT - _RIGHT) * share for v, share in zip(steps, along(steps))}
    for k, (name, figure, zero) in enumerate(panels):
        low = height - (k + 1) * (_PANEL + _GAP) + _GAP
        _panel(picture, low, name, figure, zero, series, at)
    for v, x in at.items():
        picture.add(Lettering((x, _GAP - 24), v, 16))
    picture.add(Lettering(((_LEFT + _WIDE - _RIGHT) / 2, _GAP - 52), first, 16))
    _legend(picture, series, height)
    picture.window = (0.0, -20.0, _WIDE, height + 10)
    return picture


def along(values: Sequence[str]) -> list[float]:
    """Where along the axis each value stands, as a share of it: to scale where all are numbers or lengths and none is
    too near the next to be told apart, else one after the other."""
    even = [(i + 0.5) / len(values) for i in range(len(values))]
    try:
        read = [parse_length(v) for v in values]
    except LengthError:
        return even
    low, whole = min(read), max(read) - min(read)
    ordered = sorted(read)
    if len(read) < 3 or min(b - a for a, b in itertools.pairwise(ordered)) < _NEAREST * whole:
        return even
    return [even[0] + (1 - 2 * even[0]) * (v - low) / whole for v in read]


def _panel(picture: Picture, low: float, name: str, figure, zero: bool, series, at) -> None:
    values = [v for line in series.values() for f in line if (v := figure(f)) is not None]
    right = _WIDE - _RIGHT
    picture.add(Lettering((_LEFT, low + _PANEL + 14), name, 18, "start"))
    if not values:
        picture.add(
            Lettering(
                ((_LEFT + right) / 2, low + _PANEL / 2),
                "none to show: no price list is named in the file" if name == "Price" else "none to show",
                16,
                colour=SOFT,
            )
        )
        return
    ticks = nice(min(values + [0.0] * zero), max(values + [0.0] * zero))
    a, b = ticks[0], ticks[-1]

    def y(v: float) -> float:
        return low + (_PANEL - 30) * (v - a) / (b - a)

    for t in ticks:
        picture.add(
            Stroke(((_LEFT, y(t)), (right, y(t))), INK if zero and t == 0 else (214, 210, 200), 1.0),
            Lettering((_LEFT - 12, y(t)), f"{t:,.10g}", 15, "end", colour=SOFT),
        )
    for colour, line in zip(_cycle(), series.values()):
        points = [(f, (at[f.label[0][1]], y(v))) for f in line if (v := figure(f)) is not None]
        if len(points) > 1:
            picture.add(Stroke(tuple(p for _, p in points), colour, 2.2))
        for f, p in points:
            picture.add(Region(shapely.Point(p).buffer(6), colour))
            if f.not_met:
                ring = shapely.Point(p).buffer(12).exterior
                picture.add(Stroke(tuple(ring.coords), (176, 40, 32), 2.4))


def _legend(picture: Picture, series, height: float) -> None:
    x, y = _WIDE - _RIGHT + 30, height - 30
    for colour, name in zip(_cycle(), series):
        if name:
            picture.add(Region(shapely.Point(x, y).buffer(6), colour), Lettering((x + 16, y), name, 14, "start"))
            y -= 26
    if any(f.not_met for line in series.values() for f in line):
        picture.add(
            Stroke(tuple(shapely.Point(x, y).buffer(12).exterior.coords), (176, 40, 32), 2.4),
            Lettering((x + 22, y), "a rule is not met", 14, "start"),
        )
        y -= 30
    for line in series.values():
        for f in line:
            if f.fault:
                picture.add(Lettering((x - 8, y), f"{named(f.label)}: not drawn", 12, "start", colour=SOFT))
                y -= 20


def _cycle():
    while True:
        yield from _SERIES


def nice(low: float, high: float, wanted: int = 5) -> list[float]:
    """About `wanted` round figures that reach from `low` or under to `high` or over."""
    if high - low < 1e-9 * max(1.0, abs(high)):
        low, high = low - max(1.0, abs(low) * 0.05), high + max(1.0, abs(high) * 0.05)
    raw = (high - low) / (wanted - 1)
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(s * power for s in (1, 2, 2.5, 5, 10) if s * power >= raw - 1e-12)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return [round(i * step, 10) for i in range(first, last + 1)]
