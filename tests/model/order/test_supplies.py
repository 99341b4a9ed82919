"""What goes with the pieces and connectors: nails, anchors, concrete and what it is poured in, flashing, preservative.

Counted again here off `measured.json`'s rows and the rows of the data, and by taking a piece away.
"""

from __future__ import annotations

import csv
import io
import math
import re
from collections import Counter

import pytest
from conftest import DEMOS, PARAMS, demo_deck, demo_measured

from plumbcut.exports.formats.measured_json import measured_rows
from plumbcut.exports.formats.rows import order_table
from plumbcut.model.design.designed import designed
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.contacts import contacts
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.order.fasteners import fasteners
from plumbcut.model.order.hardware_rules import nailings, rules
from plumbcut.model.order.takeoff import take_off
from plumbcut.model.order.tally import runs_of_marks
from plumbcut.model.solid.part import Workshop
from plumbcut.shared.prices import Prices, read_prices
from plumbcut.shared.standards import table
from plumbcut.shared.stock import Stock

JOIST, WIDE = Stock("2x8", 1.5, 7.25, "treated lumber"), Stock("2x10", 1.5, 9.25, "treated lumber")


def rect(x0, y0, x1, y1):
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def hung(xs, stock=JOIST, ledgers=((0, 160),)):
    """Joists at `xs` on ledgers along y = 100."""
    shop = Workshop()
    parts = [shop.upright("joist", stock, rect(x, 0, x + 1.5, 100), -stock.width, 0, (0, 1)) for x in xs]
    parts += [shop.upright("ledger", JOIST, rect(a, 100, b, 101.5), -7.25, 0) for a, b in ledgers]
    return [p.replaced(id=f"{p.role}{k}", mark=f"{p.role[0].upper()}{k}") for k, p in enumerate(parts)]


def count(parts, **about):
    return {h.item: h for h in fasteners(measure_all(parts), contacts(parts), **about)}


def of(item):
    return {s.size: s.count for s in item.sized}


def test_a_hanger_taken_away_takes_its_nails():
    all_, one_less = count(hung([20, 40, 60])), count(hung([20, 40]))
    assert all_["joist hanger"].count - one_less["joist hanger"].count == 1
    assert all_["connector nail"].count - one_less["connector nail"].count == 12  # 8 and 4 for a depth of 7 1/4 in
    assert all_["connector nail"].held == ((12, 3.0, "joist hanger"),)
    assert "connector nail" not in count(hung([]))


@pytest.mark.parametrize(("stock", "nails"), [(JOIST, 12), (WIDE, 16)])
def test_nails_of_a_hanger_follow_its_depth(stock, nails):
    assert count(hung([20, 40], stock))["connector nail"].count == 2 * nails


def test_flanges_are_turned_in_where_the_ledger_ends():
    """A flange takes 1 1/2 in beside the joist: turned in at either end, with 1 1/4 in left, not with 1 1/2 in."""
    assert of(count(hung([0, 40, 158.5]))["joist hanger"]) == {"2x8": 1, "2x8, flanges turned in": 2}
    assert of(count(hung([1.25]))["joist hanger"]) == {"2x8, flanges turned in": 1}
    assert of(count(hung([1.5]))["joist hanger"]) == {"2x8": 1}
    # where two ledgers meet in line there is no end
    assert of(count(hung([78.5], ledgers=((0, 80), (80, 160))))["joist hanger"]) == {"2x8": 1}
    assert of(count(hung([78.5], ledgers=((0, 80),)))["joist hanger"]) == {"2x8, flanges turned in": 1}


def test_two_joists_side_by_side_share_a_hanger_with_heavier_nails():
    found = count(hung([20, 21.5, 60]))
    assert of(found["doubled joist hanger"]) == {"2x8, two": 1} and of(found["joist hanger"]) == {"2x8": 1}
    assert found["heavy connector nail"].count == 12 and found["connector nail"].count == 12


def footing(d, high, x=0.0):
    return Workshop().cylinder("footing", Stock("r", d, d, "concrete"), (x, 0, -high), (0, 0, 1), d / 2, high)


def poured(*footings):
    return count([f.replaced(id=str(k), mark=f"F{k}") for k, f in enumerate(footings)])


