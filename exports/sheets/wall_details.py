"""Details at the house: the ledger on its wall with siding, sheathing, band joist, floor and flashing, and what ties
the deck back to the floor. The house is drawn as one is found as a rule where the file does not say: verify."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...model.plan.house_places import band_joist_top
from ...model.solid.part import Part
from ...model.structure.ledger_checks import BAND
from ...shared.standards import limit_items
from ...shared.stock import lumber
from ..drafting import drawing as d
from ..drafting.symbols import break_line
from ..linework.views import Linework
from .crop import cropped
from .detail import Detail, names, note
from .hardware import ledger_fasteners, limit_row
from .hardware_shapes import bolt, box, hanger, path, tension_device
from .house import BANDS_TOLD, WALL, WALLS_TOLD
from .pens import name_of
from .sections import cut_boxes, frame_work
from .stage import Stage
from .strings import Strings

SHEATHING, SIDING, SUBFLOOR, STUD, PLATE = 0.5, 0.75, 0.75, 3.5, 1.5  # inches as drawn: nominal, our own
SIDING_CLEAR = 2.0  # inches that siding is drawn over the surface: common practice, no source
_INDOORS = 8.0  # inches of the house drawn behind its wall's face
_PAST_BAND = 0.5  # inches that a screw is drawn past the band joist
_TIED_FROM, _TIED_TO = 13.0, 14.0  # inches of house and deck drawn where the deck is tied back


@dataclass(frozen=True)
class _LedgerCut:
    """The ledger as the section cuts it: its box and part, and the height the detail is drawn from and to. `side`:
    +1 where the deck lies to the right of the house, -1 to the left; `indoors` how far the house is drawn."""

    box: d.Box
    part: Part
    side: float
    low: float
    high: float
    indoors: float = _INDOORS
    deck: float = 14.0

    @property
    def face(self) -> float:
        """The face of the wall."""
        return self.box[0] if self.side > 0 else self.box[2]

    @property
    def front(self) -> float:
        """The face of the ledger that joists meet."""
        return self.box[2] if self.side > 0 else self.box[0]

    @property
    def window(self) -> d.Box:
        if self.side > 0:
            return self.face - 0.01, self.low, self.face + self.deck, self.high
        return self.face - self.deck, self.low, self.face + 0.01, self.high

    @property
    def drawn(self) -> d.Box:
        """The window and the house beside it."""
        x0, y0, x1, y1 = self.window
        return min(x0, self.into(self.indoors)), y0, max(x1, self.into(self.indoors)), y1

    def into(self, deep: float) -> float:
        """Across the view, `deep` inches behind the wall's face."""
        return self.face - self.side * deep


def _found(stage: Stage, **more: float) -> tuple[_LedgerCut, Linework] | None:
    found = frame_work(stage)
    boxes = cut_boxes(found[1], "ledger") if found else []
    if found is None or not boxes:
        return None
    at, part = boxes[0]
    edge = next(iter(stage.house_edges), None)
    side = -1.0 if edge is None else float(np.sign(np.dot(edge.inward, found[0].view.right[:2]))) or 1.0
    return _LedgerCut(at, part, side, at[1] - 6, stage.surface_top + 9, **more), found[1]


def ledger(stage: Stage) -> Detail | None:
    """The ledger on the wall: what the wall is made of, flashing, rows of fasteners, the joist in its hanger."""
    found = _found(stage)
    if found is None:
        return None
    cut, work = found
    rows = fastener_rows(stage, cut.box, cut.part)

    def annotate(stage: Stage, view: d.View, work: Linework) -> None:
        _measure_ledger(stage, view, cut, rows)
        _name_wall(stage, view, cut)
        _name_ledger(stage, view, work, cut, rows)

    return Detail(
        "Ledger",
        cropped(work, cut.window),
        "section",
        annotate,
        lambda stage, scale: [*_house(stage, cut, scale), *_held(stage, work, cut, scale)],
        "FASTENER ROWS AT THE PUBLISHED EDGE DISTANCES." if rows else "",
        open_sides="r" if cut.side > 0 else "l",
        least=cut.drawn,
    )


