"""Box steps: frames one on the other, measured on the solids. The deck and its sizes are invented; how such steps are
framed is common practice, no source."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from stair_deck import layout_with, stair_parts

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.rules.checks import check_deck
from plumbcut.shared.errors import DesignError

FILE = {
    "outline": {"width": 168, "depth": 150},
    "levels": {"surface": 21},
    "stair": [{"edge": "front", "kind": "box", "width": 62}],
}


def frames(level: float, **stair):
    parts = stair_parts(layout_with(level, {"kind": "box", "width": 62, **stair}))
    return [p for p in parts if p.role == "step frame"]


def test_each_frame_reaches_back_to_the_deck_and_stands_on_the_next():
    """Three risers of 7 in: with treads 1 in thick the lower frame is 6 in high, the upper 7 in; 10-1/2 in goings, the
    fronts behind the risers' boards."""
    found = frames(21)
    by_step = {k: [p for p in found if p.step == k] for k in (1, 2)}
    for k, (low, high, front) in {1: (6, 13, 10.5), 2: (0, 6, 21.0)}.items():
        box = [p.box for p in by_step[k]]
        assert min(b[0, 2] for b in box) == pytest.approx(low) and max(b[1, 2] for b in box) == pytest.approx(high)
        assert max(b[1, 1] for b in box) == pytest.approx(0.0)  # at the rim's face, y = 0
        # from the face: the surface's overhang of 1-3/4 in, a nosing of 1 in, a board of 3/4 in
        assert min(b[0, 1] for b in box) == pytest.approx(-(front + 1.75 - 1.0 - 0.75))
        across = sorted((p for p in by_step[k] if abs(p.place.x[1]) > 0.9), key=lambda p: p.box[0, 0])
        middles = [(p.box[0, 0] + p.box[1, 0]) / 2 for p in across]
        assert max(b - a for a, b in itertools.pairwise(middles)) <= 12 + 1e-6
        assert across[0].box[0, 0] == pytest.approx(68) and across[-1].box[1, 0] == pytest.approx(130)
    assert not [p for p in stair_parts(layout_with(21, {"kind": "box"})) if p.role in ("stringer", "stair header")]


def test_rules_read_box_steps_as_they_read_stringers():
    deck = build(Parameters.model_validate(FILE))
    rows = {r.rule: r for r in check_deck(deck) if r.rule in ("rise", "going (run)", "rises alike", "nosing, least")}
    assert {k: round(float(r.measured), 6) for k, r in rows.items()} == {
        "rise": 7,
        "going (run)": 10.5,
        "rises alike": 0,
        "nosing, least": 1,
    }
    assert not [r.rule for r in check_deck(deck) if r.result == "not met"]
    for p in deck.roles("step frame"):
        assert p.carried_by and {deck.by_id[i].role for i in p.carried_by} <= {"pad", "step frame"}


@pytest.mark.parametrize(
    "level, stair, key, would_do",
    [
        (29, {}, "stair.0.kind", "stringers"),
        (21, {"landings": [{"after_risers": 1}]}, "stair.0.kind", "stringers"),
        (30, {"rise": 15}, "stair.0.rise", 11.25),
    ],
)
def test_what_nobody_builds_as_boxes_is_refused_with_what_would_do(level, stair, key, would_do):
    with pytest.raises(DesignError) as refused:
        layout_with(level, {"kind": "box", **stair})
    assert refused.value.key == key and (key, would_do) in refused.value.values


def test_posts_of_a_beam_under_the_edge_stand_clear_of_the_frames():
    """A beam right under the edge that the steps leave: its posts are wider than it and would stand out past the edge,
    where the frames come up to it. On a deck turned against its joists each edge has a beam."""
    angle = np.radians(35)
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    points = np.array([[0, 0], [128, 0], [128, 101], [0, 101]]) @ turn.T
    deck = build(
        Parameters.model_validate(
            {
                "outline": {"points": points.tolist(), "edges": ["front", "right", "back", "left"], "house": []},
                "levels": {"surface": 22},
                "frame": {"support": "free-standing", "cantilever": 0, "joist_direction": "y"},
                "stair": [{"edge": "left", "kind": "box", "width": 96}],
            }
        )
    )
    (left,) = [r for r in deck.layout.runs if r.edge == "left"]
    assert not left.flush and any("Beams stand further in" in str(n) for n in deck.notes)
    assert not deck.clashes
