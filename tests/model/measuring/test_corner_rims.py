"""Short rims and those at the corners of a cantilever, which the rims beside them carry. The deck is invented; that
rims are nailed together at corners is common practice without a source."""

from __future__ import annotations

import pytest

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.structure.structure import analyse

# a bay 30 in wide before a front whose two halves lie in line, and a clipped corner at the house
BAY = [(0, 0), (30, 0), (30, 44), (110, 44), (110, 150), (-75, 150), (-75, 60), (-59, 44), (0, 44)]


def deck(cantilever: float, spacing: float):
    frame = {"cantilever": cantilever, "joist_spacing": spacing, "joist": "2x12"}
    given = {"outline": {"points": BAY, "house": ["e6"]}, "levels": {"surface": 36}, "frame": frame}
    return build(Parameters.model_validate(given))


@pytest.mark.parametrize("spacing", [16, 24])
@pytest.mark.parametrize("cantilever", [0, 5, 18])
def test_no_rim_rests_on_one_place_alone(cantilever, spacing):
    """A rim or joist on one support would come down; each of these has its end at a rim that lies on two, or lies along
    a beam."""
    made = deck(cantilever, spacing)
    results = analyse(made).results
    assert [(r.ids, v.why) for r in results for v in r.calculation if v.check == "load path"] == []
    carried = {p.id: set(p.carried_by) for p in made.parts}
    assert not any(a in carried[b] for a, row in carried.items() for b in row)


def test_a_rim_that_runs_on_past_a_bay_keeps_the_mitre_of_the_edge_in_line():
    """The front's rim runs past the bay, and its far end meets the rim of the clipped corner on the bisector: the whole
    section of 1-1/2 in wood cut at 22-1/2 degrees."""
    met = [c for c in deck(18, 16).contacts if {c.a.role, c.b.role} == {"rim"} and c.kind == "end"]
    whole = 11.25 * 1.5 / 0.9239  # cos 22.5 degrees
    assert [c.area for c in met if "e8" in (c.a.edge, c.b.edge) or "e7" in (c.a.edge, c.b.edge)] == [
        pytest.approx(whole, rel=1e-3)
    ]
