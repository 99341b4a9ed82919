"""Sheets and cards of decks with flush beams: the joists hung on them, their posts or bare bases (figures by hand)."""

from __future__ import annotations

from functools import cache

import pytest

from plumbcut.exports.cards import frame_marks
from plumbcut.exports.drafting.drawing import Dimension, DrawingSet, Leader, Polyline, Text
from plumbcut.exports.sheets import framing_plan, sections
from plumbcut.exports.sheets.hardware import framing_notes
from plumbcut.exports.sheets.stage import Stage
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.order.takeoff import take_off

HEXAGON = [[120, 0], [60, 103.92], [-60, 103.92], [-120, 0], [-60, -103.92], [60, -103.92]]
DECKS = {
    "free-standing, a beam between": {
        "outline": {"width": 260, "depth": 246},
        "levels": {"surface": 13},
        "frame": {"support": "free-standing"},
    },
    "hexagon": {
        "outline": {"points": HEXAGON, "house": []},
        "levels": {"surface": 50},
        "frame": {"support": "free-standing", "beam_position": "flush"},
    },
    "octagon": {
        "outline": {
            "points": [[150, 0], [106, 106], [0, 150], [-106, 106], [-150, 0], [-106, -106], [0, -150], [106, -106]],
            "house": [],
        },
        "levels": {"surface": 15},
        "frame": {"support": "free-standing", "beam_position": "flush"},
        "surface": {"border": {"courses": 0}, "board_length": 288},
    },
    "small octagon": {
        "outline": {
            "points": [[59, 24], [24, 59], [-24, 59], [-59, 24], [-59, -24], [-24, -59], [24, -59], [59, -24]],
            "house": [],
        },
        "levels": {"surface": 12},
        "frame": {"support": "free-standing", "joist": "2x6", "post": "8x8", "beam_position": "flush"},
    },
    "rims that hang on a beam": {
        "outline": {"width": 222, "depth": 135},
        "levels": {"surface": 12},
        "frame": {"rim_plies": 3},
        "stair": [{"edge": "front", "at": 0, "width": 36}],
    },
    "ledger, on bases": {"outline": {"width": 210, "depth": 134}, "levels": {"surface": 12}},
}


@cache
def stage_of(name: str) -> Stage:
    deck = build(Parameters.model_validate(DECKS[name]))
    return Stage(deck, measure_all(deck.parts), (), "ARCH B", False, DrawingSet())


def test_joists_are_marked_on_both_faces_of_a_flush_beam_between():
    """Its ends butt on the side rims, 3 in in; joists at 16 in on centre from the rim's outer face: the near face of
    the first is 16 - 0.75 - 3 = 12-1/4 in from the beam's end."""
    stage = stage_of("free-standing, a beam between")
    beams = [c for c in frame_marks.carriers(stage) if c.role == "beam"]
    assert sorted(c.face for c in beams) == [", LOWER FACE", ", UPPER FACE"]
    for c in beams:
        middle = c.line.middle
        # two are doubled under the joints of the boards: a face within a joist's thickness of the one before
        faces = [a for a, _, _ in c.joists]
        first = [a for k, a in enumerate(faces) if k == 0 or a - faces[k - 1] > 1.5 + 1e-6]
        assert len(faces) == 17 and first == pytest.approx([12.25 + 16 * k for k in range(15)])
        assert {(j.box[:, 1].mean() > middle) for _, _, j in c.joists} == {c.face == ", UPPER FACE"}


@pytest.mark.parametrize("name", DECKS)
def test_every_joist_of_the_deck_is_marked_on_all_it_hangs_on(name):
    stage = stage_of(name)
    marked = {(p.id, j.id) for c in frame_marks.carriers(stage) for _, _, j in c.joists for p in c.line.plies}
    for j in stage.of("joist"):
        for i in j.carried_by:
            if next(p for p in stage.parts if p.id == i).role in ("beam", "rim", "ledger"):
                assert (i, j.id) in marked, (i, j.id)


