"""Division of stairs against worked examples and closed forms; where flights, landings and posts lie, by hand."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from stair_deck import layout_with, planned

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.plan.layout import lay_out
from plumbcut.model.plan.stair_plan import plan_stair
from plumbcut.shared.errors import DesignError


@pytest.mark.parametrize(
    "total, wanted, risers, rise",
    [
        # US Army engineer subcourse EN5156 "Stairway Calculations": 94 in, 13 risers, 94/13 = 7.23 stated as 7-1/4 in.
        # Its rule is the nearest whole count of 94/7; fewest equal rises under 7.75 in give the same answer.
        (94, 7.75, 13, 94 / 13),
        # A published how-to (106.75 in, 14 risers of 7-5/8 in); the rule here: ceil(106.75 / 7.75)
        (106.75, 7.75, 14, 7.625),
        # A published how-to: 27 in as 4 risers of 6.75 in or 5 of 5.4 in; here by the wanted rise
        (27, 7, 4, 6.75),
        (27, 6, 5, 5.4),
        # ceil(rise / 7.75), the limit itself allowed (derived by hand)
        (36, 7.75, 5, 7.2),
        (31, 7.75, 4, 7.75),
        (31.01, 7.75, 5, 6.202),
    ],
)
def test_division_worked_examples(total, wanted, risers, rise):
    plan = planned(total, {"rise": wanted, "going": 10})
    assert plan.risers == risers and plan.flights[0].risers == risers
    assert plan.rise == pytest.approx(rise, abs=1e-9)
    assert plan.total_rise == pytest.approx(total)


@pytest.mark.parametrize(
    "total, wanted, treads, run",
    [
        (8 * 7, 7, 7, 70),  # a published how-to: 8 risers, 7 treads of 10 in, run 70 in
        (36, 7.75, 4, 40),  # derived by hand: 4 treads of 10 in
    ],
)
def test_total_run(total, wanted, treads, run):
    flight = planned(total, {"rise": wanted, "going": 10}).flights[0]
    assert len(flight.treads) == treads
    assert flight.run - flight.riser_face(0) == pytest.approx(run)


@pytest.mark.parametrize(
    "rise, going, throat",
    [
        # derived by hand with R T / sqrt(R^2 + T^2) on an 11-1/4 in board
        (7.5, 10, 5.25),
        (7.75, 10, 5.124),
        (7.75, 11, 4.915),
    ],
)
def test_throat(rise, going, throat):
    assert planned(8 * rise, {"rise": rise, "going": going}).flights[0].throat == pytest.approx(throat, abs=5e-4)


@settings(max_examples=60, deadline=None)
@given(
    total=st.floats(16, 150),
    wanted=st.floats(4, 9),
    going=st.floats(8, 16),
    overhang=st.floats(0, 2),
    closed=st.booleans(),
    fascia=st.booleans(),
)
def test_equal_rises_and_goings(total, wanted, going, overhang, closed, fascia):
    layout = layout_with(
        total,
        {"rise": wanted, "going": going, "risers": "closed" if closed else "open", "stringer_kind": "solid"},
        surface={"overhang": overhang},
        trim={"fascia": fascia},
    )
    plan = plan_stair(layout, layout.stairs[0])
    assert plan.rise <= wanted + 1e-6
    assert total / (plan.risers - 1) > wanted - 1e-6  # one riser fewer would be too high
    nosings = np.array(
        [(layout.overhang(layout.outline["front"]), layout.planes.surface_top)]
        + [(t.front, t.top) for t in plan.flights[0].treads]
    )
    assert np.allclose(np.diff(nosings[:, 0]), going) and np.allclose(np.diff(nosings[:, 1]), -plan.rise)
    assert plan.flights[0].foot == pytest.approx(0, abs=1e-9)


@settings(max_examples=40, deadline=None)
@given(surface=st.floats(20, 90), fall=st.floats(-0.2, 0.3), going=st.floats(10, 12))
def test_foot_on_sloping_grade(surface, fall, going):
    """The pad lies at the highest grade under it, or under the foot where that would take more than half of the rise;
    so many risers as fit it, none of them higher than wanted."""
    lead, nosing = 1.75, 1.0  # 3/4 in fascia and 1 in overhang; 1 in nosing
    for n in range(1, 200):
        foot = (n - 1) * going + lead - nosing
        if surface + fall * foot <= 0 or (surface + fall * foot) / n <= 7.5 + 1e-9:
            break
    if surface + fall * foot <= 0 or n < 2 or n >= 199:
        return
    # the front edge is walked along x, the stair goes out to -y: grade falls outwards where slope_y is positive
    try:
        plan = planned(surface, {"going": going}, levels={"slope_y": fall})
    except DesignError:
        assert surface + fall * going <= 7.5  # one step or none
        return
    foot = (plan.risers - 1) * going + lead - nosing
    heel = max(plan.flights[-1].heel, 0.0)
    assert heel < foot
    under, whole = max(-fall * foot, -fall * heel), -fall * (plan.flights[-1].run + 40.0)  # the pad is 40 in deep
    level = max(under, whole) if surface - whole >= (surface - under) / 2 else under
    assert plan.pad_top == pytest.approx(level, abs=1e-4)
    assert plan.total_rise == pytest.approx(surface - plan.pad_top)
    assert plan.rise <= 7.5 + 1e-6 and plan.risers <= n
    # the pad is 36 in and more deep, so any slope but none shows in the notes
    assert bool(plan.notes) == (abs(fall) * 36 > 0.01) or abs(fall) * 60 < 0.02


def test_total_rise_measured_on_site_wins():
    plan = planned(36, {"total_rise": 45}, levels={"slope_y": 0.0})
    assert plan.risers == 6 and plan.pad_top == pytest.approx(-9)
    assert any("-9.0 in" in worded(note) for note in plan.notes)


@pytest.mark.parametrize(
    "surface, stair, sections, key, words",
    [
        (36, {"landings": [{"after_risers": 6}]}, {}, "stair.0.landings.0.after_risers", "after 5 risers"),
        (
            90,
            {"landings": [{"after_risers": 4}, {"after_risers": 4}]},
            {},
            "stair.0.landings.1.after_risers",
            "stair.0.landings.1.after_risers = 5 would do",
        ),
        (11, {}, {"levels": {"slope_y": -1.0}}, "stair.0.edge", "above the surface"),
        (36, {}, {"levels": {"slope_y": 1.0}}, "stair.0.rise", "falls away"),
        (36, {"stringer_kind": "solid", "tread": "bordered"}, {}, "stair.0.tread", "bordered"),
        (36, {"nosing": 6, "going": 4}, {}, "stair.0.nosing", "no seat"),
    ],
)
def test_refused(surface, stair, sections, key, words):
    with pytest.raises(DesignError) as caught:
        planned(surface, stair, **sections)
    assert caught.value.key == key and words in str(caught.value)


@pytest.mark.parametrize("turn, out", [("straight", (0, -1)), ("left", (1, 0)), ("right", (-1, 0))])
def test_landing_turns(turn, out):
    """A stair off the front edge goes down the sheet; a walker's left is then the right of the sheet."""
    plan = planned(120, {"landings": [{"after_risers": 7, "turn": turn, "depth": 42}]})
    first, second = plan.flights
    landing = plan.landings[0]
    assert (first.risers, second.risers) == (7, 9)
    assert np.allclose(second.out, out)
    assert landing.level == pytest.approx(120 - 7 * 7.5)
    # by hand: the last of 7 risers stands 6 goings and 3/4 in out; the landing is 42 in deep
    riser = 6 * 10.5 + 0.75
    x0, y0, x1, _y1 = landing.polygon.bounds
    assert (x0, x1, y0) == pytest.approx((78, 120, -riser - 42))
    starts = {"straight": (78, -riser - 42), "left": (120, -riser - 42), "right": (78, -riser)}
    assert tuple(second.origin) == pytest.approx(starts[turn])
    assert second.bearing == pytest.approx(0) and first.bearing == pytest.approx(landing.level - 1.0)


