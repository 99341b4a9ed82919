"""The frames of a bench under what sits on it, by hand: each a beam on two legs, from the seat down to the boards."""

from __future__ import annotations

from dataclasses import replace

import pytest
from plain_frame import line_of, verdict_of

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.deck import build
from plumbcut.model.design.member_mends import member_mends
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.rules.checks import check_deck
from plumbcut.model.strength.nds import Lumber
from plumbcut.model.structure.bench_checks import bench_pieces
from plumbcut.model.structure.structure import analyse
from plumbcut.shared.stock import Stock


@pytest.fixture(scope="module")
def deck():
    given = {"outline": {"width": 145, "depth": 122}, "levels": {"surface": 24}, "bench": [{"edge": "front"}]}
    given["surface"] = {"material": "treated lumber", "board_thickness": 1.5}
    return build(Parameters.model_validate(given))


def test_the_frames_share_the_seat_and_bend_as_simple_beams(deck):
    """Three boards of 5-1/2 in with gaps of 1/4 in are 17 in deep on legs 13-1/2 in apart: with the load between its
    legs, R = w / 2 and M <= w 13.5 / 8 for 50 psf; nothing of the seat is left over."""
    frames = analyse(deck).of("bench frame")
    shares = [(f.value, len(r.ids)) for r in frames for f in r.facts if f.label == "seat on it"]
    seat = sum(p.footprint.area for p in deck.roles("bench seat")) / 144
    assert sum(sqft * n for sqft, n in shares) == pytest.approx(seat, rel=1e-6)
    for r in frames:
        sqft, apart = (next(f.value for f in r.facts if f.label == x) for x in ("seat on it", "between its legs"))
        v = verdict_of(r, "bending")
        moment = line_of(v, "moment M").value * 12
        # over the legs' outer halves 1-3/4 in hang out: w (L - 2a)² / 8 less w a² / 2, gaps left out
        w = 50 * sqft / 17
        assert apart == 13.5 and moment == pytest.approx(w * 13.5**2 / 8, rel=0.07)
        assert v.demand == pytest.approx(moment / (1.5 * 3.5**2 / 6)) and v.result == "met"
        leg = verdict_of(r, "compression of the leg")
        assert leg.demand == pytest.approx(50 * sqft / 2 / (1.5 * 3.5), rel=0.02)
        foot = verdict_of(r, "leg on the boards")
        assert foot.result == "met" and foot.unit == "psi" and foot.demand >= leg.demand * (1 - 1e-9)


def test_a_heavier_seat_is_not_met_and_says_so(deck):
    """The key that mends it is the spacing of the frames, nearer by as much as is asked too much."""
    heavy = deck.parameters.loads.model_copy(update={"live_psf": 1600})
    loaded = replace(deck, parameters=deck.parameters.model_copy(update={"loads": heavy}))
    r = max(analyse(loaded).of("bench frame"), key=lambda r: r.worst[0])
    v = verdict_of(r, "bending")
    assert v.result == "not met"
    [(key, value)] = member_mends(r, v, loaded)
    assert key == "bench.0.frame_spacing" and value == 16 * v.capacity // v.demand


def test_boards_without_a_strength_get_the_demand_of_a_leg(deck):
    bought = Stock("board", 1.5, 5.5, "composite board")
    parts = [p.replaced(stock=bought) if p.role in ("board", "border") else p for p in deck.parts]
    by_id = {p.id: p for p in parts}
    touching = [replace(k, a=by_id[k.a.id], b=by_id[k.b.id]) for k in deck.contacts]
    for g in bench_pieces(parts, touching, Lumber(), deck.parameters.loads):
        v = next(v for v in g.checks if v.check == "leg on the boards")
        assert (v.result, v.unit) == ("not checked", "lb") and "put each leg over a joist" in worded(v.why)


def test_the_seat_boards_are_checked_between_their_frames(deck):
    rows = {r.rule: r for r in check_deck(deck) if r.rule.startswith("bench seat")}
    assert {r.result for r in rows.values()} == {"met"} and "bench seat, bending" in rows
