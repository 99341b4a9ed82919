"""A small invented frame with one of every kind of prism, for tests of what writes the model out."""

from __future__ import annotations

from collections import Counter
from types import SimpleNamespace

from plumbcut.model.solid.part import Place, Workshop
from plumbcut.model.solid.roles import ROLES
from plumbcut.shared.stock import Stock

WOOD, BOARD, TRIM = "treated lumber", "composite board", "composite board"
STOCK = {
    "2x8": Stock("2x8", 1.5, 7.25, WOOD),
    "2x12": Stock("2x12", 1.5, 11.25, WOOD),
    "4x4": Stock("4x4", 3.5, 3.5, WOOD),
    "6x6": Stock("6x6", 5.5, 5.5, WOOD),
    "5/4x6": Stock("5/4x6", 1.0, 5.5, BOARD),
    "1x8": Stock("1x8", 0.75, 7.25, TRIM),
    "2x2": Stock("2x2", 1.5, 1.5, WOOD),
    "12 round": Stock("12 round", 12.0, 12.0, "concrete"),
    "cap": Stock("cap", 0.5, 4.5, "steel"),
    "sleeve": Stock("sleeve", 4.0, 4.0, BOARD),
}


def _rect(x0, y0, x1, y1):
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def small_deck(columns: int = 1):
    """A deck 120 in wide and 96 in deep, its surface at z = 36: repeated `columns` times along x for tests of size."""
    shop, parts = Workshop(), []
    for column in range(columns):
        parts += _bay(shop, 400.0 * column)
    return SimpleNamespace(parts=_marked(parts), notes=[])


class _Maker:
    """Pieces of one deck, all shifted by `x0` along x."""

    def __init__(self, shop: Workshop, x0: float):
        self.shop, self.x0, self.parts = shop, x0, []

    def up(self, role, stock, ring, z0, z1, along=(1, 0), **about):
        ring = [(x + self.x0, y) for x, y in ring]
        self.parts.append(self.shop.upright(role, STOCK[stock], ring, z0, z1, along, **about))

    def side(self, role, stock, ring, x, y, **about):
        """Side outline: local x runs out from the deck (-y), local y is up; local z is then world -x."""
        place = Place((self.x0 + x, y, 0), (0, -1, 0), (0, 0, 1))
        self.parts.append(self.shop.prism(role, STOCK[stock], ring, 1.5, place, **about))


def _bay(shop: Workshop, x0: float):
    made = _Maker(shop, x0)
    top = 35.0
    low = top - 7.25
    _frame(made, low, top)
    _surface(made, low, top)
    _guard(made)
    _stair(made, top)
    return made.parts


def _frame(made: _Maker, low: float, top: float) -> None:
    made.up("ledger", "2x8", _rect(0, 94.5, 120, 96), low, top)
    made.up("rim", "2x8", _rect(0, 0, 120, 1.5), low, top)
    for i in range(9):
        x = min(i * 16.0, 118.5)
        made.up("joist", "2x8", _rect(x, 1.5, x + 1.5, 94.5), low, top, (0, 1), where=f"joist {i + 1}")
    for i in range(8):
        x, x1 = i * 16.0 + 1.5, min(i * 16.0 + 16.0, 118.5)
        made.up("blocking", "2x8", _rect(x, 48 + i % 2 * 1.5, x1, 49.5 + i % 2 * 1.5), low, top)
    made.up("beam", "2x12", _rect(0, 15, 120, 16.5), low - 11.25, low)
    made.up("beam", "2x12", _rect(0, 16.5, 120, 18), low - 11.25, low)
    for x in (6.0, 60.0, 114.0):
        made.up("post", "6x6", _rect(x - 2.75, 13.75, x + 2.75, 19.25), 6, low - 11.25, (1, 0))
        made.parts.append(
            made.shop.cylinder("footing", STOCK["12 round"], (made.x0 + x, 16.5, -36), (0, 0, 1), 6.0, 42.0)
        )