def tied_back(stage: Stage) -> Detail | None:
    """A joist tied through wall and band joist to a joist of the house's floor."""
    found = _found(stage, indoors=_TIED_FROM, deck=_TIED_TO) if stage.deck.tied_back else None
    if found is None or _solid(stage):
        return None
    cut, work = found
    level = (cut.box[1] + cut.box[3]) / 2 - 1.0
    count = len(stage.deck.tied_back)

    def before(stage: Stage, scale: float) -> list[d.AnyItem]:
        rod = [(cut.front + cut.side * 2.0, level), (cut.into(SHEATHING + BAND + 2.0), level)]
        return [
            *_house(stage, cut, scale),
            *_hung(work, cut, scale),
            path(rod, "threaded rod"),
            *tension_device(cut.front, cut.side, level),
            *tension_device(cut.into(SHEATHING + BAND), -cut.side, level),
        ]

    def annotate(stage: Stage, view: d.View, work: Linework) -> None:
        strings = Strings(view, cut.drawn, 0.3, spacing=stage.string_spacing)
        far = cut.window[2] if cut.side > 0 else cut.window[0]
        strings.chain(
            "right" if cut.side > 0 else "left", [(far, z) for z in (cut.box[1], cut.box[3], stage.surface_top)]
        )
        view.add(
            names("threaded rod", "ROD THROUGH LEDGER, SHEATHING AND BAND JOIST", (cut.into(0.2), level)),
            names(
                "tension device",
                f"TENSION DEVICE ON THE JOIST, AT {count} JOISTS MARKED LLC ON THE FRAMING PLAN, AND ON THE FLOOR JOIST"
                " OR A BLOCK OF THE HOUSE",
                (cut.front + cut.side * 6, level),
            ),
        )
        note(view, [(cut.box, cut.part)], f"{cut.part.mark} LEDGER", (0.5, 0.8))
        _name_wall(stage, view, cut)
        _name_joist(stage, view, work, cut)

    return Detail(
        "Lateral load connection",
        cropped(work, cut.window),
        "section",
        annotate,
        before,
        "FLASHING AND LEDGER FASTENERS AS IN THE LEDGER'S DETAIL.",
        open_sides="r" if cut.side > 0 else "l",
        least=cut.drawn,
    )


def _solid(stage: Stage) -> bool:
    return stage.deck.parameters.house.wall in ("masonry", "veneer")


def _band(stage: Stage, cut: _LedgerCut) -> tuple[float, float]:
    """Underside and top of the house's band joist: as the file says, else level with the ledger's top."""
    p = stage.deck.parameters
    top, deep = band_joist_top(p), p.house.band_joist_depth
    top = cut.box[3] if top is None else top
    return top - (lumber("2x10").width if deep is None else deep), top


def _house(stage: Stage, cut: _LedgerCut, scale: float) -> list[d.AnyItem]:
    """The house's wall and floor, and the flashing: what the model does not hold."""
    low, high = cut.low, cut.high
    if _solid(stage):
        ring = [(cut.face, low), (cut.into(WALL), low), (cut.into(WALL), high), (cut.face, high)]
        out: list[d.AnyItem] = [
            d.Hatch(ring, pattern="steel", layer="A-WALL-PATT", thing="wall"),
            d.Line((cut.face, low), (cut.face, high), layer="A-WALL", thing="wall"),
        ]
        ends = sorted((cut.face, cut.into(WALL)))
    else:
        out = _framed_wall(stage, cut)
        ends = sorted((cut.into(-SIDING), cut.into(cut.indoors)))
    out.append(path(_flashing(stage, cut, scale), "flashing", "A-SECT-FLSH"))
    for z in (low, high):
        out += break_line((ends[0], z), (ends[1], z), scale)
    return out


