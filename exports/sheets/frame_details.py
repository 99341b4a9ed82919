"""Details of the frame: ledger with its flashing and fasteners, beam on post, post on footing."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...model.plan.house_places import band_joist_top
from ...model.solid.part import Part
from ...model.structure.ledger_checks import BAND
from ...shared.standards import limit_items
from ..drafting import drawing as d
from ..drafting.symbols import break_line
from ..linework.views import Linework
from .crop import cropped
from .detail import Detail, note
from .ground import ground_items
from .hardware import ledger_fasteners, limit_row
from .house import BANDS_TOLD, WALL, WALLS_TOLD
from .notched_details import beam_in_post
from .pens import name_of
from .sections import cut_boxes, frame_work, merged
from .stage import Stage
from .strings import Strings

SHEATHING = 0.5  # inches behind the wall's face at which the house's band joist is drawn: nominal, our own


@dataclass(frozen=True)
class _LedgerCut:
    """The ledger as the section cuts it: its box and part, and the height the detail is drawn from and to. `side`:
    +1 where the deck lies to the right of the house, -1 to the left."""

    box: d.Box
    part: Part
    side: float
    low: float
    high: float

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
            return self.face - 0.01, self.low, self.face + 22, self.high
        return self.face - 22, self.low, self.face + 0.01, self.high


def ledger(stage: Stage) -> Detail | None:
    """The ledger on the wall: flashing, rows of fasteners, the joist in its hanger."""
    found = frame_work(stage)
    if found is None:
        return None
    plane, work = found
    boxes = cut_boxes(work, "ledger")
    if not boxes:
        return None
    box, part = boxes[0]
    edge = next(iter(stage.house_edges), None)
    side = -1.0 if edge is None else float(np.sign(np.dot(edge.inward, plane.view.right[:2]))) or 1.0
    cut = _LedgerCut(box, part, side, box[1] - 5, stage.surface_top + 9)

    def annotate(stage, view, work):
        rows = _fastener_rows(stage, box, part)
        _measure_ledger(stage, view, cut, rows)
        _name_ledger(stage, view, cut, rows)
        _name_hung_joist(stage, view, work, cut)

    return Detail(
        "Ledger",
        cropped(work, cut.window),
        "section",
        annotate,
        lambda stage, scale: _wall_and_flashing(stage, cut, scale),
        "FASTENER ROWS AT THE PUBLISHED EDGE DISTANCES." if _fastener_rows(stage, box, part) else "",
        open_sides="r" if side > 0 else "l",
    )


def _wall_and_flashing(stage: Stage, cut: _LedgerCut, scale: float) -> list:
    """What the model does not hold: the wall, the flashing over the ledger, the fasteners through it."""
    face, front, side, low, high = cut.face, cut.front, cut.side, cut.low, cut.high
    wall = sorted((face - side * WALL, face))
    ring = [(wall[0], low), (wall[1], low), (wall[1], high), (wall[0], high)]
    top = cut.box[3]
    lift = 0.03 * scale
    flashing = [
        (face + side * lift, top + 5),
        (face + side * lift, top + lift),
        (front + side * lift, top + lift),
        (front + side * lift, top - 0.9),
    ]
    out = [
        d.Line((face, low), (face, high), layer="A-WALL"),
        d.Hatch(ring, pattern="steel", layer="A-WALL-PATT"),
        d.Polyline(flashing, layer="A-SECT-FLSH"),
    ]
    out += [d.Polyline(ring, True, layer="A-WALL-HDLN") for ring in [_band_joist(stage, cut)] if ring]
    for z in _fastener_rows(stage, cut.box, cut.part):
        out.append(d.Line((front + side * 0.9, z), (face - side * (WALL - 1.5), z), layer="S-JOIS-HNGR"))
        out.append(d.Line((front + side * 0.05, z - 0.5), (front + side * 0.05, z + 0.5), layer="S-JOIS-HNGR"))
    return out + break_line((wall[0], high), (wall[1], high), scale) + break_line((wall[0], low), (wall[1], low), scale)


def _band_joist(stage: Stage, cut: _LedgerCut) -> list[d.Point]:
    """The house's band joist behind a nominal sheathing, as deep and as high as the file says; empty where it does
    not."""
    p = stage.deck.parameters
    top, deep = band_joist_top(p), p.house.band_joist_depth
    if top is None or deep is None:
        return []
    near, far = cut.face - cut.side * SHEATHING, cut.face - cut.side * (SHEATHING + BAND)
    return [(near, top - deep), (far, top - deep), (far, top), (near, top)]


def _wall_named(stage: Stage) -> str:
    """The wall behind the ledger with what the file says of it."""
    house = stage.deck.parameters.house
    wall = f"WALL OF {WALLS_TOLD[house.wall]}" if house.wall else "WALL"
    band = BANDS_TOLD[house.band_joist] if house.band_joist else "BAND JOIST"
    if house.band_joist_depth is not None and house.floor is not None:
        band += f" {stage.inch(house.band_joist_depth)} DEEP (DASHED)"
    return f"EXISTING {wall} AND {band}, VERIFY; CLADDING OFF BEHIND THE LEDGER"


def _measure_ledger(stage: Stage, view: d.View, cut: _LedgerCut, rows: list[float]) -> None:
    window, face, box = cut.window, cut.face, cut.box
    edge_side = "right" if cut.side > 0 else "left"
    strings = Strings(
        view,
        (min(window[0], face - WALL), cut.low, max(window[2], face + WALL), cut.high),
        0.3,
        spacing=stage.string_spacing,
    )
    far = window[2] if cut.side > 0 else window[0]
    strings.chain(edge_side, [(far, z) for z in (box[1], *rows, box[3])])
    strings.chain(edge_side, [(far, z) for z in (box[1], box[3], stage.surface_top)])


def _name_ledger(stage: Stage, view: d.View, cut: _LedgerCut, rows: list[float]) -> None:
    """Fasteners, flashing, wall and the ledger itself."""
    face, side, box = cut.face, cut.side, cut.box
    bite = cut.front + side * 0.3
    if rows:
        fasteners = ledger_fasteners(stage).short
        view.add(d.Leader((bite, rows[0]), fasteners, wrap=1.75, tips=[(bite, z) for z in rows[1:]]))
    view.add(
        d.Leader(
            (face + side * 0.03 * view.scale, box[3] + 4),
            "CORROSION-RESISTANT FLASHING, BEHIND THE CLADDING AND OVER THE LEDGER",
        ),
        d.Leader((face - side * WALL / 2, cut.low + 3), _wall_named(stage)),
    )
    note(view, [(box, cut.part)], f"{cut.part.mark} {stage.stock(cut.part.stock)} LEDGER", (0.5, 0.2))


def _name_hung_joist(stage: Stage, view: d.View, work: Linework, cut: _LedgerCut) -> None:
    seen = next((l for l in work.lines if l.part.role == "joist"), None)
    if seen is None:
        return
    low, high = cut.box[1], cut.box[3]
    tips = [(cut.face + cut.side * s, z) for s in (10.0, 14.0, 17.0) for z in ((low + high) / 2, low + 0.7)]
    view.add(
        d.Leader(
            tips[0],
            f"{stage.stock(seen.part.stock)} JOIST IN FACE-MOUNT HANGER",
            tips=tips[1:],
            mark=name_of(seen.part),
        )
    )


def _fastener_rows(stage: Stage, box: d.Box, ledger: Part) -> list[float]:
    """Two staggered rows: the published least distance from the top edge, and as far below as the limits of edges and
    rows and the published place of the bottom row let. None where the edition does not give all of these."""
    rows = [limit_row(stage, i) for i in ("ledger_top_edge_min", "ledger_bottom_edge_min", "ledger_row_spacing_max")]
    if None in rows:
        return []
    from_top, from_bottom, apart = (r.value for r in rows if r)
    top = box[3] - from_top
    item = f"ledger_bottom_row_to_top_edge_{ledger.stock.name}"
    bottom = limit_row(stage, item) if item in limit_items() else None
    low = max(box[1] + from_bottom, top - apart, *([box[3] - bottom.value] if bottom else []))
    return [top, low] if top - low > 0.5 else [top]


def beam_on_post(stage: Stage) -> Detail | None:
    """The beam on its post, under a cap or in the post's notch, whichever the frame section cuts."""
    found = frame_work(stage)
    if found is None:
        return None
    _, work = found
    posts, beams = cut_boxes(work, "post"), merged([b for b, _ in cut_boxes(work, "beam")])
    pairs = [(p, b) for p in posts for b in beams if abs((p[0][0] + p[0][2]) - (b[0] + b[2])) / 2 < 3]
    if not pairs:
        return None
    (post, part), beam = pairs[-1]
    seat = stage.notched.get(part.id)
    if seat is not None:
        return beam_in_post(stage, work, (post, part), beam, seat)
    mid = (post[0] + post[2]) / 2
    window = (mid - 13, max(post[3] - 7, post[1] - 1), mid + 13, stage.surface_top + 1)

    def annotate(stage, view, work):
        strings = Strings(view, work.box, 0.3, spacing=stage.string_spacing)
        strings.chain("right", [(window[2], z) for z in (stage.surface_top, stage.frame_top, beam[3], post[3])])
        strings.chain("below", [(beam[0], window[1]), (beam[2], window[1])])
        strings.chain("below", [(post[0], window[1]), (post[2], window[1])])
        note(view, cut_boxes(work, "beam"), lambda p: f"{stage.beam_text(p)} BEAM, PLIES NAILED OR BOLTED TOGETHER")
        note(view, [(post, part)], f"{part.mark} {stage.stock(part.stock)} POST", (0.5, 0.9))
        view.add(d.Leader((post[0], post[3] - 1.5), "BEAM CAP, BOTH SIDES, ALL FASTENERS IN"))
        flush = beam[3] > stage.frame_top - 0.1
        view.add(d.Leader((mid + 8, beam[3]), "HANGER AT EVERY JOIST" if flush else "TIE AT EVERY JOIST"))

    return Detail(
        "Beam on post",
        cropped(work, window),
        "section",
        annotate,
        _cap(post, beam),
        "",
        open_sides="lrb" if post[3] - 7 > post[1] - 1 else "lr",
    )


