"""Contacts and clashes of solids, against areas and volumes worked out here and against a second kernel
(manifold3d)."""

from __future__ import annotations

import itertools
import math
from collections import Counter
from dataclasses import replace

import manifold3d
import numpy as np
import pytest
import shapely
from small_deck import small_deck

from plumbcut.model.measuring.clashes import clashes, distance
from plumbcut.model.measuring.contacts import contacts
from plumbcut.model.solid.part import Place, Workshop
from plumbcut.shared.stock import Stock

WOOD = Stock("2x8", 1.5, 7.25, "treated lumber")
BOARD = Stock("5/4x6", 1.0, 5.5, "composite board")
RAIL = Stock("2x4", 1.5, 3.5, "treated lumber")
POST = Stock("4x4", 3.5, 3.5, "treated lumber")


def rect(x0, y0, x1, y1):
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def test_board_over_joist_bears_on_their_crossing():
    shop = Workshop()
    joist = shop.upright("joist", WOOD, rect(10, 0, 11.5, 100), -7.25, 0, along=(0, 1))
    board = shop.upright("board", BOARD, rect(0, 20, 60, 25.5), 0, 1)
    (c,) = contacts([joist, board])
    assert (c.a, c.b, c.kind, c.i, c.j) == (board, joist, "bearing", 1, 0)
    assert c.area == pytest.approx(1.5 * 5.5)
    assert c.normal == pytest.approx((0, 0, -1))
    assert c.point == pytest.approx((10.75, 22.75, 0)) and c.z == 0
    assert (c.low, c.high) == (pytest.approx((10, 20, 0)), pytest.approx((11.5, 25.5, 0)))


def test_joist_end_meets_ledger_and_plies_meet_side_to_side():
    shop = Workshop()
    ledger = shop.upright("ledger", WOOD, rect(0, 100, 60, 101.5), -7.25, 0)
    ply = shop.upright("ledger", WOOD, rect(0, 101.5, 60, 103), -7.25, 0)
    joist = shop.upright("joist", WOOD, rect(10, 0, 11.5, 100), -7.25, 0, along=(0, 1))
    found = {(c.a.role, c.b.role, c.kind): c for c in contacts([ledger, ply, joist])}
    assert set(found) == {("joist", "ledger", "end"), ("ledger", "ledger", "side")}
    end = found["joist", "ledger", "end"]
    assert end.area == pytest.approx(1.5 * 7.25) and end.normal == pytest.approx((0, 1, 0))


def test_gap_of_a_sixteenth_is_no_contact_and_an_edge_is_none():
    shop = Workshop()
    a = shop.upright("board", BOARD, rect(0, 0, 60, 5.5), 0, 1)
    apart = shop.upright("board", BOARD, rect(0, 5.5625, 60, 11), 0, 1)
    corner = shop.upright("board", BOARD, rect(60, 11, 90, 16.5), 0, 1)
    assert contacts([a, apart, corner]) == []
    assert distance(a, apart) == pytest.approx(0.0625)


def test_mitred_joint_touches_over_the_whole_mitre():
    shop = Workshop()
    a = shop.upright("border", BOARD, [(0, 0), (100, 0), (94.5, 5.5), (5.5, 5.5)], 0, 1)
    b = shop.upright("border", BOARD, [(0, 0), (5.5, 5.5), (5.5, 90), (0, 90)], 0, 1, along=(0, 1))
    (c,) = contacts([a, b])
    assert c.kind == "end" and c.area == pytest.approx(5.5 * math.sqrt(2))


def test_sloped_rail_ends_on_an_upright_post():
    shop = Workshop()
    post = shop.upright("guard post", POST, rect(-3.5, -1.75, 0, 1.75), 0, 80)
    slope = 0.7
    side = [(0, 40), (50, 40 - 50 * slope), (50, 44 - 50 * slope), (0, 44)]
    rail = shop.prism("top rail", RAIL, side, 1.5, Place((0, 0.75, 0), (1, 0, 0), (0, 0, 1)))
    (c,) = contacts([post, rail])
    assert (c.a.role, c.b.role, c.kind) == ("top rail", "guard post", "end")
    assert c.area == pytest.approx(4 * 1.5) and c.normal == pytest.approx((-1, 0, 0))
    assert clashes([post, rail]) == []


