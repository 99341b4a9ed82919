"""Beams at joist level and beams under the joists on one deck, line by line as the file says (`beam_line_position`).

Levels by hand: 2x8 joists 7-1/4 in, 2x10 beams 9-1/4 in (PS 20), boards 1 in.
"""

from __future__ import annotations

import pytest
from statics import comes_down_whole

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.bearing import hanging
from plumbcut.model.measuring.stands_on import in_ground
from plumbcut.model.rules.check_solids import OVERLAP
from plumbcut.model.rules.checks import check_deck
from plumbcut.model.structure.structure import analyse
from plumbcut.shared.errors import DesignError

DEEP = {"width": 230, "depth": 226}
HEXAGON = {"points": [[120, 0], [60, 103.92], [-60, 103.92], [-120, 0], [-60, -103.92], [60, -103.92]], "house": []}
STEPPED = {"points": [[0, 0], [177, 0], [177, 60], [290, 60], [290, 195], [0, 195]], "house": ["e5"]}
SLANTED = {"points": [[0, 40], [120, 0], [230, 60], [230, 260], [0, 260]], "house": ["e4"]}


def deck_of(outline=DEEP, surface=50.0, levels=None, stair=(), **frame):
    levels = {"surface": surface, **(levels or {})}
    return build(
        Parameters.model_validate({"outline": outline, "levels": levels, "frame": frame, "stair": list(stair)})
    )


CASES = {
    "edge flush, between under": ({"beam_line_position": {"front": "flush"}}, {"flush at the front edge"}),
    "edge under, between flush": ({"beam_line_position": {"between": "flush"}}, {"between the supports"}),
    "of two lines the second": ({"beam_lines": [14, 122], "beam_line_position": {"2": "flush"}}, {"beam line 2"}),
    "all but the first line": (
        {"beam_lines": [122], "beam_position": "flush", "beam_line_position": {"1": "under"}},
        {"flush at the front edge"},
    ),
    "an edge beside a line": (
        {"beam_lines": [122], "beam_line_position": {"front": "flush"}},
        {"flush at the front edge"},
    ),
    "free-standing, back flush": (
        {"support": "free-standing", "beam_line_position": {"back": "flush"}},
        {"flush at the back edge"},
    ),
    "spliced": (
        {"outline": {"width": 430, "depth": 250}, "beam_line_position": {"front": "flush"}},
        {"flush at the front edge"},
    ),
    "slope": ({"levels": {"slope_x": 0.06, "slope_y": 0.05}, "beam_line_position": {"between": "flush"}}, None),
    "stair": (
        {"stair": [{"edge": "front"}, {"edge": "left"}], "beam_line_position": {"front": "flush"}},
        {"flush at the front edge"},
    ),
    "hexagon, an edge": (
        {"outline": HEXAGON, "support": "free-standing", "beam_line_position": {"e6": "flush"}},
        {"flush at the e6 edge"},
    ),
    "hexagon, between": (
        {"outline": HEXAGON, "support": "free-standing", "beam_line_position": {"between": "flush"}},
        {"between the supports"},
    ),
    "stepped, one edge": ({"outline": STEPPED, "beam_line_position": {"e1": "flush"}}, {"flush at the e1 edge"}),
    "slanted, one edge": ({"outline": SLANTED, "beam_line_position": {"e1": "flush"}}, {"flush at the e1 edge"}),
}


@pytest.mark.parametrize("name", CASES)
def test_every_beam_lies_where_its_line_says_and_nothing_overlaps(name):
    frame, flush = CASES[name]
    deck = deck_of(**frame)
    runs = deck.layout.runs
    if flush is not None:
        assert {r.where for r in runs if r.flush} == flush
    assert any(r.flush for r in runs) and not all(r.flush for r in runs)
    assert not deck.clashes and not hanging(deck.parts)
    low, top = deck.planes.frame_bottom, deck.planes.frame_top
    flush_lines = {r.where for r in runs if r.flush}
    for p in deck.parts:
        if p.role == "beam":
            levels = (low, top) if p.where in flush_lines else (low - 9.25, low)
            assert p.box[:, 2].tolist() == pytest.approx(levels)
        if p.role == "post" and p.stair is None:
            assert p.box[1, 2] == pytest.approx(low if p.where in flush_lines else low - 9.25)
    assert not [p.id for p in deck.parts if p.role in ("joist", "beam", "rim") and not p.carried_by]
    rows = [r for r in check_deck(deck) if r.rule in (OVERLAP, "load path (calculation)")]
    assert rows and {r.result for r in rows} == {"met"}
    assert any("of" in str(n) and "beams are flush" in str(n) for n in deck.notes)


