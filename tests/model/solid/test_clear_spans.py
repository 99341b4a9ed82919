"""Clear spans of boards over what bears them; sizes are invented."""

from __future__ import annotations

import numpy as np
import pytest
from shapely.geometry import box

from plumbcut.model.solid.clear_spans import clear_spans


@pytest.mark.parametrize("under, clear", [(0.2, 22.5), (1.0, 0.0), (5.5, 0.0)])
def test_what_runs_along_under_an_edge_alone_bears_no_board(under, clear):
    """A board 5-1/2 in wide over joists 24 in apart, with a beam along it that reaches so far under it."""
    joists = [box(x, -10, x + 1.5, 20) for x in np.arange(0, 97, 24)]
    tops = np.array([*joists, box(0, -3, 97.5, under)], dtype=object)
    (found,) = clear_spans(np.array([box(0, 0, 97.5, 5.5)]), tops, np.zeros(6, int), np.arange(6) == 5)
    assert found == pytest.approx(clear)
