"""Quantities against closed-form arithmetic written here from the sizes of an invented frame, and against trimesh."""

from __future__ import annotations

import math

import pytest
import trimesh
from conftest import demo_deck, demo_measured

from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.order.quantities import quantities, totals
from plumbcut.model.solid.part import Workshop
from plumbcut.shared.stock import Stock, material

WOOD = Stock("2x8", 1.5, 7.25, "treated lumber")
BOARD = Stock("5/4x6", 1.0, 5.5, "composite board")
ROUND = Stock("16 in round", 16.0, 16.0, "concrete")


def rect(x0, y0, x1, y1):
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def frame():
    """12 ft x 8 ft: ledger and rim 144 long, ten joists between them, 16 boards, two footings."""
    shop, parts = Workshop(), []
    parts += [shop.upright(r, WOOD, rect(0, y, 144, y + 1.5), -7.25, 0) for r, y in (("rim", 0), ("ledger", 94.5))]
    parts += [
        shop.upright("joist", WOOD, rect(x, 1.5, x + 1.5, 94.5), -7.25, 0, (0, 1)) for x in [*range(0, 144, 16), 142.5]
    ]
    parts += [shop.upright("board", BOARD, rect(0, 5.75 * k, 144, 5.75 * k + 5.5), 0, 1) for k in range(16)]
    parts += [shop.cylinder("footing", ROUND, (x, 20, -50), (0, 0, 1), 8, 40) for x in (12, 132)]
    return [p.replaced(mark=p.role) for p in parts]


def test_lines_of_a_frame_by_arithmetic():
    lines = {x.role: x for x in quantities(measure_all(frame()))}
    joist, board, footing = lines["joist"], lines["board"], lines["footing"]
    assert (joist.count, joist.length, joist.longest) == (10, pytest.approx(10 * 93), pytest.approx(93))
    assert joist.volume == pytest.approx(10 * 93 * 1.5 * 7.25)
    assert (board.count, board.top_area_sqft) == (16, pytest.approx(16 * 144 * 5.5 / 144))
    assert board.length_ft == pytest.approx(16 * 12)
    assert footing.volume == pytest.approx(2 * math.pi * 64 * 40, rel=1e-12)
    assert footing.weight == pytest.approx(2 * math.pi * 64 * 40 / 1728 * 150)  # 150 pcf, DCA 6-2012 Table 4 footnote
    assert [x.group for x in quantities(measure_all(frame()))] == ["footings", "frame", "frame", "frame", "surface"]


def test_totals_of_a_frame():
    t = totals(measure_all(frame()))
    assert t.pieces == 30
    assert t.surface_area == pytest.approx(16 * 144 * 5.5)
    assert t.concrete_yards == pytest.approx(2 * math.pi * 64 * 40 / 46656)
    wood = (2 * 144 + 10 * 93) * 1.5 * 7.25 / 1728 * material("treated lumber").density_pcf
    boards = 16 * 144 * 5.5 / 1728 * material("composite board").density_pcf
    assert t.delivered == pytest.approx(wood + boards)
    assert sum(t.weight_by_group.values()) == pytest.approx(t.delivered + 2 * math.pi * 64 * 40 / 1728 * 150)


def test_every_piece_of_a_demo_is_watertight_and_adds_up(demo):
    """trimesh's volume of the tessellated solid, piece by piece; sums by role from the meshes against the lines."""
    volume: dict[tuple, float] = {}
    meshes = {}
    for part in demo_deck(demo).parts:
        if part.shape not in meshes:
            points, triangles = part.shape.solid.tessellate(1e-3, 0.02)
            mesh = trimesh.Trimesh(
                [p.toTuple() for p in points], triangles, process=True, merge_norm=True, merge_tex=True
            )
            assert mesh.is_watertight, part.id
            meshes[part.shape] = mesh.volume
        key = part.role, part.stock
        volume[key] = volume.get(key, 0.0) + meshes[part.shape]
    for line in quantities(demo_measured(demo)):
        assert line.volume == pytest.approx(
            volume[line.role, line.stock], rel=1e-3 if line.group == "footings" else 1e-9
        )


def test_counts_of_a_demo_are_its_parts(demo):
    lines = quantities(demo_measured(demo))
    assert sum(x.count for x in lines) == len(demo_deck(demo).parts) == totals(demo_measured(demo)).pieces
    assert sum(x.marks for x in lines) == len({p.mark for p in demo_deck(demo).parts})


def test_surface_covers_the_deck_but_for_gaps(demo):
    """Boards 5-1/2 wide with 1/4 gaps cover some 96 percent of the plan; borders and notches move that a little."""
    deck = demo_deck(demo)
    share = totals(demo_measured(demo)).surface_area / deck.layout.outline.polygon.area
    assert 0.90 < share < 1.06