def test_the_load_of_a_mixed_deck_reaches_the_ground_and_the_house():
    comes_down_whole(deck_of(beam_line_position={"between": "flush"}))


def test_a_flush_beam_lies_on_the_beams_it_crosses():
    """From corner to corner of a hexagon it passes over the beams under the joists where they meet."""
    edges = dict.fromkeys(("e1", "e2", "e3", "e4", "e5", "e6"), "under")
    frame = {"beam_lines": [109], "beam_line_position": {"1": "flush", **edges}}
    deck = deck_of(HEXAGON, support="free-standing", **frame)
    assert not deck.clashes and len(deck.layout.runs) == 7
    low = deck.planes.frame_bottom
    on = {
        (c.a.id, c.b.id)
        for c in deck.contacts
        if c.kind == "bearing" and c.a.role == c.b.role == "beam" and c.z == pytest.approx(low)
    }
    assert len(on) >= 4
    by = {p.id: p for p in deck.parts}
    assert all(b in by[a].carried_by for a, b in on)
    assert not analyse(deck).path.notes


def test_only_the_rim_that_is_a_beam_has_its_plies():
    deck = deck_of(beam_line_position={"front": "flush"}, beam_plies=3)
    across = {e: {round(float(p.box[:, k].mean()), 3) for p in deck.parts if p.role == "rim" and p.edge == e}
              for e, k in (("front", 1), ("left", 0), ("right", 0))}  # fmt: skip
    assert {e: len(v) for e, v in across.items()} == {"front": 3, "left": 1, "right": 1}


def test_a_deck_too_low_turns_flush_but_for_the_lines_that_are_pinned():
    low = {"outline": {"width": 210, "depth": 226}, "surface": 13}
    assert deck_of(**low).layout.flush
    pinned = deck_of(**low, beam_line_position={"front": "under"})
    assert [r.flush for r in pinned.layout.runs if r.edge == "front"] == [False]
    assert in_ground(pinned.parts, pinned.planes.grade)  # drawn as asked for; the check says what lies in the ground
    mixed = deck_of(**low, beam_line_position={"front": "flush", "between": "flush"})
    assert all(r.flush for r in mixed.layout.runs)


@pytest.mark.parametrize(
    "frame, key, says",
    [
        ({"beam_line_position": {"left": "flush"}}, "frame.beam_line_position.left", "front, between"),
        ({"beam_lines": [14, 122], "beam_line_position": {"3": "flush"}}, "frame.beam_line_position.3", "front, 1, 2"),
        ({"beam_lines": [14], "beam_line_position": {"between": "flush"}}, "frame.beam_line_position.between", "1"),
        ({"beam_lines": [130, 132], "beam_line_position": {"2": "flush"}}, "frame.beam_lines.1", "overlaps"),
    ],
)
def test_a_line_that_is_not_there_is_refused_with_those_that_are(frame, key, says):
    with pytest.raises(DesignError, match=says) as refused:
        deck_of(**frame)
    assert refused.value.key == key


@pytest.mark.parametrize("depth", range(200, 300, 26))
@pytest.mark.parametrize("position", [{"beam_position": "flush"}, {"beam_line_position": {"between": "flush"}}])
def test_a_flush_beam_between_gives_way_to_guard_posts(depth, position):
    deck = deck_of({"width": 230, "depth": depth}, **position)
    assert [p for p in deck.parts if p.role == "guard post"] and not deck.clashes


def test_a_given_flush_beam_in_a_guard_post_is_refused_with_a_place_that_would_do():
    posts = [p.box[:, 1].mean() for p in deck_of().parts if p.role == "guard post" and p.edge == "left"]
    at = float(min(posts, key=lambda y: abs(y - 113)))
    lines = {"beam_line_position": {"1": "flush", "front": "under"}}
    with pytest.raises(DesignError) as refused:
        deck_of(beam_lines=[at], **lines)
    assert refused.value.key == "frame.beam_lines.0"
    place = float(str(refused.value).split("; ")[1].split(" in ")[0])
    assert abs(place - at) < 4 and not deck_of(beam_lines=[place], **lines).clashes


def test_beams_of_both_kinds_keep_stocks_of_their_own():
    """A flush beam is of the joists' stock, the beam under them of the file's, also where it is given."""
    deck = deck_of(beam="2x12", beam_line_position={"between": "flush"})
    assert {p.stock.name for p in deck.parts if p.role == "beam"} == {"2x8", "2x12"}
    with pytest.raises(DesignError, match="as deep as the joists"):
        deck_of(beam="2x12", beam_position="flush")
