"""Beams, posts and footings against arithmetic by hand, and what happens where they crowd or there is no height for
them."""

from __future__ import annotations

import math
from itertools import combinations, pairwise

import numpy as np
import pytest
from shapely import unary_union
from shapely.geometry import Point

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.clashes import clashes
from plumbcut.model.pieces.support import build_support
from plumbcut.model.plan.joist_spans import spans
from plumbcut.model.plan.layout import lay_out
from plumbcut.model.plan.seats import post_square
from plumbcut.model.rules.check_solids import FROM_SOLIDS
from plumbcut.model.rules.checks import check_deck
from plumbcut.model.solid.part import Workshop
from plumbcut.shared.errors import DesignError
from plumbcut.shared.standards import joist_span

RECTANGLE = {"width": 190, "depth": 131}


def plan(outline=RECTANGLE, surface=40, **sections):
    layout = lay_out(Parameters.model_validate({"outline": outline, "levels": {"surface": surface}, **sections}))
    return layout, layout.runs


def support(outline=RECTANGLE, surface=40, **sections):
    layout, runs = plan(outline, surface, **sections)
    return layout, runs, build_support(layout, Workshop())


def of(parts, role):
    return [p for p in parts if p.role == role]


def box(part):
    b = part.solid.BoundingBox(1e-7)
    return np.array([[b.xmin, b.ymin, b.zmin], [b.xmax, b.ymax, b.zmax]])


@pytest.mark.parametrize("plies, cantilever", [(1, 12), (2, 12), (3, 20), (2, 0)])
def test_a_beam_behind_the_free_edge(plies, cantilever):
    """Its outer face stands in by the cantilever, each ply is a piece, and all lie right under the joists."""
    _layout, runs, parts = support(frame={"beam_plies": plies, "cantilever": cantilever})
    beams = sorted(of(parts, "beam"), key=lambda p: box(p)[0, 1])
    assert len(beams) == plies and len(runs) == 1
    for k, beam in enumerate(beams):
        assert box(beam) == pytest.approx(
            np.array(
                [[0, cantilever + 1.5 * k, 40 - 1 - 7.25 - 9.25], [190, cantilever + 1.5 * (k + 1), 40 - 1 - 7.25]]
            )
        )
        assert beam.solid.Volume() == pytest.approx(190 * 1.5 * 9.25)


def test_heights_and_volumes_of_posts_and_footings():
    """A post reaches from its base on the concrete to the beam: 40 - 1 - 7-1/4 - 9-1/4 - 1 - 2 = 19-1/2; a pier is pi
    r2 h."""
    _layout, runs, parts = support(frame={"footing": {"size": 18, "depth": 36, "above_grade": 2}})
    posts, bases, footings = of(parts, "post"), of(parts, "post base"), of(parts, "footing")
    assert len(posts) == len(bases) == len(footings) == len(runs[0].posts) > 1
    for post, base, footing in zip(posts, bases, footings):
        assert box(post)[:, 2] == pytest.approx([3, 22.5])
        assert post.solid.Volume() == pytest.approx(5.5 * 5.5 * 19.5)
        assert box(base)[:, 2] == pytest.approx([2, 3])
        assert footing.solid.Volume() == pytest.approx(math.pi * 9**2 * 38)
        assert box(footing)[0, 2] == pytest.approx(-36)


def test_square_pads_lie_at_the_bottom():
    _, _, parts = support(frame={"footing": {"shape": "square", "size": 20, "thickness": 10, "depth": 42}})
    for footing, post in zip(of(parts, "footing"), of(parts, "post")):
        assert footing.solid.Volume() == pytest.approx(20 * 20 * 10)
        assert box(footing)[:, 2] == pytest.approx([-42, -32])
        assert box(post)[:, 2] == pytest.approx([-31, 22.5])


def test_posts_on_a_slope_follow_grade():
    _layout, _, parts = support(levels={"surface": 90, "slope_x": 0.05})
    for post in of(parts, "post"):
        x = box(post)[:, 0].mean()
        assert box(post)[0, 2] == pytest.approx(0.05 * x + 3) and box(post)[1, 2] == pytest.approx(90 - 1 - 7.25 - 9.25)


