"""Every refusal names a value that would do, in one wording: put into the file, the design is drawn.

Each row is a file that provokes one refusal, by hand; what is tried is the message alone, as a builder reads it.
"""

import pytest
from mending import mended
from pydantic import ValidationError

from plumbcut.model import deck
from plumbcut.model.as_built.check_survey import check_survey
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.pieces import bound
from plumbcut.model.plan.layout import lay_out
from plumbcut.shared.errors import DesignError


def file(**sections) -> dict:
    return {"outline": {"width": 150, "depth": 110}, "levels": {"surface": 40}, **sections}


def survey(**sides: float) -> dict:
    """Sides of the deck as measured."""
    return file(survey={"side": [{"edge": name, "top": top} for name, top in sides.items()]})


def stair(**keys) -> dict:
    return {"stair": [{"edge": "front", **keys}]}


PLAN = {
    "more names than edges": file(
        outline={"width": 150, "depth": 110, "edges": ["a", "b", "c", "d", "e"], "house": ["c"]}
    ),
    "a name twice": file(outline={"width": 150, "depth": 110, "edges": ["a", "b", "c", "b"], "house": ["c"]}),
    "clockwise": file(outline={"points": [[0, 0], [0, 110], [150, 110], [150, 0]], "house": ["e2"]}),
    "an outline that crosses itself": file(outline={"points": [[0, 0], [150, 110], [150, 0], [0, 110]]}),
    "corners out of order": file(outline={"points": [[0, 0], [150, 0], [0, 110], [150, 110], [190, 40]]}),
    "an overhang at no edge": file(surface={"edge_overhang": {"left": 0.5, "north": 1.25}}),
    "three landings past the ground": file(
        levels={"surface": 14}, **stair(landings=[{"after_risers": n, "turn": "left"} for n in (9, 12, 15)])
    ),
    "two landings of which one is at the ground": file(
        **stair(landings=[{"after_risers": n, "turn": "left"} for n in (3, 6, 12)])
    ),
    "a position of no beam line": file(frame={"beam_line_position": {"front": "flush", "north": "under"}}),
    "a house edge that is none": file(outline={"width": 150, "depth": 110, "house": ["north"]}),
    "a short edge": file(outline={"points": [[0, 0], [150, 0], [150, 106], [147, 110], [0, 110]], "house": ["e1"]}),
    "a narrow neck": file(
        outline={
            "points": [[0, 0], [100, 0], [100, 60], [54, 60], [54, 64], [100, 64], [100, 120], [0, 120], [0, 64]]
            + [[46, 64], [46, 60], [0, 60]]
        }
    ),
    "a short edge with a name, at the house": file(
        outline={
            "points": [[0, 0], [150, 0], [150, 106], [147, 110], [0, 110]],
            "edges": ["front", "right", "cut", "back", "left"],
            "house": ["cut", "back"],
        }
    ),
    "a strip for a deck": file(outline={"width": 150, "depth": 4}),
    "two faults": file(frame={"beam_lines": [60, 400]}, surface={"breakers": [400]}),
    "a ledger without a house": file(outline={"width": 150, "depth": 110, "house": []}, frame={"support": "ledger"}),
    "a flush beam of its own": file(frame={"beam_position": "flush", "beam": "2x10"}),
    "too narrow for its border": file(
        outline={"width": 150, "depth": 30, "house": []}, surface={"border": {"courses": 4}}
    ),
    "a beam that is not under the deck": file(frame={"beam_lines": [60, 400]}),
    "a beam in another": file(frame={"beam_lines": [60, 61]}),
    "a breaker off the deck": file(surface={"breakers": [400]}),
    "a breaker in another": file(surface={"breakers": [70, 72]}),
    "a slot between two breakers": file(surface={"breakers": [70, 77]}),
    "boards along the joists": file(frame={"joist_direction": "x"}, surface={"direction": 0}),
    "an edge kept whole that is none": file(order={"whole_edge": "north"}),
    "a guard on no edge": file(guard={"edges": ["north"]}),
    "a guard at the house": file(guard={"edges": ["back"]}),
    "a stair on no edge": file(stair=[{"edge": "north"}]),
    "a stair at the house": file(stair=[{"edge": "back"}]),
    "a stair off its edge": file(**stair(at=140)),
    "a stair over another": file(stair=[{"edge": "front", "at": 20}, {"edge": "front", "at": 40}]),
    "a landing above the one before": file(
        levels={"surface": 90}, **stair(landings=[{"after_risers": 4}, {"after_risers": 3}])
    ),
    "a landing below the ground": file(**stair(landings=[{"after_risers": 9}])),
    "a bordered tread between solid stringers": file(**stair(stringer_kind="solid", tread="bordered")),
    "a nosing too wide": file(**stair(nosing=6, going=4)),
    "ground above the surface at the foot": file(levels={"surface": 11, "slope_y": -1.0}, **stair()),
    "ground that falls as the stair does": file(levels={"surface": 40, "slope_y": 0.75}, **stair()),
    "a landing too narrow for its posts": file(
        levels={"surface": 120}, **stair(width=10, landings=[{"after_risers": 7}])
    ),
    "a square pad too shallow": file(levels={"surface": 8}, frame={"footing": {"shape": "square", "depth": 12}}),
    "a notch through the post": file(
        levels={"surface": 60}, frame={"beam_seat": "notched post", "post": "4x4", "beam_plies": 3}
    ),
}