def test_square_post_on_a_round_footing():
    shop = Workshop()
    post = shop.upright("post", POST, rect(-1.75, -1.75, 1.75, 1.75), 0, 40)
    footing = shop.cylinder("footing", Stock("12 in round", 12, 12, "concrete"), (0, 0, -30), (0, 0, 1), 6, 30)
    wide = shop.cylinder("pad", Stock("4 in round", 4, 4, "concrete"), (100, 0, -30), (0, 0, 1), 2, 30)
    beam = shop.upright("beam", WOOD, rect(90, -6, 110, 6), 0, 2)
    found = contacts([post, footing, wide, beam])
    assert [round(c.area, 6) for c in found if c.b is footing] == [12.25]
    assert [c.area for c in found if c.b is wide] == [pytest.approx(math.pi * 4, rel=5e-4)]  # a 128-gon


def test_hole_takes_its_area_out_of_a_contact():
    shop = Workshop()
    ring = shop.prism("post sleeve", POST, rect(0, 0, 5, 5), 10, Place((0, 0, 0)), [rect(1, 1, 4, 4)])
    plate = shop.upright("post cap", POST, rect(-1, -1, 6, 6), 10, 10.5)
    (c,) = contacts([ring, plate])
    assert c.area == pytest.approx(25 - 9) and c.a is plate


def test_contacts_equal_a_plain_pairwise_count():
    """Boards on joists, counted here from their plan rectangles alone."""
    shop = Workshop()
    joists = [rect(x, 0, x + 1.5, 96) for x in range(0, 193, 16)]
    boards = [rect(-1, y, 194, y + 5.5) for y in np.arange(0, 91, 5.75)]
    parts = [shop.upright("joist", WOOD, r, -7.25, 0, along=(0, 1)) for r in joists]
    parts += [shop.upright("board", BOARD, r, 0, 1) for r in boards]
    want = {}
    for (i, j), (b, r) in itertools.product(enumerate(joists), enumerate(boards)):
        dx = min(j[2][0], r[2][0]) - max(j[0][0], r[0][0])
        dy = min(j[2][1], r[2][1]) - max(j[0][1], r[0][1])
        if dx > 0 and dy > 0:
            want[len(joists) + b, i] = dx * dy
    found = {(c.i, c.j): c.area for c in contacts(parts)}
    assert found.keys() == want.keys()
    assert all(found[k] == pytest.approx(want[k]) for k in want)


def test_small_deck_contacts_by_kind():
    found = Counter((c.a.role, c.b.role, c.kind) for c in contacts(small_deck().parts))
    assert found["joist", "ledger", "end"] == found["joist", "rim", "end"] == 9
    assert found["joist", "beam", "bearing"] == 18  # nine joists on two plies
    assert found["beam", "beam", "side"] == 1
    assert found["post", "footing", "bearing"] == 3
    assert found["blocking", "joist", "end"] == 16
    assert found["baluster", "bottom rail", "bearing"] == found["top rail", "baluster", "bearing"] == 10


def manifold(part) -> manifold3d.Manifold:
    points, triangles = part.solid.tessellate(1e-5, 0.01)
    mesh = manifold3d.Mesh(np.array([p.toTuple() for p in points], np.float32), np.array(triangles, np.uint32))
    mesh.merge()
    return manifold3d.Manifold(mesh)


def test_clashes_of_a_frame_with_faults_agree_with_a_second_kernel():
    """Guard posts, a tread and a stair rail pushed out of place; every pair is tried in manifold3d, without any box
    test."""

    def pushed(part):
        by = {"guard post": (0.4, 1.0, 0), "tread": (0, 0, -0.35), "top rail": (0, 0.3, -0.5)}.get(part.role)
        return part.replaced(place=replace(part.place, origin=tuple(np.add(part.place.origin, by)))) if by else part

    parts = [pushed(p) for p in small_deck().parts]
    bodies = [manifold(p) for p in parts]
    want = {}
    for i, j in itertools.combinations(range(len(parts)), 2):
        volume = (bodies[i] ^ bodies[j]).volume()
        if volume > 0.05:
            want[parts[i].id, parts[j].id] = volume
    found = {tuple(sorted((c.a.id, c.b.id))): c.volume for c in clashes(parts)}
    assert want and {tuple(sorted(k)) for k in want} == found.keys()
    for key, volume in want.items():
        assert found[tuple(sorted(key))] == pytest.approx(volume, rel=1e-4)


