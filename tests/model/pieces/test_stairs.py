"""Stairs measured off their solids: rises, goings, throat, volumes, bearing, notches, and no two pieces in one
place."""

import itertools
import math

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from stair_deck import layout_with, stair_parts, whole_deck

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.clashes import clashes, distance
from plumbcut.model.measuring.contacts import contacts
from plumbcut.model.pieces.stairs import build_stairs
from plumbcut.model.pieces.treads import courses, lengths
from plumbcut.model.plan.stair_plan import plan_stair
from plumbcut.model.solid.part import Workshop
from plumbcut.shared.errors import DesignError

TURNS = [("straight", 36), ("left", 42), ("right", 42), ("left", 44), ("right", 60)]
KINDS = {
    "plain": (36, {}),
    "two risers": (15, {"rise": 7.6}),
    "bordered": (60, {"tread": "bordered"}),
    "open": (60, {"risers": "open"}),
    "solid": (60, {"stringer_kind": "solid", "stringer_spacing": 36}),
    "solid open": (60, {"stringer_kind": "solid", "stringer_spacing": 48, "risers": "open"}),
    "no skirts": (60, {"skirts": False}),
    "high": (140, {}),
    "at a corner": (28, {"at": 0, "handrail": "none"}),
    "whole edge": (28, {"width": 198, "handrail": "none"}),
}


def box(part):
    """(2, 3) box of the kernel's solid."""
    b = part.solid.BoundingBox(1e-7)
    return np.array([[b.xmin, b.ymin, b.zmin], [b.xmax, b.ymax, b.zmax]])


def built(height, stair=None, **sections):
    layout = layout_with(height, stair, **sections)
    return layout, build_stairs(layout, Workshop())


def of(parts, *roles):
    return [p for p in parts if p.role in roles]


@pytest.mark.parametrize("name", KINDS)
def test_no_clash_in_the_whole_deck(name):
    layout = layout_with(*KINDS[name])
    # a deck two steps high has no room for its beams above the footings: there only the stair is looked at
    found = clashes(stair_parts(layout) if name == "two risers" else whole_deck(layout))
    assert not found, "\n".join(map(str, found))


@pytest.mark.parametrize("turn, depth", TURNS)
@pytest.mark.parametrize("kind", [{}, {"stringer_kind": "solid", "risers": "open"}, {"tread": "bordered"}])
def test_no_clash_with_landings(turn, depth, kind):
    found = clashes(
        stair_parts(layout_with(130, {"landings": [{"after_risers": 7, "turn": turn, "depth": depth}], **kind}))
    )
    assert not found, "\n".join(map(str, found))


def test_no_clash_with_two_landings():
    stair = {"landings": [{"after_risers": 6, "turn": "left"}, {"after_risers": 12, "turn": "right"}]}
    assert not clashes(whole_deck(layout_with(160, stair)))


@pytest.mark.parametrize("name", ["plain", "bordered", "open", "solid", "high"])
def test_rises_and_goings_off_the_solids(name):
    layout, parts = built(*KINDS[name])
    surface_edge = layout.surface_outer.bounds[1]
    tops, fronts = [layout.planes.surface_top], [surface_edge]
    for step in range(1, 1 + max(p.step for p in of(parts, "tread"))):
        boxes = [box(p) for p in of(parts, "tread") if p.step == step]
        assert np.ptp([b[1, 2] for b in boxes]) < 1e-9
        tops.append(boxes[0][1, 2])
        fronts.append(min(b[0, 1] for b in boxes))  # the stair goes out to -y
    pad = box(of(parts, "pad")[0])
    tops.append(pad[1, 2])
    n = math.ceil(layout.planes.surface_top / 7.5)
    assert len(tops) == n + 1
    assert np.allclose(np.diff(tops), -layout.planes.surface_top / n, atol=1e-6)
    assert np.allclose(np.diff(fronts), -10.5, atol=1e-6)


