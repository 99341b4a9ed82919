"""Snow from a roof above, followed down by hand: what drifts and what slides comes to posts and ledger, not both."""

from __future__ import annotations

from dataclasses import replace

import pytest
from plain_frame import verdict_of

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.plan.edges import FrameOutline
from plumbcut.model.plan.roof_snow import roof_snow
from plumbcut.model.rules.checks import DRIFTS, check_deck
from plumbcut.model.strength.beams import Beam, Load
from plumbcut.model.strength.loads import combinations
from plumbcut.model.structure.structure import analyse
from plumbcut.shared.errors import DesignError

ROOF = {"eave_height": 108, "length": 360, "pitch": "6:12"}
GIVEN = {"outline": {"width": 145, "depth": 122}, "levels": {"surface": 40}}


def given(roof=ROOF, **more):
    loads = {"ground_snow_psf": 40} | ({"roof_above": roof} if roof else {})
    return Parameters.model_validate({**GIVEN, **more, "loads": loads})


@pytest.fixture(scope="module")
def decks():
    deck = build(given())
    return replace(deck, parameters=given(None)), deck


def brought(s, kind):
    """Pounds of snow of a kind at the feet of posts and at the house."""
    hung = sum(getattr(b, kind) for l in s.path.ledgers for b in (l.spread, *(b for _, b, _ in l.joists)))
    return sum(getattr(c.load, kind) for c in s.path.columns) + hung


def test_posts_and_house_carry_the_drifts_volume_or_what_slides(decks):
    s = analyse(decks[1])
    d, slid = s.snow.drifted, s.snow.slid
    assert not d.windward and d.width * 12 < 122  # all of it lies on the deck
    whole = d.each_foot * 145 / 12
    assert s.snow.pounds("drift") == pytest.approx(whole, rel=1e-9)
    assert brought(s, "drift") == pytest.approx(whole, rel=0.01)  # a gap at the house holds none
    assert brought(s, "slide") == pytest.approx(slid.psf * 145 * 122 / 144, rel=0.01)
    assert not s.path.notes


def test_snow_of_one_kind_at_a_time_counts_where_snow_does(decks):
    """The most loaded post: with D + S all of the greater one, with D + 0.75 L + 0.75 S three quarters, else none."""
    s, bare = analyse(decks[1]), analyse(decks[0])
    post = max(s.path.columns, key=lambda c: c.load.snow)
    same = next(c for c in bare.path.columns if c.post.id == post.post.id)
    assert 0 < post.load.snow == max(post.load.drift, post.load.slide) < post.load.drift + post.load.slide
    loads = given().loads
    more = [post.load.pressing(c, loads) - same.load.pressing(c, loads) for c in combinations()]
    assert more == pytest.approx([0, 0, post.load.snow, 0.75 * post.load.snow], rel=1e-6)
    assert [post.load.lifted(c, loads) >= same.load.lifted(c, loads) - 1e-6 for c in combinations()]


def test_the_strips_bend_a_beam_from_the_house_no_less_than_the_triangle():
    """Simple spans of 130 in from the house, the drift ending in the span and past it: by the triangle itself."""
    outline = FrameOutline([(0, 0), (145, 0), (145, 140), (0, 140)], ["front", "right", "back", "left"], {"back"})
    for length in (240, 1200):
        snow = roof_snow(given({**ROOF, "length": length}), outline)
        d = snow.drifted
        wide, peak = d.width * 12, d.peak / 12
        strips = []
        for s in (s for s in snow.strips if s.kind == "drift"):
            _, y0, _, y1 = s.area.bounds
            strips.append(Load(140 - y1, 140 - y0, s.psf / 12))
        cut = min(wide, 130.0)
        inside = [Load(l.start, min(l.end, 130.0), l.w0) for l in strips if l.start < 130.0]
        beam = Beam(130.0, (0.0, 130.0))
        exact = beam.solve([Load(0.0, cut, peak, peak * (1 - cut / wide))])
        ours = beam.solve(inside)
        x = [130.0 * k / 64 for k in range(65)]
        most, by_strips = max(exact.at(x)[1]), max(ours.at(x)[1])
        assert most <= by_strips * (1 + 1e-5) and by_strips < 1.01 * most


def test_round_an_outer_corner_of_the_house_the_drift_goes_on():
    points = [(0, 0), (200, 0), (200, 200), (100, 200), (100, 100), (0, 100)]
    names = [f"e{n}" for n in range(1, 7)]
    snow = roof_snow(given(), FrameOutline(points, names, {"e4", "e5"}))
    assert snow.within(20).area == pytest.approx(120 * 20 + 100 * 20)
    one = roof_snow(given({**ROOF, "edges": ["e5"]}), FrameOutline(points, names, {"e4", "e5"}))
    assert one.within(20).area == pytest.approx(100 * 20)


def test_members_say_it_and_tables_of_even_loads_prove_nothing(decks):
    s = analyse(decks[1])
    joist = s.governing("joist")
    span = next(row for row in joist.table if row.check == "joist span")
    assert span.result == "not checked" and "snow from the roof above" in worded(span.why)
    assert "snow from the roof above" in worded(verdict_of(joist, "bending, sagging").lines[0].formula)
    share = next(row for row in joist.table if row.check == "joist overhang, share of span")
    assert share.result != "not checked"  # of lengths alone
    told = {r["check"]: worded(r["formula"]) for r in s.rows() if r["kind"] == "snow from the roof above"}
    assert "slid snow on the deck" in told and "lu = 30.0 ft" in told["height of the drift"]  # the formula is in feet


def test_the_standing_row_goes_where_it_is_calculated(decks):
    plain, snowed = (check_deck(d) for d in decks)
    assert [r.result for r in plain if r.rule == DRIFTS] == ["not checked"]
    assert not [r for r in snowed if r.rule == DRIFTS]
    dry = Parameters.model_validate({**GIVEN, "loads": {"roof_above": ROOF}})
    [row] = [r for r in check_deck(replace(decks[0], parameters=dry)) if r.rule == DRIFTS]
    assert "loads.ground_snow_psf" in worded(row.why)


def test_an_edge_that_there_is_not_is_refused_by_its_key():
    with pytest.raises(DesignError, match="no edge 'north'") as refused:
        build(given({**ROOF, "edges": ["back", "north"]}))
    assert refused.value.key == "loads.roof_above.edges.1"
