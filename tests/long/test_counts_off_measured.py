"""Counts of the order by plain arithmetic off the rows of `measured.json` alone: boxes that touch, lengths, numbers of
pieces. Three demos and three decks made here; where a deck has pieces askew their boxes tell nothing, and what leans on
touching is counted on the five others. Facts of the trade as in `shared/data/fasteners.csv`."""

from __future__ import annotations

import itertools
import math
import re
from collections import Counter
from functools import cache

import numpy as np
import pytest
from conftest import DEMOS, demo_deck, demo_measured

from plumbcut.exports.formats.measured_json import measured_rows
from plumbcut.exports.formats.rows import order_table
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.order.takeoff import take_off
from plumbcut.model.order.tally import marks_in
from plumbcut.shared.prices import Prices

OWN = {
    "square footings": {
        "outline": {"width": 170, "depth": 128},
        "levels": {"surface": 34},
        "frame": {"joist": "2x8", "beam": "2x10", "footing": {"shape": "square", "size": 24}},
        "surface": {"material": "treated lumber", "fastening": "face"},
        "stair": [{"edge": "front", "width": 44}],
    },
    "away from the house": {
        "outline": {"width": 138, "depth": 118, "house": []},
        "levels": {"surface": 46},
        "frame": {"joist": "2x8", "beam": "2x8"},
        "stair": [{"edge": "left", "width": 40}],
    },
    "wide, low": {
        "outline": {"width": 250, "depth": 112},
        "levels": {"surface": 22},
        "frame": {"joist": "2x8", "joist_spacing": 12},
    },
}
DECKS = [*DEMOS, *OWN]
SQUARE = [d for d in DECKS if d != "wraparound"]  # no piece of them lies askew
NEAR = 1e-3


@cache
def deck_of(name):
    if name not in OWN:
        return demo_deck(name), demo_measured(name)
    deck = build(Parameters.model_validate(OWN[name]))
    return deck, measure_all(deck.parts)


@cache
def read(name):
    """(pieces of measured.json, {item: how many are needed}) of a deck."""
    _, measured = deck_of(name)
    need = Counter(notes=[])
    for r in order_rows(name):
        if r["kind"] == "hardware" and r["item"] != "joist tape":
            need[r["item"]] += float(re.match(r"[\d.]+", r["for"])[0])
        elif r["item"] == "joist tape":
            feet, inches, part = re.match(r"(?:(\d+)'-)?(\d+)?(?: ?(\d+/\d+))?\"", r["for"]).groups()
            top, _, under = (part or "0/1").partition("/")
            need["joist tape"] += 12 * int(feet or 0) + int(inches or 0) + int(top) / int(under)
        elif r["kind"] == "note" and r["for"].startswith("ledger fasteners"):
            need["notes"] = re.findall(r"([\d.]+) in o\.c\.", r["for"])
    return measured_rows(measured), need


def of(pieces, *roles):
    return [p for p in pieces if p["role"] in roles]


def box(p):
    return np.array([p["box_low_in"], p["box_high_in"]])


def shared(p, q, axis):
    """Square inches in which two boxes touch across an axis, 0 where they do not meet there."""
    a, b = box(p), box(q)
    if min(abs(a[1, axis] - b[0, axis]), abs(b[1, axis] - a[0, axis])) > NEAR:
        return 0.0
    over = np.minimum(a[1], b[1]) - np.maximum(a[0], b[0])
    rest = [k for k in range(3) if k != axis]
    return float(np.prod(np.maximum(over[rest], 0.0)))


def along(p):
    return int(np.argmax(np.abs(p["axis"])))


def rests(p, q):
    return abs(box(p)[0, 2] - box(q)[1, 2]) < NEAR and shared(p, q, 2) > 0.01


def merged(spots):
    """Places no further apart than plies of one support."""
    found = []
    for s in sorted(spots):
        if not found or s - found[-1][-1] > 2.0:
            found.append([s])
        else:
            found[-1].append(s)
    return len(found)


