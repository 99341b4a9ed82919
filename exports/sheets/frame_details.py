"""Details of the frame: beam on post, post on footing, knee brace."""

from __future__ import annotations

from dataclasses import dataclass

from ...model.measuring.braces_seen import BraceSeen, braces_seen
from ...model.solid.part import Part
from ..drafting import drawing as d
from ..linework.eye import Eye
from ..linework.views import project
from . import in_plan
from .crop import cropped
from .detail import Detail, names, note
from .ground import ground_items
from .hardware import bolt as bolt_told
from .hardware_shapes import base, bolt, cap, hanger, tie
from .notched_details import beam_in_post
from .pens import name_of
from .sections import cut_boxes, frame_work, merged
from .stage import Stage
from .strings import Strings


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
    window = (mid - 10, max(post[3] - 7, post[1] - 1), mid + 10, stage.surface_top + 1)

    flush = beam[3] > stage.frame_top - 0.1
    joist = next((l.part for l in work.lines if l.part.role == "joist" and l.kind == "seen"), None)
    low = beam[3] if joist is None else float(joist.box[0, 2])

    def before(stage, scale):
        out = cap(beam, post, scale)
        for face, side in ((beam[2], 1.0), (beam[0], -1.0)) if flush else ((beam[2], 1.0),):
            out += hanger(face, side, low, beam[3], scale) if flush else tie(face, side, beam[3], scale)
        return out

    def annotate(stage, view, work):
        strings = Strings(view, work.box, 0.3, spacing=stage.string_spacing)
        strings.chain("right", [(window[2], z) for z in (stage.surface_top, stage.frame_top, beam[3], post[3])])
        strings.chain("below", [(beam[0], window[1]), (beam[2], window[1])])
        strings.chain("below", [(post[0], window[1]), (post[2], window[1])])
        note(view, cut_boxes(work, "beam"), lambda p: f"{stage.beam_text(p)} BEAM, PLIES NAILED OR BOLTED TOGETHER")
        note(view, [(post, part)], f"{part.mark} {stage.stock(part.stock)} POST", (0.5, 0.9))
        view.add(names("beam cap", "BEAM CAP, BOTH SIDES, ALL FASTENERS IN", (post[0], post[3] - 1.5)))
        at = (beam[2] + 1.0, low if flush else beam[3] + 1.0)
        view.add(names(*(("joist hanger", "HANGER AT EVERY JOIST") if flush else ("tie", "TIE AT EVERY JOIST")), at))
        if joist is not None:
            tips = [(mid + s, (low + float(joist.box[1, 2])) / 2) for s in (7.0, -7.0)]
            told = f"{stage.stock(joist.stock)} JOISTS"
            view.add(d.Leader(tips[0], told, tips=tips[1:], mark=name_of(joist)))

    return Detail(
        "Beam on post",
        cropped(work, window),
        "section",
        annotate,
        before,
        "",
        open_sides="lrb" if post[3] - 7 > post[1] - 1 else "lr",
    )


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
    window = (foot[0] - 3, max(foot[3] - 16, foot[1] - 2), foot[2] + 3, min(post[1] + 14, post[3]))

    steel = any(p.role == "post base" for _, p in cut_boxes(work, "post base"))

    def before(stage, scale):
        left = ground_items(stage, ground, window[0] - 4, foot[0], scale)
        right = ground_items(stage, ground, foot[2], window[2] + 4, scale)
        for item in (*left, *right):
            item.thing = "grade" if item.layer == "C-TOPO" else ""
        return [*left, *right, *(base(post, foot[3], scale) if steel else ())]

    def annotate(stage, view, work):
        strings = Strings(
            view, (window[0] - 4, *work.box[1:2], window[2] + 4, work.box[3]), 0.3, spacing=stage.string_spacing
        )
        strings.chain("right", [(foot[2], z) for z in (post[1], foot[3], ground(mid))])
        round_ = part.shape.circle
        if not round_ or abs(foot[2] - foot[0] - 2 * round_) < 1 / 16:  # a chord is no diameter
            strings.chain("below", [(x, work.box[1]) for x in (foot[0], foot[2])], suffix=" DIA." if round_ else "")
        strings.chain("above", [(post[0], work.box[3]), (post[2], work.box[3])])
        deep = f"CONCRETE FOOTING, UNDERSIDE {stage.text(ground(mid) - foot[1])} BELOW GRADE"
        view.add(d.Leader((foot[0] + 2, foot[3] - 5), deep, mark=name_of(part)))
        up = (0.5, 0.3 * min(1.0, 14 / (post[3] - post[1])))
        note(view, [(post, post_part)], f"{post_part.mark} {stage.stock(post_part.stock)} POST", up)
        told = f"{bolt_told(stage, 'post-base anchor')} ANCHOR BOLT, CAST IN"
        view.add(  # of a post cast in, no base is drawn, and so none named
            names("post base", "STAND-OFF POST BASE, ALL FASTENERS IN", (post[2], post[1] + 2)),
            names("anchor bolt", told, (mid + 0.3, foot[3] - 4)),
            names("grade", "GRADE", (window[0] - 2, ground(window[0] - 2))),
        )

    return Detail(
        "Post on footing",
        cropped(work, window),
        "section",
        annotate,
        before,
        open_sides="b" + ("t" if post[3] > window[3] else ""),
    )


