"""Steps that go on round a corner, measured on the solids. The deck and its sizes are invented; how hip and jack
stringers are framed is common practice, no source; the lengths are worked out by hand."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from shapely.geometry import Point

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.deck import Deck, build
from plumbcut.model.design.advised import checked_with_mends
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.deck_seen import DeckSeen
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.measuring.mitre_seen import mitre_gaps
from plumbcut.model.measuring.throat import throat
from plumbcut.model.rules.checks import check_deck
from plumbcut.model.structure.stair_loads import stair_loads, stringers_loaded

SQUARE = [[0, 0], [174, 0], [174, 138], [0, 138]]
GOING, RISE, TRIM, T = 10.5, 20 / 3, 0.75, 1.5  # three risers of a surface 20 in up


def deck_with(points=SQUARE, surface=20.0, **stair) -> Deck:
    lengths = [math.dist(points[k], points[k + 1]) for k in (0, 1)]
    return build(
        Parameters.model_validate(
            {
                "outline": {"points": points, "edges": ["front", "right", "back", "left"], "house": ["back"]},
                "levels": {"surface": surface},
                "frame": {"joist": "2x8"},
                "stair": [
                    {"edge": "front", "width": lengths[0], "wrap": True, **stair},
                    {"edge": "right", "width": math.floor(lengths[1] * 100) / 100, **stair},
                ],
            }
        )
    )


@pytest.fixture(scope="module")
def corner() -> Deck:
    return deck_with()


def bisector(deck: Deck) -> np.ndarray:
    """Plan unit vector out of the corner between the two edges, from their own directions."""
    a, b = (np.asarray(deck.layout.outline[e].inward) for e in ("front", "right"))
    return -(a + b) / np.hypot(*(a + b))


@pytest.mark.parametrize("points, angle", [(SQUARE, 90), ([[0, 0], [174, 0], [249, 129.91], [0, 138]], 120)])
def test_treads_and_risers_end_on_the_bisector(points, angle):
    """Their pointed ends lie on the line that halves the corner; treads half the border's mitre opening off it."""
    deck = deck_with(points)
    n = np.array([-bisector(deck)[1], bisector(deck)[0]])
    corner = np.array(points[1], float)
    opening = deck.parameters.surface.border.mitre_gap / 2
    assert math.degrees(2 * math.asin(abs(float(bisector(deck) @ [0, -1])))) == pytest.approx(angle, abs=1e-2)
    seen = 0
    for role, off in (("tread", opening), ("riser", 0.0)):
        for stair, steps in itertools.groupby(sorted(deck.roles(role), key=lambda p: p.stair), lambda p: p.stair):
            for _, pieces in itertools.groupby(sorted(steps, key=lambda p: p.step), lambda p: p.step):
                away = np.concatenate([(p.vertices[:, :2] - corner) @ n for p in pieces]) * (1 if stair == 1 else -1)
                assert away.min() == pytest.approx(off, abs=1e-6)
                seen += 1
    assert seen == 2 * (2 + 3)


def test_the_hip_is_cut_to_the_mitre(corner):
    """Its treads are as deep as a going is along the mitre, 10-1/2 in times the root of two, at the same rise; what is
    left behind its notches follows from similar triangles, W - R T / sqrt(R^2 + T^2). Two plies, one on each side of
    the mitre, that meet on it."""
    hips = corner.roles("hip stringer")
    assert len(hips) == 2 and {p.stair for p in hips} == {0, 1} and len({p.mark for p in hips}) == 1
    deep = GOING * math.sqrt(2)
    for hip in hips:
        assert throat(hip).width == pytest.approx(11.25 - RISE * deep / math.hypot(RISE, deep), abs=1e-6)
        seats = {round(float(z), 4) for z in hip.vertices[:, 2]}
        assert {round(20 - k * RISE - 1, 4) for k in (1, 2)} <= seats
        along = (hip.vertices[:, :2] - SQUARE[1]) @ bisector(corner)
        # its square end stays a ply's thickness behind where the backs of the lowest risers meet
        assert along.max() == pytest.approx((2 * GOING + 1.75 - 1 - TRIM) * math.sqrt(2) - T)
        across = (hip.vertices[:, :2] - SQUARE[1]) @ np.array([bisector(corner)[1], -bisector(corner)[0]])
        assert sorted(np.abs([across.min(), across.max()])) == pytest.approx([0, T])
    assert any({c.id_a, c.id_b} == {p.id for p in hips} and c.kind == "side" for c in corner.contacts)


def test_hip_and_jacks_are_carried(corner):
    """The block in the corner by both rims, the hip by it and by the pads; jacks by blocks on the hip and the pad."""
    under = {p.id: {corner.by_id[i].role for i in p.carried_by} for p in corner.parts}
    [block] = corner.roles("hip block")
    assert {"rim", "stair header"} & under[block.id]
    assert all(under[p.id] == {"hip block", "pad"} for p in corner.roles("hip stringer"))
    jacks = corner.roles("jack stringer")
    assert jacks and all(under[p.id] == {"jack block", "pad"} for p in jacks)
    assert all("hip stringer" in under[p.id] for p in corner.roles("jack block"))
    on = {r for p in corner.roles("tread") for r in under[p.id]}
    assert {"stringer", "hip stringer", "jack stringer"} <= on


