"""Fascia and what carries the surface: against arithmetic written out here, and on whole frames."""

from __future__ import annotations

import itertools
import tomllib
from functools import cache
from pathlib import Path

import pytest
import shapely

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.bearing import bearing_report, half_bearings, hanging
from plumbcut.model.measuring.clashes import clashes
from plumbcut.model.measuring.measure import measure
from plumbcut.model.measuring.stands_on import loose
from plumbcut.model.pieces.frame import build_frame
from plumbcut.model.pieces.support import build_support
from plumbcut.model.pieces.surface import build_surface
from plumbcut.model.pieces.trim import build_trim
from plumbcut.model.plan.layout import lay_out
from plumbcut.model.solid.board_ends import LEAST_BEARING
from plumbcut.model.solid.part import Workshop
from plumbcut.shared.stock import Stock

LOW = {"surface": 30}  # no guard, so no posts to notch round
ELL = {"points": [[0, 0], [120, 0], [120, 72], [264, 72], [264, 180], [0, 180]], "house": ["e5"]}
CLIPPED = {"points": [[36, 0], [192, 0], [192, 144], [0, 144], [0, 36]], "house": ["e3"]}
DEMOS = Path(__file__).parents[3] / "params"


def trim(outline={"width": 198, "depth": 150}, levels=LOW, **sections):
    layout = lay_out(Parameters.model_validate({"outline": outline, "levels": levels, **sections}))
    return layout, build_trim(layout, Workshop())


def on(parts, edge):
    return sorted((p for p in parts if p.edge == edge), key=lambda p: tuple(p.box[0]))


def test_fascia_on_a_rectangle_by_arithmetic():
    _layout, parts = trim(trim={"length": 240, "thickness": 0.75}, frame={"joist": "2x8"})
    assert [p.edge for p in parts] == ["front", "right", "left"]
    (front,), (right,), (left,) = (on(parts, e) for e in ("front", "right", "left"))
    m = measure(front)
    assert (m.long_point, m.short_point) == pytest.approx((198 + 1.5, 198), abs=1e-6)
    assert [abs(c.mitre) + abs(c.bevel) for c in m.ends] == pytest.approx([45, 45], abs=1e-6)
    for side in (left, right):  # mitred at the front, square at the house
        m = measure(side)
        assert sorted(abs(c.mitre) + abs(c.bevel) for c in m.ends) == pytest.approx([0, 45], abs=1e-6)
        assert m.long_point == pytest.approx(150.75, abs=1e-6) and side.box[1, 1] == pytest.approx(150)
    # 7-1/4 deep from the top of the frame, 3/4 thick, standing on the rim's outer face
    for p in parts:
        assert p.box[1, 2] == pytest.approx(29) and p.box[0, 2] == pytest.approx(29 - 7.25)
        assert p.stock == Stock("1x8", 0.75, 7.25, "composite board")
    assert sum(measure(p).volume for p in parts) == pytest.approx(7.25 * 0.75 * ((198 + 0.75) + 2 * (150 + 0.375)))


def test_border_overhangs_the_fascia_by_what_the_file_says():
    sections = {"surface": {"overhang": 0.5, "edge_overhang": {"left": 1.25}}, "trim": {"thickness": 0.625}}
    layout, parts = trim(**sections)
    surface = build_surface(layout, Workshop())
    for edge, axis, sign, overhang in (("front", 1, -1, 0.5), ("right", 0, 1, 0.5), ("left", 0, -1, 1.25)):

        def reach(pieces):
            return max(sign * p.box[0 if sign < 0 else 1, axis] for p in pieces)

        assert reach(on(surface, edge)) - reach(on(parts, edge)) == pytest.approx(overhang)


