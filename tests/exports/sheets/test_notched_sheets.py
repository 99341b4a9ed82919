"""Sheets and cards of a deck whose beams sit in notched posts: figures against hand arithmetic, words the trade's own
(common practice, no source)."""

from __future__ import annotations

import re

import pytest
from sample_sheets import lettered

from plumbcut.exports.cards import build_cards
from plumbcut.exports.drafting.drawing import DrawingSet, Leader, View
from plumbcut.exports.sheets import build_drawing
from plumbcut.exports.sheets.frame_details import beam_on_post
from plumbcut.exports.sheets.stage import Stage
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.rules.checks import check_deck


def deck_of(**sections):
    deck = build(
        Parameters.model_validate(
            {"outline": {"width": 210, "depth": 134}, "levels": {"surface": 60}, **sections}
            | {"frame": {"beam_seat": "notched post", **sections.get("frame", {})}}
        )
    )
    return deck, measure_all(deck.parts)


@pytest.fixture(scope="module")
def notched():
    return deck_of()


def test_the_detail_and_the_notes_say_the_notch_and_no_cap(notched):
    deck, measured = notched
    drawing = build_drawing(deck, measured, check_deck(deck, measured))
    sheets = lettered(drawing)
    plan, details, schedules = sheets["FRAMING PLAN"], sheets["DETAILS"], sheets["SCHEDULES"]
    assert "BEAM CAP" not in plan + details and "BEAM CAP FOR" not in schedules
    assert 'NOTCHED POSTS, ON A SHOULDER 3" DEEP, 2 1/2" OF THE POST LEFT BESIDE IT' in plan
    assert '1/2" THROUGH-BOLTS WITH WASHERS, 2 A POST' in plan and "2 A POST" in details
    assert "Beam in notched post" in views(drawing) and "BEAM BEARS ON THE WHOLE SHOULDER" in details
    for figure in ('2 1/2"', '3"', '5 1/2"', '9 1/4"'):  # left, shoulder, post, beam
        assert re.search(rf"(^| ){figure}( |$)", details), figure
    assert "BEAM TO NOTCHED POST" in schedules
    deck, measured = deck_of(frame={"beam_seat": "post cap"})
    assert "Beam on post" in views(build_drawing(deck, measured, check_deck(deck, measured)))


def views(drawing) -> list[str]:
    return [p.view.name for s in drawing.sheets for p in s.viewports]


def test_the_note_to_the_post_points_at_the_post_under_its_shoulder(notched):
    deck, measured = notched
    stage = Stage(deck, measured, (), "ARCH B", False, DrawingSet())
    detail = beam_on_post(stage)
    x0, y0, x1, y1 = detail.work.box
    view = View(detail.title, 8.0, [])
    detail.annotate(stage, view, detail.work)
    post = next(i for i in view.items if isinstance(i, Leader) and "POST, NOTCHED" in i.text)
    for x, y in (post.tip, *post.tips):
        assert x0 <= x <= x1 and y0 <= y <= y1


def test_mitred_corners_are_said_to_have_caps():
    hexagon = [[120, 0], [60, 103.92], [-60, 103.92], [-120, 0], [-60, -103.92], [60, -103.92]]
    deck, measured = deck_of(outline={"points": hexagon, "house": []}, frame={"support": "free-standing"})
    sheets = lettered(build_drawing(deck, measured, check_deck(deck, measured)))
    assert "BEAM CAP ON EVERY OTHER POST" in sheets["FRAMING PLAN"]
    assert "BEAM TO POST" in sheets["SCHEDULES"] and "BEAM TO NOTCHED POST" in sheets["SCHEDULES"]


def test_the_card_sets_out_the_notch_and_the_bolts(notched):
    """Post 39-1/2 in to the shoulder, 8-3/4 in beside the beam of 9-1/4 in; bolts 2 in from the shoulder and the upper
    end: at 41-1/2 and 46-1/4 in."""
    deck, measured = notched
    cards = lettered(build_cards(deck, measured))
    card = cards["NOTCH CARDS"]
    assert "P1 x 4 POST" in card
    assert """FROM 3'-3 1/2" TO 4'-0 1/4" (8 3/4" ALONG), 3" IN FROM""" in card
    assert """2 1/2" LEFT BESIDE IT; THE LEFT END IS THE FOOT. BOLTS AT 3'-5 1/2" AND 3'-10 1/4", 1 1/4" TO""" in card
    inspection = cards["INSPECTION CARD"]
    assert 'WOOD BESIDE THE NOTCH AT LEAST 2 1/2"' in inspection and "4 POSTS" in inspection
