"""Short rims and those at the corners of a cantilever, which the rims beside them carry. The deck is invented; that
rims are nailed together at corners is common practice without a source."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
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


def test_a_joist_on_two_beams_further_apart_than_it_is_deep_carries_the_rims_at_its_ends():
    """At the point of a slanted deck two beams come so near to each other that their plies lie side by side under one
    joist, no two of these further apart than it is deep, the beams further. It stands out past both of them 25 in, and
    is the stiffer one by far (as the cubes of these lengths): the rims do not stand out free for 66 in past the joist
    before it."""
    points = [[57, 0], [169, 0], [226, 98], [169, 196], [57, 196], [0, 98]]
    frame = {"support": "free-standing", "joist": "2x8"}
    given = {"outline": {"points": points, "house": []}, "levels": {"surface": 39}, "frame": frame}
    made = build(Parameters.model_validate(given))
    on_beams = (m for m in made.members if m.role == "joist" and [s.role for s in m.in_order].count("beam") == 2)
    seen = max(on_beams, key=lambda m: float(m.first.box[0, 0]))
    last = seen.first
    assert [s.role for s in seen.in_order] == ["beam", "beam"]
    assert 7.25 < np.diff([s.x for s in seen.in_order]) < 7.25 + 2 * 1.5 / math.sin(math.atan2(98, 57))
    rims = [m for m in made.members if m.role == "rim" and any(last.id in s.on for s in m.supports)]
    assert len(rims) == 2 and max(max(m.overhangs) for m in rims) < 40


def test_beams_nearer_than_the_joist_over_them_is_deep_hold_it_in_two_places_by_their_outer_plies():
    """At a point where the beams' middles are nearer than a 2x10 is deep, and their outer plies further: the joist
    carries the rims' ends, and the post under the point about what comes to both of them from the border and the
    joist's strip, not a third of it."""
    points = [[70, 0], [170, 0], [250, 104], [170, 208], [70, 208], [-10, 104]]
    frame = {"support": "free-standing", "joist": "2x10", "joist_direction": "y"}
    given = {"outline": {"points": points, "house": []}, "levels": {"surface": 47}, "frame": frame}
    made = build(Parameters.model_validate(given))
    on_beams = (m for m in made.members if m.role == "joist" and [s.role for s in m.in_order].count("beam") == 2)
    seen = max(on_beams, key=lambda m: float(m.first.box[0, 0]))
    assert [s.role for s in seen.in_order] == ["beam", "beam"] and np.diff([s.x for s in seen.in_order]) < 9.25
    rims = [m for m in made.members if m.role == "rim" and any(seen.first.id in s.on for s in m.supports)]
    assert len(rims) == 2 and max(max(m.overhangs) for m in rims) < 40
    assert not [m.trouble for m in analyse(made).path.members if m.trouble]


def test_joists_nearer_to_one_another_than_they_are_deep_hold_their_rim_one_by_one():
    """2x12s 8 in apart: a rim nailed to all of them rests on more than one place, and is spliced over one."""
    made = build(
        Parameters.model_validate(
            {
                "outline": {"width": 241, "depth": 130},
                "levels": {"surface": 48},
                "frame": {"joist": "2x12", "joist_spacing": 8, "cantilever": 12},
            }
        )
    )
    rim = next(m for m in made.members if m.role == "rim" and m.length > 200)
    places = [s.x for s in rim.in_order]
    assert max(np.diff(places)) < 2 * 11.25
    joists = {p.id for p in made.parts if p.role == "joist"}
    assert {i for s in rim.supports for i in s.on} >= joists
    assert not [m.trouble for m in analyse(made).path.members if m.trouble]
