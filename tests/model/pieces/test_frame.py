"""The frame against arithmetic done by hand, every figure measured off the solids. Frames and sizes are invented."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
import shapely

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.bearing import hanging
from plumbcut.model.measuring.contacts import contacts
from plumbcut.model.pieces.frame import build_frame
from plumbcut.model.pieces.support import build_support
from plumbcut.model.plan.layout import lay_out
from plumbcut.model.solid.part import Workshop
from plumbcut.shared.stock import lengths_sold, lumber

# no lines of blocking under a border, no joist doubled under a butt joint: the frame alone
BARE = {"border": {"courses": 0}, "board_length": 240}
PLAIN = {"outline": {"width": 190, "depth": 131}, "levels": {"surface": 40}, "guard": {"edges": []}, "surface": BARE}


def frame(**sections):
    """Layout and parts of the frame and what it stands on, sections merged into `PLAIN`."""
    layout = lay_out(Parameters.model_validate({**PLAIN, **sections}))
    shop = Workshop()
    return layout, build_support(layout, shop) + build_frame(layout, shop)


def of(parts, *roles):
    return [p for p in parts if p.role in roles]


def box(part):
    b = part.solid.BoundingBox(1e-7)
    return np.array([[b.xmin, b.ymin, b.zmin], [b.xmax, b.ymax, b.zmax]])


def size(part):
    return np.ptp(box(part), axis=0)


def middle(part, axis=0):
    return float(box(part)[:, axis].mean())


@pytest.mark.parametrize(
    "width, spacing, count", [(190, 16, 11), (193, 16, 11), (195.5, 16, 12), (190, 12, 15), (190, 24, 7), (96, 16, 5)]
)
def test_joists_stand_on_centre_from_the_outer_face_of_the_starting_rim(width, spacing, count):
    """Common practice, no source: the first centre is one spacing from the rim's outer face; a rim within an inch
    stands in. Where that leaves the last bay wider than the spacing, one more joist halves it."""
    _, parts = frame(outline={"width": width, "depth": 131}, frame={"joist_spacing": spacing})
    at = sorted(middle(j) for j in of(parts, "joist"))
    expected = [spacing * k for k in range(1, count + 1)]
    if width - 0.75 - expected[-1] > spacing + 0.01:  # from the last joist's middle to the rim's
        expected.append((expected[-1] + 0.75 + width - 1.5) / 2)
    assert at == pytest.approx(expected, abs=1e-6)
    assert all(size(j)[0] == pytest.approx(1.5) and size(j)[2] == pytest.approx(7.25) for j in of(parts, "joist"))


@pytest.mark.parametrize("plies", [1, 2, 3])
def test_lengths_at_square_corners(plies):
    """Ledger and front rim run through, side rims and joists butt between them."""
    _, parts = frame(frame={"rim_plies": plies})
    assert {tuple(size(j).round(6)) for j in of(parts, "joist")} == {(1.5, 131 - 1.5 - 1.5 * plies, 7.25)}
    (ledger,) = of(parts, "ledger")
    assert size(ledger) == pytest.approx([190, 1.5, 7.25])
    front = [r for r in of(parts, "rim") if r.edge == "front"]
    sides = [r for r in of(parts, "rim") if r.edge in ("left", "right")]
    assert len(front) == plies and len(sides) == 2 * plies
    assert all(size(r) == pytest.approx([190, 1.5, 7.25]) for r in front)
    assert all(size(r) == pytest.approx([1.5, 131 - 1.5 - 1.5 * plies, 7.25]) for r in sides)


def test_rims_mitred_at_a_clipped_corner():
    """At a turn of 45 degrees each mitre takes t tan 22.5 off the inner face: the volume is that of the mean length."""
    cut = 40.0
    _, parts = frame(outline={"points": [[0, 0], [190 - cut, 0], [190, cut], [190, 131], [0, 131]], "house": ["e4"]})
    (clip,) = [r for r in of(parts, "rim") if r.edge == "e2"]
    length = cut * math.sqrt(2) - 1.5 * math.tan(math.radians(22.5))  # both ends lose half of it on the mean
    assert clip.solid.Volume() == pytest.approx(length * 1.5 * 7.25, rel=1e-9)
    (front,) = [r for r in of(parts, "rim") if r.edge == "e1"]  # runs through at the left, mitred at the right
    assert front.solid.Volume() == pytest.approx(
        (190 - cut - 1.5 * math.tan(math.radians(22.5)) / 2) * 1.5 * 7.25, rel=1e-9
    )


@pytest.mark.parametrize("plies", [1, 2])
def test_mitred_rims_fill_the_outline_s_edge_once(plies):
    """Their long points are outside, at the clipped corners themselves: the plies cover the band along the outline as
    deep as they are thick, and no two share a spot."""
    outline = {"points": [[0, 0], [150, 0], [190, 40], [190, 131], [0, 131]], "house": ["e4"]}
    layout, parts = frame(outline=outline, frame={"rim_plies": plies})
    shapes = [p.footprint for p in of(parts, "rim", "ledger")]
    whole = shapely.union_all(shapes)
    assert sum(g.area for g in shapes) == pytest.approx(whole.area, rel=1e-9)
    free = layout.outline.polygon.exterior.buffer(1.5 * plies, join_style="mitre")
    house = shapely.box(0, 131 - 1.5 * plies, 190, 131)  # a ledger has one ply
    assert free.intersection(layout.outline.polygon).difference(house).difference(whole).area < 1e-6


@pytest.mark.parametrize("plies", [1, 2, 3])
@pytest.mark.parametrize("spacing", [16, 19.2])
def test_every_ply_of_a_long_rim_is_butted_over_a_joist_s_end(plies, spacing):
    """Common practice, no source: the outer plies touch no joist, and their joints lie in line with one all the same,
    apart from those of the ply beside them."""
    outline = {"width": 613, "depth": 131}
    _, parts = frame(outline=outline, frame={"rim_plies": plies, "joist_spacing": spacing})
    middles = [middle(j) for j in of(parts, "joist")]
    rims = [r for r in of(parts, "rim") if r.edge == "front"]
    by_ply = {}
    for r in rims:
        by_ply.setdefault(round(middle(r, 1), 3), []).append(r)
    assert len(by_ply) == plies
    cuts = [sorted(box(r)[1, 0] for r in ply)[:-1] for ply in by_ply.values()]
    for joints in cuts:
        assert joints and all(min(abs(x - m) for m in middles) < 1e-3 for x in joints)
    for one, two in itertools.pairwise(cuts):
        assert min(abs(a - b) for a in one for b in two) > spacing


@pytest.mark.parametrize("rows", [0, 1, 3])
@pytest.mark.parametrize("at_beams", [True, False])
def test_blocking_is_counted_bay_by_bay(rows, at_beams):
    """11 joists make 12 bays; each bay has one block a row, and one over the beam. A bay's block fills the clear
    width."""
    _, parts = frame(frame={"blocking_rows": rows, "blocking_at_beams": at_beams})
    blocks = of(parts, "blocking")
    lines = rows + at_beams
    assert len(blocks) == 12 * lines
    widths = sorted(round(float(size(b)[0]), 6) for b in blocks)
    assert widths == sorted(([16 - 1.5 - 0.75] + [14.5] * 10 + [190 - 1.5 - 176.75]) * lines)
    assert all(size(b)[2] == pytest.approx(7.25) and size(b)[1] == pytest.approx(1.5) for b in blocks)


@pytest.mark.parametrize("pattern, rows_seen", [("staggered", 2), ("in line", 1)])
def test_blocking_pattern(pattern, rows_seen):
    """Staggered blocks lie side by side on either side of the row's line, at half the clear span; in line on it."""
    _, parts = frame(frame={"blocking_pattern": pattern, "blocking_at_beams": False})
    at = sorted({round(middle(b, 1), 6) for b in of(parts, "blocking")})
    line = (15 + 129.5) / 2  # beam 12 to 15, ledger's face at 131 - 1.5
    assert at == pytest.approx([line] if rows_seen == 1 else [line - 0.75, line + 0.75])