@pytest.mark.parametrize("turn", ["straight", "left", "right"])
@pytest.mark.parametrize("depth", [36, 42, 43, 45.5, 46.5, 60])
def test_posts_touch_what_they_are_fixed_to(turn, depth):
    layout = layout_with(140, {"landings": [{"after_risers": 8, "turn": turn, "depth": depth}]})
    plan = plan_stair(layout, layout.stairs[0])
    bodies = [f.rectangle(0, f.end, 0, f.width) for f in plan.flights] + [g.polygon for g in plan.landings]
    for post in plan.posts:
        touching = [b for b in bodies if post.polygon.distance(b) < 1e-6]
        assert touching and all(post.polygon.intersection(b).area < 1e-6 for b in bodies), post
        assert max(post.polygon.buffer(1e-4).intersection(b).area for b in touching) > 0.5e-4, post
    for i, a in enumerate(plan.posts):
        assert all(a.polygon.intersection(b.polygon).area < 1e-6 for b in plan.posts[i + 1 :])
    for flight, side, chain in plan.rails:
        f = plan.flights[flight]
        centres = [layout.posts[plan.top_post[side]].centre if n < 0 else plan.posts[n].centre for n in chain]
        gaps = [math.dist(a, b) * f.hypotenuse / f.going for a, b in itertools.pairwise(centres)]
        assert max(gaps) <= layout.parameters.guard.post_spacing + f.going  # a post is held off the rim's face
        across = [f.position(c)[1] for c in centres]
        assert np.ptp(across) < 1e-6  # one plane from top to foot


