"""Fasteners counted from contacts, against plain multiplication on frames made here; the facts are common practice, no
source."""

from __future__ import annotations

import math

import numpy as np
import pytest

from plumbcut.model.measuring.contacts import contacts
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.order.fasteners import crossings, fasteners, rules
from plumbcut.model.solid.part import Workshop
from plumbcut.shared.errors import InputError
from plumbcut.shared.prices import read_prices
from plumbcut.shared.stock import Stock

JOIST = Stock("2x8", 1.5, 7.25, "treated lumber")
BOARD = Stock("5/4x6", 1.0, 5.5, "composite board")
FASCIA = Stock("1x8", 0.75, 7.25, "composite board")


def rect(x0, y0, x1, y1):
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def floor(width=192.0, rows=20, spacing=16.0):
    """`rows` boards over joists at `spacing`, with a ledger the joists hang on and a rim they end on."""
    shop, parts = Workshop(), []
    deep = rows * 5.75
    xs = np.arange(0, width - 1.4, spacing)
    parts += [shop.upright("joist", JOIST, rect(x, 1.5, x + 1.5, deep - 1.5), -7.25, 0, (0, 1)) for x in xs]
    parts.append(shop.upright("ledger", JOIST, rect(0, deep - 1.5, width, deep), -7.25, 0))
    parts.append(shop.upright("rim", JOIST, rect(0, 0, width, 1.5), -7.25, 0))
    parts += [shop.upright("board", BOARD, rect(0, 5.75 * k, width, 5.75 * k + 5.5), 0, 1) for k in range(rows)]
    parts = [p.replaced(id=f"{p.role}{k}", mark=p.role) for k, p in enumerate(parts)]
    return parts, len(xs)


def count(parts, **about):
    found = fasteners(measure_all(parts), contacts(parts), **about)
    return {h.item: h for h in found}


def test_two_screws_at_every_crossing_of_face_fastened_boards():
    parts, joists = floor()
    found = count(parts, fastening="face")
    assert found["deck screw"].count == 2 * 20 * joists
    assert found["deck screw"].packs == math.ceil(2 * 20 * joists / 350)
    assert "hidden clip" not in found


def test_clips_between_grooved_boards_and_screws_in_the_first_and_last():
    parts, joists = floor()
    found = count(parts)
    # 20 boards: 18 grooved, 17 gaps between two grooved ones, one gap to a square-edged board at either side
    assert found["hidden clip"].count == 17 * joists
    assert found["start clip"].count == 2 * joists
    assert found["deck screw"].count == 2 * 2 * joists
    assert found["hidden clip"].packs == math.ceil(17 * joists / 90)


def test_crossings_a_square_foot():
    # common practice, no source: 5-1/2 boards with 1/4 gaps on joists at 16 in have about 1.6 to 1.7 crossings a square
    # foot
    parts, _joists = floor(width=16 * 24 + 1.5, rows=60)
    per_foot = len(crossings(measure_all(parts), contacts(parts))) / ((16 * 24 + 1.5) * 60 * 5.75 / 144)
    assert 1.55 < per_foot < 1.70
    assert pytest.approx(1.565, abs=1e-3) == 144 / (5.75 * 16)  # the same without the edge joists


def test_boards_laid_either_way_round_share_their_clips():
    """A board drawn from right to left is the same board: clips are found by place, not by the way its axis points."""
    shop = Workshop()
    parts = [shop.upright("joist", JOIST, rect(x, 0, x + 1.5, 40), -7.25, 0, (0, 1)) for x in (0, 16, 32, 48)]
    parts += [
        shop.upright("board", BOARD, rect(-2, 5.75 * k, 60, 5.75 * k + 5.5), 0, 1, along=(-1, 0) if k % 2 else (1, 0))
        for k in range(4)
    ]
    parts = [p.replaced(id=f"{k}", mark=p.role) for k, p in enumerate(parts)]
    found = count(parts)
    assert found["hidden clip"].count == 4 and found["start clip"].count == 8


def test_plies_are_one_support():
    shop = Workshop()
    parts = [shop.upright("joist", JOIST, rect(x, 0, x + 1.5, 40), -7.25, 0, (0, 1)) for x in (0, 16, 17.5, 33)]
    parts.append(shop.upright("board", BOARD, rect(-2, 0, 40, 5.5), 0, 1))
    assert count(parts, fastening="face")["deck screw"].count == 2 * 3


@pytest.mark.parametrize("length,rows", [(144, 9), (22, 2), (22.5, 3), (40, 3), (40.1, 4)])
def test_fascia_screws(length, rows):
    # three at 2 in from each end and rows at most 18 in apart: ceil((L - 4) / 18) + 1 rows
    parts = [Workshop().upright("fascia", FASCIA, rect(0, 0, length, 0.75), 0, 7.25)]
    assert count(parts)["fascia screw"].count == 3 * rows