@pytest.mark.parametrize(
    "outline, edge, angles",
    [(CLIPPED, "e5", [22.5, 22.5]), (ELL, "e2", [45, 45]), (ELL, "e3", [45, 45]), (ELL, "e4", [0, 45])],
)
def test_fascia_corners_are_mitred_and_square_at_the_house(outline, edge, angles):
    _layout, parts = trim(outline=outline, trim={"length": 288})
    (p,) = on(parts, edge)
    assert sorted(abs(c.mitre) + abs(c.bevel) for c in measure(p).ends) == pytest.approx(angles, abs=1e-6)


def test_fascia_meets_at_corners_without_overlap_or_opening():
    for outline in (ELL, CLIPPED):
        layout, parts = trim(outline=outline, trim={"length": 288})
        ring = layout.outline.inset({e.name: 0.0 if e.house else -0.75 for e in layout.outline.edges}).difference(
            layout.outline.polygon
        )
        assert sum(p.footprint.area for p in parts) == pytest.approx(ring.area)
        assert shapely.union_all([p.footprint for p in parts]).area == pytest.approx(ring.area)


def test_long_fascia_is_joined_at_joists():
    layout, parts = trim(outline={"width": 500, "depth": 300}, trim={"length": 144})
    front = on(parts, "front")
    assert len(front) == 4 and all(measure(p).length <= 144 + 1e-6 for p in front)
    joints = [(a.box[1, 0] + b.box[0, 0]) / 2 for a, b in itertools.pairwise(front)]
    assert {round(j, 5) for j in joints} <= {round(p, 5) for p, _ in layout.joist_lines}
    assert [b.box[0, 0] - a.box[1, 0] for a, b in itertools.pairwise(front)] == pytest.approx([0.125] * 3, abs=1e-6)
    left = on(parts, "left")
    assert len(left) == 3 and all(measure(p).length <= 144 + 1e-6 for p in left)


def test_fascia_gives_way_to_the_stair():
    layout, parts = trim(stair=[{"edge": "front", "at": 70, "width": 42}])
    start, end = layout.stairs[0].trimmed
    low, high = on(parts, "front")
    assert low.box[1, 0] == pytest.approx(start) and high.box[0, 0] == pytest.approx(end)
    assert sorted(abs(c.mitre) + abs(c.bevel) for c in measure(low).ends) == pytest.approx([0, 45], abs=1e-6)


def test_no_fascia_when_the_file_says_so():
    assert trim(trim={"fascia": False})[1] == []


@cache
def whole(name):
    """Frame, surface and trim of a case (stairs and guards do not carry the surface)."""
    levels = {"surface": 48}
    if name.endswith(".toml"):
        document = tomllib.loads((DEMOS / name).read_text())
    else:
        document = {
            "wide": {"outline": {"width": 528, "depth": 168}, "levels": LOW},
            "ell": {"outline": ELL, "levels": levels, "surface": {"border": {"courses": 2}, "breakers": [130]}},
            "clipped": {"outline": CLIPPED, "levels": levels, "surface": {"border": {"courses": 2}}},
            "diagonal": {"outline": {"width": 528, "depth": 168}, "levels": LOW, "surface": {"direction": 45}},
            "plain": {"outline": {"width": 198, "depth": 150}, "levels": levels, "surface": {"border": {"courses": 0}}},
            "all round": {
                "outline": {"width": 198, "depth": 150},
                "levels": levels,
                "surface": {"border": {"at_house": True}},
            },
            # an end face and the board's own edge agree only up to the last bits here: the measuring must not lose the
            # end
            "skew": {
                "outline": {"points": [(0, 0), (97.4375, -12.56), (126.0625, 69), (0, 69)], "house": ["e3"]},
                "levels": LOW,
                "surface": {"direction": 30, "border": {"courses": 2}},
                "frame": {"joist_spacing": 12},
            },
            "joists across": {
                "outline": {"width": 240, "depth": 150},
                "levels": LOW,
                "frame": {"joist_direction": "x", "support": "free-standing"},
            },
        }[name]
    layout = lay_out(Parameters.model_validate(document))
    shop = Workshop()
    return layout, build_support(layout, shop) + build_frame(layout, shop) + build_surface(layout, shop) + build_trim(
        layout, shop
    )


