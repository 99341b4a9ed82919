"""The layout of lettering, measured box by box on invented views."""

from __future__ import annotations

import random
from dataclasses import replace

import numpy as np
import pytest
import shapely

from plumbcut.exports.drafting import annotate, draft, style
from plumbcut.exports.drafting.boxes import box_hits, segment_box_hits, segment_hits
from plumbcut.exports.drafting.clearance import Clearance
from plumbcut.exports.drafting.dimensioning import broken, dimension
from plumbcut.exports.drafting.drawing import Dimension, Hatch, Leader, Line, Polyline, Tag, Text, View, chain
from plumbcut.exports.drafting.layers import HEAVY_LINE, LAYERS
from plumbcut.exports.drafting.places import BLOCKED, note_places
from plumbcut.exports.drafting.standing import corners_of

NOTES = [
    '2x8 JOISTS AT 16" ON CENTRE',
    "LEDGER WITH LAGS STAGGERED, FLASHING OVER",
    "POST BASE",
    "RIM",
    "BLOCKING AT MIDSPAN, FULL DEPTH",
]


def busy_view(seed: int, tags: int = 15, notes: int = 14) -> View:
    """Joists as heavy lines, light lines at random, three strings of dimensions with narrow gaps, marks and notes to
    place."""
    pick = random.Random(seed)
    view = View("busy", pick.choice([24.0, 48.0, 64.0]))
    wide, deep = pick.uniform(150, 480), pick.uniform(100, 240)
    x = 0.0
    while x < wide:
        view.add(Polyline([(x, 0), (x + 1.5, 0), (x + 1.5, deep), (x, deep)], True, layer="S-JOIS"))
        x += pick.choice([12, 16, 24])
    for _ in range(30):
        view.add(
            Line(
                (pick.uniform(0, wide), pick.uniform(0, deep)),
                (pick.uniform(0, wide), pick.uniform(0, deep)),
                layer="A-FLOR-HDLN",
            )
        )
    box = (0, 0, wide, deep)
    stations = sorted({0.0, wide, *(pick.uniform(0, wide) for _ in range(6))})
    view.add(*chain([(s, 0) for s in stations], annotate.outside(box, "bottom", 0, view.scale)))
    view.add(*chain([(0, 0), (wide, 0)], annotate.outside(box, "bottom", 1, view.scale)))
    view.add(*chain([(0, s) for s in (0, 8, deep * 0.6, deep)], annotate.outside(box, "left", 0, view.scale), 90))
    view.add(Text((wide / 2, deep + 3 * view.scale), "A FIXED NOTE OVER THE VIEW", align="centre", layer="A-ANNO-NOTE"))
    for n in range(tags):
        view.add(
            Tag(
                f"J{n}",
                tip=(pick.uniform(0, wide), pick.uniform(0, deep)),
                shape=pick.choice(["circle", "hexagon", "box"]),
            )
        )
    for _ in range(notes):
        view.add(Leader((pick.uniform(0, wide), pick.uniform(0, deep)), pick.choice(NOTES)))
    return view


@pytest.mark.parametrize("seed", range(16))
def test_no_lettering_lies_on_lettering_or_heavy_lines(seed):
    view = busy_view(seed)
    report = annotate.place(view)
    assert report.unplaced == []
    assert annotate.overlaps(view.items, view.scale) == []
    heavy = [
        shapely.LineString([*i.points, i.points[0]])
        for i in view.items
        if type(i) is Polyline and LAYERS[i.layer].weight >= HEAVY_LINE
    ]
    tree = shapely.STRtree(heavy)
    moved = [i for i in view.items if type(i) in (Leader, Tag, Dimension)]
    boxes = [shapely.Polygon(quad) for quad, _ in draft.text_quads(moved, view.scale)]
    assert len(tree.query(boxes, predicate="intersects")[0]) == 0
    # nor does any leader or tag line cross lettering other than its own
    quads = [shapely.Polygon(q).buffer(-0.01 * view.scale) for q, _ in draft.text_quads(view.items, view.scale)]
    paths = [draft.leader_path(i, view.scale) for i in view.items if type(i) is Leader]
    paths += [line for i in view.items if type(i) is Tag and (line := draft.tag_line(i, view.scale))]
    assert len(shapely.STRtree(quads).query([shapely.LineString(p) for p in paths], predicate="intersects")[0]) == 0


def test_overlaps_finds_what_is_there():
    """The measure itself must be able to fail: two notes on one spot, and a figure in a gap too narrow for it."""
    twice = [
        Text((0, 0), "ONE NOTE", layer="A-ANNO-NOTE"),
        Text((1, 0.2), "ANOTHER", layer="A-ANNO-NOTE"),
        Text((500, 0), "FAR", layer="A-ANNO-NOTE"),
    ]
    assert len(annotate.overlaps(twice, 48)) == 1
    narrow = chain([(0, 0), (3, 0), (6, 0)], (0, -18))
    assert annotate.overlaps(narrow, 48)
    annotate.place_items(narrow, 48)
    assert not annotate.overlaps(narrow, 48) and any(d.text_at for d in narrow)