def test_double_joists_are_plies_beside_a_post_in_the_way():
    """A guard post at a stair that stands where a joist should: a joist on either side of it, faces touching the
    post."""
    layout, parts = frame(stair=[{"edge": "front", "at": 16 + 1.75}], guard={})
    post = next(p for p in layout.posts if p.kind == "stair")
    low, _, high, _ = post.polygon.bounds
    assert low < 16 < high
    at = [middle(j) for j in of(parts, "joist")]
    assert not any(abs(a - 16) < 0.1 for a in at)
    assert any(abs(a - (low - 0.75)) < 1e-6 for a in at) and any(abs(a - (high + 0.75)) < 1e-6 for a in at)


def test_joists_along_the_house():
    _, parts = frame(frame={"joist_direction": "x", "support": "free-standing"})
    joists = of(parts, "joist")
    assert sorted(middle(j, 1) for j in joists) == pytest.approx(
        [16 * k for k in range(1, 8)] + [(112.75 + 129.5) / 2]
    )  # at 128 the rim, from 129.5, stands in: the bay before it, 16-3/4 in clear, is halved
    assert {round(float(size(j)[0]), 6) for j in joists} == {190 - 3.0}
    assert not of(parts, "ledger") and len(of(parts, "rim")) == 4


def test_house_on_two_sides_has_two_ledgers():
    _, parts = frame(outline={"width": 150, "depth": 121, "house": ["back", "left"]})
    back, left = (next(p for p in of(parts, "ledger") if p.edge == e) for e in ("back", "left"))
    assert size(back)[0] == pytest.approx(150) and size(left)[1] == pytest.approx(
        121 - 1.5
    )  # butts the other, runs on past the rim
    assert size(next(p for p in of(parts, "rim") if p.edge == "front"))[0] == pytest.approx(150 - 1.5)
    first = max(of(parts, "joist"), key=middle)  # set out from the free side
    assert middle(first) == pytest.approx(150 - 16)


