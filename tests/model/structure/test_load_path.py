"""Loads that stand on boards, followed to the members below."""

from __future__ import annotations

import math

import numpy as np
import pytest
from conftest import demo_deck
from plain_frame import line_of, verdict_of

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.strength.beams import Load
from plumbcut.model.structure import load_path, seat_loads
from plumbcut.model.structure.guard_push import CHECK
from plumbcut.model.structure.stair_loads import stair_loads, stringers_loaded
from plumbcut.model.structure.structure import analyse
from plumbcut.shared.stock import weight


def joist_loads(path) -> dict[str, float]:
    return {m.first.id: math.fsum(l.total for l in m.steady) for m in path.members if m.role == "joist"}


def test_a_load_on_a_board_goes_to_the_joists_on_either_side_of_it(monkeypatch):
    """The lever rule: a quarter of the way from one joist to the next, three quarters go to the near one, and none to
    the eight others on which the board lies too."""
    deck = demo_deck("terrace")
    plain = load_path.follow(deck.parts, deck.contacts)
    joists = sorted(deck.roles("joist"), key=lambda p: p.box[0, 0])
    near, far = joists[3], joists[4]
    x0, x1 = near.box[:, 0].mean(), far.box[:, 0].mean()
    middle = deck.layout.outline.polygon.centroid.y
    board = min(deck.roles("board"), key=lambda p: (abs(p.box[:, 1].mean() - middle), -p.shape.thickness))
    assert {near.id, far.id} < set(board.carried_by) and len(board.carried_by) > 6
    point = (x0 + (x1 - x0) / 4, board.box[:, 1].mean())
    stairs = load_path.stair_loads
    monkeypatch.setattr(load_path, "stair_loads", lambda *a: [*stairs(*a), (board, point, 8.0)])
    loaded = joist_loads(load_path.follow(deck.parts, deck.contacts))
    more = {i: total - joist_loads(plain)[i] for i, total in loaded.items()}
    assert more[near.id] == pytest.approx(6.0, abs=0.2) and more[far.id] == pytest.approx(2.0, abs=0.2)
    assert math.fsum(more.values()) == pytest.approx(8.0)
    assert all(abs(v) < 1e-9 for i, v in more.items() if i not in (near.id, far.id))


def test_a_load_on_a_block_goes_to_its_ends_by_the_lever(monkeypatch):
    """The lever rule: an eighth of the way along a block between two joists, seven eighths go to the near one."""
    deck = demo_deck("terrace")
    joists = {p.id: p for p in deck.roles("joist")}
    block = next(p for p in deck.roles("blocking") if len(p.carried_by) == 2 and joists.keys() >= set(p.carried_by))
    near, far = sorted((joists[i] for i in block.carried_by if i in joists), key=lambda p: p.box[0, 0])
    x0, x1 = block.box[:, 0]
    point = (x0 + (x1 - x0) / 8, block.box[:, 1].mean())
    plain = joist_loads(load_path.follow(deck.parts, deck.contacts))
    stairs = load_path.stair_loads
    monkeypatch.setattr(load_path, "stair_loads", lambda *a: [*stairs(*a), (block, point, 8.0)])
    loaded = joist_loads(load_path.follow(deck.parts, deck.contacts))
    assert loaded[near.id] - plain[near.id] == pytest.approx(7.0) and loaded[far.id] - plain[far.id] == pytest.approx(
        1.0
    )


def test_a_rim_across_joist_ends_is_nailed_to_the_rims_beside_them():
    """At either corner the rim is held by the one that lies on beam and ledger: no free end past the last joist."""
    path = load_path.follow(demo_deck("terrace").parts, demo_deck("terrace").contacts)
    across = next(m for m in path.members if m.role == "rim" and any(s.role == "joist" for s in m.supports))
    ends = [s for s in across.in_order if s.role == "rim"]
    assert [s.x for s in ends] == pytest.approx([0.75, across.length - 0.75])  # the middles of the rims beside
    beside = [m for m in path.members if m.key in {s.on[0] for s in ends}]
    assert {s.role for m in beside for s in m.supports} == {"beam", "ledger"} and not across.overhangs