@pytest.mark.parametrize("rise, going, expected", [(7.5, 10, 5.25), (7.75, 10, 5.124), (7.75, 11, 4.915)])
def test_throat_off_the_solid(rise, going, expected):
    """W - R T / sqrt(R^2 + T^2) for a 2x12, figures derived by hand; here from the kernel's vertices and its lower
    face."""
    _, parts = built(8 * rise, {"rise": rise, "going": going})
    solid = of(parts, "stringer")[0].solid
    pitch = np.array([0.0, -rise, -going]) / math.hypot(
        rise, going
    )  # outward normal of the lower edge: down, back to the deck
    pitch[1] = -pitch[1]
    lower = [f for f in solid.Faces() if np.allclose(f.normalAt().toTuple(), pitch, atol=1e-6)]
    assert len(lower) == 1
    c = np.array(lower[0].Center().toTuple())
    away = sorted({round(float((c - np.array(v.toTuple())) @ pitch), 6) for v in solid.Vertices()} - {0.0, -0.0})
    # vertices off the lower edge: plumb and level cuts' far corners, inner corners (the throat), outer corners (the
    # full width)
    assert min(abs(a - expected) for a in away) < 5e-4
    assert max(away) == pytest.approx(11.25)
    assert expected == pytest.approx(11.25 - rise * going / math.hypot(rise, going), abs=5e-4)


@pytest.mark.parametrize("height, going", [(36, 10.5), (94, 10), (52, 11)])
def test_stringer_volume_in_closed_form(height, going):
    """Steps over the sloped lower edge, integrated by hand: seats n-1 times the going, less the strip under the
    edge."""
    _, parts = built(height, {"going": going})
    n = math.ceil(height / 7.5)
    r, h = height / n, math.hypot(height / n, going)
    area = sum((height - k * r - 1.0) * going for k in range(1, n))
    top_of_edge = height - r - 1.0 + r - 11.25 * h / going  # lower edge at the rim, above the pad's top
    heel = top_of_edge * going / r
    area -= heel * top_of_edge / 2
    for stringer in of(parts, "stringer"):
        assert stringer.solid.Volume() == pytest.approx(1.5 * area, rel=1e-9)
    assert len(of(parts, "stringer")) == 1 + math.ceil((42 - 1.5) / 12)


def test_every_solid_is_watertight_and_agrees_with_trimesh():
    _, parts = built(120, {"tread": "bordered", "landings": [{"after_risers": 7, "turn": "left"}]})
    for part in {p.shape: p for p in parts}.values():
        vertices, faces = part.solid.tessellate(1e-3, 0.05)
        mesh = trimesh.Trimesh([v.toTuple() for v in vertices], faces)
        mesh.merge_vertices()
        assert mesh.is_watertight
        assert mesh.volume == pytest.approx(part.solid.Volume(), rel=2e-3 if part.shape.circle else 1e-9)


@pytest.mark.parametrize("skirts, added", [(False, 1.0), (True, 2.5)])
def test_bordered_tread(skirts, added):
    """Common practice, no source: the front piece is the stair's width plus 1 in for 1/2 in side overhangs (the width
    over skirts of 3/4 in where there are any), its nosing 3/4 in; returns are mitred to it at 45 degrees."""
    _layout, parts = built(
        60,
        {"tread": "bordered", "skirts": skirts, "nosing": 0.75, "guards": "none", "handrail": "none"},
        surface={"overhang": 0.75},
    )
    for step in (1, 4):
        treads = [p for p in of(parts, "tread") if p.step == step]
        front = min(treads, key=lambda p: box(p)[0, 1])
        size = np.ptp(box(front), axis=0)
        assert size[0] == pytest.approx(42 + added) and size[1] == pytest.approx(5.5)
        riser = next(p for p in of(parts, "riser") if p.step == step + 1)
        assert box(riser)[0, 1] - box(front)[0, 1] == pytest.approx(0.75)
        # a 45 degree mitre at each end of a 5-1/2 in board takes a square of 5-1/2 in off the rectangle
        assert front.solid.Volume() == pytest.approx((size[0] * 5.5 - 5.5 * 5.5) * 1.0)
        returns = [p for p in treads if p is not front and np.ptp(box(p), axis=0)[0] == pytest.approx(5.5)]
        depth = 10.5 + 0.75
        assert len(returns) == 2
        for piece in returns:
            assert piece.solid.Volume() == pytest.approx(5.5 * depth - 5.5 * 5.5 / 2)
        rear = [p for p in treads if p is not front and p not in returns]
        for piece in rear:
            assert np.ptp(box(piece), axis=0)[0] == pytest.approx(42 + added - 2 * 5.5 - 2 * 0.125)