PIECES = {
    "a guard post not square": file(guard={"post": "4x6"}),
    "a rail thicker than the post": file(guard={"post": "4x4", "top_rail": "6x6"}),
    "a guard too low for balusters": file(guard={"height": 12, "bottom_rail": "2x8"}),
    "a sleeve too small": file(guard={"sleeve": {"size": 3}}),
    "a sleeve too short": file(guard={"sleeve": {"length": 30}}),
    "a bench on no edge": file(bench=[{"edge": "north"}]),
    "a bench without legs": file(bench=[{"edge": "front", "height": 10, "frame": "2x6"}]),
    "a bench where a stair is": file(bench=[{"edge": "front", "at": 60, "length": 40}], **stair()),
    "a bench too long": file(bench=[{"edge": "front", "length": 300}]),
    "a bench too long for where it begins": file(bench=[{"edge": "front", "at": 100, "length": 140}]),
    "a bench past the end": file(bench=[{"edge": "left", "at": 104}]),
    "a bench where no stretch is long enough": file(
        bench=[{"edge": "front", "length": 40}], stair=[{"edge": "front", "width": 110, "at": 20}]
    ),
    "a bench beside a stair as wide as the edge": file(
        bench=[{"edge": "front"}], stair=[{"edge": "front", "width": 134, "at": 8}]
    ),
    "skirting on no edge": file(skirting={"edges": ["north"]}),
    "a panel on no edge": file(skirting={"access_edge": "north"}),
    "a panel without skirting": file(skirting={"edges": ["left"], "access_edge": "front"}),
    "skirting behind the fascia": file(skirting={"rail": "2x4"}, trim={"height": 12}),
    "a panel too wide": file(outline={"width": 150, "depth": 60}, skirting={"access_edge": "left", "access_width": 96}),
    "a panel off the edge": file(skirting={"access_edge": "front", "access_width": 30, "access_at": 140}),
    "notches through the stringer": file(levels={"surface": 60}, **stair(stringer="2x6")),
    "a solid stringer too narrow": file(levels={"surface": 60}, **stair(stringer="2x6", stringer_kind="solid")),
    "a bordered tread too narrow": file(**stair(tread="bordered", width=12)),
}


SURVEYED = {
    "a side of another deck": survey(front=360),
    "two sides of another deck": survey(front=360, right=300, back=150),
    "sides that make no triangle": file(
        survey={
            "side": [{"edge": "front", "top": 150}, {"edge": "right", "top": 110}],
            "diagonal": [{"start": ["left", "front"], "end": ["right", "back"], "length": 270}],
        }
    ),
}


