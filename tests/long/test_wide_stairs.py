"""Stairs as wide as their edge, and box steps, held against both judges as whole decks by lot are: as drawn, in a
mirror, turned by 30 degrees, and on a slope. Decks and sizes are invented."""

from __future__ import annotations

import pytest
from four_ways import in_ways, nothing_found, one_stair

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.flight_seen import along
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.rules.checks import check_deck

SQUARE = ([[0, 0], [180, 0], [180, 150], [0, 150]], ["front", "right", "back", "left"])
CLIPPED = ([[0, 0], [120, 0], [180, 60], [180, 150], [0, 150]], ["front", "clip", "right", "back", "left"])
CASES = {
    "low, no guard": (SQUARE, 22, {"edge": "front", "width": 180}),
    "guarded": (SQUARE, 44, {"edge": "front", "width": 180}),
    "guarded, along the joists": (SQUARE, 44, {"edge": "right", "width": 150}),
    "near the corner": (SQUARE, 44, {"edge": "front", "width": 174}),
    "with a landing": (SQUARE, 90, {"edge": "front", "width": 180, "landings": [{"after_risers": 6}]}),
    "solid stringers": (SQUARE, 44, {"edge": "front", "width": 180, "stringer_kind": "solid"}),
    "clipped corner": (CLIPPED, 44, {"edge": "clip", "width": 84.85}),
    "box steps, three risers": (SQUARE, 21, {"edge": "front", "kind": "box", "width": 60}),
    "box steps, two risers": (SQUARE, 14.5, {"edge": "right", "kind": "box", "width": 80}),
    "box steps, open": (SQUARE, 21, {"edge": "front", "kind": "box", "width": 60, "risers": "open", "skirts": False}),
    "box steps, bordered": (SQUARE, 21, {"edge": "front", "kind": "box", "width": 60, "tread": "bordered"}),
    "box steps, guarded": (SQUARE, 21, {"edge": "front", "kind": "box", "width": 60, "guards": "both"}),
}


@pytest.mark.parametrize(("name", "way"), in_ways(CASES))
def test_the_stair_has_no_fault(name, way):
    file = one_stair(CASES[name], way)
    deck = build(Parameters.model_validate(file))
    nothing_found(deck, file)


def test_guard_and_handrail_begin_at_the_top_riser_beside_the_corner():
    """Handrail from above the top riser on (IRC R311.7.8.4, from memory); the clear gap between the deck's corner post
    and the stair's lets no 4 in ball pass (IRC R312.1.3, from memory)."""
    deck = build(Parameters.model_validate(one_stair(CASES["guarded"], "as drawn")))
    rows = [r for r in check_deck(deck) if r.rule.startswith(("handrail", "stair width", "guard opening at the"))]
    assert len([r for r in rows if r.rule.startswith("guard opening at the")]) == 2
    assert rows and {r.result for r in rows} <= {"met", "not checked"}
    tops = [r for r in measure_all(deck.roles("guard post")) if r.part.stair == 0 and along(r, (0, -1))[0] < 6]
    assert len(tops) == 2
    for post in tops:
        assert along(post, (0, -1))[0] == pytest.approx(0.75)  # 1.75 in overhang less 1 in nosing
        others = [p for p in deck.roles("guard post") if p.stair is None]
        assert 0 < min(p.footprint.distance(post.part.footprint) for p in others) < 4