@pytest.mark.parametrize(
    "stair",
    [
        {},
        {"tread": "bordered"},
        {"risers": "open"},
        {"stringer_kind": "solid", "stringer_spacing": 48},
        {"width": 60, "tread": "bordered", "stringer_spacing": 16},
    ],
)
def test_every_tread_piece_bears_at_both_ends(stair):
    """Within 3 in of both ends of its long axis (a board's overhang and half a stringer) each piece rests on wood."""
    _, parts = built(60, {"guards": "none", "handrail": "none", **stair})
    resting = {}
    for c in contacts(parts):
        if c.kind == "bearing" and c.a.role == "tread":
            resting.setdefault(id(c.a), []).append(c)
    for tread in of(parts, "tread"):
        b = box(tread)
        axis = int(np.argmax(np.ptp(b[:, :2], axis=0)))
        found = resting.get(id(tread), [])
        assert found, tread.where
        assert min(c.low[axis] for c in found) < b[0, axis] + 3.0, tread.where
        assert max(c.high[axis] for c in found) > b[1, axis] - 3.0, tread.where


def test_returns_bear_on_both_halves():
    _, parts = built(60, {"tread": "bordered", "guards": "none", "handrail": "none"})
    returns = [p for p in of(parts, "tread") if p.step == 2 and np.ptp(box(p)[:, 0]) < 6]
    low, high = (min(box(p)[0, 0] for p in returns), max(box(p)[1, 0] for p in returns))
    under = [c for c in contacts(parts) if c.kind == "bearing" and c.a in returns and c.b.role == "tread blocking"]
    assert len(under) == 4  # front and back block under each of two returns
    assert max(c.high[0] for c in under if c.low[0] < 90) == pytest.approx(low + 5.5)
    assert min(c.low[0] for c in under if c.low[0] > 90) == pytest.approx(high - 5.5)


@pytest.mark.parametrize("name", ["plain", "high", "solid", "two risers"])
def test_stringers_hang_at_the_header_and_stand_on_the_pad(name):
    layout = layout_with(*KINDS[name])
    parts = whole_deck(layout)
    assert not clashes(of(parts, "stringer", "stair header", "blocking", "rim"))
    flight = plan_stair(layout, layout.stairs[0]).flights[0]
    touching = contacts(parts)
    for stringer in of(parts, "stringer"):
        mates = [(c, c.b if c.a is stringer else c.a) for c in touching if stringer in (c.a, c.b)]
        foot = [c for c, m in mates if m.role == "pad"]
        n = math.ceil(layout.planes.surface_top / 7.5)
        assert len(foot) == 1
        # by hand: from where the lower edge reaches the pad to the last plumb cut
        r, h = flight.rise, math.hypot(flight.rise, 10.5)
        if not flight.solid:
            heel = max(0.0, (layout.planes.surface_top - 1.0 - 11.25 * h / 10.5) * 10.5 / r)
            assert foot[0].area == pytest.approx(1.5 * ((n - 1) * 10.5 - heel), rel=1e-6)
        assert any(m.role in ("rim", "stair header") for _, m in mates), "nothing holds the plumb cut"
    for header in of(parts, "stair header"):
        mates = {(c.b if c.a is header else c.a).role for c in touching if header in (c.a, c.b)}
        assert "rim" in mates and "blocking" in mates  # cleats hang it from the rim


@pytest.mark.parametrize("turn, depth", [*TURNS, ("back", 36)])
def test_landing_carries_and_is_carried(turn, depth):
    layout = layout_with(130, {"landings": [{"after_risers": 7, "turn": turn, "depth": depth}]})
    parts = stair_parts(layout)
    plan = plan_stair(layout, layout.stairs[0])
    touching = contacts(parts)

    def mates(part, kind=None):
        return [
            c.b if c.a is part else c.a for c in touching if part in (c.a, c.b) and (kind is None or c.kind == kind)
        ]

    for s in [p for p in of(parts, "stringer") if "flight 1" in p.where]:
        assert any(m.role in ("rim", "joist") for m in mates(s, "bearing"))
    for s in [p for p in of(parts, "stringer") if "flight 2" in p.where]:
        assert any(m.role in ("rim", "stair header", "post") for m in mates(s))
        assert any(m.role == "pad" for m in mates(s, "bearing"))
    boards = of(parts, "board")
    assert boards
    for b in boards:
        assert box(b)[1, 2] == pytest.approx(130 - 7 * 130 / math.ceil(130 / 7.5))
        assert sum(m.role in ("rim", "joist") for m in mates(b, "bearing")) >= 2
    for rim in of(parts, "rim"):
        assert any(m.role == "post" for m in mates(rim))
    under = [p for p in of(parts, "post", "footing") if "landing" in p.where]
    assert len(of(under, "post")) == len(of(under, "footing")) == (6 if turn == "back" else 4)
    for header in of(parts, "stair header"):
        if "landing" in header.where:
            assert sum(m.role == "post" for m in mates(header)) == 2
    # the deck's edge, each nosing, the landing's edge, each nosing: one going between neighbours on each flight
    second = plan.flights[1]
    edge = max(second.position(v[:2])[0] for b in boards for v in b.vertices)
    nosing = max(
        second.position(v[:2])[0]
        for p in of(parts, "tread")
        if p.step == 1 and "flight 2" in p.where
        for v in p.vertices
    )
    assert nosing - edge == pytest.approx(10.5)
    # depth in the line of travel from the last riser to the landing's edge is at least what was asked
    first = plan.flights[0]
    reach = max(first.position(v[:2])[0] for b in boards for v in b.vertices)
    riser = max(
        first.position(v[:2])[0]
        for p in of(parts, "riser")
        if p.step == 7 and "flight 1" in p.where
        for v in p.vertices
    )
    assert reach - riser >= max(depth, 42 if turn in ("left", "right") else 0) - 1e-6


