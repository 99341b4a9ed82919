"""A load beside the uniform ones, followed down by hand: a planter on the plain frame, whose statics are simple."""

from __future__ import annotations

import pytest
from plain_frame import SP, frame, loads, verdict_of

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.deck import build
from plumbcut.model.input.area_load import AreaLoad
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.structure.structure import analyse, analyse_parts
from plumbcut.shared.errors import DesignError

BEAM, BACK = 16.5, 118.5  # inches: the middle of the beam, and the ledger's face, of the plain frame


def analysed(*placed, **design):
    parts, touching = frame()
    return analyse_parts(parts, touching, loads(**design), SP, "IRC 2021", placed=placed)


def planter(y0, y1, psf=100.0, x0=0.0, x1=145.5, name="planter"):
    return AreaLoad(name=name, polygon=[(x0, y0), (x1, y0), (x1, y1), (x0, y1)], psf=psf)


def own(s):
    """Pounds of the load on posts and on the ledger."""
    return [c.load.own for c in s.path.columns], sum(b.own for l in s.path.ledgers for _, b, _ in l.joists)


def test_a_load_over_the_span_comes_to_beam_and_ledger_by_the_lever_rule():
    """24 in across the whole deck, its middle 60 in from the front: R = P (118.5 - 60) / 102 on the beam."""
    s = analysed(planter(48, 72))
    pounds = 100 * 145.5 * 24 / 144
    posts, ledger = own(s)
    assert sum(posts) == pytest.approx(pounds * (BACK - 60) / (BACK - BEAM), rel=1e-3)
    assert ledger == pytest.approx(pounds * (60 - BEAM) / (BACK - BEAM), rel=1e-3)
    assert posts[0] == pytest.approx(posts[1])
    assert not s.path.notes


def test_it_bends_a_joist_by_the_handbook():
    """Joists 16 in apart under 100 psf on their whole strip from beam to ledger: w L2 / 8 more than the 50 psf that
    stand there, less what the dead load of the overhang takes off; and 5 w L4 / 384 E I more than 40 psf bend it."""
    l = BACK - BEAM
    plain, full = (next(r for r in s.results if r.kind == "joist") for s in (analysed(), analysed(planter(BEAM, BACK))))
    moments = [
        next(x.value for x in verdict_of(r, "bending, sagging").lines if x.label == "moment M") for r in (plain, full)
    ]
    assert moments[1] - moments[0] == pytest.approx(100 * 16 / 144 * l**2 / 8 / 12, rel=0.01)
    bends = [verdict_of(r, "deflection, span").demand for r in (plain, full)]
    assert bends[1] / bends[0] == pytest.approx((40 + 100) / 40, rel=0.01)


def test_an_overhang_bends_down_most_without_what_stands_on_the_span():
    """Statics: what stands between beam and ledger lifts the overhang's end; it may be away."""
    plain, full = (
        verdict_of(next(r for r in s.results if r.kind == "joist"), "deflection, overhang")
        for s in (analysed(), analysed(planter(BEAM, BACK)))
    )
    assert full.demand == pytest.approx(plain.demand) and plain.demand > 0.002
    assert full.combination == "live load, without planter"


def test_what_ends_between_two_joists_comes_to_both_by_the_lever():
    """Statics of a simple board: joists at 16.75, 32.75 and 48.75 in, a planter from 26.75 in to the third: 6 in of it,
    their middle 3 in from the second joist, bring 6 x 3 / 16 in of width to the first, which all lies nearer to the
    second. The three together take it all."""
    s = analysed(planter(40, 80, x0=26.75, x1=48.75))
    found = [sum(l.total for l in m.own) for m in s.path.members if m.role == "joist"][:3]
    assert found == pytest.approx([100 / 144 * 40 * 6 * 3 / 16, 100 / 144 * 40 * (6 * 13 / 16 + 8), 100 / 144 * 40 * 8])
    assert sum(found) == pytest.approx(100 / 144 * 40 * 22)


def test_it_lifts_the_house_side_where_it_stands_on_the_overhang_and_is_no_help_against_uplift():
    """15 in past the beam it takes load off the ledger; over the span it may be away when the live load lifts there."""
    assert own(analysed(planter(0, 15)))[1] < 0
    light = {"dead": 0.5, "live": 100}  # so that the overhang's live load lifts the ledger's end
    without, beside = (
        [v.demand for r in s.results for v in r.calculation if v.check.startswith("uplift")]
        for s in (analysed(**light), analysed(planter(48, 72), **light))
    )
    assert without and max(beside) == pytest.approx(max(without)) and len(beside) == len(without)


def test_tables_of_uniform_loads_prove_nothing_under_it():
    s = analysed(planter(48, 72, x0=20, x1=60))
    joists = [r for r in s.results if r.kind == "joist"]
    told = {worded(p.why) for r in joists for p in r.table if p.result == "not checked"}
    assert any("planter" in t for t in told)
    spared = [r for r in joists if all(p.result == "met" for p in r.table if "span" in p.check)]
    assert spared and len(spared) < len(joists)


def test_what_stands_past_the_surface_is_said():
    s = analysed(planter(-12, 12, name="planter {big}"))
    assert [n for n in s.path.notes if "1212 lb of planter {big}" in worded(n)]
    assert sum(own(s)[0]) + own(s)[1] == pytest.approx(100 * 145.5 * 12 / 144, rel=1e-3)


GIVEN = {"outline": {"width": 145, "depth": 122}, "levels": {"surface": 40}}


def test_a_whole_deck_carries_it_to_its_footings():
    """2,000 lb on 20 sq ft: what comes down at footings and at the house is more by as much."""
    tub = {"name": "tub", "polygon": [[40, 30], [88, 30], [88, 90], [40, 90]], "psf": 100}
    decks = [build(Parameters.model_validate({**GIVEN, "area_load": some})) for some in ([], [tub])]
    found = []
    for s in map(analyse, decks):
        posts, ledger = own(s)
        found.append(sum(posts) + ledger)
    assert found[1] - found[0] == pytest.approx(2000, rel=1e-3)


@pytest.mark.parametrize(
    "polygon, said",
    [
        ([[0, 0], [40, 40], [40, 0], [0, 40]], "crosses itself"),
        ([[500, 0], [520, 0], [520, 20]], "nowhere on the deck"),
    ],
)
def test_a_polygon_that_is_none_is_refused_by_its_key(polygon, said):
    with pytest.raises(DesignError, match=said) as refused:
        build(Parameters.model_validate({**GIVEN, "area_load": [{"name": "tub", "polygon": polygon, "psf": 100}]}))
    assert refused.value.key == "area_load.0.polygon"
