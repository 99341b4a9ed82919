"""At a reflex corner the beam of one arm runs on under the joists of the other: no second beam a foot beside it.
Outlines are invented."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from shapely.geometry import Polygon

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.plan.run_through import lines_through
from plumbcut.model.structure.structure import analyse

TEE = [[0, 0], [80, 0], [80, -100], [200, -100], [200, 0], [300, 0], [300, 130], [0, 130]]
ELL = [[0, 0], [170, 0], [170, -110], [290, -110], [290, 120], [0, 120]]
ROUND = [[0, 0], [330, 0], [330, 290], [220, 290], [220, 120], [0, 120]]  # a corner of the house
FREE = {"support": "free-standing", "joist_direction": "x"}


def deck_of(points, house, **frame):
    names = [f"e{k + 1}" for k in range(len(points))]
    return build(
        Parameters.model_validate(
            {
                "outline": {"points": points, "edges": names, "house": house},
                "levels": {"surface": 60},
                "frame": {"joist": "2x8", **frame},
            }
        )
    )


def pass_by(runs) -> list[tuple[str, str]]:
    """Pairs of beams in one direction whose lines lie less than 24 in apart, and which reach each other."""
    found = []
    for a, b in itertools.combinations(runs, 2):
        ends = sorted(a.position(q) for q in (b.start, b.end))
        off = abs(float(np.dot(np.subtract(b.start, a.start), a.across)))
        if abs(float(a.direction @ b.direction)) > 0.99 and 0.01 < off < 24 and ends[0] < a.length and ends[1] > 0:
            found.append((a.where, b.where))
    return found


@pytest.mark.parametrize(
    ("points", "house", "frame"),
    [(TEE, ["e7"], {}), (ELL, ["e5"], {}), (ROUND, ["e4", "e5"], FREE)],
    ids=["T", "L", "round the house"],
)
@pytest.mark.parametrize("mirrored", [False, True])
def test_no_two_beams_pass_by_each_other(points, house, frame, mirrored):
    if mirrored:
        n = len(points)
        points = [[-x, y] for x, y in reversed(points)]
        house = [f"e{n - int(e[1:]) or n}" for e in house]
    deck = deck_of(points, house, **frame)
    assert pass_by(deck.layout.runs) == [] and deck.clashes == []
    through = [r for r in deck.layout.runs if r.through]
    assert through and all(len(p.exterior.coords) == 5 for r in through for p in r.plies)
    # every joist over it lies on the whole of it
    for run in through:
        low, high = run.reach
        for v, joist in deck.layout.joist_lines:
            hit = run.polygon.intersection(joist).area
            assert hit == 0 or hit == pytest.approx(1.5 * 3.0, abs=1e-3), v
        assert high - low > deck.layout.outline[run.edge].length


def test_both_shoulders_of_a_t_have_one_beam_with_its_posts_evenly_apart():
    runs = deck_of(TEE, ["e7"]).layout.runs
    whole = next(r for r in runs if r.through)
    assert whole.where == "behind the e1 and e5 edges" and whole.length == pytest.approx(300)
    assert {r.edge for r in runs} == {"e1", "e3"}
    gaps = np.diff([whole.position(q) for q in whole.posts])
    assert np.ptp(gaps) < 1e-6 and min(gaps) > 24


def test_a_beam_that_runs_on_is_loaded_by_the_joists_that_lie_on_it():
    """The stem's joists span from the ledger to the line 12 in inside the shoulders, and from there to the tip's beam,
    so the middle of that line takes half of both spans and more, and its posts stand nearer than a free edge's would.
    """
    deck = deck_of(TEE, ["e7"])
    beams = [r for r in analyse(deck).results if r.kind == "beam"]
    assert beams and all(row.result != "not met" for r in beams for row in (*r.table, *r.calculation))


def test_a_line_that_is_there_is_taken_where_no_more_lines_come_of_it():
    rows = [[12.0, 0.0, 200.0], [24.0, 0.0, 200.0]]
    assert lines_through(rows, 120.0, 3.0, 12.0, []) == [(100.0, 12.0, 24.0)]
    assert lines_through(rows, 120.0, 3.0, 12.0, [84.0, 20.0]) == [(84.0, 12.0, 24.0)]
    assert lines_through(rows, 120.0, 3.0, 12.0, [20.0]) == [(100.0, 12.0, 24.0)]  # 178.5 in would be left
    # of two that would do the one that leaves the shorter spans
    assert lines_through(rows, 120.0, 3.0, 12.0, [84.0, 112.0]) == [(112.0, 12.0, 24.0)]


def test_the_other_lines_are_even_beside_the_one_that_is_there():
    """300 in over two lines 3 in wide: one at 80 leaves 81.5 to 300, halved at 190.75."""
    rows = [[12.0, 0.0, 300.0], [24.0, 0.0, 300.0]]
    assert lines_through(rows, 120.0, 3.0, 12.0, [80.0]) == [(80.0, 12.0, 24.0), (190.75, 12.0, 24.0)]


def test_the_plies_of_a_beam_that_runs_on_have_no_corner_where_they_were_joined():
    whole = next(r for r in deck_of(TEE, ["e7"]).layout.runs if r.through)
    for ply in whole.plies:
        assert ply.area == pytest.approx(300 * 1.5) and isinstance(ply, Polygon) and len(ply.exterior.coords) == 5
