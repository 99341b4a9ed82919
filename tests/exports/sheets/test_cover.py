"""What the first sheet tells: rules not met, no message of the program's, and that a number is the same wherever it
stands. Decks and sizes are invented."""

from __future__ import annotations

import re
from functools import cache

import pytest
import shapely
from conftest import DEMOS, demo_checks, demo_deck, demo_measured
from sample_sheets import lettered
from test_sheets import dimensions, words

from plumbcut.exports.drafting import drawing as d
from plumbcut.exports.drafting.wording import note_on_paper, without_keys
from plumbcut.exports.sheets import build_drawing
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.rules.checks import check_deck
from plumbcut.shared.said import decimal, said, size

POOR = {
    "outline": {"width": 258, "depth": 184},
    "levels": {"surface": 70},
    "frame": {"joist": "2x6", "joist_spacing": 24, "post": "4x4", "footing": {"size": 10, "depth": 20}},
    "guard": {"height": 30},
    "local": {"frost_depth": 36},
    "stair": [{"edge": "front", "width": 30}],
}
SLOPED = {
    "outline": {"points": [[0, 0], [268, 0], [268, 114], [134, 114], [134, 237], [0, 237]], "house": []},
    "levels": {"surface": 62, "slope_y": 1 / 12},
    "frame": {"support": "free-standing"},
    "stair": [{"edge": "e1", "width": 44}],
}


@cache
def made(name: str):
    deck = build(Parameters.model_validate({"poor": POOR, "sloped": SLOPED}[name]))
    measured = measure_all(deck.parts)
    return deck, measured, check_deck(deck, measured)


@cache
def drawing_of(name: str, paper: str) -> d.DrawingSet:
    deck = (demo_deck(name), demo_measured(name), demo_checks(name)) if name in DEMOS else made(name)
    return build_drawing(*deck, paper=paper)


def _in_the_box(sheet: d.Sheet) -> str:
    """All that is lettered within the heavy box of the first sheet."""
    (ring,) = [i for i in sheet.items if type(i) is d.Polyline and i.layer == "A-ANNO-TTLB"]
    area = shapely.Polygon(ring.points)
    found = []
    for i in sheet.items:
        if type(i) in (d.Text, d.Table) and area.contains(shapely.Point(i.at)):
            rows = [i.title, *(cell for row in i.rows for cell in row)] if type(i) is d.Table else [i.text]
            found += rows
    return "\n".join(found)


@pytest.mark.parametrize("paper", ["ARCH B", "letter"])
def test_every_rule_not_met_stands_in_a_box_on_the_first_sheet(paper):
    rules = {str(r.rule).upper() for r in made("poor")[2] if r.result == "not met"}
    told = _in_the_box(drawing_of("poor", paper).sheets[0])
    assert len(rules) > 5 and f"RULES NOT MET: {len(rules)}" in told
    shown = {rule for rule in rules if re.search(rf"^{re.escape(rule)}$", told, re.M)}
    more = re.search(r"AND (\d+) MORE", told)
    assert len(shown) + (int(more[1]) if more else 0) == len(rules)
    assert paper == "letter" or shown == rules


@pytest.mark.parametrize("paper", ["ARCH B", "letter"])
def test_where_all_are_met_the_box_says_how_many_were_checked(paper):
    rows = [r.result for r in demo_checks("terrace")]
    told = _in_the_box(drawing_of("terrace", paper).sheets[0])
    assert "RULES NOT MET: NONE" in told
    assert f"{rows.count('met')} ROWS MET, {rows.count('not checked')} NOT CHECKED" in told


@pytest.mark.parametrize("name", [*DEMOS, "poor", "sloped"])
def test_no_sheet_carries_a_message_of_the_program(name):
    """No key of the parameter file, no file of the output, no decimal inches but of checks, whose figures are never
    rounded past their limit."""
    sections = "|".join(k.upper() for k in Parameters.model_fields)
    for sheet, text in lettered(drawing_of(name, "ARCH B")).items():
        assert not re.search(rf"\b({sections})\.[A-Z_]+\b|\bCHECKS\.CSV|PARAMETER FILE|\bRUN \d+ IS\b", text), sheet
        if sheet != "SCHEDULES" and (name, sheet) != ("poor", "COVER SHEET"):
            assert not re.search(r"\d\.\d+( IN\b(?! PER)|\")", text), sheet