@pytest.mark.parametrize("deep,volume", [(0.0, 0.0), (0.25, 0.25 * 1.5 * 5.5), (0.0005, 0.0005 * 1.5 * 5.5)])
def test_clash_of_a_sunk_board_is_its_overlap(deep, volume):
    shop = Workshop()
    joist = shop.upright("joist", WOOD, rect(10, 0, 11.5, 100), -7.25, 0, along=(0, 1))
    board = shop.upright("board", BOARD, rect(0, 20, 60, 25.5), -deep, 1 - deep)
    found = clashes([joist, board])
    assert [c.volume for c in found] == ([pytest.approx(volume)] if volume > 0.001 else [])


def test_clash_between_prisms_that_run_different_ways_goes_to_the_kernel():
    shop = Workshop()
    # a triangular wedge on its side and a mitred board: neither is a prism along the other's direction
    wedge = shop.prism("stringer", WOOD, [(0, 0), (20, 0), (0, 10)], 3, Place((0, 3, 0), (1, 0, 0), (0, 0, 1)))
    board = shop.upright("tread", BOARD, [(2, -1), (30, -1), (33, 10), (2, 10)], 2, 3)
    # wedge occupies y 0..3; at height z it spans x < 20 - 2z: integrate from z = 2 to 3 over x from 2
    want = 3 * ((20 - 2 * 2.5) - 2)
    (c,) = clashes([wedge, board])
    assert c.volume == pytest.approx(want, rel=1e-6)


def test_baluster_through_a_round_pad_is_a_clash():
    shop = Workshop()
    pad = shop.cylinder("footing", Stock("r", 12, 12, "concrete"), (0, 0, 0), (0, 0, 1), 6, 10)
    stick = shop.upright("baluster", RAIL, rect(-0.5, -0.5, 0.5, 0.5), 5, 20)
    (c,) = clashes([pad, stick])
    assert c.volume == pytest.approx(5.0)


# a turned post on its base, corner by corner, whose edges agree but for their last bits: found where two beams share a
# post
TURNED = [
    [
        (18.816956200899295, 3.0337712188735093),
        (19.88367124576254, -0.2997132963241256),
        (23.21715576096017, 0.7670017485391176),
        (22.150440716096927, 4.1004862637367525),
    ],
    [
        (22.15044071609693, 4.1004862637367525),
        (23.217155760960175, 0.7670017485391181),
        (19.88367124576254, -0.2997132963241258),
        (18.816956200899295, 3.0337712188735084),
    ],
]


def test_a_turned_post_on_its_base_bears_whole():
    """The area is the square's, 3.5 x 3.5, whatever the last bits of the corners are."""
    from plumbcut.model.measuring.contacts import _overlap

    shared, _ = _overlap(*(shapely.polygons(np.array([ring])) for ring in TURNED))
    assert shapely.area(shared)[0] == pytest.approx(3.5 * 3.5, abs=1e-5)
    pick = np.random.default_rng(5)
    angle, at = pick.uniform(0, 2 * np.pi, 3000), pick.uniform(-200, 200, (3000, 1, 2))
    corner = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) * 1.75
    turn = np.stack([np.stack([np.cos(angle), -np.sin(angle)], -1), np.stack([np.sin(angle), np.cos(angle)], -1)], 1)
    one = at + np.einsum("nij,kj->nki", turn, corner)
    two = np.nextafter(one, one + pick.choice([-1.0, 1.0], one.shape))[:, ::-1]
    shared, _ = _overlap(shapely.polygons(one), shapely.polygons(two))
    assert shapely.area(shared) == pytest.approx(np.full(3000, 12.25), abs=1e-5)
