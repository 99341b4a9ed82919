"""What is known of the house on paper: on the cover, in plan before the wall, in the section; and that the rest is
assumed."""

from __future__ import annotations

import pytest
from sample_sheets import lettered

from plumbcut.exports.drafting import drawing as d
from plumbcut.exports.sheets import build_drawing
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.rules.checks import check_deck

OUTLINE = {"width": 218, "depth": 152}
AT_WALL = [
    {
        "kind": "egress window",
        "name": "bedroom window",
        "edge": "back",
        "at": 20,
        "width": 40,
        "bottom": -20,
        "top": 18,
    },
    {"kind": "bay", "name": "kitchen bay", "edge": "back", "at": 100, "width": 60, "bottom": 30, "top": 120},
]


def drawn(metric: bool = False, **house) -> d.DrawingSet:
    deck = build(Parameters.model_validate({"outline": OUTLINE, "levels": {"surface": 76}, "house": house}))
    measured = measure_all(deck.parts)
    return build_drawing(deck, measured, check_deck(deck, measured), metric=metric)


def test_the_cover_says_what_is_assumed_of_a_wall_not_described():
    text = lettered(drawn())["COVER SHEET"]
    assert "NOT DESCRIBED; SIDING ON A SOLID BAND JOIST ASSUMED: OPEN IT UP AND LOOK" in text
    assert "THE HOUSE BEHIND THE LEDGER IS NOT DESCRIBED" in text


@pytest.mark.parametrize("metric, sill, deep", [(False, "6'-6\"", "4'-6\""), (True, "1981", "1372")])
def test_the_sheets_show_what_is_known_of_the_house(metric, sill, deep):
    made = drawn(metric, wall="veneer", band_joist="solid", sill=78, footing_depth=54, at_wall=AT_WALL)
    text = lettered(made)
    cover = text["COVER SHEET"]
    assert "BRICK OR STONE VENEER, SOLID BAND JOIST: AS GIVEN, VERIFY" in cover and "ASSUMED: OPEN" not in cover
    assert f"{sill} ABOVE DATUM" in cover and f"{deep} BELOW GRADE AT THE WALL, VERIFY" in cover
    assert "FREE-STANDING" in cover and "SUPPORT OF THE FRAME CHOSEN: FREE-STANDING" in cover
    section = text["SECTION THROUGH THE FRAME"]
    assert "EXISTING HOUSE WALL, BRICK OR STONE VENEER" in section
    assert "DOOR SILL" in section and "B.O. FOOTING BY THE HOUSE" in section
    for name in ("SITE PLAN", "FOOTING AND POST PLAN"):
        assert "BEDROOM WINDOW, KEEP CLEAR" in text[name] and "KITCHEN BAY, NO LEDGER ON IT" in text[name]


@pytest.mark.parametrize("name", ["footing plan", "framing plan", "site plan"])
def test_a_place_kept_clear_is_drawn_where_it_is(name):
    """40 in wide, 20 in from the back edge's start at its right end, 36 in out (IRC R310.2.3)."""
    view = next(v.view for s in drawn(at_wall=AT_WALL).sheets for v in s.viewports if v.view.name == name)
    rings = [i for i in view.items if isinstance(i, d.Polyline) and i.layer == "A-WALL-HDLN"]
    corners = [{(round(x, 3), round(y, 3)) for x, y in ring.points} for ring in rings]
    assert {(198, 152), (158, 152), (198, 116), (158, 116)} in corners


def test_the_ledgers_detail_shows_the_band_joist_where_the_file_has_it():
    """A floor at 77 in, 1-1/2 in over a band joist 9-1/4 in deep: from 75.5 down to 66.25."""
    made = drawn(wall="siding", band_joist="solid", floor=77, band_joist_depth=9.25)
    view = next(v.view for s in made.sheets for v in s.viewports if v.view.name.lower() == "ledger")
    [ring] = [i.points for i in view.items if isinstance(i, d.Polyline) and i.thing == "band joist"]
    levels = {round(z, 3) for _, z in ring}
    assert levels == {75.5, 66.25} and max(x for x, _ in ring) - min(x for x, _ in ring) == pytest.approx(1.5)
    told = 'EXISTING SOLID BAND JOIST 9 1/4" DEEP, VERIFY'
    assert told in lettered(made)["DETAILS"]
    plain = next(v.view for s in drawn().sheets for v in s.viewports if v.view.name.lower() == "ledger")
    [ring] = [i.points for i in plain.items if isinstance(i, d.Polyline) and i.thing == "band joist"]
    ledger = next(i for i in plain.items if isinstance(i, d.Leader) and i.text.endswith(" LEDGER") and i.mark)
    assert max(z for _, z in ring) > ledger.tip[1] > min(z for _, z in ring), "level with the ledger, to be verified"


def test_the_wall_is_drawn_on_to_what_is_in_it():
    meter = {"kind": "meter", "edge": "back", "at": -70, "width": 16, "bottom": 30, "top": 60}
    view = next(v.view for s in drawn(at_wall=[meter]).sheets for v in s.viewports if v.view.name == "footing plan")
    ends = [x for i in view.items if isinstance(i, d.Hatch) and i.layer == "A-WALL-PATT" for x, _ in i.outline]
    assert max(ends) >= 218 + 70, "at is measured from the back edge's start, at its right end"
