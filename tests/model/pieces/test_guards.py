"""Guards measured off their solids: openings, heights, spheres, ends cut to the posts, returns, and nothing in one
place.

Baluster examples are those of published how-to pages, named beside each; spheres are measured with shapely's polylabel,
which knows nothing of how the rail was placed.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import rotate, translate
from shapely.geometry import Polygon
from shapely.ops import polylabel

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Guard, Parameters
from plumbcut.model.measuring.clashes import clashes, distance
from plumbcut.model.measuring.contacts import contacts
from plumbcut.model.measuring.loose_ends import touching
from plumbcut.model.measuring.rail_ends import rail_ends
from plumbcut.model.measuring.stands_on import loose
from plumbcut.model.pieces.guards import build_guards, check_guard
from plumbcut.model.pieces.rails import BLOCK_OVER, RailRun, baluster_count, level_bay, level_run
from plumbcut.model.pieces.stair_guards import over_nosing
from plumbcut.model.plan.layout import lay_out
from plumbcut.model.plan.posts_at_corner import ON_POST
from plumbcut.model.plan.stair_plan import plan_stair
from plumbcut.model.solid.part import Workshop
from plumbcut.shared.errors import DesignError

RIGHT = {"width": 168, "depth": 132}
CLIPPED = {"points": [[40, 0], [168, 0], [168, 132], [0, 132], [0, 40]], "house": ["e3"]}
ELL = {"points": [[0, 0], [110, 0], [110, 60], [190, 60], [190, 140], [0, 140]], "house": ["e5"]}
ODD = {"points": [[30, 0], [150, 10], [190, 70], [180, 140], [0, 140], [0, 60]], "house": ["e4"]}


def parameters(outline=RIGHT, height=60, **sections) -> Parameters:
    return Parameters.model_validate({"outline": outline, "levels": {"surface": height}, **sections})


def guards(*args, **sections):
    layout = lay_out(parameters(*args, **sections))
    return layout, build_guards(layout, Workshop())


def of(parts, *roles):
    return [p for p in parts if p.role in roles]


def box(part) -> np.ndarray:
    """(2, 3) box of the kernel's solid."""
    b = part.solid.BoundingBox(1e-7)
    return np.array([[b.xmin, b.ymin, b.zmin], [b.xmax, b.ymax, b.zmax]])


def square(x: float, side: float = 3.5) -> Polygon:
    return Polygon([(x, 0), (x + side, 0), (x + side, side), (x, side)])


def bay(clear: float, guard: Guard = Guard(), level: float = 0.0):
    run = level_run(square(0), square(3.5 + clear), (0, 1.75), (1, 0))
    return level_bay(Workshop(), guard, run, level)


def openings(parts, clear: float) -> list[float]:
    """Clear widths from post to post, off the solids."""
    edges = sorted(tuple(box(p)[:, 0]) for p in of(parts, "baluster"))
    ends = [3.5, *(x for pair in edges for x in pair), 3.5 + clear]
    return [b - a for a, b in zip(ends[::2], ends[1::2])]


# --- balusters -----------------------------------------------------------------------------------------------------

# opening, greatest gap, balusters, clear space: eHow article 6210555 (13 in 72 in); an ironwork shop's page of 2011 for
# 52 in (10 of them; 9 would do under a gap of just less than 4 in); 59.5 in worked by hand (10 would leave 4.045 in)
EXAMPLES = [
    (72.0, 3.75, 13, 3.75),
    (52.0, 3.75, 10, 3.3636),
    (52.0, 3.99, 9, 3.85),
    (59.5, 3.75, 11, 3.5833),
    (59.5, 3.99, 11, 3.5833),
]


@pytest.mark.parametrize("clear, gap, count, space", EXAMPLES)
def test_published_baluster_examples(clear, gap, count, space):
    parts = bay(clear, Guard(gap=gap))
    assert len(of(parts, "baluster")) == count
    assert openings(parts, clear) == pytest.approx([space] * (count + 1), abs=1e-4)