BACK = {"after_risers": 7, "turn": "back"}


@pytest.mark.parametrize("side, left, start", [("left", 78, 169), ("right", 29, 71)])
def test_a_stair_that_turns_back_has_one_platform_as_wide_as_both_flights(side, left, start):
    """By hand: the last of 7 risers stands 63-3/4 in out; a guard post (3-1/2) and the rim (1-1/2) lie behind it."""
    plan = planned(120, {"landings": [{**BACK, "side": side}]})
    first, second = plan.flights
    assert plan.landings[0].polygon.bounds == pytest.approx((left, -63.75 - 36, left + 2 * 42 + 7, -58.75))
    assert np.allclose(second.out, (0, 1)) and tuple(second.origin) == pytest.approx((start, -58.75))
    assert (first.risers, second.risers) == (7, 9) and second.top == pytest.approx(plan.landings[0].level)


@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize(
    "space, shared", [(None, True), (3.5, True), (6.9, True), (7, True), (7.1, False), (20, False)]
)
def test_guards_of_two_flights_side_by_side_share_a_post_where_one_fits(side, space, shared):
    plan = planned(120, {"landings": [{**BACK, "side": side, **({"space": space} if space else {})}]})
    inner = {"left": "end", "right": "start"}[side]
    upper, lower = (next(c for n, s, c in plan.rails if (n, s) == (flight, inner)) for flight in (0, 1))
    assert (upper[-1] == lower[0]) == shared
    assert not any(a.polygon.intersection(b.polygon).area > 1e-6 for a, b in itertools.combinations(plan.posts, 2))
    post = plan.posts[upper[-1]]
    across = plan.flights[0].position(post.centre)[1]
    if shared:  # in the middle of the space, over the lowest riser as any post at a foot
        assert across == pytest.approx(sum(plan.landings[0].between) / 2)
    assert post.x + 3.5 / 2 == pytest.approx(plan.flights[0].lowest)


@pytest.mark.parametrize(
    "landing, guard, words",
    [({"space": 3}, {}, "space = 3.5 would do"), ({"space": 4}, {"top_rail": "4x4"}, "space = 7 would do")],
    ids=["less than a post", "thick rails"],
)
def test_two_flights_without_room_for_their_guards_are_refused(landing, guard, words):
    with pytest.raises(DesignError) as caught:
        planned(120, {"landings": [{**BACK, **landing}]}, guard=guard)
    assert caught.value.key == "stair.0.landings.0.space" and words in str(caught.value)


def test_the_posts_along_a_wide_landing_are_no_further_apart_than_asked():
    """Two flights of 42 in and the space between them are wider than 72 in."""
    plan = planned(120, {"landings": [BACK]})
    gaps = [math.dist(*(plan.posts[n].centre for n in bay)) for bay in plan.landings[0].bays]
    assert len(gaps) == 4 and max(gaps) <= 72


@pytest.mark.parametrize(
    "surface, stair, places",
    [
        (60, {}, [36.75]),  # 8 risers, 73-1/2 in long: over 72 in (AWC DCA 6), one cross piece at half height
        (120, {}, [52.5, 105]),  # 157-1/2 in are three spans
        (52.5, {}, []),  # 63 in
        (120, {"stringer_kind": "solid", "stringer_spacing": 36}, []),  # 158-1/4 in, solid: up to 159 in
        (120, {"carriers": "none"}, []),
    ],
)
def test_stringers_over_the_published_span_get_cross_pieces(surface, stair, places):
    plan = planned(surface, stair)
    assert [c.x for c in plan.carriers] == pytest.approx(places)
    for c in plan.carriers:
        outer = [q.bounds for q in c.squares]
        assert len(outer) == 2 and max(b[2] for b in outer) - min(b[0] for b in outer) == pytest.approx(40)