def test_concrete_is_ordered_by_volume_above_sixty_bags():
    bags = lambda n, d=20: math.pi * d * d / 4 * 40 * n / 1728 / 0.6
    few = poured(*(footing(20, 40, 60 * k) for k in range(4)))
    assert few["concrete bag"].packs == math.ceil(bags(4)) <= 60 and "ready-mix concrete" not in few
    many = poured(*(footing(20, 40, 60 * k) for k in range(6)))
    assert math.ceil(bags(6)) > 60 and "concrete bag" not in many
    yards = math.pi * 100 * 40 * 6 / 1728 / 27
    assert many["ready-mix concrete"].packs == math.ceil(yards * 4) and many["ready-mix concrete"].count >= yards


def test_form_tubes_are_cut_out_of_as_few_as_they_can_be():
    """48 in a tube: 50 in take one and 2 in of another, three such rests come out of one tube; by size."""
    found = poured(footing(12, 50), footing(12, 50, 50), footing(12, 50, 100), footing(16, 40, 200))["form tube"]
    assert sorted(s.count for s in found.sized) == [1, 4] and found.packs == 5
    square = Workshop().upright("footing", Stock("s", 20, 20, "concrete"), rect(0, 0, 20, 20), -40, 0)
    assert "form tube" not in poured(square)


def boxed(side, high, role="footing"):
    return Workshop().upright(role, Stock("s", side, side, "concrete"), rect(0, 0, side, side), -high, 0)


def test_square_footings_and_pads_are_formed_with_boards():
    """A square of 20 in, 12 in thick: sides of 20, 23, 20 and 23 in (two run past the others by 1 1/2 in at either
    end), 86 in, come out of one 8 ft board of 2x12; stakes at both ends of each, two nails in a stake and a corner."""
    found = poured(boxed(20, 12))
    assert of(found["form board"]) == {"2x12": 1} and "form tube" not in found
    assert found["form stake"].count == 4 * 2 and found["form nail"].count == 2 * (8 + 4)
    assert of(poured(boxed(20, 4, "pad"))["form board"]) == {"2x4": 1}
    assert of(poured(boxed(20, 20))["form board"]) == {"2x12": 2}  # two boards one on the other all round
    # 100 and 103 in: a whole board and a rest each, the rests of 4, 4, 7 and 7 in out of one
    long = poured(boxed(100, 4, "pad"))
    assert of(long["form board"]) == {"2x4": 5}
    assert long["form stake"].count == 2 * (6 + 6) and "form board" not in poured(footing(20, 40))


def test_forms_go_with_their_concrete():
    both, one = poured(boxed(20, 12), footing(16, 40, 60)), poured(footing(16, 40, 60))
    assert {"form board", "form stake", "form nail"} == set(both) - set(one)
    assert both["form board"].sized[0].serves == ("F0",) and both["form tube"].sized[0].serves == ("F1",)


def orders(demo):
    """Rows of order.csv as they are written, and of measured.json."""
    taken = take_off(demo_deck(demo), demo_measured(demo), read_prices(PARAMS / "prices.csv"))
    header, rows = order_table(taken)
    return [dict(zip(header, r)) for r in rows], measured_rows(demo_measured(demo))