@settings(max_examples=80, deadline=None)
@given(st.floats(1, 140), st.floats(0.25, 4), st.floats(0.5, 12))
def test_openings_are_equal_within_the_gap_and_the_count_is_the_least(clear, size, gap):
    n = baluster_count(clear, size, gap)
    assert (clear - n * size) / (n + 1) <= gap + 1e-6
    assert n == 0 or (clear - (n - 1) * size) / n > gap - 1e-6


@settings(max_examples=12, deadline=None)
@given(st.floats(4, 140))
def test_openings_of_any_bay_off_the_solids(clear):
    found = openings(bay(clear), clear)
    assert max(found) <= 3.75 + 1e-6 and max(found) - min(found) < 1e-6
    assert sum(found) + 1.5 * (len(found) - 1) == pytest.approx(clear)


# --- level bays ----------------------------------------------------------------------------------------------------


def test_heights_of_a_level_bay():
    parts = bay(64.0, level=40.0)
    (top,), (low,), (block,) = of(parts, "top rail"), of(parts, "bottom rail"), of(parts, "foot block")
    assert box(top)[1, 2] == pytest.approx(76.0)  # 36 in above the surface
    up = box(low)[0, 2] - 40.0
    assert abs(up - 3.75) <= 0.25 and up < 4.0  # about 3-3/4 in: common practice, no source; under the 4 in sphere
    for stick in of(parts, "baluster"):
        assert box(stick)[:, 2] == pytest.approx([box(low)[1, 2], box(top)[0, 2]])
    assert box(block)[:, 2] == pytest.approx([40.0, 40.0 + up])
    assert box(block)[:, 0].mean() == pytest.approx(3.5 + 32.0)


@pytest.mark.parametrize("clear, blocks", [(BLOCK_OVER, 0), (BLOCK_OVER + 0.01, 1), (90, 1)])
def test_long_bays_get_a_block(clear, blocks):
    assert len(of(bay(clear), "foot block")) == blocks
    assert not of(bay(clear, Guard(foot_block=False)), "foot block")


@pytest.mark.parametrize("outline", [RIGHT, CLIPPED, ELL, ODD], ids=["90", "45", "reflex", "odd angles"])
@pytest.mark.parametrize("sleeve", [None, {}], ids=["bare posts", "sleeves"])
def test_rails_end_on_the_faces_of_posts_at_any_corner(outline, sleeve):
    layout, parts = guards(outline, guard={"sleeve": sleeve} if sleeve is not None else {})
    assert not clashes(parts)
    touching = contacts(parts)
    ends_on = "guard post" if sleeve is None else "post sleeve"
    for rail in of(parts, "top rail", "bottom rail"):
        met = {id(o) for c in touching for p, o in ((c.a, c.b), (c.b, c.a)) if p is rail and o.role == ends_on}
        assert len(met) == 2, rail.where
    for stick in of(parts, "baluster"):
        assert {o.role for c in touching for p, o in ((c.a, c.b), (c.b, c.a)) if p is stick} == {
            "top rail",
            "bottom rail",
        }
    assert len(of(parts, "top rail")) == len(layout.bays) > 0


def test_a_rail_into_a_post_at_45_degrees_has_one_45_degree_cut_an_end():
    _layout, parts = guards(CLIPPED)
    rail = next(
        p for p in of(parts, "top rail") if p.edge == "e5"
    )  # the clipped edge, its posts square to their neighbours
    ring = np.asarray(rail.shape.outline)
    sides = np.roll(ring, -1, axis=0) - ring
    ends = [s for s in sides if abs(s[1]) > 1e-6]
    assert len(ring) == 4 and len(ends) == 2
    assert [math.degrees(math.atan2(abs(x), abs(y))) for x, y in ends] == pytest.approx([45.0, 45.0])


def test_no_end_space_lets_the_sphere_through_at_turned_posts():
    _, parts = guards(ODD)
    posts = of(parts, "guard post")
    for rail in of(parts, "top rail"):
        sticks = [p for p in of(parts, "baluster") if p.edge == rail.edge and p.step == rail.step]
        for post in [p for p in posts if distance(p, rail) < 1e-6]:
            assert min(distance(post, s) for s in sticks) < 4.0


# --- posts, sleeves, caps --------------------------------------------------------------------------------------------