def test_figures_that_fit_stay_on_their_line():
    dims = chain([(0, 0), (60, 0), (140, 0)], (0, -18))
    assert annotate.place_items(dims, 48).unplaced == [] and all(d.text_at is None for d in dims)


def test_an_extension_line_is_broken_round_the_figures_it_would_strike():
    """Two strings on one side: the outer one's line from the middle falls on the inner one's only figures (measured by
    shapely)."""
    view = View("strings", 48)
    view.add(
        Dimension((0, 0), (34, 0), (0, -20), 0.0), *chain([(0, 0), (17, 0), (34, 0)], (0, -40))
    )  # too short to slide aside
    annotate.place(view)
    inner = shapely.Polygon(draft.text_quads(view.items[:1], 48)[0][0])
    whole = [shapely.LineString(p) for d in view.items[1:] for p in dimension(replace(d, breaks=[]), 48).extensions]
    drawn = [shapely.LineString(p) for d in view.items[1:] for p in dimension(d, 48).extensions]
    assert view.items[0].text_at is None, "figures belong on their line"
    assert any(inner.intersects(x) for x in whole) and not any(inner.intersects(x) for x in drawn)
    # nothing else is lost: what is left out lies at the figures alone
    gone = shapely.union_all(whole).difference(shapely.union_all(drawn).buffer(1e-9))
    assert 0 < gone.length < 2 * (style.NOTE * 2 + 2 * style.TEXT_AIR) * 48 and gone.distance(inner) < 1e-9


@pytest.mark.parametrize("seed", range(40))
def test_a_line_is_broken_by_quads_as_shapely_breaks_it(seed):
    pick = random.Random(seed)
    p, q = ((pick.uniform(0, 10), pick.uniform(0, 10)) for _ in range(2))
    quads = []
    for _ in range(3):
        centre, turn, w, h = (
            (pick.uniform(0, 10), pick.uniform(0, 10)),
            pick.uniform(0, 360),
            pick.uniform(0.5, 4),
            pick.uniform(0.5, 4),
        )
        box = shapely.affinity.rotate(shapely.box(centre[0] - w, centre[1] - h, centre[0] + w, centre[1] + h), turn)
        quads.append(list(shapely.geometry.polygon.orient(box).exterior.coords)[:4])
    ours = shapely.MultiLineString(broken(p, q, quads))
    theirs = shapely.LineString([p, q]).difference(shapely.union_all([shapely.Polygon(x) for x in quads]))
    assert (
        ours.length == pytest.approx(theirs.length, abs=1e-9) and ours.hausdorff_distance(theirs) < 1e-9
        if not theirs.is_empty
        else ours.length < 1e-9
    )


def test_a_note_leaves_the_board_lines_for_open_paper():
    """Boards as fine lines all over the deck, open paper at the right: the words go there, the arrow stays on the
    boards."""
    view = View("boards", 48)
    view.add(*(Line((0, y), (100, y), layer="A-FLOR-DECK") for y in range(0, 90, 6)))
    view.add(Leader((95, 40), "SURFACE BOARDS"))
    annotate.place(view)
    note = shapely.Polygon(draft.text_quads(view.items[-1:], 48)[0][0])
    assert note.bounds[0] > 100 and view.items[-1].tip == (95, 40)


def test_a_note_in_the_way_of_another_moves():
    """The first note's cheapest place is the only one the second can have: both find room, and neither far off."""
    view = View("pair", 48)
    wall = [
        Polyline([(x, y), (x + 200, y), (x + 200, y + 200), (x, y + 200)], True, layer="S-JOIS")
        for x, y in ((-206, -100), (-206, 104))
    ]
    view.add(*wall, Leader((0, 102), "ONE"), Leader((-3, 102), "OTHER"))
    assert annotate.place(view).unplaced == [] and annotate.overlaps(view.items, 48) == []
    for note in view.items[-2:]:
        assert np.hypot(note.at[0] - note.tip[0], note.at[1] - note.tip[1]) < 1.5 * 48


def label(text: str) -> Text:
    return Text((0.0, 0.0), text, style.NOTE, "centre", "middle", layer="A-ANNO-IDEN")