@pytest.mark.parametrize("name", DECKS)
def test_what_goes_by_the_piece(name):
    pieces, need = read(name)
    role = Counter(p["role"] for p in pieces)
    assert need["post base"] == need["post-base anchor"] == role["post"]
    assert need["guard-post bolt"] == 2 * role["guard post"] == 2 * need["tension device"]
    assert need["post cap"] == role["post cap"] and need["post sleeve"] == role["post sleeve"]
    assert need["stringer connector"] == role["stringer"]
    assert need["brace lag screw"] == 2 * role["knee brace"]
    assert need["foot-block screw"] == 2 * role["foot block"]
    assert need["baluster screw"] == 2 * role["baluster"]
    assert need["rail bracket"] == 2 * (role["top rail"] + role["bottom rail"])
    assert need["hold-down"] == (2 if role["ledger"] else 0)


@pytest.mark.parametrize("name", DECKS)
def test_what_goes_by_length(name):
    pieces, need = read(name)
    taped = of(pieces, "ledger", "rim", "joist", "blocking", "post blocking", "border blocking", "stair header")
    least = sum(p["length_in"] for p in taped if p["role"] != "stair header")
    assert least - 1 <= need["joist tape"] <= sum(p["length_in"] for p in taped) + 1
    if name != "wraparound":  # whose maker's sheet has rows of its own
        rows = sum(math.ceil(max(0, p["length_in"] - 4) / 18 - 1e-9) + 1 for p in of(pieces, "fascia", "skirt"))
        assert need["fascia screw"] == 3 * rows
    ledgers = of(pieces, "ledger")
    if ledgers:
        [apart] = {float(x) for x in need["notes"] if x}
        least = sum(math.ceil((p["length_in"] - 10) / apart) + 1 for p in ledgers)
        assert least <= need["ledger fastener"] <= least + len(of(pieces, "joist")) // 2


@pytest.mark.parametrize("name", SQUARE)
def test_what_goes_by_touching(name):
    pieces, need = read(name)
    beams, posts = of(pieces, "beam"), of(pieces, "post")
    frame = of(pieces, "joist", "rim")
    carried = [b for b in beams + of(pieces, "rim") if b["role"] == "beam" or b["where"].startswith("stair")]
    assert need["beam cap"] == sum(any(rests(b, p) for b in carried) for p in posts)
    ties = 0
    for j in frame:
        k = along(j)
        spots = [(max(box(j)[0, k], box(b)[0, k]) + min(box(j)[1, k], box(b)[1, k])) / 2 for b in beams if rests(j, b)]
        ties += merged(spots)
    assert need["beam tie"] == ties
    hung = {
        (p["id"], round(float(box(p)[end, along(p)]), 1))
        for p in of(pieces, "joist", "rim")
        for q in of(pieces, "ledger")
        for end in (0, 1)
        if along(p) != along(q) and shared(p, q, along(p)) > 0.01
        and abs(box(p)[end, along(p)] - np.clip(box(p)[end, along(p)], *box(q)[:, along(p)])) < NEAR
    }  # fmt: skip
    hangers = need["joist hanger"] + 2 * need["doubled joist hanger"]  # two joists side by side share one
    assert hangers >= len(hung) and (hangers == len(hung) or not of(pieces, "ledger"))
    level = [p for p in pieces if p["group"] in ("frame", "blocking") or p["role"] == "guard post"]
    ends = sum(
        shared(k, q, along(k)) > 0.01
        for k in of(pieces, "border blocking")
        for q in level
        if q["id"] != k["id"]
    )  # fmt: skip
    assert need["angle pair"] == ends
    nails = 0
    for k, a in enumerate(beams):
        for b in beams[k + 1 :]:
            across = 1 - along(a)
            if along(a) == along(b) and shared(a, b, across) > 0.01:
                run = min(box(a)[1, along(a)], box(b)[1, along(a)]) - max(box(a)[0, along(a)], box(b)[0, along(a)])
                nails += 2 * (math.ceil(max(0, run - 4) / 16 - 1e-9) + 1)
    assert nails and need["ply nail"] >= nails


@pytest.mark.parametrize("name", [d for d in SQUARE if d in ("hillside", "square footings")])
def test_two_screws_at_every_crossing_of_boards_that_are_screwed(name):
    """Boards along their supports apart: a border is screwed along its rim by its length."""
    pieces, need = read(name)
    takes = of(pieces, "joist", "rim", "ledger", "blocking", "border blocking", "post blocking", "joint cleat", "beam")
    crossings = 0
    for board in of(pieces, "board", "border", "breaker"):
        k = along(board)
        spots = [
            (max(box(board)[0, k], box(q)[0, k]) + min(box(board)[1, k], box(q)[1, k])) / 2
            for q in takes
            if along(q) != k and rests(board, q) and shared(board, q, 2) >= 0.5
        ]
        crossings += merged(spots)
    assert 2 * crossings <= need["deck screw"]
    longwise = sum(p["length_in"] for p in of(pieces, "border", "breaker"))
    assert need["deck screw"] <= 2 * crossings + 2 * longwise / 16 + 12 * len(of(pieces, "border", "breaker"))