@pytest.mark.parametrize("spacing", [40, 60, 96])
def test_posts_stand_evenly_no_further_apart_than_asked(spacing):
    _, (run,) = plan(frame={"post_spacing": spacing, "beam_overhang": 10})
    at = sorted(run.position(p) for p in run.posts)
    count = math.ceil((190 - 20) / spacing)
    assert at == pytest.approx([10 + 170 * k / count for k in range(count + 1)])


@pytest.mark.parametrize("depth", [150, 270, 400])
def test_beams_between_leave_no_span_longer_than_the_table(depth):
    """The fewest straight beams that do, and even clear spans where ledger and edge beam are parallel."""
    layout, runs = plan({"width": 170, "depth": depth})
    allowed = joist_span("southern pine", "2x8", 16, "IRC 2021").value
    clear = [spans(layout, piece, runs) for _, piece in layout.joist_lines]
    assert max(hi - lo for row in clear for lo, hi in row) <= allowed + 1e-6
    lengths = {round(hi - lo, 3) for row in clear for lo, hi in row}
    assert len(lengths) == 1
    whole = depth - 1.5 - 15
    count = math.ceil((whole + 3) / (allowed + 3)) - 1
    assert len(runs) == 1 + count
    assert lengths == {round((whole - 3 * count) / (count + 1), 3)}


def test_a_slanted_front_still_keeps_every_span_within_the_table():
    layout, runs = plan({"points": [[0, 40], [120, 0], [230, 60], [230, 260], [0, 260]], "house": ["e4"]})
    allowed = joist_span("southern pine", "2x8", 16, "IRC 2021").value
    assert max(hi - lo for _, piece in layout.joist_lines for lo, hi in spans(layout, piece, runs)) <= allowed + 1e-6
    assert all(a.polygon.intersection(b.polygon).area < 1e-3 for a, b in combinations(runs, 2))


CROWDED = {
    "two beams a foot apart": (
        {"points": [[0, 0], [88, 0], [88, 126], [178, 126], [178, 0], [266, 0], [266, 185], [0, 185]], "house": ["e7"]},
        {"support": "free-standing", "joist_direction": "y", "cantilever": 24},
    ),
    "a beam between beside a stepped edge": (
        {"points": [[0, 0], [59, 0], [59, 87], [119, 87], [119, 0], [178, 0], [178, 179], [0, 179]], "house": ["e7"]},
        {"cantilever": 24},
    ),
    "joists along the house, slanted fronts": (
        {"points": [[34, 0], [196, 0], [230, 34], [230, 213], [0, 213], [0, 34]], "house": ["e4"]},
        {"joist": "2x6", "joist_direction": "x", "cantilever": 18, "footing": {"size": 24}},
    ),
    "a kite": (
        {"points": [[12, 0], [113, 27], [151, 144], [0, 144], [-2, 42]], "house": ["e3"]},
        {"joist": "2x6", "beam": "2x12", "joist_direction": "y"},
    ),
    "square pads": (
        {"points": [[76, 0], [176, 0], [176, 188], [0, 188], [0, 133], [76, 133]], "house": ["e3"]},
        {"support": "free-standing", "cantilever": 18, "beam_plies": 1, "footing": {"shape": "square", "size": 30}},
    ),
}


@pytest.mark.parametrize("name", CROWDED)
def test_crowded_beams_posts_and_footings_do_not_overlap(name):
    outline, frame = CROWDED[name]
    layout, runs, parts = support(outline, 60, frame=frame)
    assert not clashes(parts, 0.001)
    for run in runs:
        assert run.posts
        for centre in run.posts:
            assert (
                post_square(layout, run, centre).intersection(run.polygon).area > 1.4 * 5
            )  # each stands under its beam