@pytest.mark.parametrize("tread", ["boards", "bordered"])
def test_notches_clear_the_guard_posts(tread):
    layout = layout_with(120, {"tread": tread}, surface={"notch_clearance": 0.25})
    parts = stair_parts(layout)
    posts = [p for p in of(parts, "guard post") if p.where.startswith("stair")]
    assert len(posts) >= 4
    near = [
        (t, p)
        for p in posts
        for t in of(parts, "tread")
        if np.all(t.box[0] < p.box[1] + 2) and np.all(t.box[1] > p.box[0] - 2)
    ]
    gaps = [distance(t, p) for t, p in near]
    assert near and min(gaps) == pytest.approx(0.25, abs=1e-6)


@given(depth=st.floats(6, 30), width=st.floats(3, 8), gap=st.floats(0, 0.5))
def test_courses_fill_the_tread(depth, width, gap):
    boards = courses(depth, width, gap, 2.0)
    assert boards[0][0] == 0 and all(w <= width + 1e-9 for _, w in boards)
    for (a, w), (b, _) in itertools.pairwise(boards):
        assert b - a - w == pytest.approx(gap)
    opening = depth - boards[-1][0] - boards[-1][1]
    assert -1e-9 <= opening <= max(2 * gap, 0.25) + 1e-9
    assert min(w for _, w in boards) >= min(depth, 2.0, (width + 0) / 2) - 1e-9 or gap == 0


def test_two_boards_to_a_tread():
    """10-1/2 in going and 1 in nosing: two 5-1/2 in boards and their 1/4 in gap leave 1/4 in at the riser."""
    assert courses(11.5, 5.5, 0.25, 2.0) == [(0.0, 5.5), (5.75, 5.5)]
    assert courses(11.0, 5.5, 0.25, 2.0) == [(0.0, 5.5), (5.75, 5.25)]
    assert [w for _, w in courses(12.25, 5.5, 0.25, 2.0)] == [5.5, 3.125, 3.125]


@pytest.mark.parametrize(
    "height, stair, key",
    [
        (60, {"stringer": "2x6"}, "stair.0.stringer"),
        (60, {"stringer": "2x6", "stringer_kind": "solid"}, "stair.0.stringer"),
        (36, {"tread": "bordered", "width": 12}, "stair.0.tread"),
        (120, {"width": 10, "landings": [{"after_risers": 7}]}, "stair.0.width"),
    ],
)
def test_refused(height, stair, key):
    with pytest.raises(DesignError) as caught:
        built(height, stair)
    assert caught.value.key == key


