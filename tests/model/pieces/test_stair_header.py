"""Headers of stairs at rims beside the joists, that only a beam's end carries: the beam goes through and the header is
butted to it (common practice, no source). Decks are invented."""

from __future__ import annotations

import pytest
from test_board_ends import deck, faults

from plumbcut.model.measuring.loose_ends import tipping_headers
from plumbcut.model.structure.structure import analyse


@pytest.mark.parametrize("at", [6, 12, 20, 40])
@pytest.mark.parametrize("surface", [21, 66])
@pytest.mark.parametrize("plies", [2, 3])
def test_a_rim_with_a_stair_lies_on_its_beam(at, surface, plies):
    made = deck(
        {"width": 107, "depth": 95},
        {"surface": surface},
        frame={"joist_direction": "y", "beam_plies": plies, "joist": "2x6", "cantilever": 14},
        stair=[{"edge": "left", "width": 40, "at": at}],
        guard={"edges": []},
    )
    by = {p.id: p for p in made.parts}
    rims = [p for p in made.roles("rim") if p.edge == "left"]
    assert all("beam" in {by[k].role for k in p.carried_by} for p in rims)
    assert [m.trouble for m in analyse(made).path.members if m.trouble] == []
    assert faults(made) == [] and made.clashes == []
    beams = {p.id for p in made.roles("beam")}
    butted = [c for c in made.contacts if c.a.role == "stair header" and c.id_b in beams]
    over = any(p.box[0, 1] < 95 - at and p.box[1, 1] > 95 - at - 40 for p in made.roles("beam") if p.stair is None)
    assert bool(butted) == over and all(c.kind == "end" for c in butted)


def test_a_joist_that_a_rounded_corner_lets_touch_the_room_of_the_cleats_takes_none_of_them():
    """Corners turned by 16 degrees and given to four places: a joist along the rim of a reflex edge reaches behind the
    rim by less than a hair, and the header hangs on its cleats all the same."""
    points = [[0, 0], [94.2478, 26.8578], [113.158, -39.5003], [279.5343, 7.912], [224.9964, 199.2928]]
    edges = ["left front", "inner", "front", "right", "back", "left"]
    made = deck(
        {"points": [*points, [-35.6278, 125.0226]], "edges": edges, "house": ["back"]},
        {"surface": 64},
        stair=[{"edge": "inner", "width": 48}],
    )
    assert all(len(p.carried_by) > 1 for p in made.roles("stair header"))
    assert faults(made) == []


@pytest.mark.parametrize("wide, posts", [(42, 2), (60, 3), (110, 4)])
def test_posts_under_a_cross_piece_stand_at_most_four_feet_apart(wide, posts):
    """The stock practice row `posts under a cross piece of a stair` (common practice, no source)."""
    made = deck({"width": 190, "depth": 120}, {"surface": 104}, stair=[{"edge": "front", "width": wide}])
    (piece,) = [p for p in made.roles("beam") if "cross piece" in p.where]
    assert len(piece.carried_by) == posts


def test_the_header_of_a_landing_ends_above_the_footing_beside_its_flight():
    """The footing under the landing's post comes up beside the flight, higher than the header's end by half an inch:
    the board is ripped to that, not cut short of the post that it is held by."""
    made = deck(
        {"width": 130, "depth": 90},
        {"surface": 44},
        frame={
            "support": "free-standing",
            "joist": "2x6",
            "joist_spacing": 12,
            "post": "4x4",
            "footing": {"shape": "round", "above_grade": 10},
        },
        stair=[
            {
                "edge": "front",
                "at": 40,
                "width": 42,
                "rise": 7,
                "going": 10.5,
                "landings": [{"after_risers": 3, "turn": "left", "depth": 48}],
            }
        ],
    )
    (header,) = [p for p in made.parts if p.role == "stair header" and "landing" in p.where]
    assert header.box[0, 2] == pytest.approx(10.0)
    between = sorted(p.box[:, 1].tolist() for p in made.parts if p.role == "post" and "landing" in p.where)
    assert any(abs(a[1] - header.box[0, 1]) < 1e-6 for a in between)
    assert any(abs(a[0] - header.box[1, 1]) < 1e-6 for a in between)
    assert tipping_headers(made.parts, made.touching) == []