def _framed_wall(stage: Stage, cut: _LedgerCut) -> list[d.AnyItem]:
    """Siding, sheathing, studs, plates, band joist and floor of a framed wall, cropped to the detail's height."""
    under, top = _band(stage, cut)
    out: list[d.AnyItem] = []

    def piece(thing: str, q0: float, q1: float, z0: float, z1: float, pattern: str = "", angle: float = 0.0) -> None:
        z0, z1 = max(z0, cut.low), min(z1, cut.high)
        if z1 - z0 < 0.05:
            return
        x0, x1 = sorted((cut.into(q0), cut.into(q1)))
        if pattern:
            ring = [(x0, z0), (x1, z0), (x1, z1), (x0, z1)]
            out.append(d.Hatch(ring, [], pattern, angle, layer="A-WALL-PATT", thing=thing))
        out.append(box(x0, z0, x1, z1, thing, "A-SECT-MBND"))

    inner = SHEATHING + STUD
    piece("sheathing", 0.0, SHEATHING, cut.low, cut.high, "long grain", 90.0)
    piece("band joist", SHEATHING, SHEATHING + BAND, under, top, "end grain")
    piece("floor joist", SHEATHING + BAND, cut.indoors, under, top)
    piece("floor", SHEATHING, cut.indoors, top, top + SUBFLOOR, "long grain")
    piece("plate", SHEATHING, inner, top + SUBFLOOR, top + SUBFLOOR + PLATE, "end grain")
    piece("stud", SHEATHING, inner, top + SUBFLOOR + PLATE, cut.high)
    piece("plate", SHEATHING, inner, under - PLATE, under, "end grain")
    piece("stud", SHEATHING, inner, cut.low, under - PLATE)
    for z0, z1 in ((cut.low, cut.box[1] - 0.25), (stage.surface_top + SIDING_CLEAR, cut.high)):
        piece("siding", -SIDING, 0.0, z0, z1, "long grain", 90.0)
    return out


def _flashing(stage: Stage, cut: _LedgerCut, scale: float) -> list[d.Point]:
    """Behind the siding, over the ledger, and down its face to a drip."""
    face, front, side, top, lift = cut.face, cut.front, cut.side, cut.box[3], 0.03 * scale
    up = stage.surface_top + SIDING_CLEAR + 4
    return [
        (face + side * lift, min(up, cut.high - 1)),
        (face + side * lift, top + lift),
        (front + side * lift, top + lift),
        (front + side * lift, top - 0.9),
        (front + side * (lift + 0.3), top - 1.2),
    ]


def _hung(work: Linework, cut: _LedgerCut, scale: float) -> list[d.AnyItem]:
    joist = _joist(work, cut)
    if joist is None:
        return []
    return hanger(cut.front, cut.side, float(joist.box[0, 2]), float(joist.box[1, 2]), scale)


def _held(stage: Stage, work: Linework, cut: _LedgerCut, scale: float) -> list[d.AnyItem]:
    """The hanger of the joist and the fasteners through the ledger: drawn, not modelled."""
    through = "BOLT" in ledger_fasteners(stage).short
    back = WALL if _solid(stage) else SHEATHING + BAND
    end = cut.into(back + (0.0 if through else _PAST_BAND))
    out = _hung(work, cut, scale)
    for z in fastener_rows(stage, cut.box, cut.part):
        out += bolt((cut.front, z), (end, z), "ledger fastener", through)
    return out


def _joist(work: Linework, cut: _LedgerCut) -> Part | None:
    return next((l.part for l in work.lines if l.part.role == "joist" and l.part.box[1, 2] > cut.box[1]), None)


def _measure_ledger(stage: Stage, view: d.View, cut: _LedgerCut, rows: list[float]) -> None:
    edge_side = "right" if cut.side > 0 else "left"
    strings = Strings(view, cut.drawn, 0.3, spacing=stage.string_spacing)
    far = cut.window[2] if cut.side > 0 else cut.window[0]
    strings.chain(edge_side, [(far, z) for z in (cut.box[1], *rows, cut.box[3])])
    strings.chain(edge_side, [(far, z) for z in (cut.box[1], cut.box[3], stage.surface_top)])
    strings.chain("below", [(cut.face, cut.box[1]), (cut.front, cut.box[1])])