def test_a_sleeve_of_40_in_covers_the_post_of_a_36_in_guard():
    """4 in more than the guard: common practice, no source."""
    layout, parts = guards(height=40, guard={"sleeve": {}})
    posts, sleeves, caps = of(parts, "guard post"), of(parts, "post sleeve"), of(parts, "post cap")
    assert len(posts) == len(sleeves) == len(caps) == len(layout.posts)
    for post, sleeve, cap in zip(posts, sleeves, caps):
        assert box(sleeve)[:, 2] == pytest.approx([40.0, 80.0])
        assert box(post)[:, 2] == pytest.approx([layout.planes.frame_bottom, 80.0])
        assert box(cap)[0, 2] == pytest.approx(80.0)
        wall = 4.5**2 - 4.0**2
        assert sleeve.solid.Volume() == pytest.approx(40 * wall)
        assert (np.ptp(box(cap), axis=0)[:2] > 4.5).all()


def test_a_sleeve_beside_a_solid_stringer_stands_on_a_stop():
    """Over the stringer's edge nothing level lies under it: a strip across the post's outer face carries its wall, past
    the 1/4 in round a 3-1/2 in post in a 4-1/2 in sleeve with 1/4 in walls; common practice, no source."""
    deck = build(parameters(height=50, guard={"sleeve": {}}, stair=[{"edge": "front", "stringer_kind": "solid"}]))
    sleeves = {p.id: p for p in deck.roles("post sleeve") if p.stair == 0}
    stops = {p.id: p for p in deck.roles("sleeve stop")}
    posts = [p.id for p in deck.roles("guard post") if p.stair == 0]
    assert len(sleeves) == len(stops) == len(posts) == 4 and not loose(deck.parts) and not deck.clashes
    for sleeve in sleeves.values():
        (stop,) = (stops[i] for i in sleeve.carried_by if i in stops)
        assert box(stop)[1, 2] == pytest.approx(box(sleeve)[0, 2])
        assert sleeve.footprint.intersection(stop.footprint).area == pytest.approx(3.5 * 0.25)
        assert set(stop.carried_by) <= set(posts)


@pytest.mark.parametrize("guard", [{}, {"sleeve": {}}], ids=["bare posts", "sleeves"])
def test_rails_of_a_stair_that_leaves_a_clipped_edge_end_on_posts_square_to_them(guard):
    """The posts in the corners stand square to the edges beside it: its own stand on its stringers."""
    stair = {"edge": "e5", "width": 49, "handrail": "both"}
    layout, parts = guards(CLIPPED, 44, guard=guard, stair=[stair])
    ends = list(rail_ends(parts, touching(contacts(parts)), ("top rail", "bottom rail", "handrail")))
    assert min(e.on / e.area for e in ends if e.part.role != "handrail") >= ON_POST and not clashes(parts)
    returned = {id(e.part) for e in ends if e.part.role == "handrail" and e.on >= ON_POST * e.area}
    assert len(returned) == 4 and len(of(parts, "handrail")) == 6
    assert layout.stair_plans[0].spot.own_posts == ("start", "end")


def test_rails_below_a_sleeve_end_on_the_post():
    """At a landing and on treads a sleeve begins over the rail beside it, which goes on to the bare post; the sleeve
    between two flights stands on the landing, and takes both rails."""
    landing = {"after_risers": 4, "turn": "back", "depth": 36}
    stair = {"edge": "front", "width": 36, "guards": "both", "handrail": "none", "landings": [landing]}
    layout, parts = guards({"width": 130, "depth": 60}, 60, guard={"sleeve": {}}, stair=[stair])
    ends = list(rail_ends(parts, touching(contacts(parts))))
    assert min(e.on / e.area for e in ends) >= ON_POST and not clashes(parts)
    bare = [e for e in ends if {p.role for p in e.posts} == {"guard post"}]
    assert bare and all(e.on == pytest.approx(e.area) for e in bare)
    between = {id(p): p for e in ends if "flight 1" in e.part.where for p in e.posts}
    (sleeve,) = [
        between[k] for k in {id(p) for e in ends if "flight 2" in e.part.where for p in e.posts} & set(between)
    ]
    assert box(sleeve)[0, 2] == pytest.approx(layout.stair_plans[0].landings[0].level)