@pytest.mark.parametrize("name", DECKS)
def test_forms_go_round_all_that_is_square(name):
    pieces, need = read(name)
    pads = of(pieces, "pad")
    square = [
        p for p in of(pieces, "footing")
        if p["volume_in3"] > 0.9 * np.prod(np.ptp(box(p), axis=0))
    ]  # fmt: skip
    assert bool(pads or square) == bool(need["form board"])
    assert bool(need["form tube"]) == (len(square) < len(of(pieces, "footing")))
    sides = [s + 1.5 for p in [*pads, *square] for s in np.ptp(box(p), axis=0)[:2] for _ in (0, 1)]
    assert need["form board"] * 96 >= sum(sides) - NEAR if name != "wraparound" else True
    assert need["form board"] <= sum(math.ceil((s + 1.5) / 96) for s in sides)


def crossings_of(board, takes):
    k = along(board)
    spots = [
        (max(box(board)[0, k], box(q)[0, k]) + min(box(board)[1, k], box(q)[1, k])) / 2
        for q in takes
        if along(q) != k and rests(board, q) and shared(board, q, 2) >= 0.5
    ]
    return merged(spots)


@pytest.mark.parametrize("name", ["terrace"])
def test_clips_between_boards_that_lie_whole_beside_each_other(name):
    """Each run one board: a clip at every support between two grooved ones, a start clip where the first and the last,
    which are square-edged and screwed, meet them."""
    pieces, need = read(name)
    takes = of(pieces, "joist", "rim", "ledger", "blocking", "border blocking", "post blocking", "joint cleat", "beam")
    boards = of(pieces, "board")
    across = 1 - along(boards[0])
    runs = sorted(boards, key=lambda p: float(box(p)[0, across]))
    assert len({round(float(box(p)[0, across]), 2) for p in runs}) == len(runs)
    at = [crossings_of(p, takes) for p in runs]
    between = [min(a, b) for a, b in itertools.pairwise(at)]
    assert need["hidden clip"] == sum(between[1:-1]) and need["hidden clip"] > 100
    assert need["start clip"] == between[0] + between[-1]


@pytest.mark.parametrize("name", ["terrace", "square footings", "away from the house"])
def test_screws_of_steps_and_anchors_of_their_feet(name):
    """Two screws wherever a tread or a riser passes a stringer of its own flight, one anchor where a stringer or a post
    stands on a pad."""
    pieces, need = read(name)
    places = 0
    for p in of(pieces, "tread", "riser"):
        k = along(p)
        places += sum(
            box(s)[0, k] < box(p)[1, k] - NEAR and box(p)[0, k] < box(s)[1, k] - NEAR for s in of(pieces, "stringer")
        )
    assert need["tread screw"] == 2 * places
    stands = [p for p in of(pieces, "stringer", "guard post") if any(rests(p, q) for q in of(pieces, "pad"))]
    assert need["pad anchor"] == len(stands) > 0


@pytest.mark.parametrize("name", DECKS)
def test_concrete_its_gravel_and_its_tubes_by_volume(name):
    """A bag of 80 lb makes 0.60 cu ft (as printed on bags), gravel comes in bags of 0.5 cu ft, tubes are 48 in long; a
    quarter of a yard is the least that a ready-mix plant adds (common practice, no source)."""
    pieces, need = read(name)
    volume = sum(p["volume_in3"] for p in of(pieces, "footing", "pad")) / 1728
    assert bool(need["concrete bag"]) != bool(need["ready-mix concrete"])
    poured = need["ready-mix concrete"] * 27 or need["concrete bag"] * 0.6
    assert volume - 1e-3 <= poured < volume + (27 / 4 if need["ready-mix concrete"] else 0.6) + 0.01 * volume
    pads = of(pieces, "pad")
    plan = sum(p["volume_in3"] / np.ptp(box(p)[:, 2]) for p in pads) / 144
    assert need["gravel bag"] * 0.5 >= plan * 4 / 12 - 0.5 if pads else not need["gravel bag"]
    assert need["gravel bag"] * 0.5 <= plan * 4 / 12 + 0.5
    round_ = [p for p in of(pieces, "footing") if p["volume_in3"] < 0.9 * np.prod(np.ptp(box(p), axis=0))]
    high = [float(np.ptp(box(p)[:, 2])) for p in round_]
    assert sum(high) / 48 - NEAR <= need["form tube"] <= sum(math.ceil(h / 48 - 1e-9) for h in high)