def test_a_note_for_paper_has_its_keys_and_decimals_taken_off():
    text = "pad {thick} thick, grade from {low} to {high} (stair.pad)"
    told = said(text, thick=size(6.1875), low=decimal(-16.67), high=decimal(-10.5))
    assert note_on_paper(told) == 'pad 6 3/16" thick, grade from -1\'-4 11/16" to -10 1/2"'
    assert note_on_paper(said("run {n} is ripped to {w}", n=12, w=size(4))) == ""
    assert note_on_paper("frame.cantilever chosen: 0 in, not 12 in") == ""
    assert note_on_paper("2 joists doubled (surface.joints)") == "2 joists doubled"
    assert without_keys("give it (loads.dead_psf = 14.1)") == "give it"
    assert without_keys("ask for local.frost_depth") == "ask for frost depth"
    assert without_keys("the least of 3; guard.height = 36 would do; more") == "the least of 3; more"


@pytest.mark.parametrize("name", ["terrace", "wraparound"])
def test_rows_of_ledger_fasteners_are_as_far_apart_as_is_checked(name):
    (row,) = {r.measured for r in demo_checks(name) if r.rule == "ledger fastener rows"}
    detail = next(s for s in drawing_of(name, "ARCH B").sheets if s.number == "S-501")
    assert any(abs(v - row) < 1e-6 for v in dimensions(detail))


@pytest.mark.parametrize("name", DEMOS)
def test_the_landing_at_the_foot_is_as_long_as_is_checked(name):
    checked = [r.measured for r in demo_checks(name) if r.rule == "landing length" and "at the foot" in str(r.place)]
    drawn = [
        abs(i.b[0] - i.a[0])
        for view in drawing_of(name, "ARCH B").views()
        for i in view.items
        if type(i) is d.Dimension and i.suffix == " LANDING"
    ]
    assert drawn and all(any(abs(v - c) < 1e-6 for c in checked) for v in drawn)


@pytest.mark.parametrize("name", [*DEMOS, "sloped"])
def test_marks_of_the_frame_are_found_on_its_plans_and_tables(name):
    """Every mark of joists, beams, posts and footings, numbers run together read apart (J1-4, 7)."""
    drawing = drawing_of(name, "ARCH B")
    deck = demo_deck(name) if name in DEMOS else made(name)[0]
    text = "\n".join(
        words(s, drawing) for s in drawing.sheets if s.number in ("S-101", "S-102") or s.name == "SCHEDULES"
    )
    text = re.sub(r"MEMBERS\nMARK.*?(?=\nFASTENERS AND|\nBEAMS,|\nJOISTS,|\nSTAIRS,)", "", text, flags=re.S)
    told: set[str] = set()
    for letters, numbers in re.findall(r"\b(J|BM|P|F)(\d+(?:-\d+)?(?:, \d+(?:-\d+)?)*)\b", text):
        for part in numbers.split(", "):
            a, _, b = part.partition("-")
            told |= {f"{letters}{n}" for n in range(int(a), int(b or a) + 1)} | {f"{letters}{int(a)}"}
    wanted = {p.mark for p in deck.parts if p.role in ("joist", "beam", "post", "footing")}
    assert wanted <= told, wanted - told


def test_a_site_plan_without_a_lot_asks_for_it():
    drawing = drawing_of("poor", "ARCH B")
    (site,) = [words(s, drawing) for s in drawing.sheets if s.number == "C-101"]
    assert "LOT LINES AND SETBACKS: NOT GIVEN" in site
    assert all(re.search(rf"TO THE {side} LOT LINE: _+", site) for side in ("FRONT", "LEFT", "RIGHT", "BACK"))