def test_a_ledger_takes_no_surface_past_the_corner_of_its_wall():
    """Plane geometry: an L round the corner of a house. The joists to either side of the wall's line have half the way
    to each other where the wall has ended, not to a ledger drawn on across the deck."""
    points = [[0, 0], [205, 0], [205, 110], [118, 110], [118, 207], [0, 207]]
    given = {"outline": {"points": points, "house": ["e3", "e4"]}, "levels": {"surface": 47}, "guard": {"edges": []}}
    deck = build(Parameters.model_validate(given))
    path = load_path.follow(deck.parts, deck.contacts)
    left, right = (
        max((m for m in path.members if m.role == "joist" and test(m.v)), key=lambda m: -abs(m.v + 118))
        for test in (lambda v: v > -118, lambda v: v < -118)
    )
    apart = left.v - right.v  # v runs against x here
    assert apart == pytest.approx(16.0) and left.length > 200 and right.length < 110
    for m in (left, right):
        at_60 = next(load for load in m.steady if load.start <= 60 < load.end)
        assert at_60.w0 * 144 == pytest.approx(16.0, abs=0.4)  # 8 in to either side
    beside = next(load for load in left.steady if load.start <= 160 < load.end)
    assert beside.w0 * 144 == pytest.approx(8.0 + (117.25 - 112.0) / 2, abs=0.4)  # half the way to the ledger


def clipped(courses):
    """A deck with a corner cut at 45 degrees, its load path, and the members of that name."""
    points = [[0, 0], [120, 0], [180, 60], [180, 130], [0, 130]]
    given = {
        "outline": {"points": points, "house": ["e4"]},
        "levels": {"surface": 44},
        "guard": {"edges": []},
        "surface": {"border": {"courses": courses}},
    }
    deck = build(Parameters.model_validate(given))
    path = load_path.follow(deck.parts, deck.contacts)
    rim = next(m for m in path.members if m.role == "rim" and 0.5 < abs(m.u[0]) < 0.9)
    assert not rim.lengthwise  # no joist: the span table is not for it
    columns, hung = [c.load for c in path.columns], [load for l in path.ledgers for _, load, _ in l.joists]
    brought = math.fsum(b.steady for b in (*columns, *hung)) + math.fsum(l.area for l in path.ledgers)
    assert brought == pytest.approx(path.surface_sqft, rel=1e-6)
    return deck, path, math.fsum(l.total for l in rim.steady if isinstance(l, Load)) * 144


def test_boards_that_end_on_a_slanted_rim_load_it():
    """Plane geometry: between joists 16 in apart and the rim lie triangles, half of each is the rim's; past its middle
    all is its own, 3/4 in of itself, 3/4 in of fascia and 1 in beyond."""
    _, _, on_rim = clipped(courses=0)
    assert on_rim == pytest.approx(60 * 16 / 4 + (0.75 + 0.75 + 1.0) * 60 * math.sqrt(2), rel=0.02)


def test_a_border_on_a_slanted_rim_loads_it_and_the_boards_beside_it_the_blocks_under_their_ends():
    """The border, 5-1/2 in wide, stands 1-3/4 in out from the rim's face: its middle lies 1 in inside, the rim's 3/4 in
    and the blocks' 3 in: the lever gives the rim 8/9 of it. The blocks' ends hang on joists, which take more than their
    strips; what lies inside the border is none of the rim's own."""
    deck, path, on_rim = clipped(courses=1)
    border = next(p for p in deck.roles("border") if 0.5 < abs(p.place.x[0]) < 0.9)
    assert on_rim == pytest.approx(border.footprint.area * 8 / 9, rel=0.02)
    hung = [m for m in path.members if m.role == "joist" and m.area < 14 and m.length > 50]
    assert len(hung) > 2 and all(math.fsum(l.total for l in m.steady) > m.area + 0.05 for m in hung)