def _cap(post, beam):
    """The beam cap: a plate under the beam and two straps up its sides, drawn, not modelled."""

    def before(stage, scale):
        t = 0.02 * scale
        return [
            d.Polyline(
                [
                    (beam[0] - t, post[3] + 4),
                    (beam[0] - t, post[3]),
                    (post[0] - t, post[3]),
                    (post[0] - t, post[3] - 4),
                ],
                layer="S-JOIS-HNGR",
            ),
            d.Polyline(
                [
                    (beam[2] + t, post[3] + 4),
                    (beam[2] + t, post[3]),
                    (post[2] + t, post[3]),
                    (post[2] + t, post[3] - 4),
                ],
                layer="S-JOIS-HNGR",
            ),
        ]

    return before


def post_on_footing(stage: Stage) -> Detail | None:
    found = frame_work(stage)
    if found is None:
        return None
    plane, work = found
    feet, posts = cut_boxes(work, "footing"), cut_boxes(work, "post")
    if not feet or not posts:
        return None
    foot, part = feet[-1]
    mid = (foot[0] + foot[2]) / 2
    near = [(b, p) for b, p in posts if abs((b[0] + b[2]) / 2 - mid) < 3]
    if not near:
        return None
    post, post_part = near[0]
    ground = stage.ground(plane.view, plane.through)
    window = (foot[0] - 6, max(foot[3] - 16, foot[1] - 2), foot[2] + 6, min(post[1] + 14, post[3]))

    def before(stage, scale):
        left = ground_items(stage, ground, window[0] - 4, foot[0], scale)
        return left + ground_items(stage, ground, foot[2], window[2] + 4, scale)

    def annotate(stage, view, work):
        strings = Strings(
            view, (window[0] - 4, *work.box[1:2], window[2] + 4, work.box[3]), 0.3, spacing=stage.string_spacing
        )
        strings.chain("right", [(foot[2], z) for z in (post[1], foot[3], ground(mid))])
        strings.chain(
            "below", [(foot[0], work.box[1]), (foot[2], work.box[1])], suffix=" DIA." if part.shape.circle else ""
        )
        view.add(
            d.Leader(
                (foot[0] + 2, foot[3] - 5),
                f"CONCRETE FOOTING, UNDERSIDE {stage.text(ground(mid) - foot[1])} BELOW GRADE",
                mark=name_of(part),
            )
        )
        note(
            view,
            [(post, post_part)],
            f"{post_part.mark} {stage.stock(post_part.stock)} POST",
            (0.5, 0.3 * min(1.0, 14 / (post[3] - post[1]))),
        )
        view.add(d.Leader((mid + 1.5, (post[1] + foot[3]) / 2), "STAND-OFF POST BASE, CAST-IN ANCHOR BOLT"))
        view.add(d.Leader((window[0] - 2, ground(window[0])), "GRADE"))

    return Detail(
        "Post on footing",
        cropped(work, window),
        "section",
        annotate,
        before,
        open_sides="b" + ("t" if post[3] > window[3] else ""),
    )