def _surface(made: _Maker, low: float, top: float) -> None:
    """Border mitred at the corners, notched round the guard posts; field boards between; a fascia."""
    w, z = 5.5, 36.0
    notch = [(60 - 1.875, 0), (60 - 1.875, 3.5), (60 + 1.875, 3.5), (60 + 1.875, 0)]
    made.up("border", "5/4x6", [(0, 0), *notch, (120, 0), (120 - w, w), (w, w)], top, z, where="front edge")
    made.up("border", "5/4x6", [(0, 0), (w, w), (w, 96), (0, 96)], top, z, (0, 1), where="left edge")
    made.up("border", "5/4x6", [(120, 0), (120, 96), (120 - w, 96), (120 - w, w)], top, z, (0, 1), where="right edge")
    y = w + 0.25
    while y + w <= 96:
        made.up("board", "5/4x6", _rect(w + 0.125, y, 120 - w - 0.125, y + w), top, z)
        y += w + 0.25
    made.up("fascia", "1x8", [(0, 0), (120, 0), (120.75, -0.75), (-0.75, -0.75)], low, top)


def _guard(made: _Maker) -> None:
    """Two posts, rails, balusters, a hollow sleeve with a cap."""
    x0 = made.x0
    for x in (60.0, 120 - 1.75):
        made.up("guard post", "4x4", _rect(x - 1.75, 0, x + 1.75, 3.5), 36, 72)
    made.up("top rail", "2x2", _rect(61.75, 1, 116.5, 2.5), 70.5, 72)
    made.up("bottom rail", "2x2", _rect(61.75, 1, 116.5, 2.5), 38, 39.5)
    for i in range(10):
        foot, head = ((x0 + 66 + i * 5, 1.75, z) for z in (39.5, 70.5))
        made.parts.append(made.shop.box_along("baluster", STOCK["2x2"], foot, head, (1, 0, 0), 1.5, 1.5))
    made.parts.append(
        made.shop.prism(
            "post sleeve",
            STOCK["sleeve"],
            _rect(x0 + 20, -8, x0 + 24, -4),
            36,
            Place((0, 0, 36)),
            [_rect(x0 + 20.2, -7.8, x0 + 23.8, -4.2)],
        )
    )
    made.up("post cap", "cap", _rect(19.75, -8.25, 24.25, -3.75), 72, 72.5)


def _stair(made: _Maker, top: float) -> None:
    """Down the front: sawtooth stringers, treads, a sloped rail."""
    rise, run, steps = 7.2, 10.5, 4
    saw = [(0.0, top - 1.0 - rise)]
    for i in range(steps):
        if i:
            saw.append((i * run, top - 1.0 - (i + 1) * rise))
        saw.append(((i + 1) * run, top - 1.0 - (i + 1) * rise))
    saw += [(steps * run, 0.0), (steps * run - 12, 0.0), (0.0, top - 1.0 - rise - 11)]
    for x in (24.0, 39.0, 54.0 - 1.5):
        made.side("stringer", "2x12", saw, x + 1.5, -0.75, stair=0)
    for i in range(steps):
        z1 = top - (i + 1) * rise
        y1 = -0.75 - i * run
        made.up("tread", "5/4x6", _rect(24, y1 - run - 0.75, 54, y1 - run / 2), z1 - 1, z1, stair=0, step=i + 1)
    rail = [(0, 34 + 36), (42, 34 + 36 - 42 * rise / run), (42, 31 + 36 - 42 * rise / run), (0, 31 + 36)]
    made.side("top rail", "2x2", rail, 26, -9, stair=0)


def _marked(parts):
    seen, marks, count = Counter(), {}, Counter()
    done = []
    for part in parts:
        key = part.role, part.stock, part.shape
        if key not in marks:
            seen[part.role] += 1
            marks[key] = f"{ROLES[part.role].letter}{seen[part.role]}"
        count[marks[key]] += 1
        done.append(part.replaced(mark=marks[key], id=f"{marks[key]}-{count[marks[key]]:02d}"))
    beam = next(p.id for p in done if p.role == "beam")
    return [p.replaced(carried_by=(beam,)) if p.role == "joist" else p for p in done]
