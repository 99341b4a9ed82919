"""Weights against the loads: what the pieces of a kind weigh, and what the load path takes for them."""

from __future__ import annotations

import tomllib
from dataclasses import replace

import pytest
from conftest import PARAMS, demo_deck

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.contacts import contacts
from plumbcut.model.rules.checks import check_deck
from plumbcut.model.solid.part import Workshop
from plumbcut.model.structure.load_path import follow
from plumbcut.model.structure.own_weight import GivenLoads
from plumbcut.model.structure.structure import analyse
from plumbcut.shared.stock import Stock, lumber

RULE = "own weight in the dead load"


def demo_with_dead_load(psf: float):
    text = tomllib.loads((PARAMS / "terrace.toml").read_text())
    return build(Parameters.model_validate({**text, "loads": {"dead_psf": psf}, "bench": [{"edge": "front"}]}))


def rows(deck) -> dict:
    return {r.place: r for r in check_deck(deck) if r.rule == RULE}


def test_a_deck_heavier_than_its_dead_load_is_said():
    """Frame and surface of the terrace by the volumes of the kernel's solids; boards 67.5 pcf, wood 35.9 pcf (62.4 G
    (1 + M/100)/(1 + 0.009 G M), G 0.55, M 19), over the plan of its boards with the gaps closed."""
    deck = demo_deck("terrace")
    pounds = {"lumber": 0.0, "board": 0.0}
    for p in deck.parts:
        if (p.group in ("frame", "blocking", "surface") and p.role != "post") or p.role == "fascia":
            pounds["lumber" if p.stock.material == "treated lumber" else "board"] += p.solid.Volume() / 1728
    wood = 62.4 * 0.55 / (1 + 0.009 * 0.55 * 19) * 1.19
    psf = (pounds["lumber"] * wood + pounds["board"] * 67.5) / follow(deck.parts, deck.contacts).surface_sqft
    assert psf > deck.parameters.loads.dead_psf
    (row,) = rows(deck).values()
    assert row.result == "met" and row.place == "whole deck"
    told = dict(dict(row.why.values)["told"].values)
    assert told["psf"].value == pytest.approx(psf, rel=0.02)


def test_a_deck_that_holds_its_dead_load_alone_is_told_the_one_it_has():
    """Soil that bears just what comes to the heaviest footing at 10 psf: 2 psf more on its square feet is too much."""
    deck = demo_deck("terrace")
    s = analyse(deck)
    pressed = [v.demand for r in s.of("footing") for v in r.calculation if v.check == "soil bearing"]
    s.loads = GivenLoads(10, 40, 0, max(pressed) + 1)
    (row,) = (r for r in check_deck(deck, None, s) if r.rule == RULE)
    assert row.result == "not checked" and "soil bearing of F1" in worded(row.why)
    assert "loads.dead_psf = 12.1" in worded(row.why) or "loads.dead_psf = 12" in worded(row.why)


def test_nothing_is_said_where_the_load_covers_it():
    assert not rows(demo_with_dead_load(20.0))


def test_a_seat_heavier_than_the_load_on_its_own_area_is_said():
    """1 in of composite board weighs 67.5 / 12 = 5.6 psf."""
    assert set(rows(demo_with_dead_load(5.7))) == {"whole deck"}
    assert set(rows(demo_with_dead_load(5.0))) == {"whole deck", "pieces of kind bench seat"}


def on_concrete(role: str):
    """A seat on one frame that stands on concrete: the load path of it, and the seat's area in square feet."""
    shop, two = Workshop(), lumber("2x4")
    base = shop.upright(role, Stock("concrete", 14, 14, "concrete"), [(0, 0), (14, 0), (14, 14), (0, 14)], -36, 0)
    frame = shop.upright("bench frame", two, [(6, 5), (7.5, 5), (7.5, 8.5), (6, 8.5)], 0, 16)
    seat = shop.upright("bench seat", two, [(2, 5), (12, 5), (12, 8.5), (2, 8.5)], 16, 17.5)
    parts = [
        replace(base, id="F1-01"),
        replace(frame, id="BF1-01", carried_by=("F1-01",)),
        replace(seat, id="BN1-01", carried_by=("BF1-01",)),
    ]
    return follow(parts, contacts(parts)), 10 * 3.5 / 144


def test_a_seat_on_a_footing_of_its_own_loads_that_footing():
    path, area = on_concrete("footing")
    assert [(c.footing.id, c.load.steady, c.load.most) for c in path.on_footings()] == [
        ("F1-01", pytest.approx(area), pytest.approx(area))
    ]
    assert not path.notes


def test_a_seat_on_a_pad_is_said():
    path, _ = on_concrete("pad")
    assert not path.on_footings() and any("pad F1-01" in str(n) for n in path.notes)