@pytest.mark.parametrize("spacing", [9, 12, 16])
def test_no_tread_spans_further_at_the_mitre_than_elsewhere(spacing):
    deck = deck_with(stringer_spacing=spacing)
    seen = DeckSeen(measure_all(deck.parts), lambda: deck.members, deck.planes.grade)
    for stair in (0, 1):
        [flight] = seen.flights(stair)
        gaps = mitre_gaps(flight)
        assert len(gaps) > 10 and max(gaps) <= spacing + 1e-6
        assert flight.mitred == ((False, True), (True, False))[stair]
    wide = deck_with(stringer_spacing=spacing).roles("jack stringer")
    assert len(wide) >= (2 if spacing == 16 else 4)


def test_one_level_at_the_foot_and_pads_that_follow_the_corner(corner):
    pads = corner.roles("pad")
    assert len({round(float(p.box[1, 2]), 9) for p in pads}) == 1 and len(pads) == 2
    a, b = (p.footprint for p in pads)
    assert a.distance(b) == pytest.approx(0.5)  # a joint on the mitre, as round footings
    far = np.array(SQUARE[1]) + bisector(corner) * 60
    assert a.union(b).buffer(0.3).covers(Point(*far))


def test_rules_on_the_hip_are_checked(corner):
    rows = [r for r in check_deck(corner) if r.rule.startswith("stringer")]
    named = {i for r in rows for i in r.ids}
    assert {p.id for p in corner.roles("hip stringer", "jack stringer")} <= named
    high = deck_with(surface=22.5, rise=7.5)  # 4.56 in are left of the hip, less than published
    throats = [r for r in checked_with_mends(high) if r.rule == "stringer throat" and r.result == "not met"]
    assert throats and all(high.by_id[i].role == "hip stringer" for r in throats for i in r.ids)
    assert {worded(r.why) for r in throats} == {"stair.0.rise = 6.875 and stair.1.rise = 6.875 would do"}


def test_a_riser_more_where_the_file_leaves_the_rise_to_the_hip():
    """A hip of 2x12 (11-1/4 in) under treads of 10-1/2 x sqrt 2 in: R T / sqrt(R^2 + T^2) = 6-1/4 in at R = 6.89 in."""
    deck = deck_with(surface=22.5)
    assert {p.risers for p in deck.layout.stair_plans} == {4}
    assert all(throat(p).width >= 5 for p in deck.roles("hip stringer"))
    said = [worded(n) for n in deck.notes]
    assert any(n.startswith("stair 1: 4 rises of 5.62 in each, a riser more") for n in said), said
    assert {p.risers for p in deck_with(surface=22.5, rise=6.875).layout.stair_plans} == {4}


def test_the_corner_takes_less_than_half_of_what_stands_on_the_hip(corner):
    """A triangle that grows down the mitre from nothing at the corner gives a third of itself to its narrow end; jack
    stringers bring more. Both flights' plies bear alike on the block there."""
    found = list(stair_loads(corner.parts, corner.contacts))
    [block] = corner.roles("hip block")
    at = sum(area for _, point, area in found if math.dist(point, block.plan_middle) < 1e-6)
    hips = [s for s in stringers_loaded(corner.parts, corner.contacts) if s.part.role == "hip stringer"]
    assert len({round(s.area, 6) for s in hips}) == 1 and len(hips) == 2
    assert sum(s.area for s in hips) / 3 < at < sum(s.area for s in hips) / 2


def test_no_guard_and_no_skirt_on_the_mitre():
    deck = deck_with(surface=36, guards="both")
    corner = np.array(SQUARE[1], float)
    near = [p for p in deck.roles("guard post", "skirt") if np.hypot(*(p.footprint.centroid.coords[0] - corner)) < 60]
    assert not near and deck.roles("guard post")
    rows = [r for r in check_deck(deck) if r.rule == "guard needed on a stair"]
    assert len(rows) == 4 and {r.result for r in rows} == {"met"}


def test_a_throat_is_judged_over_a_lower_edge_alone(corner):
    """Jacks end in plumb and level cuts under their notches: no throat is met or not met there, which the check
    says."""
    rows = {worded(r.place).rsplit(" ", 1)[1]: r.result for r in check_deck(corner) if r.rule == "stringer throat"}
    jacks = {p.mark for p in corner.roles("jack stringer") if (t := throat(p)) and not t.over_edge}
    assert jacks and all(rows[mark] == "not checked" for mark in jacks)
    assert all(result != "not checked" for mark, result in rows.items() if mark not in jacks)
