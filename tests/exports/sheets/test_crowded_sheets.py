"""A deck too wide for its paper: footings nearer to one another than marks and figures have room."""

import functools
import re

import pytest

from plumbcut.exports.drafting import annotate
from plumbcut.exports.drafting import drawing as d
from plumbcut.exports.drafting.tabling import table_size
from plumbcut.exports.sheets import footing_plan, framing_plan
from plumbcut.exports.sheets.stage import Stage
from plumbcut.exports.sheets.strings import NEAR
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all

WIDE = {
    "outline": {"width": 1150, "depth": 400},
    "levels": {"surface": 26},
    "frame": {"joist": "2x8", "post_spacing": 44, "beam_position": "under"},
    "local": {"frost_depth": 36},
}


@functools.cache
def stage(paper: str = "ARCH B") -> Stage:
    deck = build(Parameters.model_validate(WIDE))
    made = Stage(deck, measure_all(deck.parts), (), paper, False, d.DrawingSet())
    made.refs.update({f"frame section {n}": (str(n + 1), f"S-{301 + n}") for n in range(4)})
    return made


def named(text: str) -> list[str]:
    """The ids that a mark names: F1-03 TO F1-09 BY 2 are four."""
    told = re.fullmatch(r"(F\d+)-(\d+)(?: TO \1-(\d+)(?: BY (\d+))?)?", text)
    mark, first, last, step = told.groups()
    return [f"{mark}-{n:02d}" for n in range(int(first), int(last or first) + 1, int(step or 1))]


def test_each_footing_is_named_once_by_the_mark_at_its_line():
    """Each id once, by a mark whose leader ends on a footing that it names; no two marks or figures overlap (common
    practice, no source)."""
    sheet = footing_plan.build(stage())
    view = sheet.viewports[0].view
    tags = [i for i in view.items if isinstance(i, d.Tag) and i.text != "O"]
    footings = {f.id: f for f in stage().of("footing")}
    assert sorted(k for t in tags for k in named(t.text)) == sorted(footings)
    assert len(tags) < len(footings) / 2
    for tag in tags:
        reach = [footings[k].box[:, :2] for k in named(tag.text)]
        assert any((low <= tag.tip).all() and (tag.tip <= high).all() for low, high in reach)
        rows, columns = ({round(float(b[:, k].mean()), 1) for b in reach} for k in (1, 0))
        assert min(len(rows), len(columns)) == 1
    assert not annotate.overlaps(view.items, view.scale)


def test_a_table_too_long_for_its_sheet_stands_among_the_schedules():
    sheet = footing_plan.build(stage())
    assert not [i for i in sheet.items if isinstance(i, d.Table)]
    notes = " ".join(i.text for i in sheet.items if isinstance(i, d.Text))
    assert "TABLE OF FOOTINGS AMONG THE SCHEDULES" in " ".join(notes.split())
    table = footing_plan.footing_table(stage(), (0.0, 0.0))
    assert len(table.rows) == len(stage().of("footing"))
    assert table_size(table)[1] > sheet.room[3] - sheet.room[1]  # else it would have stood there


@pytest.mark.parametrize("plan", [footing_plan, framing_plan])
def test_no_string_of_posts_has_steps_too_short_for_figures(plan):
    """Posts 44 in apart and less: no string goes from one to the next."""
    view = plan.build(stage()).viewports[0].view
    posts = {round(float(p.box[:, 0].mean()), 2) for p in stage().of("post")}
    strings = [i for i in view.items if isinstance(i, d.Dimension) and i.angle == 0.0]
    assert strings and NEAR * view.scale > 44
    assert not [i for i in strings if {round(i.a[0], 2), round(i.b[0], 2)} <= posts and abs(i.b[0] - i.a[0]) <= 44]
