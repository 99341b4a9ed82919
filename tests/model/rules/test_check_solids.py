"""Faults of the solids: a tampered deck has exactly the row that names the fault; a clean one has none."""

from __future__ import annotations

from functools import cache

import pytest
from plumbcut.model.deck import Deck, build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.carriers import carriers
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.rules.check_result import Checking
from plumbcut.model.rules.check_solids import check_solids
from plumbcut.model.solid.part import Place


@cache
def deck() -> Deck:
    data = {
        "outline": {"width": 150, "depth": 110},
        "levels": {"surface": 40},
        "stair": [{"edge": "front", "width": 40}],
    }
    return build(Parameters.model_validate(data))


def faults(change) -> list:
    """Rules not met after `change` made another part, or None, of every part."""
    clean = deck()
    parts = [q for p in clean.parts if (q := change(p)) is not None]
    changed = Deck(clean.parameters, clean.layout, parts)
    found = changed.contacts
    changed.parts = [p.replaced(carried_by=k) for p, k in zip(parts, carriers(parts, found), strict=True)]
    c = Checking(changed, measure_all(changed.parts))
    check_solids(c)
    return [r for r in c.results if r.result != "met"]


def moved(part, x=0.0, y=0.0, z=0.0):
    ox, oy, oz = part.place.origin
    return part.replaced(place=Place((ox + x, oy + y, oz + z), part.place.x, part.place.y))


def first(role: str):
    return next(p.id for p in deck().parts if p.role == role)


def test_a_clean_deck_has_a_row_of_each_kind_and_no_fault():
    c = Checking(deck(), measure_all(deck().parts))
    check_solids(c)
    assert {r.result for r in c.results} == {"met"} and len(c.results) == 6


def test_a_joist_in_its_neighbour_is_said_with_the_volume():
    joist = first("joist")
    found = faults(lambda p: moved(p, z=0.25) if p.id == joist else p)
    rows = [r for r in found if r.rule == "solids overlap"]
    assert rows and all(joist in r.ids for r in rows) and rows[0].measured > 1 and rows[0].unit == "cu in"


@pytest.mark.parametrize("role", ["post", "guard post", "stringer"])
def test_what_has_lost_its_carrier_is_said(role):
    """Everything that stands on a role taken away hangs: at least one row names a piece it carried."""
    lost = {p.id for p in deck().parts if p.role == role}
    if not lost:
        pytest.fail(f"the deck has no {role}")
    on_it = {p.id for p in deck().parts if set(p.carried_by) & lost and not set(p.carried_by) - lost}
    found = faults(lambda p: None if p.id in lost else p)
    named = {i for r in found if r.rule == "carried down to the ground" for i in r.ids}
    assert on_it and on_it <= named


def test_a_base_off_its_footing_is_said():
    base = first("post base")
    found = faults(lambda p: moved(p, x=9.0) if p.id == base else p)
    assert any(r.rule == "bases stand on their footings" and base in r.ids and r.measured > 10 for r in found)


def test_wood_below_grade_is_said_with_its_depth():
    skirt = first("skirt")
    found = faults(lambda p: moved(p, z=-3.0) if p.id == skirt else p)
    rows = [r for r in found if r.rule == "wood above the ground"]
    assert len(rows) == 1 and skirt in rows[0].ids
    low = min(p.box[0, 2] for p in deck().parts if p.id == skirt)
    assert rows[0].measured == pytest.approx(3.0 - low)


def test_a_board_pushed_out_past_its_rim_is_said():
    board = first("board")
    found = faults(lambda p: moved(p, x=8.0) if p.id == board else p)
    assert any(r.rule.startswith("board ends") and board in r.ids for r in found)


def test_a_tread_moved_sideways_is_said():
    tread = first("tread")
    found = faults(lambda p: moved(p, x=8.0) if p.id == tread else p)
    rows = [r for r in found if r.rule == "tread ends past their last bearing"]
    assert len(rows) == 1 and rows[0].measured == pytest.approx(8.0 + 1.25, abs=1.6)
