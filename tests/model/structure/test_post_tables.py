"""Posts and footings by every table that is published: the edition's decides, the guide's stands beside it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from plain_frame import SP, frame, loads

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.solid.part import Workshop
from plumbcut.model.structure.guide_rows import ends_one_beam, guide_footing
from plumbcut.model.structure.load_path import Column, follow
from plumbcut.model.structure.members import Brought
from plumbcut.model.structure.prescribed import footing_rows, post_rows
from plumbcut.shared.stock import Stock, lumber

SPAN = 8.5  # feet of joist, behind the ledger


@pytest.fixture(scope="module")
def columns():
    """At the ends of the beam, with one in the middle."""
    return follow(*frame(posts=(12.0, 72.75, 133.5))).columns


def of_footing(c, edition="IRC 2021"):
    return {row.check: row for row in footing_rows(c, SPAN, loads(), edition)}


def test_a_corner_posts_footing_needs_nine_tenths_by_the_guide(columns):
    """Beams to 6 ft, joists to 10 ft: 18 in round (DCA 6-2012 Table 4, seen), 16.2 in at a corner post (footnote 2)."""
    assert [ends_one_beam(c) for c in columns] == [True, False, True]
    assert [guide_footing(c, SPAN, 1500, 40, True).value for c in columns] == pytest.approx([16.2, 18, 16.2])
    row = of_footing(columns[0])["footing diameter"]
    assert row.result == "met" and "IRC 2021" in worded(row.source)
    assert "less at a corner post: at least 16.2 in, kept" in worded(row.why)
    assert "not" not in of_footing(columns[1], "DCA 6-2012")["footing diameter"].result


def test_the_guide_says_nothing_of_more_load_than_its_spans_bring(columns):
    """5.06 ft of beam and 8.5 ft of joist are 5.06 x 8.5 x 0.75 = 32.3 sq ft, 5/4 of it under a beam that runs
    on, at a corner post 0.81."""
    middle, corner = columns[1], columns[0]
    for c, sqft in ((middle, 40.3), (corner, 26.1)):
        full, over = (replace(c, load=Brought(a, a)) for a in (sqft - 0.2, sqft + 0.2))
        assert (
            guide_footing(full, SPAN, 1500, 40, True) is not None and guide_footing(over, SPAN, 1500, 40, True) is None
        )


def test_of_a_doubtful_row_the_next_sure_one_proves_what_it_allows():
    """4 sq ft: 8 in by a doubtful row to 5 sq ft, 14 in by the row to 20 sq ft."""
    found = []
    for radius in (7.0, 6.5):
        footing = Workshop().cylinder("footing", Stock("concrete", 0, 0, "concrete"), (0, 0, 0), (0, 0, 1), radius, 5.0)
        found.append(of_footing(Column(None, Brought(4.0, 4.0), footing=footing)))
    assert [f["footing diameter"].result for f in found] == ["met", "not checked"]
    assert found[0]["footing diameter"].limit == 14
    assert (found[0]["footing thickness"].result, found[0]["footing thickness"].limit) == ("not met", 6)


def test_the_guides_sure_row_decides_where_the_edition_has_none():
    """8x8: IRC 2015 prints none, that of 2018 is in doubt; 14 ft by the guide's footnote 5 (seen)."""
    made = Workshop().box_along("post", lumber("8x8"), (0, 0, 0), (0, 0, 169), (1, 0, 0), 7.25, 7.25)
    for edition, source in (("IRC 2015", "DCA 6"), ("IRC 2018", "DCA 6"), ("IRC 2021", "IRC 2021")):
        [row] = post_rows(Column(made, Brought(30.0, 30.0)), 8.0, SP, loads(), edition)
        assert row.result == "not met" and row.limit == 168 and source in worded(row.source)
