"""What the file gives beside sizes, on paper: a load on the framing plan with its outline, name and weight; how the
ledger is fastened, in the notes and in the order."""

import pytest
from sample_sheets import lettered

from plumbcut.exports.drafting import drawing as d
from plumbcut.exports.sheets import build_drawing
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.order.takeoff import take_off
from plumbcut.model.rules.checks import check_deck

PLANTER = {"name": "planter", "polygon": [[30, 24], [78, 24], [78, 54], [30, 54]], "psf": 60}


@pytest.mark.parametrize("metric", [False, True])
def test_the_framing_plan_shows_what_stands_above(metric):
    """48 in by 30 in are 10 sq ft, at 60 psf 600 lb."""
    given = {"outline": {"width": 145, "depth": 122}, "levels": {"surface": 40}, "area_load": [PLANTER]}
    given["loads"] = {"ground_snow_psf": 40, "roof_above": {"eave_height": 108, "length": 360, "pitch": "6:12"}}
    deck = build(Parameters.model_validate(given))
    measured = measure_all(deck.parts)
    made = build_drawing(deck, measured, check_deck(deck, measured), metric=metric)
    text = lettered(made)["FRAMING PLAN"]
    assert "PLANTER ABOVE, 60 PSF: 600 LB" in text
    view = next(v.view for s in made.sheets for v in s.viewports if v.view.name == "framing plan")
    rings = [i for i in view.items if isinstance(i, d.Polyline) and i.layer == "A-FLOR-ABOV"]
    corners = {(round(x, 3), round(y, 3)) for ring in rings for x, y in ring.points}
    assert {(30, 24), (78, 24), (78, 54), (30, 54)} <= corners
    # 2.0529 ft x 19.2 pcf at the house, none 98.54 in off; 0.4 x 28 psf x 15 ft / 15 ft slide over all of the deck
    out = "2515 MM" if metric else "8'-3\""
    assert f"SNOW DRIFT FROM THE ROOF ABOVE: 39 PSF AT THE EAVE, NONE {out} OFF" in text
    assert "OR SNOW THAT SLIDES: 11 PSF" in text
    assert "LIES OUTSIDE THE PUBLISHED TABLE" in text  # of the ledger's fasteners: it is for even loads
    assert any(abs(y - (122 - 98.54)) < 0.01 for _, y in {(x, y) for ring in rings for x, y in ring.points})


def test_the_ledgers_fasteners_are_drawn_and_counted_as_given():
    """A ledger of 145 in less two rims of 1-1/2 in or whole, at 10 in: 15 spaces, 16 bolts, and two more
    as joists are in the way of bolts just 10 in apart."""
    given = {"outline": {"width": 145, "depth": 122}, "levels": {"surface": 40}}
    given["hardware"] = {"ledger_fastener": "bolt", "ledger_spacing": 10}
    deck = build(Parameters.model_validate(given))
    measured = measure_all(deck.parts)
    text = lettered(build_drawing(deck, measured, check_deck(deck, measured)))["FRAMING PLAN"]
    assert 'BOLTS WITH WASHERS @ 10" O.C., STAGGERED IN' in text and "LAG SCREW" not in text
    [counted] = [h for h in take_off(deck, measured).hardware if h.item == "ledger fastener"]
    assert counted.places == 18