def test_sleeves_on_a_landing_of_concrete_stand_on_it():
    """A landing that is a pad, and a flight of two risers on from it down the slope."""
    landing = {"after_risers": 4, "turn": "straight", "depth": 36}
    stair = {"edge": "front", "width": 36, "guards": "both", "landings": [landing]}
    levels = {"surface": 34, "slope_y": 0.1}
    deck = build(parameters({"width": 150, "depth": 90}, levels=levels, guard={"sleeve": {}}, stair=[stair]))
    pads = {p.id for p in deck.roles("pad")}
    assert deck.layout.stair_plans[0].landings[0].on_ground and not loose(deck.parts)
    assert sum(bool(pads & set(p.carried_by)) for p in deck.roles("post sleeve")) == 2


def test_posts_stand_inside_the_rims_from_the_frame_bottom():
    layout, parts = guards()
    room = layout.inner.buffer(1e-6)
    for post in of(parts, "guard post"):
        assert room.contains(post.footprint)
        assert box(post)[:, 2] == pytest.approx([layout.planes.frame_bottom, 60 + 40])


@pytest.mark.parametrize(
    "guard, key",
    [
        ({"post": "4x6"}, "guard.post"),
        ({"height": 12, "bottom_gap": 7}, "guard.height"),
        ({"sleeve": {"size": 3.75}}, "guard.sleeve.size"),
        ({"sleeve": {"length": 30}}, "guard.sleeve.length"),
        ({"top_rail": "6x6"}, "guard.top_rail"),
        ({"top_rail": "2x6", "top_rail_lies": "flat"}, "guard.top_rail_lies"),
    ],
)
def test_pieces_that_do_not_fit_are_refused_with_their_key(guard, key):
    with pytest.raises(DesignError) as e:
        check_guard(lay_out(parameters(guard=guard)))
    assert e.value.key == key


# --- stairs --------------------------------------------------------------------------------------------------------

STAIRS = [
    {},
    {"rise": 7.75, "going": 10},
    {"rise": 7, "going": 11, "nosing": 0.75},
    {"rise": 6, "going": 14},
    {"risers": "open"},
    {"stringer_kind": "solid"},
    {"skirts": False},
    {"handrail": "both"},
]


def stair_guards(stair, height=44, **sections):
    layout, parts = guards(height=height, stair=[{"edge": "front", **stair}], **sections)
    plan = plan_stair(layout, layout.stairs[0])
    return layout, plan.flights[0], parts


@pytest.mark.parametrize("stair", STAIRS, ids=str)
def test_a_6_in_ball_does_not_pass_under_the_bottom_rail(stair):
    """The triangle of riser, tread and rail, drawn from the rail's solid and the steps of the flight."""
    layout, f, parts = stair_guards(stair)
    for rail in [p for p in of(parts, "bottom rail") if p.stair == 0]:
        points = sorted({(round(f.position(v)[0], 6), float(v[2])) for v in rail.vertices}, key=lambda p: (p[0], p[1]))
        (x0, z0), (x1, z1) = points[0], next(p for p in points if p[0] > points[0][0] + 1)
        over = z0 - f.pitch_level(x0)
        assert over == pytest.approx(z1 - f.pitch_level(x1)) and 0.1 < over <= 0.5 + 1e-9
        assert over == pytest.approx(over_nosing(layout, f))
        for k in range(1, f.risers):
            face, nose = f.riser_face(k - 1), f.nosing_point(k)
            region = Polygon(
                [(face, nose[1]), nose, (nose[0], f.pitch_level(nose[0]) + over), (face, f.pitch_level(face) + over)]
            )
            ball = 2 * polylabel(region, 1e-3).distance(region.exterior)
            assert ball < 6.0, (k, ball)


def test_the_ball_under_the_rail_touches_riser_tread_and_rail():
    """a + b - c of a right triangle is twice the radius of the circle in it (Euclid IV 4)."""
    layout, f, _ = stair_guards({"rise": 7.75, "going": 10})
    a = f.rise + f.nosing * f.slope + over_nosing(layout, f)
    b = a / f.slope
    triangle = Polygon([(0, 0), (b, 0), (0, a)])
    assert a + b - math.hypot(a, b) == pytest.approx(
        2 * polylabel(triangle, 1e-4).distance(triangle.exterior), abs=1e-3
    )
    assert a + b - math.hypot(a, b) <= 6 - 1 / 16 + 1e-9


