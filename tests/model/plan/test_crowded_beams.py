"""A cantilever that leaves no room for one beam between its neighbours: that beam and they come nearer to their edges,
the others stay as the file says, and a note and a row say so. Outlines are invented."""

from __future__ import annotations

import numpy as np
import pytest

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.deck import build
from plumbcut.model.design.advised import checked_with_mends
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.plan.beam_lines import LEAST_BEAM, STEP_NEARER
from plumbcut.model.plan.joist_spans import spans
from plumbcut.model.plan.layout import lay_out
from plumbcut.model.plan.long_spans import allowed_joist_span
from plumbcut.model.plan.seats import shortest_braced
from plumbcut.model.rules.check_cantilever import CANTILEVER_GIVEN, check_cantilever
from plumbcut.model.rules.check_result import Checking
from plumbcut.model.rules.check_solids import check_solids

# a bay of three sides, the middle one short, and a straight wing beside it
POINTS = [[0, 40], [40, 10], [64, 10], [104, 40], [190, 40], [190, 170], [0, 170]]
NAMES = ["slant", "middle", "second slant", "wing", "right", "back", "left"]
NEAR = {"slant", "middle", "second slant"}


def built(middle: float = 24.0, **frame):
    points = [[x - 24 + middle if 60 < x < 150 else x, y] for x, y in POINTS]
    file = {
        "outline": {"points": points, "edges": NAMES, "house": ["back"]},
        "levels": {"surface": 60},
        "frame": {"joist": "2x8", "joist_direction": "y", "joist_spacing": 12, **frame},
        "guard": {"edges": []},
        "surface": {"border": {"courses": 0}},
    }
    return build(Parameters.model_validate(file))


def set_backs(deck) -> dict[str, float]:
    """Of each edge with a beam behind it: from the edge to the beam's outer face, on the solids."""
    found: dict[str, float] = {}
    for beam in deck.roles("beam"):
        edge = deck.layout.outline[beam.edge]
        ring = np.asarray(beam.shape.outline)
        m = beam.place.matrix
        for z in (0.0, beam.shape.thickness):
            world = np.c_[ring, np.full(len(ring), z)] @ m[:3, :3].T + m[:3, 3]
            inside = min(edge.position(q)[1] for q in world[:, :2])
            found[beam.edge] = min(found.get(beam.edge, np.inf), inside)
    return found


def rows(deck):
    c = Checking(deck, measure_all(deck.parts))
    check_cantilever(c)
    return c.results


def test_a_beam_without_room_comes_nearer_and_its_neighbours_with_it():
    """Between sides at 3 in 4 a line c inside all three is shorter than the middle edge, 24 in, by 2 c tan(18.43) = 2 c
    / 3: its inner ply, 3 in further in on its far face, is `LEAST_BEAM` long on the mean of its faces."""
    deck = built(cantilever=24)
    backs = set_backs(deck)
    assert backs["wing"] == pytest.approx(24, abs=1e-6)
    most = (24 - LEAST_BEAM) * 3 / 2 - 2.25
    expected = 24 - STEP_NEARER * np.ceil((24 - most) / STEP_NEARER - 1e-9)
    assert {e: backs[e] for e in NEAR} == pytest.approx(dict.fromkeys(NEAR, expected), abs=1e-6)
    c = Checking(deck, measure_all(deck.parts))
    check_solids(c)
    assert [r.rule for r in c.results if r.result == "not met"] == []


def test_what_came_nearer_is_said_in_a_note_and_in_a_row_measured_on_the_solids():
    deck = built(cantilever=24)
    backs = set_backs(deck)
    assert {(r.place, r.result) for r in rows(deck)} == {(f"beam behind the {e} edge", "not met") for e in NEAR}
    assert all(
        r.rule == CANTILEVER_GIVEN and r.measured == pytest.approx(backs["middle"], abs=1e-6) for r in rows(deck)
    )
    note = next(worded(n) for n in deck.notes if "no room as far in" in worded(n))
    assert all(f"{e} edge" in note for e in NEAR) and "wing" not in note


def test_where_there_is_room_nothing_is_said():
    deck = built(cantilever=10)
    assert set_backs(deck) == pytest.approx(dict.fromkeys((*NEAR, "wing"), 10), abs=1e-6)
    assert rows(deck) == [] and not any("no room as far in" in worded(n) for n in deck.notes)


def test_the_default_is_no_value_of_the_file_that_a_row_could_hold_against_it():
    deck = built(middle=18)
    assert set_backs(deck)["middle"] < deck.parameters.frame.cantilever - STEP_NEARER / 2
    assert rows(deck) == [] and any("no room as far in" in worded(n) for n in deck.notes)


def test_a_cantilever_that_was_chosen_is_no_value_of_the_file_either():
    """What was chosen is known by its key: no wording of a note makes or unmakes a row."""
    deck = built(cantilever=24)
    deck.notes.append("frame.cantilever chosen: by hand")
    assert len(rows(deck)) == len(NEAR)
    deck.chosen = frozenset({"cantilever"})
    assert rows(deck) == []


def test_a_stair_s_cross_piece_is_no_beam_behind_the_edge():
    """A long flight has a cross piece half way down, far outside the edge that it leaves."""
    file = {
        "outline": {"width": 150, "depth": 110},
        "levels": {"surface": 126},
        "frame": {"cantilever": 10},
        "stair": [{"edge": "left", "width": 40}],
    }
    made = build(Parameters.model_validate(file))
    assert any(p.role == "beam" and p.stair is not None for p in made.parts)
    c = Checking(made, measure_all(made.parts))
    check_cantilever(c)
    assert c.results == []


BAY = [(0, 0), (56, 0), (89.5, -47), (157, -47), (190.5, 0), (246.5, 0), (246.5, 132), (0, 132)]


def test_joists_that_end_on_a_doubled_rim_over_its_beam_are_carried_by_it():
    """Two plies of rim over two plies of beam: no joist lies on that beam, yet all span from it."""
    frame = {"cantilever": 0, "rim_plies": 2}
    file = {"outline": {"points": BAY, "house": ["e7"]}, "levels": {"surface": 36}, "frame": frame}
    layout = lay_out(Parameters.model_validate(file))
    found = [spans(layout, piece, layout.runs) for _, piece in layout.joist_lines]
    assert all(found)  # none without a span
    assert [r.where for r in layout.runs].count("between the supports") == 1  # over the 142 in of 2x8 at 16 in
    over = [hi - lo for each in found for lo, hi in each if hi - lo > allowed_joist_span(layout)]
    assert len(over) <= 2  # beside the corners of the bay, where the beam that is added ends


def test_a_post_that_a_beam_too_short_for_braces_shares_stands_square_to_the_other():
    points = [(0, 137.5), (-225.5, 137.5), (-225.5, 0), (-159.5, 0), (-127, -31), (-98.5, -31), (-66, 0), (0, 0)]
    file = {"outline": {"points": points, "house": ["e1"]}, "levels": {"surface": 64}, "frame": {"joist_spacing": 12}}
    layout = lay_out(Parameters.model_validate(file))
    short = next(r for r in layout.runs if r.edge == "e5")
    assert short.length < shortest_braced(layout)
    assert not short.posts  # both belong to the beams beside it, and stand square to these
    for edge in ("e4", "e6"):
        run = next(r for r in layout.runs if r.edge == edge)
        at = [run.position(q) for q in run.posts]
        assert any(min(x, run.length - x) < 1e-6 for x in at)
    braced = {r.rule: r.result for r in checked_with_mends(build(Parameters.model_validate(file)))}
    assert braced["diagonal bracing"] == "met"
