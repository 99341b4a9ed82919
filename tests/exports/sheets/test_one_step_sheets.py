"""Sheets, cards and pictures of stairs of one step: the rise alone is dimensioned, nothing of treads or stringers is
lettered."""

import pytest

from plumbcut.exports.cards import build_cards
from plumbcut.exports.drafting.draft import strokes
from plumbcut.exports.drafting.drawing import Text
from plumbcut.exports.formats.ifc_stairs import _walk
from plumbcut.exports.pictures.stair_picture import stair_pictures
from plumbcut.exports.sheets import build_drawing
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.deck_seen import DeckSeen
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.rules.checks import check_deck


def sheets_of(drawing) -> dict[str, str]:
    found: dict[str, str] = {}
    for sheet in drawing.sheets:
        for items, scale in [(sheet.items, 1.0), *((p.view.items, p.view.scale) for p in sheet.viewports)]:
            texts = [s.text for item in items for s in strokes(item, scale, drawing.metric) if type(s) is Text]
            found[sheet.name] = " ".join([found.get(sheet.name, ""), *" ".join(texts).split()])
    return found


def drawn(surface: float, joist: str, landings: list):
    deck = build(
        Parameters.model_validate(
            {
                "outline": {"width": 150, "depth": 100},
                "levels": {"surface": surface},
                "frame": {"joist": joist},
                "stair": [{"edge": "front", "landings": landings}],
            }
        )
    )
    measured = measure_all(deck.parts)
    return deck, measured, check_deck(deck, measured)


@pytest.fixture(scope="module")
def step():
    return drawn(7.5, "2x6", [])


def test_the_section_of_one_step_has_its_rise_and_its_pad(step):
    sheets = sheets_of(build_drawing(*step))
    section = sheets["STAIR SECTION"]
    assert '7 1/2" TOTAL RISE' in section and '1" NOSING' in section and "CONCRETE PAD ON FIRM GROUND" in section
    assert not any(word in section for word in ("RUN, NOSINGS", "STRINGERS", "THROAT", "TREADS", "GUARD"))
    assert "DN 1R" in sheets["SURFACE PLAN"]
    assert '1 RISER, 7 1/2" TOTAL RISE' in sheets["COVER SHEET"]
    assert "2x12 STRINGER" not in sheets["DETAILS"]


def test_no_card_and_no_number_of_a_stringer_or_tread_that_is_not_there(step):
    deck, measured, _ = step
    cards = sheets_of(build_cards(deck, measured))
    assert not any("STRINGER" in title for title in cards)
    (flight,) = DeckSeen(measured, lambda: deck.members, deck.planes.grade).flights(0)
    told = {"NumberOfRisers": 1, "NumberOfTreads": 0, "RiserHeight": 7.5, "TreadLength": None}
    assert _walk(flight) == told
    assert list(stair_pictures(deck, measured)) == ["stair-1"]


def test_the_step_below_a_landing_of_concrete_is_drawn():
    sheets = sheets_of(build_drawing(*drawn(60, "2x8", [{"after_risers": 7}])))
    above, below = sheets["STAIR SECTION FLIGHT 1"], sheets["STAIR SECTION FLIGHT 2"]
    assert "CONCRETE PAD ON FIRM GROUND" in above and "4'-4 1/2\" TOTAL RISE" in above
    assert '7 1/2" TOTAL RISE' in below and "T.O. LANDING" in below and "HANDRAIL" not in below
    assert "SLOPED HANGER OR STRAP TO THE RIM" in sheets["DETAILS"]  # of the flight that has stringers


def test_of_several_stairs_every_sheet_calls_a_flight_by_its_stair():
    """As checks, cards and schedules do; "flight 3" would be nowhere else."""
    file = {
        "outline": {"width": 150, "depth": 100},
        "levels": {"surface": 40},
        "stair": [{"edge": "front", "landings": [{"after_risers": 3}]}, {"edge": "left"}],
    }
    deck = build(Parameters.model_validate(file))
    measured = measure_all(deck.parts)
    sheets = sheets_of(build_drawing(deck, measured, check_deck(deck, measured)))
    for name in ("STAIR 1 FLIGHT 1", "STAIR 1 FLIGHT 2", "STAIR 2"):
        assert "TOTAL RISE" in sheets[f"SECTION {name}"]
        assert name in sheets["COVER SHEET"] and f"{name}: " in sheets["SURFACE PLAN"]
    assert not [n for n, words in sheets.items() if "STAIR FLIGHT" in (n + words).upper()]
