"""Whole decks of any outline: each builds or is refused by key; nothing overlaps, all is carried, every board end
bears."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from plumbcut.model.deck import Deck, build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.bearing import hanging
from plumbcut.model.measuring.clashes import clashes
from plumbcut.shared.errors import DesignError

GROUND = {"footing", "pad", "ledger"}
TIP = 2.75  # inches: half a 5-1/2 in board; a rip at a slanted edge without a border may end narrower, out past its rim


def lengths(low: int, high: int):
    return st.integers(low, high)


@st.composite
def outlines(draw) -> dict:
    """Rectangles, Ls and steps, clipped corners, and kites with no square corner at the front."""
    w, d = draw(lengths(120, 280)), draw(lengths(100, 210))
    shape = draw(st.sampled_from(["rectangle", "L", "clipped", "two clipped", "kite", "T"]))
    if shape == "rectangle":
        return {"width": w, "depth": d}
    if shape == "L":
        x, y = draw(lengths(50, w - 50)), draw(lengths(40, d - 45))
        return {"points": [[0, 0], [x, 0], [x, y], [w, y], [w, d], [0, d]], "house": ["e5"]}
    if shape == "clipped":
        x, y = draw(lengths(15, 60)), draw(lengths(15, 60))
        return {"points": [[x, 0], [w, 0], [w, d], [0, d], [0, y]], "house": ["e3"]}
    if shape == "two clipped":
        c = draw(lengths(20, 50))
        return {"points": [[c, 0], [w - c, 0], [w, c], [w, d], [0, d], [0, c]], "house": ["e4"]}
    if shape == "T":
        x, y = w // 4, draw(lengths(40, d - 45))
        return {"points": [[x, 0], [w - x, 0], [w - x, y], [w, y], [w, d], [0, d], [0, y], [x, y]], "house": ["e5"]}
    return {
        "points": [
            [draw(lengths(20, 60)), 0],
            [w, draw(lengths(15, 40))],
            [w + draw(lengths(15, 40)), d],
            [0, d],
            [draw(lengths(-12, 0)), 70],
        ],
        "house": ["e3"],
    }


@st.composite
def decks(draw) -> dict:
    pick = lambda *values: draw(st.sampled_from(values))
    frame = {
        "support": pick("ledger", "ledger", "free-standing"),
        "joist": pick("2x6", "2x8", "2x10"),
        "joist_spacing": pick(12, 16, 24),
        "rim_plies": pick(1, 1, 2),
        "beam_plies": pick(1, 2, 3),
        "cantilever": pick(0, 6, 12, 18),
        "post": pick("4x4", "6x6"),
        "joist_direction": pick("auto", "auto", "x", "y"),
        "blocking_pattern": pick("staggered", "in line"),
        "blocking_rows": pick(0, 1, 2),
        "footing": {"shape": pick("round", "round", "square")},
    }
    overhang = pick(None, None, 0, 10)
    if overhang is not None:
        frame["beam_overhang"] = overhang
    surface = {"border": {"courses": pick(0, 1, 1, 2)}}
    direction = pick(None, None, 45)
    if direction is not None:
        surface["direction"] = direction
    return {
        "outline": draw(outlines()),
        "levels": {"surface": pick(15, 20, 30, 44, 72)},
        "frame": frame,
        "surface": surface,
        "guard": {"post": pick("4x4", "4x4", "6x6")},
    }


def loose(deck: Deck) -> list[str]:
    """Pieces from which no path of carriers ends at concrete or the house."""
    held = {p.id for p in deck.parts if p.role in GROUND}
    while more := {p.id for p in deck.parts if p.id not in held and set(p.carried_by) & held}:
        held |= more
    return [
        f"{p.id} {p.role} {p.where}"
        for p in deck.parts
        if p.id not in held or (p.role not in GROUND and not p.carried_by)
    ]


def stands(deck: Deck) -> None:
    found = clashes(deck.parts, 0.001)
    assert not found, "\n".join(map(str, found))
    assert not loose(deck)
    bordered = deck.parameters.surface.border.courses > 0
    bad = [str(e) for e in hanging(deck.parts) if bordered or e.width > TIP]
    assert not bad, bad


@settings(max_examples=12, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(decks())
def test_any_deck_stands_or_is_refused_by_key(data):
    parameters = Parameters.model_validate(data)
    try:
        deck = build(parameters)
    except DesignError as refused:
        assert refused.key and refused.reason
        return
    stands(deck)


NAMED = {
    "6x6 guard posts, no border": {
        "outline": {"points": [[20, 0], [104, 0], [124, 20], [124, 95], [0, 95], [0, 20]], "house": ["e4"]},
        "frame": {"joist": "2x10"},
        "surface": {"border": {"courses": 0}},
        "guard": {"post": "6x6"},
    },
    "6x6 guard posts, boards along the rim": {
        "outline": {"width": 267, "depth": 153},
        "frame": {"joist_spacing": 12, "joist_direction": "x"},
        "guard": {"post": "6x6"},
    },
    "wings in line, double rims": {
        "outline": {
            "points": [[35, 0], [107, 0], [107, 55], [142, 55], [142, 121], [0, 121], [0, 55], [35, 55]],
            "house": ["e5"],
        },
        "frame": {
            "support": "free-standing",
            "joist_spacing": 12,
            "rim_plies": 2,
            "beam_plies": 1,
            "joist_direction": "x",
        },
    },
    "a rim nearly along the joists": {
        "outline": {"points": [[22, 0], [259, 5], [291, 136], [0, 136], [-8, 49]], "house": ["e3"]},
        "frame": {"joist": "2x6", "cantilever": 6},
        "guard": {"post": "6x6"},
        "stair": [{"edge": "e1"}],
    },
    "a stair at a beam without a cantilever": {
        "outline": {"width": 116, "depth": 160},
        "frame": {"support": "free-standing", "cantilever": 0},
        "stair": [{"edge": "front"}],
    },
    "a stair off a side with a beam between": {
        "outline": {"width": 252, "depth": 171},
        "levels": {"surface": 24},
        "stair": [{"edge": "left"}],
    },
    "double rim with a stair": {
        "outline": {"width": 160, "depth": 148},
        "frame": {"rim_plies": 2, "joist_direction": "x"},
        "surface": {"border": {"courses": 2}},
        "guard": {"edges": []},
        "stair": [{"edge": "front", "width": 36}],
    },
    "a slanted house edge": {"outline": {"points": [[0, 0], [180, 0], [180, 150], [0, 110]], "house": ["e3"]}},
    "two steps high": {
        "outline": {"width": 180, "depth": 120},
        "levels": {"surface": 15},
        "stair": [{"edge": "front"}],
    },
}


@pytest.mark.parametrize("name", NAMED)
def test_decks_that_once_failed_stand(name):
    stands(build(Parameters.model_validate({"levels": {"surface": 44}, **NAMED[name]})))
