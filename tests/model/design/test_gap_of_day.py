"""The gap at board ends is that of the day: solids, cut list, gap card and checks follow the temperature alike.

The decks and the coefficients are invented. Expected: coefficient x length x degrees, read off the solids by hand.
"""

from __future__ import annotations

import re

import numpy as np
import pytest

from plumbcut.exports.cards import build_cards
from plumbcut.exports.drafting.drawing import Table
from plumbcut.exports.drafting.wording import worded
from plumbcut.model.design.advised import checked_with_mends
from plumbcut.model.design.designed import designed
from plumbcut.model.design.rule_mends import rule_mends
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.gaps import AcrossGrain, wet_gap
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.plan.would_do import with_value

GROWS = 1.2e-5  # inches an inch a degree Fahrenheit
RULES = ("movement of a board at its end gap", "end gap of the day, in summer", "end gap of the day, in winter")


def made(gaps: dict, **sections):
    file = {"outline": {"width": 198, "depth": 150}, "levels": {"surface": 30}, "gaps": gaps}
    return designed(Parameters.model_validate(file | sections)).deck


def end_gaps(deck) -> set[float]:
    """Inches between the ends of whole field boards and the borders beside them, on the solids."""
    borders = [p for p in deck.parts if p.role == "border" and np.ptp(p.box[:, 0]) < 8]
    low, high = sorted((float(b.box[0, 0]), float(b.box[1, 0])) for b in borders)
    boards = [p for p in deck.parts if p.role == "board"]
    left = {round(float(b.box[0, 0]) - low[1], 6) for b in boards}
    return left | {round(high[0] - float(b.box[1, 0]), 6) for b in boards}


@pytest.mark.parametrize("day", [38.0, 70.0, 100.0])
def test_solids_cut_list_card_and_checks_follow_the_day(day: float):
    deck = made({"coefficient": GROWS, "temperature_f": day})
    longest = deck.parameters.surface.board_length
    least = GROWS * longest * (130 - day)
    (gap,) = end_gaps(deck)
    assert least <= gap < least + 1 / 16 and (gap * 16).is_integer()
    assert any("gap at board ends" in str(n) for n in deck.notes)
    rows = measure_all(deck.parts)
    usual = {m.length for m in measure_all(made({"coefficient": GROWS}).parts) if m.role == "board"}
    cut = {m.length for m in rows if m.role == "board"}
    assert len(cut) == 1 and min(usual) - min(cut) == pytest.approx(2 * (gap - 0.125))
    (card,) = [s for s in build_cards(deck, rows).sheets if "GAP CARD" in s.name][:1]
    laid = next(i for i in card.items if isinstance(i, Table) and "SET GAP" in i.head)
    assert {float(re.search(r"\((.+)\)", r[2])[1]) for r in laid.rows} == {round(gap, 3)}
    told = [r for r in checked_with_mends(deck) if r.rule in RULES]
    assert {r.rule for r in told} == set(RULES) and {r.result for r in told} == {"met"}


def test_a_gap_that_the_file_gives_stays_and_is_judged():
    deck = made({"coefficient": GROWS, "temperature_f": 20.0}, surface={"end_gap": 0.125})
    assert end_gaps(deck) == {0.125}
    (row,) = [r for r in checked_with_mends(deck) if r.result == "not met" and worded(r.place).startswith("board")]
    assert row.rule == RULES[1]
    board = next(m.length for m in measure_all(deck.parts) if m.role == "board")
    assert row.measured == pytest.approx(0.125 - GROWS * board * 110)
    ((key, value),) = rule_mends(row, deck)
    assert key == "surface.end_gap"
    mended = designed(with_value(deck.parameters, key, value)).deck
    assert not [r for r in checked_with_mends(mended) if r.rule in RULES and r.result == "not met"]


def test_boards_too_long_for_any_gap_are_said_in_the_design():
    """Composite of a coefficient of 2.4e-5 moves 0.6 in over 130 degrees on 16 ft: 3/8 in serve no more than 10 ft."""
    deck = made({"coefficient": 2.4e-5})
    rows = [r for r in checked_with_mends(deck) if r.rule == RULES[0] and r.result == "not met"]
    row = next(r for r in rows if worded(r.place).startswith("board"))
    ((key, value),) = rule_mends(row, deck)
    assert key == "surface.board_length" and value == int(0.375 / (2.4e-5 * 130)) == 120
    parameters = deck.parameters
    for r in rows:
        for key, value in rule_mends(r, deck):
            parameters = with_value(parameters, key, value)
    left = checked_with_mends(designed(parameters).deck)
    assert not [r for r in left if r.rule == RULES[0] and r.result == "not met"]


def test_a_doubtful_coefficient_decides_nothing():
    told = [r for r in checked_with_mends(made({"temperature_f": 50.0})) if r.rule in RULES]
    assert {r.result for r in told} == {"not checked"} and len(told) >= 3


def test_wood_follows_its_moisture_instead():
    """5.5 in x 0.00263 x (19 - 12) = 0.101 in: of 1/4 in as it dries 1/8 is left to the sixteenth below."""
    wood = {"surface": {"material": "treated lumber"}}
    deck = made({"moisture": 19.0, "temperature_f": 20.0}, **wood)
    assert deck.parameters.surface.edge_gap == 0.125 and end_gaps(deck) == {0.125}
    assert not [
        r for r in checked_with_mends(deck) if r.rule in RULES and worded(r.place).startswith(("board", "border"))
    ]
    ends = sorted(float(p.box[k, 1]) for p in deck.parts if p.role == "board" for k in (0, 1))
    assert min(b - a for a, b in zip(ends[1:-1:2], ends[2:-1:2])) == pytest.approx(0.125)
    given = made({"moisture": 19.0}, surface={"material": "treated lumber", "edge_gap": 0.1875})
    assert given.parameters.surface.edge_gap == 0.1875


def test_boards_that_shrink_by_more_than_the_gap_lie_tight():
    wood = AcrossGrain(0.0026, "invented")
    assert wet_gap(0.125, 5.5, 26.0, 12.0, wood) == 0.0
    assert wet_gap(0.25, 5.5, 12.0, 12.0, wood) == 0.25
    assert wood.shrinks(5.5, 40.0, 12.0) == wood.shrinks(5.5, 28.0, 12.0)