@pytest.mark.parametrize("name", SURVEYED)
def test_what_stands_is_built_to_with_the_values_that_are_named(name):
    with pytest.raises(DesignError) as refused:
        surveyed(SURVEYED[name])
    surveyed(mended(SURVEYED[name], str(refused.value)))


def surveyed(data: dict) -> None:
    parameters = Parameters.model_validate(data)
    check_survey(parameters, lay_out(parameters))


# a post of the stair's own stands on its stringer where a corner leaves no room beside the stair
AT_A_CORNER = {
    "no room for the guard post": file(**stair(at=1)),
    "a stair that fits nowhere on its edge": file(
        frame={"beam_position": "flush", "beam_plies": 4},
        guard={"edges": ["right"]},
        stair=[{"edge": "right", "width": 96}],
    ),
    "a stair too near a thick beam in a corner": file(
        outline={"width": 150, "depth": 62, "house": []},
        frame={"beam_position": "flush", "beam_plies": 4, "rim_plies": 1, "support": "free-standing"},
        guard={"edges": ["right"]},
        stair=[{"edge": "right", "width": 36, "at": 5}],
    ),
    "two stairs in one corner": file(stair=[{"edge": "front", "at": 105}, {"edge": "right", "at": 0}]),
}


@pytest.mark.parametrize("name", AT_A_CORNER)
def test_a_stair_without_room_beside_it_is_drawn(name):
    deck = build(Parameters.model_validate(AT_A_CORNER[name]))
    assert any(p.stair == 0 and p.role == "guard post" for p in deck.parts) and not deck.clashes


@pytest.mark.parametrize("key", ["edge_gap", "end_gap"])
def test_a_gap_as_wide_as_a_board_is_answered_with_one_that_is_drawn(key):
    data = file(surface={key: 8})
    with pytest.raises(ValidationError) as refused:
        Parameters.model_validate(data)
    build(Parameters.model_validate(mended(data, refused.value.errors()[0]["msg"])))


@pytest.mark.parametrize("name", PLAN)
def test_the_plan_is_drawn_with_the_value_that_is_named(name):
    with pytest.raises(DesignError) as refused:
        lay_out(Parameters.model_validate(PLAN[name]))
    lay_out(Parameters.model_validate(mended(PLAN[name], str(refused.value))))


@pytest.mark.parametrize("name", PIECES)
def test_the_pieces_are_made_with_the_value_that_is_named(name):
    with pytest.raises(DesignError) as refused:
        build(Parameters.model_validate(PIECES[name]))
    build(Parameters.model_validate(mended(PIECES[name], str(refused.value))))


BAY = [[0, 50], [70, 50], [70, 0], [116, 0], [116, 50], [200, 50], [200, 130], [0, 130]]  # one stands out 46 in wide


@pytest.mark.parametrize("asked", [50, 47.3])
def test_a_stair_too_wide_for_its_edge_is_answered_with_the_widest_that_does(asked):
    """No narrower than the edge is long: values between those tried are tried down to a sixteenth of an inch."""
    data = {"outline": {"points": BAY, "house": ["e7"]}, "levels": {"surface": 45}}
    data["stair"] = [{"edge": "e3", "width": asked}]
    with pytest.raises(DesignError) as refused:
        lay_out(Parameters.model_validate(data))
    assert refused.value.values == (("stair.0.width", 46.0),)


@pytest.mark.parametrize(
    "data",
    [
        file(frame={"joist_spacing": 5}),
        file(guard={"gap": 1}),
        file(surface={"board_width": 2, "board_length": 72}),
        file(outline={"width": 300, "depth": 150}),
    ],
    ids=["joists", "balusters", "boards", "all"],
)
def test_a_deck_of_too_many_pieces_is_refused_by_those_it_has(monkeypatch, data):
    """The bound brought down to what builds at once; the pieces are those made, not an estimate of them."""
    for module in (deck, bound):
        monkeypatch.setattr(module, "MOST_PIECES", 250)
    with pytest.raises(DesignError, match="the deck has [0-9]+ pieces, [0-9]+ of them") as refused:
        build(Parameters.model_validate(data))
    assert len(build(Parameters.model_validate(mended(data, str(refused.value)))).parts) <= 250