@pytest.mark.parametrize("name", DECKS)
def test_the_plan_shows_and_notes_as_many_hangers_as_are_bought(name):
    stage = stage_of(name)
    count = {h.item: h.count for h in take_off(stage.deck, stage.measured_rows).hardware}
    # of two joists side by side each is drawn, and one hanger as wide as both bought
    bought = count["joist hanger"] + 2 * count.get("doubled joist hanger", 0)
    hung = {p.mark for p in stage.of("joist", "rim")}
    seats = [
        i
        for i in framing_plan.hangers(stage)
        if isinstance(i, Polyline) and i.layer == "S-JOIS-HNGR" and i.mark.split("-")[0] in hung
    ]
    assert len(seats) == bought
    note = " ".join(framing_notes(stage))
    on = "A LEDGER, FLUSH BEAM OR HEADER" if stage.of("ledger") else "A FLUSH BEAM OR HEADER"
    assert f"JOIST HANGERS AT EVERY JOIST END ON {on}" in note


@pytest.mark.parametrize("name", DECKS)
def test_the_note_and_the_plan_give_the_joists_spacing(name):
    """Also where every joist hangs on other rims than the next, and is a group of its own."""
    stage = stage_of(name)
    assert 'AT 16" ON CENTRE' in " ".join(framing_notes(stage))
    stage.refs.update({f"frame section {n}": ("1", "S-301") for n in range(4)})
    items = [i for p in framing_plan.build(stage).viewports for i in p.view.items]
    assert any('JOISTS @ 16" O.C.' in i.text for i in items if isinstance(i, Text | Leader))
    seats = "THEY BEAR ON POST BASES." if not stage.of("post") else "BEAM CAP ON EVERY POST."
    assert seats in " ".join(framing_notes(stage))


def test_a_plan_where_no_two_joists_lie_on_the_same_rims_is_drawn_with_their_spacing():
    points = [[59, 24], [24, 59], [-24, 59], [-59, 24], [-59, -24], [-24, -59], [24, -59], [59, -24]]
    file = {
        "outline": {"points": points, "house": []},
        "levels": {"surface": 12},
        "frame": {"support": "free-standing", "joist": "2x6", "post": "8x8"},
    }
    deck = build(Parameters.model_validate(file))
    stage = Stage(deck, measure_all(deck.parts), (), "ARCH B", False, DrawingSet())
    assert len(stage.groups[0].joists) < 3
    stage.refs.update({f"frame section {n}": ("1", "S-301") for n in range(4)})
    items = [i for p in framing_plan.build(stage).viewports for i in p.view.items]
    assert any('JOISTS @ 16" O.C.' in i.text for i in items if isinstance(i, Text | Leader))
    assert any("O.C. TYP." in i.suffix or "@ 1'-4\"" in i.prefix for i in items if isinstance(i, Dimension))


@pytest.mark.parametrize("name", ["ledger, on bases"])
def test_a_beam_on_bare_bases_is_set_out_by_their_centres(name):
    stage = stage_of(name)
    assert not stage.of("post")
    bases = {round(float(p.box[:, 0].mean()), 6) for p in stage.of("post base")}
    stations = {round(s, 6) for line in stage.beams for s in line.stations}
    assert len(bases) == 4 and stations == bases
    assert stage.beams[0].text == "(2) 2x8"


def test_the_section_names_beams_of_both_kinds_by_their_own_stock():
    deck = build(
        Parameters.model_validate(
            {
                "outline": {"width": 230, "depth": 226},
                "levels": {"surface": 50},
                "frame": {"beam_line_position": {"between": "flush"}},
            }
        )
    )
    stage = Stage(deck, measure_all(deck.parts), (), "ARCH B", False, DrawingSet())
    named = {p.id: stage.beam_text(p) for p in stage.of("beam")}
    assert {named[p.id] == f"(2) {p.stock.name}" for p in stage.of("beam")} == {True}
    assert [b.text for b in stage.flush_beams] == ["(2) 2x8"]
    stage.refs.update({f"frame section {n}": ("1", "S-301") for n in range(4)})
    sheets = sections.build(stage)
    words = " ".join(i.text for s in sheets for p in s.viewports for i in p.view.items if isinstance(i, Leader))
    assert "(2) 2x10 BEAM" in words and "(2) 2x8 BEAM" in words
