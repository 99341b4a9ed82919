"""Measuring off the solid, against closed-form arithmetic done here, trimesh's volume, and textbook saw angles."""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh
from small_deck import small_deck

from plumbcut.model.measuring.measure import measure, measure_all
from plumbcut.model.measuring.throat import throat as throat_of
from plumbcut.model.solid.part import Place, Workshop
from plumbcut.shared.stock import Stock

BOARD = Stock("5/4x6", 1.0, 5.5, "composite board")
JOIST = Stock("2x8", 1.5, 7.25, "treated lumber")
STRINGER = Stock("2x12", 1.5, 11.25, "treated lumber")
FASCIA = Stock("1x8", 0.75, 7.25, "composite board")
ROUND = Stock("12 in round", 12.0, 12.0, "concrete")


def rect(x0, y0, x1, y1):
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def mesh_of(solid) -> trimesh.Trimesh:
    points, triangles = solid.tessellate(1e-4, 0.02)
    return trimesh.Trimesh([p.toTuple() for p in points], triangles, process=True, merge_norm=True, merge_tex=True)


@pytest.mark.parametrize("part", small_deck().parts, ids=lambda p: p.id)
def test_volume_surface_and_box_agree_with_the_tessellated_solid(part):
    mesh, m = mesh_of(part.solid), measure(part)
    assert mesh.is_watertight
    round_piece = part.shape.circle is not None
    assert m.volume == pytest.approx(mesh.volume, rel=2e-4 if round_piece else 1e-9)
    assert m.surface == pytest.approx(mesh.area, rel=2e-4 if round_piece else 1e-9)
    assert m.box == pytest.approx(mesh.bounds, abs=0.01 if round_piece else 1e-6)


def test_cylinder_volume_is_exact():
    # pi r^2 h
    m = measure(Workshop().cylinder("footing", ROUND, (3, 4, -36), (0, 0, 1), 6, 36))
    assert m.volume == pytest.approx(math.pi * 36 * 36, rel=1e-12)
    assert (m.length, m.top_area) == pytest.approx((36, math.pi * 36))


def test_border_board_mitred_at_both_ends_and_notched():
    # trapezoid (120 + 109) / 2 x 5.5 less a 3.75 x 3.5 notch
    ring = [(0, 0), (50, 0), (50, 3.5), (53.75, 3.5), (53.75, 0), (120, 0), (114.5, 5.5), (5.5, 5.5)]
    m = measure(Workshop().upright("border", BOARD, ring, 0, 1))
    area = (120 + 109) / 2 * 5.5 - 3.75 * 3.5
    assert (m.volume, m.top_area) == pytest.approx((area, area))
    assert (m.length, m.long_point, m.short_point) == pytest.approx((120, 120, 109))
    assert [(c.end, round(c.mitre, 6), c.bevel) for c in m.ends] == [("A", 45, 0), ("B", 45, 0)]
    (notch,) = m.notches
    assert (notch.start, notch.width, notch.depth, notch.edge) == pytest.approx((50, 3.75, 3.5, "near"))


def test_parallelogram_is_longer_than_either_edge():
    # mitred the same way at both ends: tip to tip L along each edge, L + w tan 30 overall
    lean = 5.5 * math.tan(math.radians(30))
    m = measure(Workshop().upright("board", BOARD, [(0, 0), (60, 0), (60 + lean, 5.5), (lean, 5.5)], 0, 1))
    assert (m.long_point, m.short_point, m.length) == pytest.approx((60, 60, 60 + lean))
    assert [round(c.mitre, 6) for c in m.ends] == [30, -30]


@pytest.mark.parametrize("angle", [0, 17, 90, 135, 200, 271.5])
def test_measurements_do_not_depend_on_where_the_piece_lies(angle):
    a = math.radians(angle)
    turn = np.array([[math.cos(a), -math.sin(a)], [math.sin(a), math.cos(a)]])
    ring = np.array([(0, 0), (120, 0), (114.5, 5.5), (12, 5.5)]) @ turn.T + (37, -12)
    m = measure(Workshop().upright("border", BOARD, ring, 3, 4, along=turn @ (1, 0)))
    assert (m.length, m.long_point, m.short_point, m.width, m.thickness) == pytest.approx((120, 120, 102.5, 5.5, 1))
    assert sorted(round(c.mitre, 4) for c in m.ends) == [45, round(math.degrees(math.atan2(12, 5.5)), 4)]


