"""The scale that an office asks for its plans and elevations."""

from __future__ import annotations

from functools import cache

import pytest

from plumbcut.exports.drafting import drawing as d
from plumbcut.exports.sheets import build_drawing
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all

DECK = {"outline": {"width": 174, "depth": 118, "edges": ["front", "right", "back", "left"], "house": ["back"]}}
PLANS = ("footing plan", "framing plan", "surface plan")


@cache
def ports(scale: str | None, paper: str, units: str = "imperial") -> list[d.Viewport]:
    drawing = {"paper": paper, "units": units} | ({"scale": scale} if scale else {})
    file = DECK | {"levels": {"surface": 40}, "drawing": drawing}
    deck = build(Parameters.model_validate(file))
    made = build_drawing(deck, measure_all(deck.parts), paper=paper, metric=units == "metric")
    return [p for s in made.sheets for p in s.viewports]


def of_plans(found: list[d.Viewport]) -> list[d.Viewport]:
    return [p for p in found if p.view.name.endswith("elevation") or p.view.name in PLANS]


def test_plans_are_drawn_at_the_largest_scale_that_fits_unless_one_is_asked():
    # 174 in at 24 in to the inch are 7.25 in of an 18 by 12 in sheet
    assert {p.view.scale for p in of_plans(ports(None, "ARCH B")) if p.view.name in PLANS} <= {24.0, 32.0}
    asked = of_plans(ports("1/4", "ARCH B"))
    assert len(asked) >= 6 and {p.view.scale for p in asked} == {48.0}
    assert not any("NO ROOM" in p.note for p in asked)


def test_details_sections_and_the_lot_keep_their_own():
    own, asked = ({(p.view.name, p.view.scale) for p in ports(s, "ARCH B")} for s in (None, "1/4"))
    names = {p.view.name for p in of_plans(ports(None, "ARCH B"))}
    assert {x for x in own if x[0] not in names} == {x for x in asked if x[0] not in names}


def test_a_scale_without_room_is_said_under_its_view():
    short = of_plans(ports("1/2", "letter"))
    assert any(p.view.scale > 24.0 for p in short)
    for p in short:
        assert ('1/2" = 1\'-0" HAS NO ROOM ON THIS PAPER.' in p.note) == (p.view.scale > 24.0)


def test_a_metric_set_takes_a_ratio():
    assert {p.view.scale for p in of_plans(ports("1:50", "A3", "metric"))} == {50.0}


@pytest.mark.parametrize(("scale", "units"), [("1:50", "imperial"), ("1/4", "metric")])
def test_a_scale_of_the_other_units_is_refused(scale: str, units: str):
    with pytest.raises(ValueError, match="allowed in a set of"):
        Parameters.model_validate(DECK | {"drawing": {"scale": scale, "units": units}})