CASES = [
    *(p.name for p in sorted(DEMOS.glob("*.toml"))),
    "wide",
    "ell",
    "clipped",
    "diagonal",
    "plain",
    "all round",
    "skew",
    "joists across",
]


@pytest.mark.parametrize("name", CASES)
def test_every_board_end_and_every_joint_bears(name):
    _layout, parts = whole(name)
    report = bearing_report(parts)
    surface = [p for p in parts if p.group == "surface"]
    assert len(report) == pytest.approx(2 * len(surface), rel=0.05) and {id(e.part) for e in report} == {
        id(p) for p in surface
    }
    assert [str(e) for e in report if not e.borne] == []


@pytest.mark.parametrize("name", CASES)
def test_every_border_bears_on_both_halves_all_along(name):
    layout, parts = whole(name)
    # at a corner the border's tip stands out by fascia and overhang; beside a post the blocks give way to it and its
    # notch
    reach = max(1.0 + max(layout.overhang(e) for e in layout.outline.edges), 3.5 + 2 * 0.25)
    assert max((h.gap for h in half_bearings(parts)), default=0.0) <= reach


@pytest.mark.parametrize("name", CASES)
def test_surface_and_trim_clash_with_nothing(name):
    # pieces of the support among themselves are for the support's own tests
    found = clashes(whole(name)[1])
    assert [str(c) for c in found if {c.a.group, c.b.group} & {"surface", "trim"}] == []


def test_an_end_at_a_joint_bears_half_of_two_joists_less_half_the_gap():
    _layout, parts = whole("wide")
    joints = [e for e in bearing_report(parts) if e.joint and e.part.role == "board"]
    plain = [e for e in joints if e.by == ("joist",)]
    assert len(plain) > 80
    assert all(e.length == pytest.approx((2 * 1.5 - 0.125) / 2, abs=1e-6) and e.overhang < 1e-6 for e in plain)


def test_a_frame_without_its_blocks_leaves_ends_hanging():
    _layout, parts = whole("wide")
    bare = [p for p in parts if p.role != "border blocking"]
    found = hanging(bare)
    assert {e.part.role for e in found} >= {"board"}
    # runs end beside both side borders and rest on nothing there, but for those that a row of blocking happens to meet
    ends = [
        e for e in found if e.part.role == "board" and min(abs(e.point[0] - x) for x in (3.875, 528 - 3.875)) < 1e-6
    ]
    runs = {p.where for p in parts if p.role == "board"}
    assert len(ends) > 1.6 * len(runs) and all(e.length < LEAST_BEARING for e in ends)
    assert any(e.by == () and "on nothing" in str(e) for e in ends)
    assert max(h.gap for h in half_bearings(bare)) > 12


def test_a_joint_moved_off_its_joist_is_found():
    _layout, parts = whole("wide")
    joists = [p for p in parts if p.role == "joist"]
    joint = next(e for e in bearing_report(parts) if e.joint and e.part.role == "board" and e.by == ("joist",))
    under = [p for p in joists if p.footprint.buffer(0.1).intersects(shapely.Point(joint.point[:2]))]
    found = hanging([p for p in parts if p not in under])
    assert any(e.part is joint.part and e.end == joint.end and e.length < LEAST_BEARING for e in found)


def test_a_stair_as_wide_as_its_edge_leaves_no_scrap_of_fascia_at_the_corners():
    made = build(
        Parameters.model_validate(
            {
                "outline": {"width": 130, "depth": 150},
                "levels": {"surface": 30},
                "stair": [{"edge": "front", "width": 130}],
            }
        )
    )
    fascia = [p for p in made.parts if p.role == "fascia"]
    assert {p.edge for p in fascia} == {"left", "right"}
    for p in fascia:  # both its faces end at the frame's corner: a square end
        at = sorted(y for _, y in p.footprint.exterior.coords[:-1])
        assert at[0] >= -1e-6 and (at[0] > 1 or at[1] == pytest.approx(at[0]))
    assert not loose(made.parts)
