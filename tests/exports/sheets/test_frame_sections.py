"""Where the frame's sections are cut and what they tell of what is cut beside its middle or askew. Decks and sizes are
invented."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from plumbcut.exports.drafting import drawing as d
from plumbcut.exports.sheets import sections
from plumbcut.exports.sheets.in_plan import reach, square
from plumbcut.exports.sheets.stage import Stage
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all

HEXAGON = [[110, 0], [55, 95.25], [-55, 95.25], [-110, 0], [-55, -95.25], [55, -95.25]]
DECKS = {
    "hexagon": {"outline": {"points": HEXAGON, "house": []}, "levels": {"surface": 36}},
    "long beam": {  # its plies meet over posts
        "outline": {"width": 420, "depth": 150, "house": ["back"]},
        "levels": {"surface": 40},
        "frame": {"joist": "2x10"},
    },
    "two depths": {  # fewer joists, but longer ones, at the right
        "outline": {"points": [[0, 0], [216, 0], [216, -62], [312, -62], [312, 84], [0, 84]], "house": ["e5"]},
        "levels": {"surface": 40},
        "frame": {"joist": "2x12"},
    },
}


@cache
def stage_of(name: str) -> Stage:
    deck = build(Parameters.model_validate(DECKS[name]))
    stage = Stage(deck, measure_all(deck.parts), (), "ARCH B", False, d.DrawingSet())
    stage.refs.update({f"frame section {n}": (str(n + 1), f"S-{301 + n}") for n in range(4)})
    return stage


@cache
def views(name: str) -> list[d.View]:
    return [s.viewports[0].view for s in sections.build(stage_of(name))]


@pytest.mark.parametrize("name", DECKS)
def test_a_chord_of_a_round_footing_is_no_diameter(name):
    whole = [2 * p.shape.circle for p in stage_of(name).of("footing") if p.shape.circle]
    told = [abs(i.b[0] - i.a[0]) for v in views(name) for i in v.items if type(i) is d.Dimension and "DIA" in i.suffix]
    assert told and all(any(abs(t - w) < 1 / 16 for w in whole) for t in told)


def test_what_is_cut_of_a_beam_on_the_skew_is_not_its_width():
    """The hexagon's beams along its slants: named so, and no figure from face to face."""
    stage, found = stage_of("hexagon"), 0
    for plane, view in zip(sections.frame_planes(stage), views("hexagon")):
        look = np.asarray(plane.direction)
        skew = [b for b, p in sections.cut_boxes(sections.plane_work(stage, plane), "beam") if _turn(p, look) < 0.99]
        level = [i for i in view.items if type(i) is d.Dimension and not i.angle]
        for box in sections.merged(skew):
            found += 1
            assert not [i for i in level if abs(i.a[0] - box[0]) < 0.01 and abs(i.b[0] - box[2]) < 0.01]
        if skew:
            assert any("CUT ON THE SKEW" in i.text for i in view.items if type(i) is d.Leader)
    assert found


def _turn(beam, look: np.ndarray) -> float:
    """The cosine between a beam, along its own solid, and the way a section looks."""
    return abs(float(np.asarray(beam.place.x[:2]) @ look))


@pytest.mark.parametrize("name", DECKS)
def test_a_section_is_cut_off_the_joints_of_plies(name):
    """A ply that ends in the plane would show one ply as the whole beam."""
    stage = stage_of(name)
    for plane in sections.frame_planes(stage):
        n = square(plane.group.axis)
        at = float(np.dot(plane.through, n))
        ends = [s for p in stage.deck_of("beam") if abs(float(p.place.x[:2] @ n)) > 0.99 for s in reach(p, n)]
        assert ends and min(abs(at - e) for e in ends) > 0.2


def test_the_first_section_is_where_joists_span_the_most_and_each_is_cut_once():
    stage = stage_of("two depths")
    spans = [max(b - a for a, b in p.group.spans) for p in sections.frame_planes(stage)]
    longest = max(b - a for g in stage.groups for a, b in g.spans)
    assert len(stage.groups[0].joists) > len(sections.frame_planes(stage)[0].group.joists)
    assert spans[0] == pytest.approx(longest) and len(spans) > 1
    assert all(abs(a - b) > 6 for k, a in enumerate(spans) for b in spans[:k])
