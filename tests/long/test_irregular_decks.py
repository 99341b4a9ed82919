"""Frames of odd decks left to the program: one of each shape of `irregular_decks`; the script does any number."""

from __future__ import annotations

import pytest
from irregular_decks import parameters, unmet

from plumbcut.model.design.designed import designed

ONE_OF_EACH = (40, 41, 58, 67, 28, 13, 30, 55)


@pytest.mark.parametrize("seed", ONE_OF_EACH)
def test_no_row_of_the_frame_is_not_met(seed):
    made = designed(parameters(seed))
    assert not [(str(r.rule), str(r.place)) for r in unmet(made)]
