"""Joists longer than the yard sells: every length of one rests on two supports."""

from __future__ import annotations

import pytest
import shapely

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure


@pytest.mark.parametrize("lines", [[26, 130], [26, 139, 200], [26, 130, 239]])
def test_no_length_of_a_joist_lies_on_the_beam_alone_that_it_hangs_past(lines):
    deck = build(
        Parameters.model_validate(
            {
                "outline": {"width": 150, "depth": 265},
                "levels": {"surface": 52},
                "frame": {"beam_lines": lines, "support": "free-standing" if lines[-1] > 200 else "ledger"},
            }
        )
    )
    assert max(measure(j).length for j in deck.roles("joist")) <= deck.parameters.longest(deck.layout.joist)
    under = [b.footprint for b in deck.roles("ledger")]
    under += [shapely.union_all(r.plies) for r in deck.layout.runs]
    for joist in deck.roles("joist"):
        assert sum(joist.footprint.distance(shape) < 0.01 for shape in under) >= 2, joist.id