@pytest.mark.parametrize("stair", STAIRS, ids=str)
def test_stair_guard_heights_and_openings(stair):
    _layout, f, parts = stair_guards(stair)
    for _side, rail in zip(("start", "end"), [p for p in of(parts, "top rail") if p.stair == 0 and p.step == 0]):
        tops = {round(f.position(v)[0], 6): 0.0 for v in rail.vertices}
        for v in rail.vertices:
            tops[round(f.position(v)[0], 6)] = max(tops[round(f.position(v)[0], 6)], float(v[2]))
        for x, z in tops.items():
            assert z - f.pitch_level(x) == pytest.approx(36.0)  # at least 34 in from the line of nosings, IRC R312.1.2
        spans = sorted(
            (f.position(p.vertices.min(axis=0))[0], f.position(p.vertices.max(axis=0))[0])
            if f.out[1] > 0
            else (f.position(p.vertices.max(axis=0))[0], f.position(p.vertices.min(axis=0))[0])
            for p in of(parts, "baluster")
            if p.stair == 0 and p.step == 0 and abs(p.box[:, 0].mean() - rail.box[:, 0].mean()) < 1
        )
        ends = [min(tops), *(x for pair in spans for x in pair), max(tops)]
        gaps = [b - a for a, b in zip(ends[::2], ends[1::2])]
        assert max(gaps) <= 3.75 + 1e-6 and max(gaps) - min(gaps) < 1e-5


@pytest.mark.parametrize("stair", STAIRS, ids=str)
def test_nothing_of_a_stair_guard_is_in_the_way_of_the_deck_or_the_stair(stair):
    deck = build(parameters(height=44, stair=[{"edge": "front", **stair}]))
    assert not deck.clashes, "\n".join(map(str, deck.clashes))
    assert not [p for p in deck.parts if p.group == "guards" and not p.carried_by]


def test_a_long_flight_gets_a_block_on_a_tread_no_more_than_4_in_under_its_rail():
    """At most 4 in from tread to bottom rail at the block: common practice, no source."""
    deck = build(parameters(height=54, stair=[{"edge": "front"}], guard={"post_spacing": 110}))
    blocks = [p for p in deck.roles("foot block") if p.stair == 0]
    assert len(blocks) == 2
    for block in blocks:
        assert 0 < np.ptp(box(block)[:, 2]) < 4.0
        (tread,) = {deck.by_id[i].step for i in block.carried_by}
        assert tread >= 1


@pytest.mark.parametrize("turn", ["straight", "left", "right", "back"])
def test_landings_are_guarded_on_their_free_sides(turn):
    stair = {
        "edge": "front",
        "at": 24,
        "width": 42,
        "handrail": "both",
        "landings": [{"after_risers": 6 if turn == "back" else 4, "turn": turn, "depth": 60}],
    }
    deck = build(parameters(height=72, stair=[stair]))
    assert not deck.clashes, "\n".join(map(str, deck.clashes))
    level = [p for p in deck.roles("top rail") if p.stair == 0 and "landing" in p.where]
    assert len(level) == {"straight": 2, "left": 3, "right": 3, "back": 4}[turn]
    plan = plan_stair(deck.layout, deck.layout.stairs[0])
    for rail in level:
        assert box(rail)[1, 2] == pytest.approx(plan.landings[0].level + 36.0)


