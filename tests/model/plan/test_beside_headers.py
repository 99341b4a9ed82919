"""Beams between the supports that run through the header of a stair on the edge beside them. Sizes are invented."""

from __future__ import annotations

import numpy as np
import pytest

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.plan.beside_headers import LEAST_HUNG, cuts_off
from plumbcut.model.plan.joist_spans import spans
from plumbcut.model.plan.layout import lay_out
from plumbcut.model.plan.long_spans import allowed_joist_span
from plumbcut.model.rules.check_result import Checking
from plumbcut.model.rules.check_solids import check_solids


def slanted(at: float | None) -> Parameters:
    """A front that slants away from the house, so that spans are halved, and a stair on the edge beside it."""
    file = {
        "outline": {"points": [[0, -48], [314.5, 0], [314.5, 148.5], [0, 148.5]], "house": ["e3"]},
        "levels": {"surface": 80},
        "frame": {"cantilever": 10},
        "loads": {"ground_snow_psf": 40},
        "stair": [{"edge": "e2", "width": 44, **({} if at is None else {"at": at})}],
    }
    return Parameters.model_validate(file)


def between(layout):
    (run,) = [r for r in layout.runs if r.edge is None]
    return sorted(float(f(np.asarray(run.polygon.exterior.coords) @ layout.along)) for f in (np.min, np.max))


def test_a_piece_of_a_header_is_too_short_to_be_hung_or_is_none():
    assert cuts_off([[50, 94]], 52, 3) and cuts_off([[50, 94]], 89, 3)
    assert not cuts_off([[50, 94]], 50 + LEAST_HUNG, 3) and not cuts_off([[50, 94]], 47, 3) and not cuts_off([], 52, 3)


@pytest.mark.parametrize("at", [None, 49, 56, 30])
def test_a_beam_between_the_supports_leaves_no_scrap_of_a_header(at):
    layout = lay_out(slanted(at))
    (stair,) = layout.stair_plans
    low, high = between(layout)
    assert not cuts_off([[stair.spot.start, stair.spot.end]], low, high - low)
    allowed = allowed_joist_span(layout)
    longest = max(hi - lo for _, piece in layout.joist_lines for lo, hi in spans(layout, piece, layout.runs))
    assert longest <= allowed + 1e-6


def test_a_stair_far_from_it_leaves_the_beam_where_it_was():
    assert between(lay_out(slanted(95))) == between(lay_out(slanted(100)))


def test_every_stringer_beside_such_a_beam_hangs_on_its_header():
    deck = build(slanted(None))
    c = Checking(deck, measure_all(deck.parts))
    check_solids(c)
    assert not [r.ids for r in c.results if r.result == "not met" and r.rule == "end of a member held"]
