"""Details of the frame: ledger with its flashing and fasteners, beam on post, post on footing."""

from __future__ import annotations

import numpy as np

from ..drafting import drawing as d
from ..drafting.symbols import break_line
from .crop import cropped
from .detail import Detail, note
from .ground import ground_items
from .hardware import ledger_fasteners, limit_row
from .house import WALL
from .pens import name_of
from .sections import cut_boxes, frame_work, merged
from .stage import Stage
from .strings import Strings


def ledger(stage: Stage) -> Detail | None:
    found = frame_work(stage)
    if found is None:
        return None
    plane, work = found
    boxes = cut_boxes(work, "ledger")
    if not boxes:
        return None
    box, part = boxes[0]
    edge = next(iter(stage.house_edges), None)
    side = (
        -1.0 if edge is None else float(np.sign(np.dot(edge.inward, plane.view.right[:2]))) or 1.0
    )  # +1: the deck lies to the right
    face, front = (box[0], box[2]) if side > 0 else (box[2], box[0])
    low, high = box[1] - 5, stage.surface_top + 9
    window = (face - 0.01, low, face + 22, high) if side > 0 else (face - 22, low, face + 0.01, high)
    crop = cropped(work, window)

    def before(stage, scale):
        wall = sorted((face - side * WALL, face))
        ring = [(wall[0], low), (wall[1], low), (wall[1], high), (wall[0], high)]
        top = box[3]
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
        for z in _fastener_rows(stage, box):
            out.append(d.Line((front + side * 0.9, z), (face - side * (WALL - 1.5), z), layer="S-JOIS-HNGR"))
            out.append(d.Line((front + side * 0.05, z - 0.5), (front + side * 0.05, z + 0.5), layer="S-JOIS-HNGR"))
        return (
            out
            + break_line((wall[0], high), (wall[1], high), scale)
            + break_line((wall[0], low), (wall[1], low), scale)
        )

    def annotate(stage, view, work):
        rows = _fastener_rows(stage, box)
        edge_side = "right" if side > 0 else "left"
        strings = Strings(
            view,
            (min(window[0], face - WALL), low, max(window[2], face + WALL), high),
            0.3,
            spacing=stage.string_spacing,
        )
        far = window[2] if side > 0 else window[0]
        strings.chain(edge_side, [(far, z) for z in (box[1], *rows, box[3])])
        strings.chain(edge_side, [(far, z) for z in (box[1], box[3], stage.surface_top)])
        fasteners = ledger_fasteners(stage)
        view.add(
            d.Leader(
                (front + side * 0.3, rows[0]),
                fasteners.short,
                wrap=1.75,
                tips=[(front + side * 0.3, z) for z in rows[1:]],
            )
        )
        view.add(
            d.Leader(
                (face + side * 0.03 * view.scale, box[3] + 4),
                "CORROSION-RESISTANT FLASHING, BEHIND THE CLADDING AND OVER THE LEDGER",
            )
        )
        view.add(
            d.Leader(
                (face - side * WALL / 2, low + 3),
                "EXISTING WALL AND BAND JOIST, VERIFY; CLADDING OFF BEHIND THE LEDGER",
            )
        )
        note(view, [(box, part)], f"{part.mark} {part.stock.name} LEDGER", (0.5, 0.2))
        seen = next((l for l in work.lines if l.part.role == "joist"), None)
        if seen is not None:
            tips = [(face + side * s, z) for s in (10.0, 14.0, 17.0) for z in ((box[1] + box[3]) / 2, box[1] + 0.7)]
            view.add(
                d.Leader(
                    tips[0],
                    f"{seen.part.stock.name} JOIST IN FACE-MOUNT HANGER",
                    tips=tips[1:],
                    mark=name_of(seen.part),
                )
            )

    return Detail(
        "Ledger",
        crop,
        "section",
        annotate,
        before,
        "FASTENER ROWS AT THE PUBLISHED EDGE DISTANCES.",
        open_sides="r" if side > 0 else "l",
    )


def _fastener_rows(stage: Stage, box: d.Box) -> list[float]:
    """Two staggered rows: the published least distance from the top edge, and as far below as edge and row limits
    let."""

    def value(item, default):
        row = limit_row(stage, item)
        return float(row.value) if row else default

    top = box[3] - value("ledger_top_edge_min", 2.0)
    low = max(box[1] + value("ledger_bottom_edge_min", 0.75), top - value("ledger_row_spacing_max", 5.0))
    return [top, low] if top - low > 0.5 else [top]


def beam_on_post(stage: Stage) -> Detail | None:
    found = frame_work(stage)
    if found is None:
        return None
    _, work = found
    posts, beams = cut_boxes(work, "post"), merged([b for b, _ in cut_boxes(work, "beam")])
    pairs = [(p, b) for p in posts for b in beams if abs((p[0][0] + p[0][2]) - (b[0] + b[2])) / 2 < 3]
    if not pairs:
        return None
    (post, part), beam = pairs[-1]
    mid = (post[0] + post[2]) / 2
    window = (mid - 13, max(post[3] - 7, post[1] - 1), mid + 13, stage.surface_top + 1)

    def annotate(stage, view, work):
        strings = Strings(view, work.box, 0.3, spacing=stage.string_spacing)
        strings.chain("right", [(window[2], z) for z in (stage.surface_top, stage.frame_top, beam[3], post[3])])
        strings.chain("below", [(beam[0], window[1]), (beam[2], window[1])])
        strings.chain("below", [(post[0], window[1]), (post[2], window[1])])
        note(view, cut_boxes(work, "beam"), f"{stage.beams[0].text} BEAM, PLIES NAILED OR BOLTED TOGETHER")
        note(view, [(post, part)], f"{part.mark} {part.stock.name} POST", (0.5, 0.9))
        view.add(d.Leader((post[0], post[3] - 1.5), "BEAM CAP, BOTH SIDES, ALL FASTENERS IN"))
        view.add(d.Leader((mid + 8, beam[3]), "TIE AT EVERY JOIST"))

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
            f"{post_part.mark} {post_part.stock.name} POST",
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