@pytest.mark.parametrize("demo", DEMOS)
def test_counts_of_the_demos_off_measured_json(demo):
    rows, pieces = orders(demo)
    role = Counter(p["role"] for p in pieces)
    need = Counter()
    for r in rows:
        if r["kind"] == "hardware":
            need[r["item"]] += float(re.match(r"[\d.]+", r["for"])[0]) if r["item"] != "joist tape" else 0
    assert need["post-base anchor"] == role["post"]
    assert need["tension device"] == role["guard post"]
    assert need["heavy connector nail"] == role["post"] * 8 + need["beam cap"] * 20
    assert need["connector nail"] == need["joist hanger"] * 16  # joists of all three are 2x10
    assert need["short connector nail"] == (
        need["angle pair"] * 8 + need["beam tie"] * 10 + need["pad anchor"] * 4 + need["stringer connector"] * 14
    )
    area = sum(
        2 * Stock(p["stock"], *size(p), "treated lumber").thickness * size(p)[1]
        + sum((2 * n["depth_in"] + n["width_in"]) * p["thickness_in"] for n in p["notches"])
        for p in pieces
        if p["material"] == "treated lumber" and p["role"] not in ("post cap", "post sleeve")
    )
    assert need["end-cut preservative"] == math.ceil(area / 144)
    concrete = sum(p["volume_in3"] for p in pieces if p["material"] == "concrete")
    bags = math.ceil(concrete / 1728 / 0.6)
    if bags > 60:
        assert need["ready-mix concrete"] == math.ceil(concrete / 1728 / 27 * 4) / 4 and not need["concrete bag"]
    else:
        assert need["concrete bag"] == bags and not need["ready-mix concrete"]
    pads = sum(p["volume_in3"] / (p["box_high_in"][2] - p["box_low_in"][2]) for p in pieces if p["role"] == "pad")
    assert need["gravel bag"] == math.ceil(pads * 4 / 1728 / 0.5)
    ledgers = sum(p["length_in"] for p in pieces if p["role"] == "ledger")
    bought = sum(r["quantity"] for r in rows if r["item"] == "ledger flashing")
    assert bought == math.ceil(ledgers / 116)
    tubes = sum(math.ceil(p["length_in"] / 48) for p in pieces if p["role"] == "footing")
    assert 0 < need["form tube"] <= tubes


def size(p):
    """Dressed, off the data: as bought, whatever the piece is ripped to."""
    row = next(r for r in table("dressed_sizes") if r["nominal"] == p["stock"])
    return float(row["thickness_in"]), float(row["width_in"])


@pytest.mark.parametrize("demo", DEMOS)
def test_each_line_names_what_it_serves_and_all_is_priced(demo):
    rows, pieces = orders(demo)
    marks = {p["mark"] for p in pieces}
    for r in rows:
        if r["kind"] == "note":
            continue
        named = re.findall(r"[A-Z]+\d+", r["serves"])
        assert named and set(named) <= marks, r["item"]
        assert r["unit_price"], r["item"]
    bases = next(r for r in rows if r["item"] == "post base")
    posts = {p["mark"] for p in pieces if p["role"] == "post"}
    assert set(expanded(bases["serves"])) == posts


def expanded(text):
    for run in text.split(", "):
        first, _, last = run.partition(" to ")
        letter = first.rstrip("0123456789")
        numbers = range(int(first[len(letter) :]), int((last or first)[len(letter) :]) + 1)
        yield from (f"{letter}{n}" for n in numbers)


def test_bases_that_beams_lie_in_are_bought_with_their_anchors_and_nails():
    """A deck so low that its beams lie in the bases themselves has no post to count a base by."""
    file = {
        "outline": {"width": 185, "depth": 139, "house": []},
        "levels": {"surface": 21},
        "surface": {"material": "treated lumber", "board_thickness": 1.5, "fastening": "face"},
        "local": {"frost_depth": 30},
    }
    deck = designed(Parameters.model_validate(file)).deck
    bases = deck.roles("post base")
    assert bases and not deck.roles("post")
    found = {h.item: h for h in take_off(deck, measure_all(deck.parts), Prices()).hardware}
    assert found["post base"].count == found["post-base anchor"].count == len(bases)
    assert of(found["post base"]) == {"6x6": len(bases)}
    assert "post base" in {needed for _, _, needed in found["heavy connector nail"].held}


def test_marks_that_follow_on_one_another_are_one_run():
    assert runs_of_marks(["J10", "J2", "J1", "J3", "K1", "K2", "J3"]) == ("J1 to J3", "J10", "K1", "K2")


def test_every_row_says_where_it_comes_from_and_what_it_is_for():
    assert {n.connector for n in nailings()} | {n.item for n in nailings()} <= set(rules())
    assert all(n.source and n.each > 0 for n in nailings())
    for name, rule in rules().items():
        assert rule.size_source and rule.delivery in ("frame", "surface and trim", "stairs and guards"), name
    listed = {r["item"] for r in csv.DictReader(io.StringIO((PARAMS / "prices.csv").read_text()))}
    assert listed >= {n.item for n in nailings()}


def test_without_a_price_list_every_item_is_named():
    taken = take_off(demo_deck("terrace"), demo_measured("terrace"), Prices())
    assert {"connector nail", "form tube", "ledger flashing"} <= set(taken.unpriced)