def test_long_members_are_spliced_on_what_carries_them():
    """Nothing is longer than the yard sells; rims are butted behind a joist's end, joists and beams over beams and
    posts."""
    _, parts = frame(outline={"width": 520, "depth": 300})
    longest = {s: max(lengths_sold(lumber(s))) for s in ("2x8", "2x10")}
    for p in of(parts, "rim", "joist", "ledger", "beam"):
        assert max(size(p)) <= longest[p.stock.name] + 1e-6, p.role
    joists, beams, posts = of(parts, "joist"), of(parts, "beam"), of(parts, "post")
    rims = sorted((r for r in of(parts, "rim") if r.edge == "front"), key=middle)
    assert len(rims) > 1
    for a, b in itertools.pairwise(rims):
        joint = box(a)[1, 0]
        assert joint == pytest.approx(box(b)[0, 0])
        assert any(box(j)[0, 0] + 0.5 < joint < box(j)[1, 0] - 0.5 for j in joists)
    for y in {round(middle(b, 1), 3) for b in beams}:
        line = sorted((b for b in beams if abs(middle(b, 1) - y) < 0.01), key=middle)
        for a in line[:-1]:
            assert any(box(p)[0, 0] + 1.4 < box(a)[1, 0] < box(p)[1, 0] - 1.4 for p in posts), (
                "a ply's butt joint over a post"
            )
    for x in {round(middle(j), 3) for j in joists}:
        line = sorted((j for j in joists if abs(middle(j) - x) < 0.01), key=lambda j: middle(j, 1))
        assert sum(size(j)[1] for j in line) == pytest.approx(300 - 3)
        for a in line[:-1]:
            end = box(a)[1, 1]
            assert any(
                box(b)[0, 1] + 0.5 < end < box(b)[1, 1] + 1e-6 or box(b)[0, 1] - 1e-6 < end < box(b)[1, 1] - 0.5
                for b in beams
            )