def test_the_weight_of_the_guards_reaches_the_posts_and_the_ledger():
    """Statics: pounds in are pounds out. A deck without a stair: every piece of its guards, volume
    by density, comes down on its posts and ledgers, and no joist's share of the surface changes."""
    given = {"outline": {"width": 210, "depth": 130, "house": ["back"]}, "levels": {"surface": 44}}
    deck = build(Parameters.model_validate(given))
    path = load_path.follow(deck.parts, deck.contacts)
    guards = [m for m in measure_all(deck.parts) if m.part.group == "guards"]
    weighed = math.fsum(weight(m.part.stock, m.volume) for m in guards)
    columns, hung = [c.load for c in path.columns], [load for l in path.ledgers for _, load, _ in l.joists]
    assert len(guards) > 50 and weighed > 200
    assert math.fsum(b.own for b in (*columns, *hung)) == pytest.approx(weighed, rel=0.005)
    area = math.fsum(b.steady for b in (*columns, *hung)) + math.fsum(l.area for l in path.ledgers)
    assert area == pytest.approx(path.surface_sqft, rel=1e-6)
    bare = build(Parameters.model_validate({**given, "guard": {"edges": []}}))
    for c, d in zip(path.columns, load_path.follow(bare.parts, bare.contacts).columns):
        assert c.load.steady == pytest.approx(d.load.steady) and c.load.own > 5 and not d.load.own


def test_a_push_on_the_guard_turns_the_rim():
    """200 lb (IRC Table R301.5) at 36 in above the boards, 1 in thick, over the middle of a 2x8: 40-5/8 in of lever,
    677 ft lb; at its edges, 7-1/4 in apart, 1,121 lb. An engineer (seen) has 7,200 in lb for 36 in
    alone and 1,252 lb for bolts 5-3/4 in apart: P h and M / d."""
    deck = build(Parameters.model_validate({"outline": {"width": 210, "depth": 130}, "levels": {"surface": 44}}))
    found = [(r, verdict_of(r, CHECK)) for r in analyse(deck).of("rim") if any(v.check == CHECK for v in r.calculation)]
    held = {k for p in deck.roles("guard post") for k in p.carried_by}
    assert {i for r, _ in found for i in r.ids} == {p.id for p in deck.roles("rim") if p.id in held}
    rims = {p.id: p for p in deck.roles("rim")}
    for r, v in found:
        depth = float(np.ptp(rims[r.ids[0]].box[:, 2]))
        lever = 36 + 1 + depth / 2
        assert v.result == "not checked" and v.demand == pytest.approx(200 * lever / 12)
        assert line_of(v, "pull at its edges").value == pytest.approx(200 * lever / depth)
    assert 200 * 36 == 7200 and pytest.approx(1252.2, abs=0.1) == 7200 / 5.75


def test_a_stair_beside_the_house_gathers_load_at_the_end_of_the_ledger():
    """A stair down the left edge by the house hangs on the side rim, whose end on the ledger then carries more than any
    joist's. Statics of a simple span with an overhang: live load on the span alone, 10 and 40 psf."""
    given = {"outline": {"width": 204, "depth": 120}, "levels": {"surface": 40}, "frame": {"cantilever": 12}}
    given["stair"] = [{"edge": "left", "at": 12, "width": 48}]
    deck = build(Parameters.model_validate(given))
    s = analyse(deck)
    v = verdict_of(s.of("ledger")[0], "load at one place")
    heads = [(p.id, point[1], area) for p, point, area in stair_loads(deck.parts, deck.contacts)]
    rim, ledger = next(p for p in deck.parts if p.id == heads[0][0]), deck.roles("ledger")[0]
    beams = [float(b.box[:, 1].mean()) for b in deck.roles("beam")]
    a = sum(beams) / len(beams)
    l = float(ledger.box[0, 1]) - a  # the surface reaches from the front edge to the house
    strip = next(m.area for m in s.path.members if m.first.id == rim.id) / (a + l)  # sq ft an inch
    stairs = sum(area * (y - a) / l for _, y, area in heads)
    live, dead = 40 * (strip * l / 2 + stairs), 10 * (strip * (l * l - a * a) / (2 * l) + stairs)
    own = next(load.own for _, load, m in s.path.ledgers[0].joists if m is not None and m.first.id == rim.id)
    assert 0 < own < 60 and v.demand == pytest.approx(live + dead + own, rel=0.03)
    each = line_of(v, "one lag screw by the table")
    assert line_of(v, "fasteners").value == math.ceil(v.demand / each.value)
    assert 300 < each.value < 385  # the spacings of the 60 psf sheet come to 368 to 385 lb a lag screw