@pytest.mark.parametrize("name", DECKS)
def test_nails_of_connectors_by_their_number(name):
    """Every hole filled, as many as `shared/data/nails.csv` has for a joist and a post of that size; take a connector
    away and its nails go."""
    pieces, need = read(name)
    short = 8 * need["angle pair"] + 10 * need["beam tie"] + 14 * need["stringer connector"] + 4 * need["pad anchor"]
    assert need["short connector nail"] == short + 8 * need["strap tie"]
    [deep] = {round(p["width_in"], 2) for p in of(pieces, "joist") if not p["where"].startswith("stair")}
    each = {5.5: 10, 7.25: 12, 9.25: 16, 11.25: 18}[deep]
    landings = any(p["role"] == "joist" and p["where"].startswith("stair") for p in pieces)
    if not landings:
        assert need["connector nail"] == each * need["joist hanger"]
    wide = {round(p["width_in"], 2) for p in of(pieces, "post")}
    if len(wide) == 1:
        cap, base = (12, 6) if wide == {3.5} else (20, 8)
        heavy = cap * need["beam cap"] + base * need["post base"] + each * need["doubled joist hanger"]
        assert need["heavy connector nail"] == heavy > 0


@pytest.mark.parametrize("name", DECKS)
def test_flashing_goes_over_every_ledger(name):
    """To the nearest sixteenth, as its line of the order says it, in feet and inches."""
    pieces, _ = read(name)
    ledgers = of(pieces, "ledger")
    told = [r for r in order_rows(name) if r["item"] == "ledger flashing"]
    assert len(told) == bool(ledgers)
    for row in told:
        feet, inches, part = re.match(r"(?:(\d+)'-)?(\d+)?(?: ?(\d+/\d+))?\"", row["for"]).groups()
        top, _, under = (part or "0/1").partition("/")
        long = 12 * int(feet or 0) + int(inches or 0) + int(top) / int(under)
        assert long == pytest.approx(sum(p["length_in"] for p in ledgers), abs=1 / 16)
        assert row["quantity"] * 120 >= long > (row["quantity"] - 1) * 116  # 10 ft lengths that lap by 4 in


@pytest.mark.parametrize("name", DECKS)
def test_what_is_cut_is_bought_by_stock(name):
    """Of every stock more inches are bought than go into its pieces, no piece is longer than what is bought of it, and
    every mark that is cut stands on a line of its stock."""
    pieces, _ = read(name)
    rows = [r for r in order_rows(name) if r["kind"] == "stock"]
    cut = [p for p in pieces if p["role"] not in ("footing", "pad", "post sleeve", "post cap", "post base")]
    for stock, material in {(p["stock"], p["material"]) for p in cut}:
        own = [p for p in cut if (p["stock"], p["material"]) == (stock, material)]
        lines = [r for r in rows if (r["item"], r["material"]) == (stock, material)]
        assert lines, (stock, material)
        bought = sum(float(r["length_ft"]) * 12 * r["quantity"] for r in lines)
        side = [p for p in own if p.get("rip_in")]  # two rips may share a length
        assert bought >= sum(p["length_in"] for p in own) - sum(p["length_in"] for p in side) / 2
        assert max(p["length_in"] for p in own) <= max(float(r["length_ft"]) * 12 for r in lines)
        served = set(marks_in(run for r in lines for run in r["serves"].split(", ")))
        assert {p["mark"] for p in own} <= served


@cache
def order_rows(name) -> list[dict]:
    deck, measured = deck_of(name)
    header, rows = order_table(take_off(deck, measured, Prices()))
    return [dict(zip(header, row)) for row in rows]