@pytest.mark.parametrize("edge", ["front", "right"])
def test_a_wide_guard_post_has_blocks_for_the_board_ends_beside_it(edge):
    """A 6x6 takes a board's whole width: the frame has a member right beside the notch where boards end."""
    layout, parts = frame(guard={"post": "6x6", "edges": [edge], "post_spacing": 60})
    post = next(p for p in layout.posts if p.kind == "line")
    x0, y0, x1, y1 = post.polygon.bounds
    members = list(of(parts, "joist", "post blocking", "border blocking"))

    def touches(m):
        b = box(m)
        if edge == "front":  # boards run past the post's sides
            return (
                any(abs(b[i, 0] - at) < 1e-6 for i, at in ((1, x0), (0, x1)))
                and b[0, 1] < y1 - 4
                and b[1, 1] > y1 - 0.1
            )
        return abs(b[1, 0] - x0) < 1e-6 and b[0, 1] < (y0 + y1) / 2 < b[1, 1]  # boards end at the post's back

    assert sum(map(touches, members)) >= (2 if edge == "front" else 1)


def test_every_block_meets_a_member_at_both_ends():
    _, parts = frame(
        outline={"points": [[0, 0], [150, 0], [190, 40], [190, 131], [0, 131]], "house": ["e4"]}, surface={}
    )
    ends: dict[int, set] = {}
    index = {id(p): k for k, p in enumerate(parts)}
    for c in contacts(parts):
        if c.kind != "bearing":
            for p in (c.a, c.b):
                ends.setdefault(index[id(p)], set()).add(
                    (*tuple(np.round(np.abs(c.normal), 3)), round(float(np.dot(c.point, c.normal)), 2))
                )
    for p in of(parts, "blocking", "border blocking", "post blocking"):
        assert len(ends.get(index[id(p)], ())) >= 2, p.where


@pytest.mark.parametrize(
    "deck",
    [
        {"outline": {"width": 193, "depth": 131}},
        {"outline": {"width": 233, "depth": 131}, "surface": {"breakers": [100.6]}},
        {"outline": {"points": [[0, 0], [150, -31], [201, 87], [160, 140], [0, 140]], "house": ["e4"]}},
    ],
    ids=["rim", "breaker", "slanted"],
)
@pytest.mark.parametrize("spacing", [12, 16, 24])
def test_no_bay_is_wider_than_the_spacing(deck, spacing):
    """Read off the solids along lines square to the joists: clear between lengthwise members at most the spacing less
    1-1/2 in."""
    _, parts = frame(**deck, frame={"joist_spacing": spacing})
    members = [
        box(p) for p in of(parts, "joist", "rim", "ledger", "border blocking") if size(p)[1] > 20 and size(p)[0] < 3
    ]
    wide = []
    for y in np.arange(10.0, 80.0, 7.0):
        row = sorted((m[0, 0], m[1, 0]) for m in members if m[0, 1] < y < m[1, 1])
        wide += [b[0] - a[1] for a, b in itertools.pairwise(row)]
    assert len(wide) > 20 and max(wide) <= spacing - 1.5 + 0.02


@pytest.mark.parametrize(
    "outline,surface,frame",
    [
        # a rip of 3 in behind the rim, which the notch of 4 in takes whole
        (
            {
                "points": [[0, 0], [100, 0], [100, 133], [202, 133], [202, 0], [302, 0], [302, 194], [0, 194]],
                "house": ["e7"],
            },
            {"border": {"courses": 0}},
            {"support": "free-standing", "joist": "2x10", "joist_spacing": 24},
        ),
        # one of 1 in left between a border and the next whole run
        (
            {"points": [[0, 177], [75, 177], [75, 0], [241, 0], [241, 223], [0, 223]], "house": ["e5"]},
            {"border": {"courses": 1}},
            {"support": "free-standing", "joist": "2x10", "cantilever": 0},
        ),
    ],
)
def test_ends_of_a_narrow_run_beside_a_guard_post_are_carried(outline, surface, frame):
    deck = build(
        Parameters.model_validate({"outline": outline, "levels": {"surface": 44}, "surface": surface, "frame": frame})
    )
    assert not hanging([p for p in deck.parts if p.stair is None])