@pytest.mark.parametrize(
    "landings, carriers, spans",
    [
        ([], "none", 1),
        ([], "auto", 3),
        ([{"after_risers": 5, "turn": "left"}, {"after_risers": 10, "turn": "left"}], "none", 1),
        ([{"after_risers": 9, "turn": "back"}], "none", 1),
    ],
    ids=["on the pad", "on cross pieces", "between landings", "side by side"],
)
def test_a_stair_brings_each_flight_to_what_carries_it(landings, carriers, spans):
    """Statics: the area of a flight's treads, from its first one's back to its last nosing, less what the pad takes: of
    the lowest of `spans` alike by the lever, and what reaches past the stringers' feet. Over each of two cross pieces a
    stringer runs on: 1.1 w L there (beam over three equal spans, handbook), where simple spans bring w L."""
    stair = {"edge": "front", "at": 60, "width": 36, "landings": landings, "carriers": carriers}
    deck = build(
        Parameters.model_validate(
            {"outline": {"width": 260, "depth": 130}, "levels": {"surface": 120}, "stair": [stair]}
        )
    )
    plan = deck.layout.stair_plans[0]
    wide = 36 + 2 * 1.25  # treads pass skirts of 3/4 in by 1/2 in
    areas = [wide * (f.treads[-1].front - f.treads[0].back) / 144 for f in plan.flights]
    brought = sum(area for _, _, area in load_path.stair_loads(deck.parts, deck.contacts))
    lowest = plan.flights[-1]
    foot = min(deck.roles("stringer"), key=lambda p: p.box[0, 2])
    long = float(np.ptp(foot.vertices[:, :2], axis=0).max())
    above = max(long * (1 - 1 / spans), lowest.treads[0].back)  # the lowest span loads the pad from here on
    begin = long * (1 - 1 / spans)
    lever = (long - begin) / 2 - (above - begin) ** 2 / (2 * (long - begin))
    pad = wide * (lever + lowest.treads[-1].front - long) / 144
    more = 2 * 0.1 * wide * long / spans / 144 if spans == 3 else 0.0
    assert brought == pytest.approx(sum(areas) - pad + more, rel=0.02)  # less notches at posts


def test_a_stringer_brings_a_cross_piece_at_its_middle_what_a_beam_over_two_spans_does():
    """1.25 w L between two equal spans (handbook), 1.0 as simple ones; its head and its foot 0.5 w L as simple ones."""
    given = {
        "outline": {"width": 200, "depth": 130},
        "levels": {"surface": 58},
        "stair": [{"edge": "front", "at": 60, "width": 36}],
    }
    deck = build(Parameters.model_validate(given))
    whole = [s for s in stringers_loaded(deck.parts, deck.contacts) if len(s.places) == 3]
    assert whole and all(s.places[1] == pytest.approx(s.length / 2, rel=0.01) for s in whole)
    area = sum(s.area for s in whole)
    on = [area for part, _, area in load_path.stair_loads(deck.parts, deck.contacts) if part.role == "beam"]
    assert sum(on) == pytest.approx(1.25 * area / 2, rel=0.03)  # treads begin behind the stringers' heads


def test_a_guards_foot_comes_to_the_block_along_under_the_border_where_it_stands():
    """Statics: a block runs under the inner half of a border; a foot that stands over it loads it there, not at the
    middle of where the two touch, nor the joists beside it."""
    deck = build(Parameters.model_validate({"outline": {"width": 211, "depth": 112}, "levels": {"surface": 41}}))
    on = seat_loads.resting(deck.parts, deck.contacts)
    over = 0
    for foot in deck.roles("foot block"):
        x, y = foot.box[:, :2].mean(axis=0)
        under = {
            k.id
            for k in deck.roles("border blocking")
            if (k.box[0, :2] < (x, y)).all() and (k.box[1, :2] > (x, y)).all()
        }
        if under and len(foot.carried_by) == 1:
            ((below, at, share),) = seat_loads.down(foot, (x, y), 1.0, on)
            assert below.id in under and share == 1.0 and np.hypot(at[0] - x, at[1] - y) < 0.3
            over += 1
    assert over > 0
