"""The order: packing against exhaustive search, instances with a known optimum, and the rule of thumb; then real
decks."""

from __future__ import annotations

import random
from collections import Counter
from functools import cache

import pytest
from conftest import demo_deck, demo_measured

from plumbcut.exports.drafting.wording import worded
from plumbcut.exports.formats.rows import cut_table
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Order, Parameters
from plumbcut.model.measuring.board_edges import grooved, neighbours
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.order.cuts import cut_list
from plumbcut.model.order.order import BOUGHT_WHOLE, GROOVED, make_order
from plumbcut.model.order.packing import pack, plain_rule
from plumbcut.model.order.rip_pairs import side_by_side
from plumbcut.model.order.takeoff import take_off
from plumbcut.model.parameter_file import read
from plumbcut.model.solid.part import Workshop
from plumbcut.shared.errors import InputError
from plumbcut.shared.prices import Prices
from plumbcut.shared.stock import Stock, material

SOLD = [96.0, 120, 144, 168, 192, 216, 240]


def check_plan(plan, pieces, kerf, trim, first=()):
    """Every piece once, every bar long enough: trim, pieces, and a kerf between two pieces; no two `first` ones in a
    bar. Counted here from scratch."""
    assert all(sum(i in first for i in b.pieces) <= 1 for b in plan.bars)
    assert sorted(i for b in plan.bars for i in b.pieces) == list(range(len(pieces)))
    for bar in plan.bars:
        assert trim + sum(pieces[i] for i in bar.pieces) + kerf * (len(bar.pieces) - 1) <= bar.length + 1e-6
    assert plan.bound <= plan.cost + 1e-9


def least_cost(pieces, lengths, costs, kerf, trim, first=()) -> float:
    """Exhaustive: the first piece left goes with every subset of the others that fits and has at most one of `first`,
    at every stock length."""

    @cache
    def best(left: tuple[int, ...]) -> float:
        if not left:
            return 0.0
        rest, found = left[1:], float("inf")
        for mask in range(1 << len(rest)):
            chosen = [left[0]] + [p for k, p in enumerate(rest) if mask >> k & 1]
            if sum(i in first for i in chosen) > 1:
                continue
            need = trim + sum(pieces[i] for i in chosen) + kerf * (len(chosen) - 1)
            price = min((c for length, c in zip(lengths, costs) if length >= need - 1e-9), default=None)
            if price is not None:
                found = min(found, price + best(tuple(p for k, p in enumerate(rest) if not mask >> k & 1)))
        return found

    return best(tuple(range(len(pieces))))


@pytest.mark.parametrize("seed", range(40))
def test_exhaustive_search_on_small_cases(seed):
    rng = random.Random(seed)
    pieces = [rng.choice([rng.uniform(8, 118), 14.5, 47.25, 30.0]) for _ in range(rng.randint(1, 8))]
    kerf, trim = rng.choice([0, 0.125]), rng.choice([0, 0.5])
    lengths, costs = rng.choice(
        [
            ([120.0], [1.0]),
            ([96.0, 144, 192], [96.0, 144, 192]),
            ([96.0, 144, 192], [1.0, 1.0, 1.0]),
            ([120.0, 240], [7.25, 15.1]),
        ]
    )
    longest = max(lengths) - trim
    pieces = [p for p in pieces if p <= longest]
    plan = pack(pieces, lengths, costs, kerf, trim)
    check_plan(plan, pieces, kerf, trim)
    assert plan.cost == pytest.approx(least_cost(pieces, lengths, costs, kerf, trim))
    assert plan.proven