def test_footings_too_close_become_one_of_no_less_area():
    layout, _runs, parts = support(
        *[CROWDED["two beams a foot apart"][0], 60], frame=CROWDED["two beams a foot apart"][1]
    )
    shared = [s for s in layout.footings if len(s.stands) > 1]
    assert shared
    for spot in shared:
        assert spot.size**2 >= len(spot.stands) * layout.footing_size**2 - 1e-9
        concrete = Point(spot.centre).buffer(spot.size / 2, quad_segs=64)
        for stand in spot.stands:
            assert stand.square.difference(concrete).area < 1e-6
    solids = [f for f in of(parts, "footing") if box(f)[1, 0] - box(f)[0, 0] > layout.footing_size + 0.1]
    assert sorted(round(f.solid.Volume()) for f in solids) == sorted(
        round(math.pi * s.size**2 / 4 * 44) for s in shared
    )
    assert any("larger" in note for note in layout.notes)


def test_a_row_of_posts_nearer_than_their_footings_is_not_one_footing():
    """Footings 26 in across about every 24 in: two of them become one 38 in across, 26 sqrt(2) = 36.8, which the next
    two do not reach. One wide enough to hold both whole, 50 in, reached the next, and that one the next."""
    frame = {"post_spacing": 24.5, "beam_overhang": 0, "footing": {"size": 26}}
    layout, (run,), parts = support({"width": 190, "depth": 95}, 60, frame=frame)
    assert len(run.posts) >= 7 and all(q - p < 26 for p, q in pairwise(sorted(map(run.position, run.posts))))
    assert all(len(s.stands) <= 2 and s.size in (26, 38) for s in layout.footings)
    for spot in layout.footings:
        ground = Point(spot.centre).buffer(spot.size / 2, quad_segs=64)
        assert all(stand.square.difference(ground).area < 1e-6 for stand in spot.stands)
    assert not [
        1 for a, b in combinations(of(parts, "footing"), 2) if a.footprint.intersection(b.footprint).area > 1e-6
    ]


def test_a_footing_bears_the_dead_load_as_well():
    """Middle post of three: 5/4 of its spans (two equal spans, handbook), live and dead load over the net bearing."""
    sizes = []
    for dead in (10, 60):
        layout, (run,) = plan(frame={"post_spacing": 96}, loads={"dead_psf": dead, "soil_bearing_psf": 1500})
        sizes.append(layout.footing_size)
        at = sorted(run.position(q) for q in run.posts)
        share = max(1.25 * (c - a) / 2 for a, c in zip(at, at[2:]))
        span = max(hi - lo for _, piece in layout.joist_lines for lo, hi in spans(layout, piece, layout.runs))
        joists = (span + 12) ** 2 / (2 * span)  # of the joists' load, overhang levered
        load = share * joists / 144 * (40 + dead)
        net = 1500 - 150 * (42 + 2) / 12  # less the pier's own weight
        assert math.pi / 4 * (sizes[-1] / 12) ** 2 * net >= load
    assert sizes[1] > sizes[0]


@pytest.mark.parametrize("width, spacing", [(300, 60), (350, 96), (420, 96), (500, 72)])
def test_the_plies_of_a_long_beam_are_spliced_over_different_posts(width, spacing):
    layout, (run,), parts = support({"width": width, "depth": 131}, frame={"post_spacing": spacing})
    ends = []
    for ply in range(2):
        pieces = sorted((p for p in of(parts, "beam") if p.step == ply), key=lambda p: p.box[0, 0])
        assert len(pieces) >= 2
        ends.append([a.box[1, 0] for a in pieces[:-1]])
    posts = [q[0] for q in run.posts]
    assert all(min(abs(x - q) for q in posts) < 0.01 for row in ends for x in row)
    assert not any(abs(a - b) < 1 for a in ends[0] for b in ends[1])
    assert layout.parameters.frame.beam_plies == 2