def test_fascia_bevelled_at_corners_is_shortest_on_the_back():
    # common practice, no source: fascia mitres are measured at the short point, on the back
    ring = [(0, 0), (100, 0), (100.75, -0.75), (-0.75, -0.75)]
    m = measure(Workshop().upright("fascia", FASCIA, ring, 0, 7.25))
    assert (m.short_point, m.long_point, m.width, m.thickness) == pytest.approx((100, 101.5, 7.25, 0.75))
    assert [(c.mitre, round(c.bevel, 6)) for c in m.ends] == [(0, -45), (0, -45)]


def test_short_blocking_lies_along_its_length_and_not_its_depth():
    m = measure(Workshop().upright("blocking", JOIST, rect(0, 0, 4.25, 1.5), -7.25, 0))
    assert (m.length, m.width, m.thickness) == pytest.approx((4.25, 7.25, 1.5))


def test_post_measures_along_its_height():
    m = measure(Workshop().upright("post", Stock("6x6", 5.5, 5.5, "x"), rect(0, 0, 5.5, 5.5), -40, -14.5))
    assert (m.length, m.width, m.thickness) == pytest.approx((25.5, 5.5, 5.5))
    assert m.axis == pytest.approx([0, 0, 1])


def test_ripped_board_says_its_width_and_a_whole_one_does_not():
    shop = Workshop()
    assert measure(shop.upright("board", BOARD, rect(0, 0, 90, 3.125), 0, 1)).sizes.rip == pytest.approx(3.125)
    assert measure(shop.upright("board", BOARD, rect(0, 0, 90, 5.5), 0, 1)).sizes.rip is None
    # a rip narrower than the board is thick still lies flat on its length
    thin = measure(shop.upright("board", BOARD, rect(0, 0, 90, 0.75), 0, 1)).sizes
    assert (thin.length, thin.width, thin.thickness, thin.rip) == pytest.approx((90, 0.75, 1.0, 0.75))


def test_corner_notch_is_a_notch_and_leaves_one_square_cut():
    ring = [(3.75, 0), (80, 0), (80, 5.5), (0, 5.5), (0, 3.5), (3.75, 3.5)]
    m = measure(Workshop().upright("board", BOARD, ring, 0, 1))
    (notch,) = m.notches
    # the piece may be kept turned end for end on the saw table
    assert (notch.edge, notch.corner) in [("near", "A"), ("far", "B")]
    start = notch.start if notch.corner == "A" else m.length - notch.start - notch.width
    assert (start, notch.width, notch.depth) == pytest.approx((0, 3.75, 3.5))
    assert (m.length, m.long_point, m.short_point) == pytest.approx((80, 80, 80))  # the notch is set out apart
    assert [c.end for c in m.sizes.cuts] == ["A", "B"] and all(c.square for c in m.sizes.cuts)


def test_clipped_corner_is_two_cuts_at_one_end():
    ring = [(0, 0), (80, 0), (80, 5.5), (2.5, 5.5), (0, 3)]
    cuts = measure(Workshop().upright("board", BOARD, ring, 0, 1)).sizes.cuts
    assert sorted(round(abs(c.mitre), 6) for c in cuts) == [0, 0, 45]
    clipped = next(c.end for c in cuts if c.mitre)
    # the clip takes 2.5 x 2.5 off: its face is the greater at that end, and so the main cut there
    assert [round(abs(c.mitre), 6) for c in cuts if c.end == clipped] == [45, 0]


def test_hole_is_set_out_from_end_and_edge():
    ring, inner = rect(0, 0, 60, 5.5), rect(20, 1, 24, 4)
    (hole,) = measure(Workshop().prism("board", BOARD, ring, 1, Place((0, 0, 0)), [inner])).holes
    # the shape may be kept turned end for end: 22 from one end is 38 from the other
    assert (hole.at, hole.across) in [(22, 2.5), (38, 3)] and (hole.length, hole.width) == (4, 3)


def sawtooth(rise, run, count, depth):
    """A cut stringer's side outline with its underside `depth` below the line through its tooth points."""
    pitch = math.atan2(rise, run)
    ring = [(0.0, 0.0)]
    for k in range(1, count + 1):
        ring += [(k * run, -(k - 1) * rise), (k * run, -k * rise)]
    drop = depth / math.cos(pitch)
    foot = ring[-1][1]
    ring += [((rise - drop - foot) * run / rise, foot), (0.0, rise - drop)]
    return ring


