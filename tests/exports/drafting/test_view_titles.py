"""Titles under views stand on their sheet, whatever their notes say."""

from __future__ import annotations

import pytest

from plumbcut.exports.drafting import drawing as d
from plumbcut.exports.drafting import furniture, style
from plumbcut.exports.drafting.draft import items_box

NOTE = '5 GOINGS OF 10 1/2", 6 RISERS OF 7 7/16", RISES AND RUNS MEASURED OFF THE TREADS, EACH ROUNDED BY ITSELF.'


@pytest.mark.parametrize("paper", ["letter", "A3", "ARCH D"])
def test_a_title_with_a_long_note_stays_on_its_sheet(paper):
    """Its view a little left of the middle, as beside keynotes."""
    sheet = d.Sheet("A-501", "STAIR SECTION", paper)
    x0, y0, x1, y1 = sheet.room
    view = d.View("section", 48.0, [d.Line((0.0, 0.0), (96.0, 96.0), layer="A-SECT-MCUT")])
    middle = (x0 + (x1 - x0) * 0.37, (y0 + y1) / 2)
    sheet.viewports.append(d.Viewport(view, middle, None, "Section along stair flight 1", "1", NOTE))
    titles = furniture.titles(sheet)
    left, low, right, _ = items_box(titles, 1.0)
    assert x0 <= left and right <= x1 and low >= y0
    words = " ".join(
        [next(i.values["NOTE"] for i in titles if type(i) is d.Symbol)]
        + [line for i in titles if type(i) is d.Text for line in style.lines(i.text, i.height, i.wrap)]
    )
    assert words == NOTE
