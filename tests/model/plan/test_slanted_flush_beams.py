"""Flush beams along slanted sides: what of the joists lies on their posts. Outlines are invented."""

from __future__ import annotations

import numpy as np
import pytest

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.plan.seats import post_square
from plumbcut.model.rules.check_frame import check_frame
from plumbcut.model.rules.check_result import Checking
from plumbcut.model.structure.structure import analyse

DEEP = [[39.5, 0], [160.5, 0], [189, 199], [0, 199]]
WIDE = [[0, 109], [-306.5, 109], [-287.5, 0], [-30, 0]]


@pytest.fixture(scope="module", params=[(DEEP, "e3"), (WIDE, "e1")], ids=["deep", "wide"])
def deck(request):
    points, house = request.param
    return build(
        Parameters.model_validate(
            {
                "outline": {"points": points, "house": [house]},
                "levels": {"surface": 52},
                "frame": {"support": "free-standing", "beam_position": "flush", "joist_spacing": 15},
            }
        )
    )


def test_every_joist_on_a_post_bears_as_long_as_it_has_to(deck):
    """1-1/2 in on wood (IRC R507.6.1): a joist past a slanted rim came down on 0.2 in of a post's corner, and
    one ripped along the rim on 0.3 in of the post under the mitre, with nothing else to hold that end."""
    structure = analyse(deck)
    seen = Checking(deck, measure_all(deck.parts))
    check_frame(seen, structure)
    bears = [r for r in seen.results if r.rule == "bearing on wood"]
    assert bears and all(r.result != "not met" for r in bears)
    at_posts = [row for r in structure.results for row in r.calculation if row.check == "bearing on post"]
    assert all(row.result != "not met" for row in at_posts)


def test_posts_stand_under_all_of_a_joist_that_goes_past_them_or_clear_of_it(deck):
    layout, seen = deck.layout, 0
    for run in layout.runs:
        mitres = [run.point(x) for x, mitred in zip((0.0, run.length), run.mitred) if mitred]
        for q in run.posts:
            if any(np.hypot(*np.subtract(q, m)) < 1 for m in mitres):
                continue  # it cannot move
            for _, joist in layout.joist_lines:
                hit = post_square(layout, run, q).intersection(joist)
                if hit.area > 1e-3:
                    at, ring = np.asarray(hit.exterior.coords) @ layout.along, joist.exterior.coords
                    ends = np.asarray(ring) @ layout.along
                    beside = min(at.max() - ends.min(), ends.max() - at.min()) < layout.joist.width
                    assert beside or hit.area >= 1.5 * 1.5
                    seen += 1
    assert seen


def test_a_joist_ripped_along_its_rim_hangs_there_and_not_on_the_post_it_grazes(deck):
    by = {p.id: p for p in deck.parts}
    grazing = 0
    for m in analyse(deck).path.members:
        if m.role == "joist":
            for s in m.supports:
                if any(by[k].role == "post" for k in s.on):
                    assert s.area == 0 or s.area >= 1.5 * 1.5
                grazing += s.area == 0
    assert grazing
