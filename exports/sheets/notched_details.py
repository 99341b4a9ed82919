"""Detail of a beam in the notch at its post's upper end: the shoulder, what is left beside it, the bolts through
both."""

from __future__ import annotations

from ...model.measuring.notched_seat import NotchedSeat
from ...model.solid.part import Part
from ..drafting import drawing as d
from ..linework.views import Linework
from .crop import cropped
from .detail import Detail, note
from .hardware import bolt_levels, post_bolts
from .sections import cut_boxes
from .stage import Stage
from .strings import Strings

_HALF_WASHER, _PAST = 0.7, 0.9  # inches: half of a washer, and how far a bolt stands out past it, as drawn


def beam_in_post(stage: Stage, work: Linework, post: tuple[d.Box, Part], beam: d.Box, seat: NotchedSeat) -> Detail:
    """The detail, out of the frame section `work` that cuts the post and the beam in its notch."""
    box, part = post
    low, high = seat.shoulder, box[3]
    middle = (box[0] + box[2]) / 2
    window = (middle - 13, max(low - 6, box[1] - 1), middle + 13, stage.surface_top + 1)
    levels = bolt_levels(low, high)
    left = (box[0], beam[0]) if beam[0] - box[0] > box[2] - beam[2] else (beam[2], box[2])
    faces = (min(box[0], beam[0]), max(box[2], beam[2]))

    under = (box[0], max(window[1], box[1]), box[2], low)

    def annotate(stage, view, work):
        strings = Strings(view, work.box, 0.3, spacing=stage.string_spacing)
        strings.chain("right", [(window[2], z) for z in (stage.surface_top, stage.frame_top, beam[3], low)])
        strings.chain("right", [(window[2], z) for z in (high, *reversed(levels), low)])
        strings.chain("below", [(x, window[1]) for x in sorted({*left, beam[0], beam[2]})])
        strings.chain("below", [(box[0], window[1]), (box[2], window[1])])
        note(view, cut_boxes(work, "beam"), lambda p: f"{stage.beam_text(p)} BEAM, PLIES NAILED OR BOLTED TOGETHER")
        note(view, [(under, part)], f"{part.mark} {stage.stock(part.stock)} POST, NOTCHED")
        at = faces[1] + 0.2
        view.add(
            d.Leader((at, levels[-1]), post_bolts(stage), tips=[(at, z) for z in levels[:-1]], wrap=1.9),
            d.Leader((sum(beam[::2]) / 2, low), "BEAM BEARS ON THE WHOLE SHOULDER"),
            d.Leader((window[0] + 4, beam[3]), "TIE AT EVERY JOIST"),
        )

    return Detail(
        "Beam in notched post",
        cropped(work, window),
        "section",
        annotate,
        lambda stage, scale: [item for z in levels for item in _bolt(*faces, z)],
        _elsewhere(stage),
        open_sides="lrb" if window[1] > box[1] - 1 else "lr",
    )


def _bolt(low: float, high: float, z: float) -> list:
    """A bolt through post and beam with a washer on either face, drawn, not modelled."""
    faces = [
        d.Line((x, z - _HALF_WASHER), (x, z + _HALF_WASHER), layer="S-JOIS-HNGR") for x in (low - 0.05, high + 0.05)
    ]
    return [d.Line((low - _PAST, z), (high + _PAST, z), layer="S-JOIS-HNGR"), *faces]


def _elsewhere(stage: Stage) -> str:
    """What the other posts of the deck's beams have."""
    whole = {p.id for line in stage.beams for p in line.posts if p.role == "post"} - set(stage.notched)
    return "POSTS UNDER A MITRE OF TWO BEAMS, OR UNDER A FLUSH BEAM: BEAM CAP." if whole else ""
