"""Every piece is in the order: read here off the rows of `measured.json` and `order.csv` alone.

Of each stock: what is bought, spares apart, covers what the pieces take; no bad length stops the job.
"""

from __future__ import annotations

import math
import re
from collections import defaultdict

import pytest
from conftest import DEMOS, demo_deck, demo_measured

from plumbcut.exports.formats.measured_json import measured_rows
from plumbcut.exports.formats.rows import order_table
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.order.deliveries import DELIVERIES
from plumbcut.model.order.takeoff import take_off

NOT_CUT = {"concrete", "steel", "aluminium"}
WHOLE = {"post cap", "post sleeve", "post base", "footing", "pad"}  # bought one by one


def marks_of(text):
    for run in filter(None, text.split(", ")):
        first, _, last = run.partition(" to ")
        letter = first.rstrip("0123456789")
        for n in range(int(first[len(letter) :]), int((last or first)[len(letter) :]) + 1):
            yield f"{letter}{n}"


def widest(pieces):
    return max(p["width_in"] for p in pieces)


def held(deck, measured):
    """Raises AssertionError where the order lacks something."""
    header, table = order_table(take_off(deck, measured))
    rows = [dict(zip(header, r)) for r in table]
    # what cannot be joined may be longer than any length sold; it stands in the order as a length to ask for
    apart = [r for r in rows if r["kind"] == "special"]
    said = [r["for"] for r in rows if r["kind"] == "note" and "longer than any length sold: " in r["for"]]
    assert len(said) == sum(r["quantity"] for r in apart)
    assert all(re.search(r"\((stringer|handrail|skirt|hip stringer|jack stringer),", text) for text in said), said
    bought, spares, served = defaultdict(list), defaultdict(int), defaultdict(dict)
    for r in (r for r in rows if r["kind"] in ("stock", "special")):
        key = r["item"], r["material"]
        bought[key] += [r["length_ft"] * 12] * (r["quantity"] - r["spare"])
        if r["kind"] == "stock":
            spares[*key, r["edge"]] += r["spare"]
        for mark in marks_of(r["serves"]):
            served[key][mark] = max(served[key].get(mark, 0), r["length_ft"] * 12)
    need = defaultdict(list)
    for p in measured_rows(measured):
        if p["material"] not in NOT_CUT and p["role"] not in WHOLE:
            need[p["stock"], p["material"]].append(p)
    assert set(need) == set(bought)
    for key, pieces in need.items():
        bars = bought[key]
        for p in pieces:
            assert served[key].get(p["mark"], 0) >= p["length_in"] - 1e-6, p["id"]
        # two ripped pieces may share a length side by side: each counts by its width alone
        full = widest(pieces)
        taken = math.fsum(p["length_in"] * ((p["rip_in"] or full) / full) for p in pieces)
        assert math.fsum(bars) >= taken - 1e-6, key
        for least in {p["length_in"] for p in pieces if not p["rip_in"]}:
            longer = sum(p["length_in"] >= least - 1e-6 for p in pieces if not p["rip_in"])
            assert sum(math.floor((b + 0.125) / (least + 0.125) + 1e-6) for b in bars) >= longer, (key, least)
    assert all(n >= 1 for n in spares.values())  # one length in twenty, rounded up
    return rows


@pytest.mark.parametrize("demo", DEMOS)
def test_bought_length_covers_need_on_the_demos(demo):
    rows = held(demo_deck(demo), demo_measured(demo))
    order = [list(DELIVERIES).index(r["delivery"]) for r in rows if r["kind"] != "note"]
    assert order == sorted(order) and set(order) == {0, 1, 2}
    for r in rows:
        if r["kind"] == "stock" and "lumber" in r["material"]:
            assert (r["species"], r["treatment"]) == ("southern pine", "UC4A") and re.match("No", r["grade"])


def test_no_spares_where_none_are_asked_for():
    deck, measured = demo_deck("terrace"), demo_measured("terrace")
    order = deck.parameters.order.model_copy(update={"spare_lumber": 0.0, "spare_boards": 0.2})
    some = take_off(deck_with(deck, order), measured).order
    for line in some.lines:
        share = 0.2 if line.stock.material == "composite board" else 0.0
        assert sum(n for _, n in line.spare) == math.ceil(share * len(line.bars) - 1e-9)


def deck_with(deck, order):
    from dataclasses import replace

    return replace(deck, parameters=deck.parameters.model_copy(update={"order": order}))


def test_a_missing_length_is_noticed():
    """The reading above is not blind: with one joist more than is bought for it says so."""
    deck, measured = demo_deck("terrace"), list(demo_measured("terrace"))
    taken = take_off(deck, measured)
    assert taken.order.lines
    from plumbcut.exports.formats import rows as module

    header, table = module.order_table(taken)
    k = next(i for i, r in enumerate(table) if r[0] == "stock" and r[1] == "2x10" and r[5] > 5)
    with pytest.MonkeyPatch.context() as m:
        short = [list(r) for r in table]
        short[k][5] -= 5
        m.setitem(globals(), "order_table", lambda _: (header, short))
        with pytest.raises(AssertionError):
            held(deck, measured)


def test_trim_of_the_surfaces_own_material_comes_in_its_own_lengths():
    """Boards of 8 ft, fascia of 12 ft and of one material: no fascia is "longer than any length sold"."""
    file = {"outline": {"width": 200, "depth": 130}, "levels": {"surface": 40}}
    file |= {"surface": {"board_length": 96, "material": "composite board"}, "trim": {"material": "composite board"}}
    deck = build(Parameters.model_validate(file))
    rows = measure_all(deck.parts)
    assert max(m.length for m in rows if m.role == "fascia") > 96
    order = take_off(deck, rows).order
    assert not order.too_long and not order.special
    lengths = {line.name: set(line.counts) for line in order.lines}
    fascia = next(m.stock for m in rows if m.role == "fascia")
    assert max(lengths[f"{fascia.name} composite board"]) == 144
    assert max(max(v) for name, v in lengths.items() if name.startswith("5/4x6")) == 96
