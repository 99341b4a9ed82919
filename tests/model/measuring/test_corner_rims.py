"""Short rims and those at the corners of a cantilever, which the rims beside them carry. The deck is invented; that
rims are nailed together at corners is common practice without a source."""

from __future__ import annotations

from dataclasses import replace

import pytest

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.carriers import carriers
from plumbcut.model.measuring.contacts import contacts
from plumbcut.model.solid.part import Workshop
from plumbcut.model.structure.structure import analyse
from plumbcut.shared.stock import lumber

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


def test_a_guard_post_without_rim_or_block_is_bolted_to_the_joist_beside_it():
    """At a reflex corner of rims askew (common practice, no source); one that a rim holds is not."""
    shop, two, four = Workshop(), lumber("2x8"), lumber("4x4")
    joist = shop.upright("joist", two, [(0, 0), (1.5, 0), (1.5, 96), (0, 96)], 0, 7.25, along=(0, 1))
    rim = shop.upright("rim", two, [(-30, -1.5), (30, -1.5), (30, 0), (-30, 0)], 0, 7.25, along=(1, 0))
    inside = shop.upright("guard post", four, [(1.5, 40), (5, 40), (5, 43.5), (1.5, 43.5)], 0, 50)
    corner = shop.upright("guard post", four, [(1.5, 0), (5, 0), (5, 3.5), (1.5, 3.5)], 0, 50)
    parts = [replace(p, id=n) for p, n in ((joist, "J"), (rim, "R"), (inside, "G1"), (corner, "G2"))]
    on = dict(zip(["J", "R", "G1", "G2"], carriers(parts, contacts(parts))))
    assert (on["G1"], on["G2"]) == (("J",), ("R",))