@pytest.mark.parametrize(
    "surface, beam, posts",
    [
        (40, "2x10", True),
        (22, "2x10", True),
        (20, "2x10", False),
        (18.5, "2x10", False),
        (17, "2x8", False),
        (15, "2x6", False),
    ],
)
def test_a_low_deck_bears_on_its_bases(surface, beam, posts):
    """With 2x8 joists and 1 in boards the beam's top is 8-1/4 below the surface; base 1, concrete at grade or above."""
    layout, _runs, parts = support(surface=surface)
    assert layout.beam.name == beam
    assert bool(of(parts, "post")) is posts
    for base in of(parts, "post base"):
        assert box(base)[0, 2] >= -1e-9
        if not posts:
            assert box(base)[1, 2] == pytest.approx(min(box(b)[0, 2] for b in of(parts, "beam")))
    assert bool(layout.notes) is not posts


def test_a_low_deck_is_carried_down_without_posts():
    deck = build(Parameters.model_validate({"outline": RECTANGLE, "levels": {"surface": 18.5}}))
    bases = {p.id for p in deck.roles("post base")}
    assert not deck.roles("post") and not clashes(deck.parts, 0.001)
    assert all(set(b.carried_by) & bases for b in deck.roles("beam"))
    assert any("post base" in worded(n) for n in deck.notes)


@pytest.mark.parametrize(
    "surface, frame, key",
    [
        (60, {"beam_position": "flush", "beam": "2x10"}, "frame.beam"),
        # a flush frame ends at 8 less 1 and 7-1/4, its base 1 in lower: a pad of 12 in lies 13-1/4 in below grade
        (8, {"footing": {"shape": "square", "depth": 12}}, "frame.footing.depth"),
        (60, {"beam_lines": [40, 42]}, "frame.beam_lines.1"),
        (60, {"beam_lines": [900]}, "frame.beam_lines.0"),
    ],
)
def test_what_cannot_stand_is_refused_by_key(surface, frame, key):
    with pytest.raises(DesignError) as refused:
        plan(surface=surface, frame=frame)
    assert refused.value.key == key


def test_concrete_that_would_stand_in_the_beam_ends_under_it_and_says_so():
    """19 less 1, 7-1/4, 9-1/4 and 1 in for the base leave 1/2 in of the 2 in asked for."""
    deck = deck_of({"width": 150, "depth": 110}, 19, frame={"beam": "2x10", "footing": {"above_grade": 2}})
    assert {round(float(f.box[1, 2]), 6) for f in deck.roles("footing")} == {0.5}
    assert any("finished to suit" in worded(n) for n in deck.notes)


@pytest.mark.parametrize(
    "surface, frame",
    [(12, {"beam_position": "under"}), (15, {"beam": "2x10"}), (7, {"joist": "2x10"}), (10, {"joist": "2x12"})],
)
def test_beams_in_the_ground_are_drawn_and_not_met(surface, frame):
    """A design that breaks a rule is still drawn: the concrete ends under the beam's base, below grade, and has its
    thickness; what lies in the ground is said."""
    deck = deck_of({"width": 150, "depth": 110}, surface, frame=frame)
    assert not deck.clashes
    for footing in deck.roles("footing"):
        assert footing.box[1, 2] < 0 and footing.box[1, 2] - footing.box[0, 2] >= 12 - 1e-6
    low = min(p.box[0, 2] for p in deck.roles("beam", "rim"))
    assert low < 0 and all(b.box[1, 2] == pytest.approx(low) for b in deck.roles("post base"))
    assert not_met(deck) == {"wood in the ground", "steel in the ground"}


def test_a_beam_keeps_behind_a_stair_header():
    """Without a cantilever the beam would lie where a stair's header and its cleats hang: it stands in by rim and
    cleat."""
    _, runs = plan(frame={"cantilever": 0, "support": "free-standing"}, stair=[{"edge": "front"}])
    front = next(r for r in runs if r.edge == "front")
    assert front.polygon.bounds[1] == pytest.approx(1.5 + 1.5, abs=1e-4)


CORNER = {"points": [[0, 0], [176, 0], [176, 179], [130, 179], [130, 149], [0, 149]], "house": ["e3", "e4", "e5"]}


