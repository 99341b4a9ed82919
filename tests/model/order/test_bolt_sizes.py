"""Lengths of bolts and lag screws, by hand: what they go through, and the washers, nut and thread past it (common
practice, no source: 1 1/2 in), up to the next whole inch."""

from __future__ import annotations

import math
import re

import pytest
from conftest import DEMOS, demo_deck, demo_measured

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.measuring.contacts import contacts
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.order.bolt_sizes import AskedOf, post_bolts
from plumbcut.model.order.fasteners import fasteners
from plumbcut.model.order.takeoff import asked_of, take_off
from plumbcut.model.solid.part import Workshop
from plumbcut.shared.stock import Stock

RIM, POST = Stock("2x8", 1.5, 7.25, "treated lumber"), Stock("4x4", 3.5, 3.5, "treated lumber")


NUT = ", each with a nut and two washers"  # what a bolt is not bought without: common practice, no source


def rect(x0, y0, x1, y1):
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def beside_a_rim(plies=1, block=False):
    """A guard post behind a rim along x of so many plies, a block flat on its other side or none."""
    shop = Workshop()
    parts = [shop.upright("rim", RIM, rect(0, -1.5 * (k + 1), 100, -1.5 * k), -7.25, 0) for k in range(plies)]
    parts.append(shop.upright("guard post", POST, rect(40, 0, 43.5, 3.5), -7.25, 36))
    if block:
        parts.append(shop.upright("post blocking", RIM, rect(32, 3.5, 52, 5), -7.25, 0))
    return [p.replaced(id=f"{p.role}{k}", mark=f"{p.role[0].upper()}{k}") for k, p in enumerate(parts)]


def sizes(parts, item, **about):
    found = {h.item: h for h in fasteners(measure_all(parts), contacts(parts), **about)}
    return [worded(s.size) for s in found[item].sized]


@pytest.mark.parametrize(
    ("plies", "block", "long"),
    [(1, False, 7), (2, False, 8), (1, True, 8), (2, True, 10), (3, True, 11)],  # 3.5 + 1.5 each, 1.5 more
)
def test_a_guard_posts_bolt_is_as_long_as_what_it_goes_through(plies, block, long):
    assert math.ceil(3.5 + 1.5 * (plies + block) + 1.5) == long
    assert sizes(beside_a_rim(plies, block), "guard-post bolt") == [f'1/2" x {long}"{NUT}']


def test_plies_that_end_before_the_post_make_no_bolt_longer():
    parts = beside_a_rim()
    short = Workshop().upright("rim", RIM, rect(60, -3, 100, -1.5), -7.25, 0).replaced(id="short", mark="R9")
    assert sizes([*parts, short], "guard-post bolt") == [f'1/2" x 7"{NUT}']


def test_two_sizes_are_two_lines_that_serve_their_own_posts():
    shop = Workshop()
    parts = beside_a_rim(1, True) + [
        shop.upright("guard post", POST, rect(80, 0, 83.5, 3.5), -7.25, 36).replaced(id="free", mark="FREE")
    ]
    [item] = [h for h in fasteners(measure_all(parts), contacts(parts)) if h.item == "guard-post bolt"]
    assert {worded(s.size): (s.count, s.serves) for s in item.sized} == {
        f'1/2" x 7"{NUT}': (2, ("FREE",)),
        f'1/2" x 8"{NUT}': (2, ("G1",)),
    }


def test_a_notched_posts_bolts_go_through_post_and_beam():
    """A 6x6 notched for a beam of two plies: 2 1/2 in of it, 3 in of beam and 1 1/2 in more."""
    shop, beam = Workshop(), Stock("2x10", 1.5, 9.25, "treated lumber")
    plies = [shop.upright("beam", beam, rect(0, 3 + 1.5 * k, 90, 4.5 + 1.5 * k), 0, 9.25) for k in (0, 1)]
    stub = shop.upright("post", Stock("6x6", 5.5, 5.5, "treated lumber"), rect(20, 0.5, 25.5, 3), 0, 9)
    parts = [p.replaced(id=f"{p.role}{k}", mark=f"M{k}") for k, p in enumerate([*plies, stub])]
    assert [worded(w) for w in post_bolts(measure_all(parts), contacts(parts)).values()] == [f'1/2" x 7"{NUT}']


@pytest.mark.parametrize(
    ("kind", "long"),
    # 1 1/2 in of ledger, 1/2 in of sheathing, 1 1/2 in of band joist; a lag screw's point 1/2 in past that, a bolt's
    # nut 1 1/2 in, with spacers 1/2 in more
    [("lag screw", 4), ("bolt", 5), ("bolt with gap", 6)],
)
def test_the_ledgers_fastener_reaches_through_the_band_joist(kind, long):
    assert worded(AskedOf(kind).ledger_size(1.5)).startswith(f'1/2" x {long}", {kind.split()[0]}')


def test_what_is_bought_by_strength_says_it():
    """1,500 lb each of two hold-downs (IRC R507.9.2), 1,800 lb behind a guard post (DCA 6)."""
    asked = asked_of(demo_deck("terrace"))
    assert worded(asked.size("hold-down")).startswith("of at least 1,500 lb")
    assert worded(asked.size("tension device")).startswith("of at least 1,800 lb")


@pytest.mark.parametrize("demo", DEMOS)
def test_no_line_of_a_demo_leaves_its_size_to_the_site(demo):
    """Each bolt and lag screw with its length, each line of the others with a size, or sold without one."""
    without = {"end-cut preservative"}  # by the quart
    for h in take_off(demo_deck(demo), demo_measured(demo)).hardware:
        for s in h.sized:
            told = worded(s.size or h.rule.size)
            assert told or h.item in without, h.item
            assert "as long as" not in told, h.item
            if h.rule.diameter and h.item != "post-base anchor":
                assert re.match(r'1/2" x \d+"|0.5 in x', told), (h.item, told)