def test_hangers_ties_and_ledger_fasteners():
    parts, joists = floor(width=160)
    shop = Workshop()
    beam = [shop.upright("beam", JOIST, rect(0, 20 + 1.5 * k, 160, 21.5 + 1.5 * k), -14.5, -7.25) for k in (0, 1)]
    found = count(parts + [b.replaced(id=f"beam{k}", mark="BM1") for k, b in enumerate(beam)], ledger_spacing=15.0)
    assert found["joist hanger"].count == joists  # at the ledger; the rim is nailed on
    assert found["framing screw"].count == 3 * joists
    assert found["beam tie"].count == joists  # two plies, one tie
    # from 3-1/2 in off either end, no further apart than 15 in: in bays of joists 16 in on centre one in each
    assert math.ceil((160 - 7) / 15) + 1 <= found["ledger fastener"].count <= joists + 2
    assert "ledger fastener" not in count(parts)


@pytest.mark.parametrize("length,stations", [(188, 13), (20, 2), (20.1, 3), (3, 1)])
def test_plies_are_nailed_in_pairs(length, stations):
    # two rows at most 16 in apart, the first pair 2 in from the end: ceil((L - 4) / 16) + 1 pairs between each two
    # plies
    shop = Workshop()
    plies = [
        shop.upright("beam", JOIST, rect(0, 1.5 * k, length, 1.5 * k + 1.5), 0, 7.25).replaced(id=f"b{k}", mark="BM1")
        for k in range(3)
    ]
    assert count(plies[:2])["ply nail"].count == 2 * stations
    assert count(plies)["ply nail"].count == 4 * stations
    # a beam that meets another square to it is no ply of it
    tee = shop.upright("beam", JOIST, rect(40, 3, 41.5, 60), 0, 7.25).replaced(id="t", mark="BM2")
    assert count([*plies[:2], tee])["ply nail"].count == 2 * stations


def test_skirts_take_screws_as_fascia_does():
    parts = [Workshop().upright("skirt", FASCIA, rect(0, 0, 40.1, 0.75), 0, 7.25)]
    assert count(parts)["fascia screw"].count == 3 * 4


def test_one_bracket_for_every_post_that_a_handrail_passes():
    shop, post = Workshop(), Stock("4x4", 3.5, 3.5, "treated lumber")
    rail = shop.upright("handrail", Stock("2x2", 1.5, 1.5, "treated lumber"), rect(0, 0, 120, 1.5), 34, 36)
    stand = [shop.upright("guard post", post, rect(x, 3, x + 3.5, 6.5), 0, 42) for x in (0, 60, 116)]
    sleeve = shop.upright("post sleeve", post, rect(59.5, 2.5, 64, 7), 0, 40)  # of the middle one: no second bracket
    far = [
        shop.upright("guard post", post, rect(60, 40, 63.5, 43.5), 0, 42),
        shop.upright("guard post", post, rect(124, 3, 127.5, 6.5), 0, 42),
    ]
    parts = [p.replaced(id=str(k), mark="x") for k, p in enumerate([rail, *stand, sleeve, *far])]
    assert count(parts)["handrail bracket"].count == 3


def test_tape_and_concrete():
    parts, joists = floor(width=160)
    shop = Workshop()
    parts.append(
        shop.cylinder("footing", Stock("r", 16, 16, "concrete"), (20, 20, -60), (0, 0, 1), 8, 40).replaced(
            id="F", mark="F"
        )
    )
    found = count(parts)
    assert found["joist tape"].count == math.ceil(160 * 2 + joists * (20 * 5.75 - 3))
    assert found["concrete bag"].packs == math.ceil(math.pi * 64 * 40 / 1728 / 0.60)


def test_spare_is_added_before_packs():
    parts, joists = floor()
    assert count(parts, fastening="face", spare=0.5)["deck screw"].packs == math.ceil(2 * 20 * joists * 1.5 / 350)


def test_every_rule_says_where_it_comes_from():
    assert all(r.source and r.pack > 0 and r.each > 0 for r in rules().values())


def test_price_list(tmp_path):
    path = tmp_path / "prices.csv"
    path.write_text(
        "item,material,length_ft,unit,price\n2x8,,,ft,1.50\n2x8,treated lumber,16,each,22\ndeck screw,,,each,30\n"
    )
    prices = read_prices(path)
    assert prices.stock_length("2x8", "treated lumber", 192) == 22
    assert prices.stock_length("2x8", "treated lumber", 144) == 18
    assert prices.stock_length("2x10", "treated lumber", 144) is None
    assert (prices.each("deck screw"), prices.each("2x8 hanger")) == (30, None)


@pytest.mark.parametrize(
    "text,says",
    [
        ("item,price\n", "no column material, length_ft, unit"),
        ("item,material,length_ft,unit,price\n2x8,,,yard,3\n", "'yard'"),
        ("item,material,length_ft,unit,price\n2x8,,,ft,-3\n", "'-3'"),
        ("item,material,length_ft,unit,price\n2x8,,,ft,nan\n", "'nan'"),
        ("item,material,length_ft,unit,price\n,,,ft,3\n", "needs an item"),
    ],
)
def test_bad_price_lists(tmp_path, text, says):
    path = tmp_path / "p.csv"
    path.write_text(text)
    with pytest.raises(InputError) as e:
        read_prices(path)
    assert says in str(e.value) and str(path) in str(e.value) and len(e.value.faults) == 1