@settings(max_examples=15, deadline=None)
@given(
    height=st.floats(16, 130),
    rise=st.floats(5.5, 8),
    going=st.floats(9, 14),
    width=st.floats(30, 70),
    slope=st.floats(-0.05, 0.1),
    kind=st.sampled_from(["cut", "solid"]),
    risers=st.sampled_from(["closed", "open"]),
    tread=st.sampled_from(["boards", "bordered"]),
    skirts=st.booleans(),
    fascia=st.booleans(),
    overhang=st.floats(0.25, 2),
    nosing=st.floats(0, 1.5),
    landing=st.sampled_from([None, *TURNS]),
)
def test_any_stair_is_clear_of_itself(
    height, rise, going, width, slope, kind, risers, tread, skirts, fascia, overhang, nosing, landing
):
    stair = {
        "rise": rise,
        "going": going,
        "width": width,
        "stringer_kind": kind,
        "risers": risers,
        "skirts": skirts,
        "nosing": nosing,
        "tread": tread if kind == "cut" else "boards",
    }
    if landing and height > 80:
        stair["landings"] = [{"after_risers": int(height / rise / 2), "turn": landing[0], "depth": landing[1]}]
    layout = layout_with(
        height, stair, levels={"slope_y": slope}, trim={"fascia": fascia}, surface={"overhang": overhang}
    )
    parts = stair_parts(layout)
    found = clashes(parts)
    assert not found, "\n".join(map(str, found))
    for flight in plan_stair(layout, layout.stairs[0]).flights:
        tops = sorted({round(float(box(p)[1, 2]), 6) for p in of(parts, "tread") if _in(p, flight)}, reverse=True)
        assert np.allclose(np.diff([flight.top, *tops, flight.foot]), -flight.rise, atol=1e-5)


def _in(part, flight):
    return "flight" not in part.where or f"flight {flight.index + 1}" in part.where


@pytest.mark.parametrize("edge, width", [("e5", 36), ("e2", 48), ("e4", 40)])
def test_stair_off_any_edge(edge, width):
    """A clipped corner (a stair at 45 degrees to the sheet), and both sides of the deck."""
    from plumbcut.model.input.parameters import Parameters
    from plumbcut.model.plan.layout import lay_out

    layout = lay_out(
        Parameters.model_validate(
            {
                "outline": {"points": [[48, 0], [192, 0], [192, 144], [0, 144], [0, 48]], "house": ["e3"]},
                "levels": {"surface": 29},
                "stair": [{"edge": edge, "width": width, "handrail": "none", "tread": "bordered"}],
            }
        )
    )
    parts = whole_deck(layout)
    found = clashes(parts)
    assert not found, "\n".join(map(str, found))
    out = -layout.outline[edge].inward
    face = np.asarray(layout.outline[edge].start) @ out
    fronts = [max(v[:2] @ out - face for p in of(parts, "tread") if p.step == k for v in p.vertices) for k in (1, 2, 3)]
    assert fronts == pytest.approx([1.75 + 10.5 * k for k in (1, 2, 3)])


def test_a_joint_in_a_tread_leaves_its_whole_gap_over_a_stringers_middle():
    """By arithmetic: a run of 100 in out of boards of 60 in at most, over stringers at 20, 40, 60, 80."""
    pieces = lengths(0.0, 100.0, 60.0, [20.0, 40.0, 60.0, 80.0], 0.25)
    assert len(pieces) == 2 and pieces[0][0] == 0.0 and pieces[1][1] == 100.0
    (_, end), (start, _) = pieces
    assert start - end == pytest.approx(0.25) and (start + end) / 2 in (40.0, 60.0)
    assert all(b - a <= 60.0 for a, b in pieces)


@pytest.mark.parametrize("stair", [{}, {"risers": "open", "width": 100}, {"rise": 7, "going": 11}], ids=str)
def test_a_long_flight_rests_on_cross_pieces_on_posts(stair):
    """Every stringer on each cross piece over its whole thickness, each cross piece on its posts; nothing in one place
    and nothing that hangs in the air."""
    deck = build(
        Parameters.model_validate(
            {
                "outline": {"width": 230, "depth": 130},
                "levels": {"surface": 100},
                "stair": [{"edge": "front", "at": 60, **stair}],
            }
        )
    )
    assert not deck.clashes, "\n".join(map(str, deck.clashes))
    carriers = deck.layout.stair_plans[0].carriers
    pieces = [p for p in deck.roles("beam") if p.stair == 0]
    posts = [p for p in deck.roles("post") if p.stair == 0]
    assert len(pieces) == len(carriers) >= 1 and len(posts) == sum(len(c.squares) for c in carriers)
    on = {
        (c.a.id, c.b.id): c.area
        for c in deck.contacts
        if c.kind == "bearing" and {c.a.role, c.b.role} <= {"stringer", "beam", "post"}
    }
    for s in deck.roles("stringer"):  # 3-1/2 in along the pitch, 1-1/2 in across
        assert [on[s.id, p.id] for p in pieces] == pytest.approx([3.5 * 1.5] * len(pieces))
    for p in pieces:
        assert sum((p.id, q.id) in on for q in posts) == len(carriers[0].squares)
    assert all(p.carried_by for p in [*pieces, *posts])
