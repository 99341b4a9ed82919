"""Two stairs that leave the deck at one corner, each from its own edge: the second one's pieces are cut to the first
one's faces (common practice, no source). Decks are invented; what overlaps is measured on the solids."""

from __future__ import annotations

import pytest

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.rules.checks import check_deck

SQUARE = [[0, 0], [154, 0], [154, 117], [0, 117]]
CLIPPED = [[0, 0], [112, 0], [154, 42], [154, 131], [0, 131]]


def deck_with(level, points, edges, *stairs):
    names = ["front", "right", "back", "left"] if len(points) == 4 else ["front", "clip", "right", "back", "left"]
    outline = {"points": points, "edges": names, "house": ["back"]}
    found = [{"edge": e, "width": 50 if at is None else 46} | ({} if at is None else {"at": at}) for e, at in edges]
    file = {"outline": outline, "levels": {"surface": level}, "stair": [f | s for f, s in zip(found, stairs)]}
    return build(Parameters.model_validate(file))


CORNERS = {
    "square": (SQUARE, [("right", 0), ("front", 108)]),
    "square, front first": (SQUARE, [("front", 108), ("right", 0)]),
    "clipped": (CLIPPED, [("clip", 42 * 2**0.5 - 46), ("right", 0)]),
}


@pytest.mark.parametrize(
    ("level", "corner", "stair"),
    [(22, c, s) for c in CORNERS for s in ({}, {"kind": "box"}, {"skirts": False}, {"tread": "bordered"})]
    + [(26, "square", {}), (26, "square, front first", {})],  # four risers: a handrail with a post of its own
)
def test_two_stairs_at_one_corner_keep_clear_of_one_another(level, corner, stair):
    deck = deck_with(level, *CORNERS[corner], stair, stair)
    assert not deck.clashes
    rows = {r.rule for r in check_deck(deck) if r.result == "not met"}
    assert not {r for r in rows if "tread" in r or "bear" in r or "carried" in r or "stair" in r}


def test_the_header_of_the_stair_named_first_runs_through_to_the_corner():
    deck = deck_with(22, *CORNERS["square"], {}, {})
    first, second = ([p.box for p in deck.roles("stair header") if p.stair == n] for n in (0, 1))
    assert min(b[0, 1] for b in first) == pytest.approx(0)
    assert max(b[1, 0] for b in second) == pytest.approx(154 - 1.5)  # cut to its back


def test_where_the_corners_post_stands_aside_a_stair_has_its_own():
    """A side 57 in long between a clipped corner and the house, the stair 42 in wide in its middle: the corner's post
    stands 3-1/4 in beside the stair's rail, which nothing else would hold."""
    points = [[0, 65], [65, 0], [225, 0], [290, 65], [290, 122], [0, 122]]
    outline = {"points": points, "edges": ["c1", "front", "c2", "right", "back", "left"], "house": ["back"]}
    for edge in ("left", "right"):
        deck = build(
            Parameters.model_validate({"outline": outline, "levels": {"surface": 49}, "stair": [{"edge": edge}]})
        )
        rows = [r for r in check_deck(deck) if r.rule == "end of a rail on its post"]
        assert rows and all(r.result == "met" for r in rows), edge
        assert not deck.clashes