@dataclass(frozen=True)
class _Braced:
    """A brace seen square to its beam: the faces of its post, to which side of that it leads, where its axis leaves the
    post's face and the beam's underside."""

    seen: BraceSeen
    eye: Eye
    post: tuple[float, float]
    side: float

    @property
    def face(self) -> float:
        return self.post[1] if self.side > 0 else self.post[0]

    @property
    def under(self) -> float:
        """The beam's underside."""
        return float(self.seen.beams[0].box[0, 2])

    @property
    def ends(self) -> tuple[d.Point, d.Point]:
        return (self.face, self.under - self.seen.leg), (self.face + self.side * self.seen.leg, self.under)

    def window(self) -> d.Box:
        part, beam = self.seen.part, self.seen.beams[0]
        reach = in_plan.reach(part, self.eye.right[:2])
        us = sorted((self.face - self.side * 10, (reach[1] if self.side > 0 else reach[0]) + self.side * 6))
        return us[0], float(part.box[0, 2]) - 5, us[1], float(beam.box[1, 2]) + 1

    def near(self, stage: Stage) -> list[Part]:
        """What stands in the beam's plane, and the brace with its posts."""
        toward = self.eye.toward[:2]
        deep = [in_plan.reach(b, toward) for b in self.seen.beams]
        return [
            p
            for p in stage.deck_of("knee brace", "post", "beam", "rim")
            if p.id in {q.id for q in (self.seen.part, *self.seen.posts)}
            or any(in_plan.overlap(in_plan.reach(p, toward), b) > -1 for b in deep)
        ]


def _first_braced(stage: Stage) -> _Braced | None:
    seen = next((b for b in braces_seen(stage.deck_parts, stage.deck.contacts) if b.posts and b.beams), None)
    if seen is None:
        return None
    eye = Eye.looking(in_plan.square(in_plan.plan_axis(seen.beams[0])))
    post, own = (in_plan.reach(p, eye.right[:2]) for p in (seen.posts[0], seen.part))
    return _Braced(seen, eye, post, 1.0 if sum(own) > sum(post) else -1.0)


def knee_brace(stage: Stage) -> Detail | None:
    """The first knee brace from post to beam, seen square to both, with the screw at either end."""
    braced = _first_braced(stage)
    if braced is None:
        return None
    part, post, beam = braced.seen.part, braced.seen.posts[0], braced.seen.beams[0]
    side, (foot, head) = braced.side, braced.ends

    def before(stage, scale):
        ways = ((foot, (-side, 0.0)), (head, (0.0, 1.0)))
        ends = [[(x + u * t, z + v * t) for t in (-2.2, 2.5)] for (x, z), (u, v) in ways]
        return [item for a, b in ends for item in bolt(a, b, "lag screw", False)]

    def annotate(stage, view, work):
        strings = Strings(view, work.box, 0.3, spacing=stage.string_spacing)
        outer = ("left", work.box[0]) if side > 0 else ("right", work.box[2])
        strings.chain(outer[0], [(outer[1], z) for z in (head[1], foot[1])])
        strings.chain("below", [(x, work.box[1]) for x in (foot[0], head[0])])
        middle = ((foot[0] + head[0]) / 2, (foot[1] + head[1]) / 2)
        told = f"{stage.stock(part.stock)} KNEE BRACE AT 45 DEG., LEGS TO ITS AXIS"
        screw = f"{bolt_told(stage, 'brace lag screw')} LAG SCREW WITH A WASHER, EACH END"
        over = f"{stage.beam_text(beam)} BEAM" if beam.role == "beam" else f"{stage.stock(beam.stock)} RIM"
        view.add(
            d.Leader(middle, told, mark=name_of(part)),
            names("lag screw", screw, (foot[0] + side * 2, foot[1])),
            d.Leader((sum(braced.post) / 2, work.box[1] + 3), f"{stage.stock(post.stock)} POST", mark=name_of(post)),
            d.Leader((head[0] + side * 4, head[1]), over, mark=name_of(beam)),
        )

    work = cropped(project(braced.near(stage), braced.eye), braced.window())
    return Detail("Knee brace", work, "elevation", annotate, before, "", open_sides="lrb")
