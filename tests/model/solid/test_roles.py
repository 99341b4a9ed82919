"""The rows of the roles: complete for the kinds of today, and enough for a kind that nobody thought of."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from conftest import demo_deck

from plumbcut.exports.drafting.layers import LAYERS
from plumbcut.exports.drafting.wording import worded
from plumbcut.exports.formats.measured_json import write_measured
from plumbcut.model.deck import Deck, marked
from plumbcut.model.measuring.carriers import carriers
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.order.fasteners import rules
from plumbcut.model.rules import check_roles
from plumbcut.model.rules.checks import check_deck
from plumbcut.model.solid import roles
from plumbcut.model.solid.part import Workshop
from plumbcut.model.solid.roles import GROUPS, LEFT_OUT, ROLES, TRAITS, Role, named
from plumbcut.model.structure.seat_loads import own_weights, resting
from plumbcut.shared.stock import lumber, material


def test_every_row_is_whole():
    letters = [r.letter for r in ROLES.values()]
    assert len(set(letters)) == len(letters)
    for role in ROLES.values():
        assert role.group in GROUPS and role.layer in LAYERS
        assert role.carried is not None and role.load and role.fastened is not None
        assert set(role.carriers) <= set(ROLES)
        assert role.traits <= set(TRAITS)
        assert {item for item, _ in role.fastened} <= set(rules())


def test_every_trait_is_somebody_s():
    assert all(named(t) for t in TRAITS)
    with pytest.raises(KeyError):
        named("floats")


@pytest.fixture
def planter(monkeypatch):
    """A kind of piece of which nothing is said but its name, letter and group, on the terrace's surface."""
    monkeypatch.setitem(roles._BY_NAME, "planter", Role("planter", "ZZ", "trim"))
    deck = demo_deck("terrace")
    x, y = deck.layout.outline.polygon.centroid.coords[0]
    top = deck.planes.surface_top
    ring = [(x - 9, y - 9), (x + 9, y - 9), (x + 9, y + 9), (x - 9, y + 9)]
    box = Workshop().upright("planter", lumber("2x12"), ring, top, top + 14.0, where="middle")
    parts = marked([*deck.parts, box])
    made = Deck(deck.parameters, deck.levels, parts)
    made.parts = [p.replaced(carried_by=c) for p, c in zip(parts, carriers(parts, made.contacts))]
    return made


def test_a_kind_of_which_nothing_is_said_counts_as_not_checked(planter, tmp_path):
    results = check_deck(planter)
    rows = [r for r in results if r.rule == "pieces of kind planter"]
    assert [r.result for r in rows] == ["not checked"] and rows[0].ids == ("ZZ1-01",)
    assert "what carries it" in rows[0].why and "what it brings" in rows[0].why and "fastened" in rows[0].why
    assert not [r for r in results if r.result == "not met"]
    write_measured(measure_all(planter.parts), tmp_path / "measured.json")
    assert any(p["role"] == "planter" for p in json.loads((tmp_path / "measured.json").read_text())["pieces"])


def handrails_of(deck) -> tuple[list, float]:
    """The handrails of a deck and their pounds: density of each material times measured volume, by hand."""
    handrails = [m for m in measure_all(deck.parts) if m.role == "handrail"]
    return handrails, sum(m.volume / 1728 * material(m.stock.material).density_pcf for m in handrails)


def test_handrails_weigh_on_what_their_posts_stand_on():
    """Every pound of them, and none is said to be left out."""
    deck = demo_deck("terrace")
    handrails, pounds = handrails_of(deck)
    assert pounds > 1 and not [r for r in check_deck(deck) if r.rule == "weight left out of the loads"]
    rails = {m.id for m in handrails}
    on = resting(deck.parts, deck.contacts)
    only = [p for p in deck.parts if p.id in rails]
    assert sum(w for _, _, w in own_weights(only, on)) == pytest.approx(pounds, rel=1e-3)
    assert {part.role for part, _, _ in own_weights(only, on)} <= {"rim", "pad", "post blocking", "blocking", "joist"}


def test_weight_that_is_in_no_load_is_said_with_its_pounds(monkeypatch):
    deck = demo_deck("terrace")
    monkeypatch.setattr(check_roles, "ROLES", {**ROLES, "handrail": replace(ROLES["handrail"], load=LEFT_OUT)})
    row = next(r for r in check_deck(deck) if r.rule == "weight left out of the loads")
    _, pounds = handrails_of(deck)
    assert row.result == "not checked" and float(worded(row.why).split()[0]) == pytest.approx(pounds, abs=0.51)