def test_a_flight_too_low_for_a_cross_piece_is_said_and_drawn():
    """Shallow steps: ten of 2-1/2 in leave no post its length where the span below still allows one."""
    plan = planned(25, {"rise": 2.5})
    assert not plan.carriers and any("lie too low" in worded(note) for note in plan.notes)


def test_a_wanted_rise_that_does_not_come_out_even_is_said():
    """46 in: seven rises of 6.57 in where 7 in was wanted; 42 in are six of 7 in."""
    changed, even, unasked = planned(46, {"rise": 7}), planned(42, {"rise": 7}), planned(46)
    said = [[worded(n) for n in p.notes if "wanted" in worded(n)] for p in (changed, even, unasked)]
    assert changed.risers == 7 and len(said[0]) == 1 and "6.57" in said[0][0] and "7 in" in said[0][0]
    assert said[1:] == [[], []]


def test_flights_alike_side_by_side_have_posts_of_their_own_between_their_ends():
    """Nine risers each: the posts between stand at one place in plan, one over the other."""
    plan = planned(135, {"landings": [{"after_risers": 9, "turn": "back"}]})
    assert [f.risers for f in plan.flights] == [9, 9]
    between = [(flight, plan.posts[n]) for flight, _, chain in plan.rails for n in chain[1:-1]]
    assert len(between) == 4 and all(post.flight == flight and post.kind == "mid" for flight, post in between)


def test_a_landing_high_over_falling_ground_asks_for_a_guard_where_the_deck_does_not():
    """The published trigger, 30 in within 36 in of an open side (IRC R312.1.1), by hand: ground falls 1 in 12 to the
    right and lies 16 in lower at that edge, so that a surface 10 in up at the left end stands 26 in over the edge's
    foot and 29 in over what lies 36 in further out. A landing of 132 in one rise down ends about 142 in out: 36 in
    beyond the ground lies 14.8 in below the edge's foot, 34 in under the landing."""
    levels = {"slope_x": -1 / 12}
    stair = {"edge": "right", "at": 30, "width": 40}
    assert not planned(10, stair, levels=levels).guarded
    landing = {"after_risers": 1, "depth": 132}
    assert planned(10, {**stair, "landings": [landing]}, levels=levels).guarded
    assert not planned(10, {**stair, "guards": "none", "landings": [landing]}, levels=levels).guarded


@pytest.mark.parametrize("guard, clear", [({}, 4.0), ({"sleeve": {"size": 4.5}}, 5.0)])
def test_a_flight_that_runs_along_the_deck_after_one_step_has_room_for_its_guard(guard, clear):
    """Past the boards' edge a 3-1/2 in post, or a sleeve's 4-1/2 in, and 1/2 in; 42 in deep would leave none."""
    stair = {"landings": [{"after_risers": 1, "depth": 42, "turn": "left"}], "width": 42}
    plan = planned(45, stair, guard=guard)
    deck, along = plan.flights[0], plan.flights[1]
    inner = min(deck.position(along.point(0.0, s))[0] for s in (0.0, along.width))
    assert inner - deck.lead == pytest.approx(clear)
    assert any("made 4" in worded(n) and "one step above" in worded(n) for n in plan.notes)


def test_a_stair_fits_an_edge_as_wide_whose_corners_are_rounded_off():
    """A hexagon of 90 in sides, its corners written with six digits: the front is 89.9999995 in long."""
    corners = [
        [0.0, -90.0],
        [77.942286, -45.0],
        [77.942286, 45.0],
        [0.0, 90.0],
        [-77.942286, 45.0],
        [-77.942286, -45.0],
    ]
    layout = lay_out(
        Parameters.model_validate(
            {
                "outline": {"points": corners, "edges": ["front", "b", "c", "d", "e", "f"], "house": []},
                "levels": {"surface": 20},
                "stair": [{"edge": "front", "width": 90, "at": 0}],
            }
        )
    )
    (spot,) = layout.stairs
    assert spot.end == layout.outline["front"].length and spot.end - spot.start == pytest.approx(90)