@pytest.mark.parametrize("seed", range(60))
def test_pieces_kept_whole_against_exhaustive_search(seed):
    """At most one of some pieces to a length: the plan is best of all such plans, and proven so."""
    rng = random.Random(1000 + seed)
    pieces = [rng.choice([rng.uniform(8, 118), 14.5, 47.25, 30.0]) for _ in range(rng.randint(2, 8))]
    kerf, trim = rng.choice([0, 0.125]), rng.choice([0, 0.5])
    lengths, costs = rng.choice([([120.0], [1.0]), ([96.0, 144, 192], [96.0, 144, 192]), ([120.0, 240], [7.25, 15.1])])
    pieces = [p for p in pieces if p <= max(lengths) - trim]
    first = frozenset(i for i in range(len(pieces)) if rng.random() < 0.5)
    plan = pack(pieces, lengths, costs, kerf, trim, first)
    check_plan(plan, pieces, kerf, trim, first)
    assert plan.cost == pytest.approx(least_cost(pieces, lengths, costs, kerf, trim, first)) and plan.proven
    rule = plain_rule(pieces, lengths, costs, kerf, trim, first)
    check_plan(rule, pieces, kerf, trim, first)
    assert rule.cost >= plan.cost - 1e-9


def test_pieces_kept_whole_cost_more_where_they_would_share_a_length():
    # four halves of a length: two lengths, or four where each must be the first out of its own
    assert pack([47.9] * 4, [96], [1], 0.125, 0).cost == 2
    plan = pack([47.9] * 4, [96], [1], 0.125, 0, range(4))
    assert (plan.cost, plan.bound) == (4, 4)


def test_thousands_of_pieces_some_kept_whole():
    rng = random.Random(5)
    pieces = [rng.randint(40, 750) / 4 for _ in range(1000)]
    first = {i for i in range(1000) if rng.random() < 0.1}
    plan = pack(pieces, SOLD, None, 0.125, 0.5, first)
    check_plan(plan, pieces, 0.125, 0.5, first)
    assert plan.gap < 0.01


def test_paper_mill_example():
    # A widely published teaching example: rolls of 5600 mm, 219 pieces of 13 widths; optimum 73 rolls (from memory; the
    # length alone needs 407,160 / 5600 = 72.7, so 73 cannot be beaten).
    demand = {
        1380: 22,
        1520: 25,
        1560: 12,
        1710: 14,
        1820: 18,
        1880: 18,
        1930: 20,
        2000: 10,
        2050: 12,
        2100: 14,
        2140: 16,
        2150: 18,
        2200: 20,
    }
    pieces = [w for w, n in demand.items() for _ in range(n)]
    plan = pack(pieces, [5600], [1])
    check_plan(plan, pieces, 0, 0)
    assert (plan.cost, plan.bound) == (73, 73)
    assert plain_rule(pieces, [5600], [1]).cost > 73


def test_boards_of_seventeen_feet():
    # A textbook example (from memory: Winston, Operations Research): 25 pieces of 3 ft, 20 of 5 ft, 15 of 9 ft out of
    # 17 ft
    # boards. The length alone needs 310 / 17 = 18.2, so 19 cannot be beaten.
    pieces = [3] * 25 + [5] * 20 + [9] * 15
    plan = pack(pieces, [17], [1])
    check_plan(plan, pieces, 0, 0)
    assert (plan.cost, plan.bound) == (19, 19)