def test_a_label_takes_the_first_place_where_it_touches_nothing():
    """A fine line, a hatch and lettering bar three of five places, by shapely as well; the last but one is free."""
    fixed = [
        Line((0, 0), (100, 0), layer="A-FLOR-HDLN"),
        Hatch([(20, 40), (80, 40), (80, 60), (20, 60)], pattern="solid", layer="A-SECT-PATT"),
        Text((50, 100), "STANDS HERE", style.NOTE, "centre", "middle", layer="A-ANNO-NOTE"),
    ]
    spots = [(50, 0), (50, 50), (50, 101), (50, 150), (50, 200)]
    room, first, second, third = Clearance(fixed, [], [], 48, False), label("J1"), label("J2"), label("J3")
    assert room.label(first, spots) and first.at == (50, 150)
    box = shapely.Polygon(draft.text_quad(first, 48))
    assert not any(box.intersects(shapely.LineString(corners_of(i))) for i in fixed[:2])
    assert not annotate.overlaps([*fixed, first], 48)
    assert room.label(second, spots) and second.at == (50, 200), "labels keep off each other"
    assert not room.label(third, spots) and third.at == (0.0, 0.0), "none is put where it would touch something"


def test_the_line_of_a_label_crosses_no_lettering():
    room, far = Clearance([], [], [], 48, False), label("FAR")
    assert room.label(label("BETWEEN"), [(0, 50)])
    assert room.label(far, [(0, 100), (80, 50)], link=lambda at: Line(at, (0, 0), layer="A-ANNO-IDEN")) and far.at == (
        80,
        50,
    )


def test_what_is_settled_keeps_off_labels():
    """Labels and notes are placed by one and the same account of what stands where."""
    room, named = Clearance([], [], [(0, 0)], 48, False), label("A LONG LABEL")
    spots = note_places(Leader((0, 0), "NOTE"), 48, (-50, -50, 50, 50), None, (0, 0), False)
    room.settle(None, spots)
    alone, taken = spots.item.at, room.boxes[-1]
    room.lift([spots.item])
    assert room.label(named, [tuple((taken[:2] + taken[2:]) / 2)])
    assert room.settle(None, spots) < BLOCKED and spots.item.at != alone
    note, box = (shapely.Polygon(draft.text_quads([i], 48)[0][0]) for i in (spots.item, named))
    assert not note.intersects(box)


def test_what_finds_no_place_is_reported():
    view = View("full", 48)
    view.add(*(Leader((50, 50), "A NOTE OF SOME LENGTH") for _ in range(8)))
    report = annotate.place(view, within=(0, 0, 120, 60))
    assert report.unplaced and report.placed and len(report.unplaced) + report.placed == 8
    assert all(leader.at is not None for leader in view.items)  # drawn all the same, so that nothing is lost in silence
    reported = {id(i) for i in report.unplaced}
    kept = [i for i in view.items if id(i) not in reported]
    assert not annotate.overlaps(kept, 48)


def test_crowded_views_overlap_only_what_they_report():
    view = busy_view(5, tags=60, notes=40)
    report = annotate.place(view)
    reported = {id(i) for i in report.unplaced}
    assert not annotate.overlaps([i for i in view.items if id(i) not in reported], view.scale)


def test_the_same_view_is_laid_out_the_same():
    one, two = busy_view(3), busy_view(3)
    annotate.place(one)
    annotate.place(two)
    assert one == two


def test_notes_stay_within_what_they_are_given():
    view = View("wide", 48)
    view.add(*(Leader((20 * n, 10), NOTES[n % 5]) for n in range(6)))
    within = (-150.0, -120.0, 330.0, 150.0)
    assert not annotate.place(view, within=within).unplaced
    box = draft.items_box(view.items, 48)
    assert box[0] >= within[0] and box[1] >= within[1] and box[2] <= within[2] and box[3] <= within[3]


def test_box_and_segment_arithmetic_agrees_with_shapely():
    pick = np.random.default_rng(7)
    a, b = pick.uniform(0, 10, (40, 2)), pick.uniform(0, 10, (40, 2))
    boxes = np.hstack([a, a + pick.uniform(0.5, 3, (40, 2))])
    segments = np.hstack([b, pick.uniform(0, 10, (40, 2))])
    shapes, lines = shapely.box(*boxes.T), shapely.linestrings(segments.reshape(-1, 2, 2))
    assert (box_hits(boxes, boxes) == (shapely.area(shapely.intersection(shapes[:, None], shapes[None, :])) > 0)).all()
    assert (segment_box_hits(segments, boxes) == shapely.intersects(lines[:, None], shapes[None, :])).all()
    assert (segment_hits(segments, segments) == shapely.crosses(lines[:, None], lines[None, :])).all()


def test_outside_strings_keep_their_distance():
    """3/8 in of paper apart (common practice, no source)."""
    box = (0.0, 0.0, 100.0, 50.0)
    first, second = (annotate.outside(box, "bottom", n, 48)[1] for n in (0, 1))
    assert (first, second) == (-18.0, -36.0) and style.DIM_SPACING == 0.375