def deck_of(outline: dict, surface: float, **sections):
    return build(Parameters.model_validate({"outline": outline, "levels": {"surface": surface}, **sections}))


def not_met(deck) -> set[str]:
    return {r.rule for r in check_deck(deck) if r.result == "not met" and worded(r.source).startswith(FROM_SOLIDS)}


def test_footings_of_two_landings_that_come_near_are_one():
    """Centres 6.6 in apart under a stair that turns back towards itself: one footing holds both posts."""
    landings = [{"after_risers": 4, "turn": "left", "depth": 42}, {"after_risers": 6, "turn": "left", "depth": 42}]
    deck = deck_of({"width": 190, "depth": 130}, 110, stair=[{"edge": "front", "width": 36, "landings": landings}])
    shared = [f for f in deck.layout.footings if len({s.where for s in f.stands}) > 1]
    assert shared, "no two landings share a footing"
    footings = [p for p in deck.parts if p.role == "footing"]
    for a, b in combinations(footings, 2):
        (ax, ay), (bx, by) = (p.box[:, :2].mean(axis=0) for p in (a, b))
        assert math.hypot(ax - bx, ay - by) >= a.shape.circle + b.shape.circle - 1e-6
    for base in (p for p in deck.parts if p.role == "post base"):
        below = [f for f in footings if f.id in base.carried_by]
        assert (
            len(below) == 1
            and base.footprint.difference(
                Point(*below[0].box[:, :2].mean(axis=0)).buffer(below[0].shape.circle, quad_segs=64)
            ).area
            < 1e-6
        )


def test_pads_of_two_stairs_give_way_to_one_another():
    stairs = [{"edge": "front", "at": 6, "width": 36}, {"edge": "left", "at": 100, "width": 36}]
    deck = deck_of({"width": 190, "depth": 150}, 22, stair=stairs)
    pads = [p.footprint for p in deck.parts if p.role == "pad"]
    assert len(pads) == 2 and pads[0].intersection(pads[1]).area < 1e-6


def test_a_stair_s_post_beside_a_corner_s_is_one_post():
    outline = {"points": [[33, 0], [293, 0], [326, 33], [326, 103], [0, 103], [0, 33]], "house": ["e4"]}
    deck = deck_of(outline, 44, stair=[{"edge": "e3", "width": 48, "at": 15.7}])
    posts = [p for p in deck.parts if p.role == "guard post"]
    assert not [1 for a, b in combinations(posts, 2) if a.footprint.intersection(b.footprint).area > 1e-6]
    assert "solids overlap" not in not_met(deck)


def test_a_beam_on_the_skew_stops_short_of_a_stair_s_header():
    outline = {"points": [[33, 0], [293, 0], [326, 33], [326, 103], [0, 103], [0, 33]], "house": ["e4"]}
    deck = deck_of(outline, 44, frame={"joist": "2x8", "beam_plies": 3}, stair=[{"edge": "e5", "width": 36}])
    assert "solids overlap" not in not_met(deck)


def test_a_joist_at_a_house_corner_does_not_stop_in_the_air():
    deck = deck_of(CORNER, 60, frame={"joist": "2x10", "joist_spacing": 12})
    assert not not_met(deck)
    ledgers = unary_union([p.footprint for p in deck.parts if p.role == "ledger"])
    assert ledgers.intersects(Point(130.75, 148.25)), "the corner of the house is a hole between two ledgers"


def test_a_low_landing_s_footing_is_cast_with_the_pad_under_the_stair():
    """The stringers of the last flight pass over it: its top lies at the pad's, on which their level cuts stand."""
    landings = [{"after_risers": 5, "turn": "straight", "depth": 36}]
    deck = deck_of({"width": 190, "depth": 130}, 54, stair=[{"edge": "front", "width": 48, "landings": landings}])
    pad = next(p for p in deck.parts if p.role == "pad")
    cast = [p for p in deck.parts if p.role == "footing" and p.box[1, 2] == pytest.approx(float(pad.box[1, 2]))]
    assert cast and not not_met(deck)