@pytest.mark.parametrize("rise,run,throat", [(7.5, 10, 5.25), (7.75, 10, 5.124), (7.75, 11, 4.915)])
def test_throat_of_a_cut_stringer(rise, run, throat):
    # 2x12 of 11.25 in; the notch square to the edge is R T / sqrt(R^2 + T^2): right triangle, altitude on the
    # hypotenuse
    place = Place((0, 0, 0), (0, -1, 0), (0, 0, 1))
    m = measure(Workshop().prism("stringer", STRINGER, sawtooth(rise, run, 5, 11.25), 1.5, place))
    assert m.width == pytest.approx(11.25, abs=1e-6)
    assert throat_of(m.part).width == pytest.approx(throat, abs=5e-4)
    assert m.axis[2] / np.hypot(*m.axis[:2]) == pytest.approx(-rise / run) or m.axis[2] > 0
    assert all(n.width == pytest.approx(math.hypot(rise, run)) for n in m.notches)


@pytest.mark.parametrize("mitre,bevel", [(0, 0), (45, 0), (0, 22.5), (31.62, 33.86), (22.5, 15)])
def test_compound_cut_made_with_the_saw_is_measured_as_set(mitre, bevel):
    """The end is cut by a blade turned and tilted: a half-space whose plane contains the turned fence line and the
    tilted one.

    31.62 and 33.86 degrees are the textbook settings of a four-sided frame that slopes 52 degrees (38 degrees spring
    angle).
    """
    import cadquery as cq

    from plumbcut.model.measuring.saw import sizes
    from plumbcut.model.solid.faces import read_solid

    stick = cq.Workplane().box(40, 3.5, 1.5, centered=(False, True, False))
    blade = cq.Workplane().box(40, 40, 40, centered=(False, True, True))
    blade = blade.rotate((0, 0, 0), (0, 1, 0), -bevel).rotate((0, 0, 0), (0, 0, 1), mitre).translate((30, 0, 0))
    solid = stick.cut(blade).val()
    solid = solid.Solids()[0]
    found = sizes(read_solid(solid), (1.5, 3.5)).ends[1]
    assert (found.mitre, found.bevel) == pytest.approx((mitre, bevel), abs=1e-6)


@pytest.mark.parametrize("sides,slope", [(4, 52), (4, 30), (6, 10), (8, 75)])
def test_compound_angles_of_a_hopper(sides, slope):
    """A box of `sides` boards that slope outwards by `slope` from the level, meeting in plain mitres.

    Textbook: tan(mitre) = cos(slope) tan(180/n) for the angle across the face, sin(bevel) = sin(slope) sin(180/n).
    The end plane is vertical and contains the box's axis: its normal is written down here in the world and read as saw
    settings in the board's own axes.
    """
    from plumbcut.model.measuring.saw import _cut

    s, half = math.radians(slope), math.pi / sides
    u = np.array([1.0, 0, 0])  # along the board, square to the axis of the box
    v = np.array([0, math.cos(s), math.sin(s)])  # up the sloping face
    w = np.cross(u, v)
    n = np.array([math.cos(half), -math.sin(half), 0])  # vertical mitre plane between neighbours
    cut = _cut("B", np.array([n @ u, n @ v, n @ w]), 1.0)
    assert abs(math.tan(math.radians(cut.mitre))) == pytest.approx(math.cos(s) * math.tan(half))
    assert abs(math.sin(math.radians(cut.bevel))) == pytest.approx(math.sin(s) * math.sin(half))


def test_many_pieces_share_one_measurement():
    shop = Workshop()
    parts = [shop.upright("joist", JOIST, rect(x, 0, x + 1.5, 120), -7.25, 0, along=(0, 1)) for x in range(0, 4000, 16)]
    found = measure_all(parts)
    assert len({id(m.sizes) for m in found}) == 1
    assert [m.box[0, 0] for m in found] == pytest.approx(list(range(0, 4000, 16)))


def test_field_board_between_borders():
    # common practice, no source: between two 5-1/2 borders with 1/8 end gaps a board is 11-1/4 shorter than the border
    shop = Workshop()
    border = measure(shop.upright("border", BOARD, [(0, 0), (144, 0), (138.5, 5.5), (5.5, 5.5)], 0, 1))
    field = measure(shop.upright("board", BOARD, rect(5.5 + 0.125, 5.75, 144 - 5.5 - 0.125, 11.25), 0, 1))
    assert border.long_point - field.length == pytest.approx(11.25)


def test_a_pointed_end_is_measured_to_its_tip():
    """A stringer's tip stands between its edges, where the plumb and the level cut meet; so does that of a pointed
    board: 60 in along its edges, 2-3/4 in more to the point."""
    m = measure(Workshop().upright("board", BOARD, [(0, 0), (60, 0), (62.75, 2.75), (60, 5.5), (0, 5.5)], 0, 1))
    assert (m.length, m.long_point, m.short_point) == pytest.approx((62.75, 62.75, 60))