def _name_wall(stage: Stage, view: d.View, cut: _LedgerCut) -> None:
    """What the wall is made of, as the file says or as it is to be found."""
    house = stage.deck.parameters.house
    if _solid(stage):
        told = WALLS_TOLD[house.wall or "masonry"]
        view.add(names("wall", f"EXISTING WALL OF {told}, VERIFY", (cut.into(WALL / 2), cut.low + 3)))
        return
    under, top = _band(stage, cut)
    band = BANDS_TOLD[house.band_joist] if house.band_joist else "BAND JOIST"
    if house.band_joist_depth is not None and house.floor is not None:
        band += f" {stage.inch(house.band_joist_depth)} DEEP"
    siding = [(cut.into(-SIDING / 2), z) for z in (cut.high - 3, cut.low + 1.5)]
    view.add(
        names("siding", "SIDING, OFF BEHIND THE LEDGER AND CLEAR OF THE SURFACE", siding[0], siding[1:]),
        names(
            "sheathing", "SHEATHING", (cut.into(SHEATHING / 2), cut.low + 2), [(cut.into(SHEATHING / 2), cut.high - 2)]
        ),
        names("band joist", f"EXISTING {band}, VERIFY", (cut.into(SHEATHING + BAND / 2), under + 1.5)),
        names("floor", "EXISTING FLOOR", (cut.into(cut.indoors - 2), top + SUBFLOOR / 2)),
    )


def _name_ledger(stage: Stage, view: d.View, work: Linework, cut: _LedgerCut, rows: list[float]) -> None:
    """Fasteners, flashing, hanger, joist and the ledger itself."""
    bite = cut.front + cut.side * 0.3
    if rows:
        told = ledger_fasteners(stage).short
        view.add(names("ledger fastener", told, (bite, rows[-1]), [(bite, z) for z in rows[:-1]], 1.75))
    up = (cut.face + cut.side * 0.03 * view.scale, stage.surface_top + 1.2)
    view.add(names("flashing", "CORROSION RESISTANT FLASHING, BEHIND THE CLADDING AND OVER THE LEDGER", up))
    note(view, [(cut.box, cut.part)], f"{cut.part.mark} {stage.stock(cut.part.stock)} LEDGER", (0.5, 0.15))
    _name_joist(stage, view, work, cut)


def _name_joist(stage: Stage, view: d.View, work: Linework, cut: _LedgerCut) -> None:
    joist = _joist(work, cut)
    if joist is None:
        return
    low = float(joist.box[0, 2])
    view.add(
        names("joist hanger", "FACE-MOUNT HANGER", (cut.front + cut.side * 2.2, low + 0.5)),
        d.Leader(
            (cut.front + cut.side * 12, low),
            f"{stage.stock(joist.stock)} JOIST",
            tips=[(cut.front + cut.side * s, low) for s in (9.0, 6.0)],
            mark=name_of(joist),
        ),
    )


def fastener_rows(stage: Stage, at: d.Box, ledger: Part) -> list[float]:
    """Two staggered rows: the published least distance from the top edge, and as far below as the limits of edges and
    rows and the published place of the bottom row let. None where the edition does not give all of these."""
    rows = [limit_row(stage, i) for i in ("ledger_top_edge_min", "ledger_bottom_edge_min", "ledger_row_spacing_max")]
    if None in rows:
        return []
    from_top, from_bottom, apart = (r.value for r in rows if r)
    top = at[3] - from_top
    item = f"ledger_bottom_row_to_top_edge_{ledger.stock.name}"
    bottom = limit_row(stage, item) if item in limit_items() else None
    low = max(at[1] + from_bottom, top - apart, *([at[3] - bottom.value] if bottom else []))
    return [top, low] if top - low > 0.5 else [top]