@pytest.mark.parametrize(
    "landing", [{}, {"side": "right", "space": 3.5}, {"side": "right", "space": 6}, {"space": 16}], ids=str
)
def test_both_guards_of_a_stair_that_turns_back_end_on_posts_between_the_flights(landing):
    """Over 10 ft with a post between in each flight: nothing in one place, nothing loose, each rail on two posts."""
    stair = {
        "edge": "front",
        "at": 60,
        "handrail": "both",
        "landings": [{"after_risers": 9, "turn": "back", **landing}],
    }
    deck = build(parameters(height=120, stair=[stair]))
    assert not deck.clashes, "\n".join(map(str, deck.clashes))
    assert not [p for p in deck.parts if p.group == "guards" and not p.carried_by]
    sloping = [p for p in deck.roles("top rail", "bottom rail") if p.stair == 0 and "landing" not in p.where]
    posts = {p.id: set() for p in sloping}
    for c in deck.contacts:
        for rail, post in ((c.a, c.b), (c.b, c.a)):
            if rail.id in posts and post.role == "guard post":
                posts[rail.id].add(post.id)
    assert len(sloping) == 16 and all(len(found) == 2 for found in posts.values())
    by_flight = [{q for p in sloping if f"flight {n}" in p.where for q in posts[p.id]} for n in (1, 2)]
    assert len(by_flight[0] & by_flight[1]) == (0 if landing.get("space", 0) > 7 else 1)


# --- handrails -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "stair, height",
    [({}, 44), ({"handrail": "both"}, 44), ({"handrail": "left"}, 28), ({}, 28), ({"risers": "open"}, 28)],
)
def test_a_handrail_is_at_its_height_clear_of_the_guard_and_returned_to_the_posts(stair, height):
    _layout, f, parts = stair_guards(stair, height)
    rails = of(parts, "handrail")
    wanted = stair.get("handrail", "auto")
    assert len(rails) == 3 * (2 if wanted == "both" else 1)
    touching = contacts(parts)

    def beside(part):
        return [o for c in touching for p, o in ((c.a, c.b), (c.b, c.a)) if p is part]

    for rail in [
        p for p in rails if sum(o.role == "handrail" for o in beside(p)) == 2
    ]:  # the long piece between its returns
        high = max(rail.vertices, key=lambda v: float(v[2]) - f.pitch_level(f.position(v)[0]))
        assert float(high[2]) - f.pitch_level(f.position(high)[0]) == pytest.approx(36.0)
        x = [f.position(v)[0] for v in rail.vertices]
        assert min(x) <= f.riser_face(0) + 1e-6 and max(x) >= f.lowest - 1e-6  # over the top riser to over the lowest
        for other in of(parts, "guard post", "baluster", "top rail"):
            assert distance(rail, other) >= 1.5 - 1e-6
        for end in beside(rail):
            assert {o.role for o in beside(end)} == {"handrail", "guard post"}
        mitres = [c for c in touching if {c.a.role, c.b.role} == {"handrail"} and rail in (c.a, c.b)]
        assert [c.area for c in mitres] == pytest.approx(
            [1.5 * 1.5 * math.sqrt(2)] * 2
        )  # a 45 degree cut of a 1-1/2 in square
    side = {p: f.position(p.box.mean(axis=0))[1] for p in rails}
    if wanted in ("auto", "left"):  # going down, the right hand is the start side
        assert all((s < f.width / 2) == (wanted == "auto") for s in side.values())


def test_a_stair_of_three_risers_gets_no_handrail():
    """On flights of four or more risers (IRC R311.7.8)."""
    _, f, parts = stair_guards({}, 21)
    assert f.risers == 3 and not parts
    _, f, parts = stair_guards({}, 28)
    assert f.risers == 4 and len(of(parts, "handrail")) == 3


@pytest.mark.parametrize("guard", [{}, {"sleeve": {"length": 44}, "post_above": 0}], ids=["bare posts", "sleeves"])
@pytest.mark.parametrize("stair", [{"at": 0}, {"width": 168}, {"at": 126}], ids=str)
def test_a_handrail_at_a_corner_of_the_deck_has_its_post_on_the_stair(stair, guard):
    """Clear of the surface's edge, of a sleeve round it as well, and with its cap over the rail that ends on it."""
    deck = build(parameters(height=28, guard=guard, stair=[{"edge": "front", "handrail": "both", **stair}]))
    assert not deck.clashes, "\n".join(map(str, deck.clashes))
    assert len(deck.roles("guard post")) == 4 and len(deck.roles("handrail")) == 6
    assert all(p.carried_by for p in deck.parts if p.group == "guards")


