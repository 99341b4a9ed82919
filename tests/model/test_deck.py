"""The whole model of every demo: nothing overlaps, everything is carried, every board end bears."""

from __future__ import annotations

import numpy as np
import pytest
from conftest import demo_deck

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.bearing import bearing_report
from plumbcut.model.measuring.clashes import clashes
from plumbcut.model.solid.roles import ROLES


def test_no_two_solids_overlap(deck):
    """More than 0.001 cubic inch is an overlap."""
    found = clashes(deck.parts, 0.001)
    assert not found, [(c.a.id, c.b.id, c.volume) for c in found]


def test_clash_finder_finds_a_moved_piece(deck):
    """The finder itself can fail a deck: one joist moved half an inch sideways cuts into blocks."""
    from plumbcut.model.solid.part import Place

    joist = deck.roles("joist")[1]
    o = joist.place.origin
    across = deck.layout.across
    moved = joist.replaced(
        place=Place((o[0] + across[0] / 2, o[1] + across[1] / 2, o[2]), joist.place.x, joist.place.y)
    )
    assert clashes([moved if p is joist else p for p in deck.parts], 0.001)


def test_every_board_end_bears(deck):
    hanging = [str(e) for e in bearing_report(deck.parts) if not e.borne]
    assert not hanging, hanging


def test_everything_is_carried_down_to_the_ground(deck):
    """Each piece names what carries it, and following the names always ends at concrete or the house."""
    ground = {"footing", "pad", "ledger"}
    loose = [p.id for p in deck.parts if p.role not in ground and not p.carried_by]
    assert not loose
    reaches = {p.id for p in deck.parts if p.role in ground}
    while True:
        more = {p.id for p in deck.parts if p.id not in reaches and set(p.carried_by) & reaches}
        if not more:
            break
        reaches |= more
    assert reaches == {p.id for p in deck.parts}


def test_ids_and_marks(deck):
    assert len({p.id for p in deck.parts}) == len(deck.parts)
    for p in deck.parts:
        assert p.mark.rstrip("0123456789") == ROLES[p.role].letter
    shapes = {}
    for p in deck.parts:
        shapes.setdefault(p.mark, set()).add((id(p.shape), p.role, p.stock))
    assert all(len(s) == 1 for s in shapes.values()), "one mark, one shape"


def test_a_build_repeats_itself(demo):
    again = build(demo_deck(demo).parameters)
    for a, b in zip(demo_deck(demo).parts, again.parts, strict=True):
        assert (a.id, a.role, a.carried_by) == (b.id, b.role, b.carried_by)
        assert np.array_equal(a.vertices, b.vertices)


SITES = {
    "rectangle": {"outline": {"width": 190, "depth": 131}},
    "joists along the house": {
        "outline": {"width": 150, "depth": 131},
        "frame": {"joist_direction": "x", "support": "free-standing"},
    },
    "clipped corner": {"outline": {"points": [[37, 0], [200, 0], [200, 140], [0, 140], [0, 37]], "house": ["e3"]}},
    "deep, needs a second beam": {"outline": {"width": 170, "depth": 270}},
    "square boards, no border": {"outline": {"width": 170, "depth": 121}, "surface": {"border": {"courses": 0}}},
    "boards at 45 degrees": {
        "outline": {"width": 170, "depth": 121},
        "surface": {"direction": 45},
        "frame": {"joist_spacing": 12},
    },
    "double rim": {"outline": {"width": 170, "depth": 121}, "frame": {"rim_plies": 2}},
    "reflex corner": {
        "outline": {"points": [[0, 0], [110, 0], [110, 66], [210, 66], [210, 140], [0, 140]], "house": ["e5"]}
    },
    "house on two sides": {"outline": {"width": 150, "depth": 121, "house": ["back", "left"]}},
    "long, with splices": {"outline": {"width": 520, "depth": 121}},
}


@pytest.mark.parametrize("site", SITES)
def test_other_sites_hold_together(site):
    data = {"levels": {"surface": 40}, **SITES[site]}
    deck = build(Parameters.model_validate(data))
    assert not clashes(deck.parts, 0.001)
    hanging = [str(e) for e in bearing_report(deck.parts) if not e.borne]
    assert not hanging, hanging
    assert not [p.id for p in deck.parts if p.role not in ("footing", "pad", "ledger") and not p.carried_by]