@pytest.mark.parametrize("seed", range(3))
def test_triplets_leave_nothing_over(seed):
    """The triplet class of Falkenauer (1996): three pieces fill each bar exactly, so the optimum is known as it is
    made."""
    rng, pieces = random.Random(seed), []
    for _ in range(20):
        a = rng.randint(380, 490)
        b = rng.randint((1000 - a) // 2 - 60, (1000 - a) // 2)
        pieces += [a, b, 1000 - a - b]
    rng.shuffle(pieces)
    plan = pack(pieces, [1000], [1])
    check_plan(plan, pieces, 0, 0)
    assert plan.bound == 20
    assert plan.cost <= 21  # within one bar of what is possible, and it says so
    assert plan.gap == pytest.approx((plan.cost - 20) / plan.cost)


def test_kerfs_between_pieces_and_not_after_the_last():
    # two halves of 96 with a 1/8 kerf need 96; three thirds need two kerfs
    assert len(pack([47.9375, 47.9375], [96], [1], kerf=0.125).bars) == 1
    assert len(pack([47.94, 47.94], [96], [1], kerf=0.125).bars) == 2
    third = (96 - 0.25) / 3
    assert len(pack([third] * 3, [96], [1], kerf=0.125).bars) == 1


def test_never_worse_than_first_fit_decreasing_and_same_again():
    rng = random.Random(11)
    pieces = [rng.choice([14.5, 22.375, 37.75, 93, 112.25, 130.5, 81.0625]) for _ in range(400)]
    one, two = (pack(pieces, SOLD, None, 0.125, 0.5) for _ in range(2))
    check_plan(one, pieces, 0.125, 0.5)
    assert one == two
    assert one.cost < plain_rule(pieces, SOLD, None, 0.125, 0.5).cost
    assert one.gap < 0.005


def test_thousands_of_pieces_have_a_stated_gap():
    rng = random.Random(4)
    pieces = [rng.randint(40, 750) / 4 for _ in range(2000)]
    plan = pack(pieces, SOLD, None, 0.125, 0.5)
    check_plan(plan, pieces, 0.125, 0.5)
    assert plan.gap < 0.01
    # the bound is not taken on trust: no plan buys less than the pieces themselves
    assert plan.bound >= sum(pieces)


@pytest.mark.parametrize("pieces,lengths", [([121], [120]), ([119.75], [120]), ([10], []), ([-1], [120])])
def test_what_cannot_be_cut_is_refused(pieces, lengths):
    with pytest.raises(ValueError):
        pack(pieces, lengths, None, 0.125, 0.5)


def boards(rows, width=5.5, gap=0.25):
    shop, stock = Workshop(), Stock("5/4x6", 1.0, 5.5, "composite board")
    out = []
    for k in range(rows):
        y, w = k * (5.5 + gap), (width if k == rows - 1 else 5.5)
        out.append(
            shop.upright("board", stock, [(0, y), (140, y), (140, y + w), (0, y + w)], 0, 1).replaced(
                id=f"B{k}", mark="B"
            )
        )
    return measure_all(out)


def test_first_and_last_boards_are_square_edged():
    ms = boards(6)
    assert len(neighbours(ms)) == 5 and all(p.gap == pytest.approx(0.25) for p in neighbours(ms))
    assert grooved(ms) == [False, True, True, True, True, False]
    assert grooved(boards(6, width=3.0))[-1] is False
    assert not any(grooved(boards(6, gap=0.75)))  # too far apart for a clip
    lines = {x.edge: x for x in make_order(ms).lines}
    assert {e: len(x.bars) for e, x in lines.items()} == {"square edge": 2, GROOVED: 4}
    assert [x.edge for x in make_order(ms, fastening="face").lines] == [""]


def test_preferences_change_what_is_least():
    stock = Stock("2x8", 1.5, 7.25, "treated lumber")
    shop = Workshop()
    ms = measure_all(
        [
            shop.upright("joist", stock, [(0, y), (93, y), (93, y + 1.5), (0, y + 1.5)], 0, 7.25).replaced(id=f"J{y}")
            for y in range(0, 40, 2)
        ]
    )
    fewest = make_order(ms, Order(prefer="fewest boards", spare_lumber=0)).lines[0]
    shortest = make_order(ms, Order(prefer="least length", spare_lumber=0)).lines[0]
    assert len(fewest.bars) == 10 and fewest.cost == 10
    assert shortest.bought <= fewest.bought
    # a price list in which 8 ft is dear makes 16 ft the cheaper way
    prices = Prices((("2x8", "", 8.0, "each", 30.0), ("2x8", "", None, "ft", 1.0)))
    cheap = make_order(ms, Order(prefer="least price", spare_lumber=0), prices).lines[0]
    assert cheap.counts == {192.0: 10} and cheap.price == pytest.approx(160)
    none = make_order(ms, Order(prefer="least price"), Prices())
    assert none.unpriced and none.lines[0].price is None and "no price" in none.lines[0].prefer


def test_defects_trim_offcut_and_lengths_of_the_yard():
    stock = Stock("2x8", 1.5, 7.25, "treated lumber")
    ring = [(0, 0), (100, 0), (100, 1.5), (0, 1.5)]
    ms = measure_all(
        [Workshop().upright("joist", stock, ring, 0, 7.25).replaced(id=f"J{k}", mark="J1") for k in range(10)]
    )
    line = make_order(ms, Order(spare_lumber=0.1, lengths={"2x8": [120]}, least_offcut=19)).lines[0]
    assert line.counts == {120.0: 11} and line.spare == ((120.0, 1),)
    bar = line.bars[0]
    assert bar.offcut == pytest.approx(120 - 0.5 - 100 - 0.125) and bar.kept
    # 1/2 in to square an end leaves 99-1/2 of 100: each takes a length for itself, nothing cut off, and it is said
    exact = make_order(ms, Order(spare_lumber=0.0, lengths={"2x8": [100]}))
    assert exact.lines[0].counts == {100.0: 10} and not exact.too_long and exact.lines[0].gap == 0
    assert all(b.untrimmed and b.offcut == 0 for b in exact.lines[0].bars) and "no end trimmed" in str(exact.notes[0])
    long = make_order(ms, Order(lengths={"2x8": [96]}))
    assert len(long.too_long) == 10 and not long.lines and "J0" in worded(long.too_long[0])
    # asked for by the even foot, 100-1/2 in with its trim
    assert [(x.length, x.mark) for x in long.special] == [(120.0, "J1")] * 10


def test_a_tip_that_a_notch_takes_off_needs_no_longer_length_than_is_sold():
    """A slant whose tip would lie past 96 in is cut off at 92 in: bought where 96 in is the longest, not called too
    long; where longer ones are sold the tip is bought too, so that the whole slant can be cut."""
    stock = Stock("2x8", 1.5, 7.25, "treated lumber")
    ring = [(0, 0), (86, 0), (92, 4), (90, 4), (90, 7.25), (0, 7.25)]
    (m,) = measure_all([Workshop().upright("board", stock, ring, 0, 1.5).replaced(id="B1-01", mark="B1")])
    assert m.length == pytest.approx(92) and m.long_point == pytest.approx(86 + 7.25 * 1.5)
    short = make_order([m], Order(lengths={"2x8": [96]}, spare_lumber=0), fastening="face")
    assert not short.too_long and not short.special and short.lines[0].counts == {96.0: 1}
    assert short.lines[0].bars[0].lengths == (pytest.approx(92),)
    assert make_order([m], Order(lengths={"2x8": [96, 120]}, spare_lumber=0)).lines[0].counts == {120.0: 1}


def test_order_of_a_demo_gives_every_piece_once(demo):
    measured, deck = demo_measured(demo), demo_deck(demo)
    settings = deck.parameters.order
    order = make_order(measured, settings, fastening=deck.parameters.surface.fastening)
    cut = [m for m in measured if m.role not in BOUGHT_WHOLE and material(m.stock.material).kind in ("lumber", "board")]
    assert not order.too_long
    assert Counter(i for x in order.lines for b in x.bars for i in b.ids) == Counter(m.id for m in cut)
    length = {m.id: max(m.length, m.long_point) for m in cut}  # a notch may take the long point off after the cut
    for line in order.lines:
        assert line.cost <= line.rule_cost + 1e-9 and line.gap < 0.02
        for bar in line.bars:
            used = (
                (0 if bar.untrimmed else settings.end_trim)
                + sum(length[i] for i in bar.ids)
                + settings.kerf * (len(bar.ids) - 1)
            )
            assert used <= bar.length + 1e-6
            assert bar.offcut == pytest.approx(max(0, bar.length - used - settings.kerf))


@pytest.mark.parametrize("wide,deep", [(516, 276), (240, 168), (191.9, 118)])
def test_every_piece_of_a_wide_deck_is_bought(wide, deep):
    """Rims as long as the longest lumber sold, runs as long as the boards, and runs that must be joined."""
    deck = build(
        Parameters.model_validate(
            {
                "outline": {"width": wide, "depth": deep},
                "levels": {"surface": 40},
                "frame": {"rim_plies": 2},
                "surface": {"board_length": 192, "border": {"courses": 1}},
            }
        )
    )
    order = take_off(deck, measure_all(deck.parts)).order
    assert not order.too_long
    bought = Counter(i for x in order.lines for b in x.bars for i in b.ids)
    assert set(bought) >= {p.id for p in deck.parts if p.role in ("rim", "joist", "beam", "board", "border", "fascia")}
    trim = deck.parameters.order.end_trim
    long = {p.id: p for p in deck.parts}
    for bar in (b for x in order.lines for b in x.bars):
        assert sum(bar.lengths) <= bar.length - (0 if bar.untrimmed else trim) + 1e-6, long[bar.ids[0]].where


def most_saved(left, may, lengths) -> float:
    """Exhaustive: the first piece left stays alone or goes with any that it may go with; the shorter of two is
    saved."""
    if not left:
        return 0.0
    i, rest = left[0], left[1:]
    found = most_saved(rest, may, lengths)
    for j in rest:
        if may(i, j):
            found = max(found, min(lengths[i], lengths[j]) + most_saved(tuple(k for k in rest if k != j), may, lengths))
    return found


@pytest.mark.parametrize("seed", range(60))
def test_rips_side_by_side_against_exhaustive_search(seed):
    rng = random.Random(seed)
    n = rng.randint(2, 9)
    lengths = [rng.choice([20.0, 40.0, rng.uniform(10, 100)]) for _ in range(n)]
    rips = [rng.choice([None, 1.5, 2.0, 2.6875, 2.75, 3.0, 4.0, rng.uniform(0.5, 5.4)]) for _ in range(n)]
    first = {i for i in range(n) if rng.random() < 0.25}

    def may(i, j):
        if rips[i] is None or rips[j] is None or rips[i] + rips[j] + 0.125 > 5.5 + 1e-9:
            return False  # both edges of the stock kept, or no room for two and a kerf
        return not (
            (i in first and (j in first or lengths[i] < lengths[j])) or (j in first and lengths[j] < lengths[i])
        )

    pairs = side_by_side(lengths, rips, 5.5, 0.125, first)
    used = [i for p in pairs for i in p]
    assert len(used) == len(set(used))
    assert all(may(i, j) and lengths[i] >= lengths[j] and j not in first for i, j in pairs)
    assert sum(lengths[j] for _, j in pairs) == pytest.approx(most_saved(tuple(range(n)), may, lengths))


def rows_of(widths, length=90.0, stock=Stock("5/4x6", 1.0, 5.5, "composite board")):
    """Treads of the widths given, each with its own mark."""
    shop = Workshop()
    return measure_all(
        [
            shop.upright(
                "tread", stock, [(0, 20 * k), (length, 20 * k), (length, 20 * k + w), (0, 20 * k + w)], 0, 1
            ).replaced(id=f"T{k}-01", mark=f"T{k}")
            for k, w in enumerate(widths)
        ]
    )


def test_a_strip_that_is_used_is_not_bought_again():
    # 2 + 3 + a kerf fit in 5-1/2, so one 8 ft length gives both; 5-1/2 keeps its edges; 2-11/16 goes twice: 5-3/8 + 1/8
    ms = rows_of([2.0, 3.0, 5.5, 2.6875, 2.6875, 4.0])
    order = make_order(ms, Order(lengths={"5/4x6": [96]}, spare_boards=0), fastening="face")
    (line,) = order.lines
    assert order.beside == {"T0-01": "T1", "T1-01": "T0", "T3-01": "T4", "T4-01": "T3"}
    assert line.counts == {96.0: 4} and (line.cost, line.bound) == (4 * 96, 4 * 96)
    assert sorted(i for b in line.bars for i in b.ids) == sorted(m.id for m in ms)
    pair = next(b for b in line.bars if "T0-01" in b.ids)
    assert pair.marks == ("T0/T1",) and pair.lengths == (90.0,)
    assert tuple(map(worded, pair.ripped)) == ('rip T0 to 2", then T1 to 3" out of the strip beside it',)
    assert pair.offcut == pytest.approx(96 - 0.5 - 90 - 0.125)
    # without room for a kerf between them nothing is paired
    assert not make_order(rows_of([2.0, 3.5]), Order(lengths={"5/4x6": [96]})).beside
    cuts = {r[0]: r[-1] for r in cut_table(cut_list(ms), order.beside)[1]}
    assert cuts["T0"] == "1 of 1 beside T1" and cuts["T2"] == cuts["T5"] == ""


def test_a_rip_never_goes_beside_a_piece_of_other_stock():
    shop, other = Workshop(), Stock("1x6", 0.75, 5.5, "composite board")
    ms = rows_of([2.0]) + measure_all(
        [
            shop.upright("riser", other, [(0, 0), (90, 0), (90, 0.75), (0, 0.75)], 0, 2.0).replaced(
                id="RI1-01", mark="RI1"
            )
        ]
    )
    order = make_order(ms, fastening="face")
    assert len(order.lines) == 2 and not order.beside


def test_the_edge_kept_whole_in_a_demo(demo):
    """Border, fascia and nearest run of the most seen edge are each the first out of a length that holds no other of
    them."""
    deck, measured = demo_deck(demo), demo_measured(demo)
    taken = take_off(deck, measured)
    edge = {"terrace": "front", "wraparound": "south", "hillside": "front"}[demo]
    low = {m.id for m in measured if m.role in ("border", "fascia") and m.part.edge == edge}
    # these edges are the lowest of the plan: the run next to them is the first
    assert deck.layout.outline[edge].start[1] == min(e.start[1] for e in deck.layout.outline.edges)
    low |= {m.id for m in measured if m.role == "board" and m.part.where == "run 1"}
    bars = [b for x in taken.order.lines for b in x.bars]
    assert {b.whole for b in bars if b.whole} == low
    assert all(len(set(b.ids) & low) <= 1 for b in bars)
    assert all(b.ids[0] == b.whole for b in bars if b.whole)
    assert taken.order.whole_edge == edge and edge in taken.order.notes[0]
    assert all(m.sizes.rip is None for m in measured if m.id in low and m.role == "board")
    joined = [n for n in taken.notes if "are joined" in worded(n)]
    assert len(joined) == (demo == "hillside")  # 15'-8" of fascia out of 12 ft boards
    if joined:
        assert all(m.mark in worded(joined[0]) for m in measured if m.role == "fascia" and m.part.edge == edge)


@pytest.mark.parametrize(
    "given,says", [("verandah", "no edge 'verandah'"), ("back", "edge 'back' lies against the house")]
)
def test_an_edge_that_cannot_be_kept_whole_is_refused_by_line(tmp_path, given, says):
    path = tmp_path / "d.toml"
    path.write_text(
        f'[outline]\nwidth = 144\ndepth = 120\n[levels]\nsurface = 20\n[order]\nkerf = 0.125\nwhole_edge = "{given}"\n'
    )
    with pytest.raises(InputError) as e:
        read(path)
    (fault,) = e.value.faults
    assert (fault.file, fault.line, fault.key) == (str(path), 8, "order.whole_edge")
    assert says in fault.message and "front, right, left" in fault.message


def test_a_piece_whose_tip_a_notch_takes_off_is_cut_from_its_long_point():
    """The mitre is sawn before the notch: the length bought must hold the tip that is not there in the end."""
    ms = demo_measured("wraparound")
    cut_off = [m for m in ms if m.long_point > m.length + 1e-6]
    assert cut_off  # side returns of the bordered treads, notched round the foot posts
    order = make_order(ms, fastening="hidden")
    taken = {i: b.lengths[k] for x in order.lines for b in x.bars for k, i in enumerate(b.ids)}
    assert all(taken[m.id] == pytest.approx(m.long_point) for m in cut_off)


@pytest.mark.parametrize("turn", ["straight", "left", "back"])
def test_trim_of_a_landing_is_no_part_of_the_edge_kept_whole(turn):
    """Its scraps come out of what is left over, not each out of a board of its own."""
    stair = {"edge": "front", "at": 40, "width": 44, "landings": [{"after_risers": 6, "turn": turn}]}
    deck = build(
        Parameters.model_validate(
            {"outline": {"width": 150, "depth": 122}, "levels": {"surface": 90}, "stair": [stair]}
        )
    )
    measured = measure_all(deck.parts)
    whole = {b.whole for x in take_off(deck, measured).order.lines for b in x.bars if b.whole}
    by_id = {m.id: m for m in measured}
    assert whole and all(by_id[i].box[1, 2] > 88 for i in whole)
    assert any(m.role == "fascia" and "landing" in m.part.where for m in measured)