@pytest.mark.parametrize(
    "points,surface,joist",
    [
        ([[51, 0], [380, 18.0], [398.0, 222], [0, 222], [-8.5, 70]], 60, "2x8"),
        ([[38, 0], [147, 17.5], [164.5, 183], [0, 183], [-6.333333333333333, 70]], 110, "2x12"),
    ],
)
def test_a_post_beside_a_joist_nearly_along_its_edge_stays_on_that_edge(points, surface, joist):
    """A joist that runs nearly along an edge left no clear place but past the corner, outside the deck."""
    deck = build(
        Parameters.model_validate(
            {
                "outline": {"points": points, "house": ["e3"]},
                "levels": {"surface": surface},
                "frame": {"joist": joist},
                "surface": {"border": {"courses": 1}},
            }
        )
    )
    inside = Polygon(points).buffer(0.1)
    assert not [p.id for p in deck.parts if p.role == "guard post" and not inside.contains(p.footprint)]
    assert not [c for c in deck.clashes if "guard post" in (c.a.role, c.b.role)]


@pytest.mark.parametrize("turned", [0, 12, 33.5, 44])
@pytest.mark.parametrize("width", [1.5, 3.5])
@pytest.mark.parametrize("apart", [11.0, 13.0, 30.0, 60.0])
def test_balusters_stand_clear_of_a_post_set_askew(turned, width, apart):
    """At an obtuse corner the post stands on the bisector of the edges: its face is skew to the bay, and a wide
    baluster at the face's middle would run into its corner."""
    post = Polygon([(-2.75, -2.75), (2.75, -2.75), (2.75, 2.75), (-2.75, 2.75)])
    first, last = rotate(post, turned), translate(post, apart)
    run = level_run(first, last, (0, 0), (1, 0))
    guard = Guard(baluster=width)
    parts = level_bay(Workshop(), guard, run, 0.0)
    plans = [p.footprint for p in parts if p.role == "baluster"]
    room = run.clear - width / 2 * math.tan(math.radians(turned))
    assert len(plans) == min(baluster_count(run.clear, width, guard.gap), math.floor(room / width))
    assert all(g.intersection(q).area < 1e-6 for g in plans for q in (first, last))
    assert all(g.intersection(q).area < 1e-6 for k, g in enumerate(plans) for q in plans[:k])


def test_a_rail_between_faces_that_meet_beside_its_middle_ends_in_a_point():
    """Faces square and at 45 degrees, 1 in apart on the middle line: beside it they meet 1 in off."""
    run = RailRun((0.0, 0.0), (1.0, 0.0), 0.0, 1.0, ((1.0, 0.0), (-(2**-0.5), 2**-0.5)))
    strip = run.strip(3.5)
    assert strip.is_valid and len(strip.exterior.coords) == 4
    assert strip.area == pytest.approx((1 + 1.75) ** 2 / 2)


@pytest.mark.parametrize(("front", "side", "narrower"), [(30, 52, 14.0), (30, 30, 14.0)])
def test_caps_of_posts_turned_to_one_another_do_not_meet(front, side, narrower):
    points = [[0, 0], [180 - front, 0], [180, side], [180, 150], [0, 150]]
    file = {
        "outline": {"points": points, "edges": ["front", "clip", "right", "back", "left"], "house": ["back"]},
        "levels": {"surface": 44},
        "guard": {"sleeve": {"size": 4.5, "length": 44}, "post_above": 3},
        "stair": [{"edge": "clip", "width": round(math.hypot(front, side) - narrower, 2)}],
    }
    caps = [c for c in build(Parameters.model_validate(file)).clashes if "post cap" in (c.a.role, c.b.role)]
    assert not caps


def test_caps_of_turned_posts_are_one_mark():
    """On a hexagon: as wide as the others, not a last bit more or less, so one line of the order."""
    points = [[60, 0], [150, 0], [200, 80], [150, 160], [60, 160], [10, 80]]
    outline = {"points": points, "edges": ["s", "se", "ne", "n", "nw", "sw"], "house": ["n"]}
    parts = build(Parameters.model_validate({"outline": outline, "levels": {"surface": 40}})).parts
    caps = [p for p in parts if p.role == "post cap"]
    assert len(caps) > 8 and len({p.mark for p in caps}) == len({round(p.stock.width, 3) for p in caps}) == 1
