"""Where steps go on round a corner: the section along the hip stringer and both plans at the mitre, against an own
reckoning from the going and the corner's angle and an own reading of the solids. Decks are invented."""

from __future__ import annotations

import itertools
import math
from functools import cache

import pytest
from shapely import box

from plumbcut.exports.drafting import annotate, furniture
from plumbcut.exports.drafting import drawing as d
from plumbcut.exports.sheets import build_drawing
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.shared.units import feet_inches

RISE, GOING, WIDE = 20 / 3, 10.5, 11.25  # of three risers, of a stair left to its own, of a 2x12
SQUARE = {"points": [[0, 0], [174, 0], [174, 138], [0, 138]], "edges": ["front", "right", "back", "left"]}
CLIPPED = {
    "points": [[0, 0], [120, 0], [180, 60], [180, 150], [0, 150]],
    "edges": ["front", "clip", "right", "back", "left"],
}
TURNED = {
    "points": [[0, 0], [150.6884, 87], [81.6884, 206.5115], [-69, 119.5115]],
    "edges": ["front", "right", "back", "left"],
}
DECKS = {
    "square": (SQUARE, [{"edge": "front", "width": 174, "wrap": True}, {"edge": "right", "width": 138}], 90),
    "clipped": (
        CLIPPED,
        [
            {"edge": "front", "width": 120, "wrap": True},
            {"edge": "clip", "width": 84.85},
            {"edge": "right", "width": 90, "wrap": True},
        ],
        135,
    ),
    "turned": (
        TURNED,
        [{"edge": "front", "width": 90, "at": 83.99, "wrap": True}, {"edge": "right", "width": 100, "at": 0}],
        90,
    ),
}
PAPERS = [("ARCH B", False), ("letter", False), ("A3", True), ("ARCH D", False)]


@cache
def made(name: str):
    outline, stairs, _ = DECKS[name]
    file = {"outline": outline | {"house": ["back"]}, "levels": {"surface": 20}, "stair": stairs}
    return build(Parameters.model_validate(file))


@cache
def drawing(name: str, paper: str = "ARCH B", metric: bool = False) -> d.DrawingSet:
    return build_drawing(made(name), measure_all(made(name).parts), paper=paper, metric=metric)


def views(name: str, begin: str) -> list[d.View]:
    return [v for v in drawing(name).views() if v.name.startswith(begin)]


def lengths(view: d.View, angle: float | None, suffix: str = "") -> list[float]:
    u = (math.cos(math.radians(angle or 0)), math.sin(math.radians(angle or 0)))
    dims = [i for i in view.items if type(i) is d.Dimension and i.angle == angle and i.suffix == suffix]
    if angle is None:
        return [math.dist(i.a, i.b) for i in dims]
    return [abs((i.b[0] - i.a[0]) * u[0] + (i.b[1] - i.a[1]) * u[1]) for i in dims]


def words(view: d.View) -> str:
    return "\n".join(i.text for i in view.items if type(i) is d.Leader)


@pytest.mark.parametrize("name", DECKS)
def test_the_hip_has_its_own_runs_its_throat_and_all_rises(name):
    """Run = going over the sine of half the corner's angle; throat by similar triangles, W - R T / sqrt(R^2 + T^2)."""
    half = math.radians(DECKS[name][2] / 2)
    run = GOING / math.sin(half)
    found = views(name, "Section along hip stringer")
    assert len(found) == len({i["edge"] for i in DECKS[name][1]}) - 1
    for view in found:
        across = lengths(view, 0.0)
        assert sum(abs(x - run) < 1e-3 for x in across) == 3  # one between seats, two between three nosings
        assert lengths(view, 0.0, " ALONG THE MITRE") == pytest.approx([2 * run], abs=1e-3)
        assert lengths(view, 90.0) == pytest.approx([RISE] * 3, abs=1e-3)
        assert lengths(view, 90.0, " TOTAL RISE") == pytest.approx([20.0], abs=1e-3)
        throat = WIDE - RISE * run / math.hypot(RISE, run)
        assert lengths(view, None, " THROAT") == pytest.approx([throat], abs=1e-3)
        assert f"RUN {feet_inches(run)} = GOING" in words(view) and f"/ SIN {math.degrees(half):g}°" in words(view)


@pytest.mark.parametrize("name", DECKS)
def test_every_tread_on_the_mitre_is_told_with_its_long_and_short_point(name):
    told = "\n".join(words(v) for v in views(name, "Treads at the mitre"))
    mitred = [
        p
        for p in made(name).parts
        if p.role == "tread" and any(set(p.carried_by) & {h.id} for h in made(name).roles("hip stringer"))
    ]
    assert len({p.mark for p in mitred}) >= 8
    for p in mitred:
        ring = list(p.footprint.exterior.coords)
        sides = sorted((math.dist(a, b) for a, b in itertools.pairwise(ring)), reverse=True)[:2]
        assert f"{p.mark} {feet_inches(sides[0])}, {feet_inches(sides[1])}" in told
    angle = DECKS[name][2]
    assert f"CORNER {angle}°" in told and f"ENDS CUT {90 - angle / 2:g}° OFF SQUARE" in told


@pytest.mark.parametrize("name", DECKS)
def test_every_stringer_at_the_mitre_is_dimensioned_and_named(name):
    """Along the edge from the corner: each jack's middle is as far from the one before as a dimension says."""
    plans = views(name, "Stringers at the mitre")
    told = "\n".join(words(v) for v in (*plans, *views(name, "Section along hip stringer")))
    parts = made(name).parts
    for role in ("hip stringer", "jack stringer", "hip block", "jack block"):
        assert all(p.mark in told for p in parts if p.role == role)
    for view in plans:
        dims = [i for i in view.items if type(i) is d.Dimension]
        assert len(dims) >= 4
        assert all(math.dist(i.a, i.b) > 1 / 16 for i in dims)


def test_jacks_stand_where_the_dimensions_say():
    """Of the square deck, whose corner is at (174, 0): off the solids, from there along each edge."""
    (view,) = views("square", "Stringers at the mitre")
    jacks = [p for p in made("square").parts if p.role in ("jack stringer", "stringer")]
    below = sorted(
        {round(float(i.a[0]), 3) for i in dims_of(view, 0.0)} | {round(float(i.b[0]), 3) for i in dims_of(view, 0.0)}
    )
    middles = {round(float(p.box[:, 0].mean()), 3) for p in jacks if p.stair == 0}
    assert 174.0 in below and {x for x in middles if x > 174 - 28} <= set(below) <= middles | {174.0}


def dims_of(view: d.View, angle: float) -> list[d.Dimension]:
    return [i for i in view.items if type(i) is d.Dimension and i.angle == angle]


@pytest.mark.parametrize(("paper", "metric"), PAPERS, ids=[p for p, _ in PAPERS])
@pytest.mark.parametrize("name", DECKS)
def test_the_details_stand_clear_and_on_the_paper(name, paper, metric):
    sheets = [s for s in drawing(name, paper, metric).sheets if s.name == "STEPS ROUND A CORNER"]
    assert sheets
    for sheet in sheets:
        room = box(*sheet.room).buffer(0.12)
        ports = [box(*furniture.port_box(p, metric)) for p in sheet.viewports]
        assert all(room.contains(p) for p in ports), sheet.number
        assert all(a.intersection(b).area < 1e-6 for i, a in enumerate(ports) for b in ports[i + 1 :])
        for port in sheet.viewports:
            assert not annotate.overlaps(port.view.items, port.view.scale, metric), port.view.name


@pytest.mark.parametrize("paper", ["ARCH B", "letter"])
def test_the_surface_plan_marks_where_each_hip_is_cut(paper):
    """By the number of a view that is there, at a line along the bisector of the corner."""
    made_ = drawing("clipped", paper)
    plan = next(v for v in made_.views() if v.name == "surface plan")
    of = {(p.number, s.number): p.view.name for s in made_.sheets for p in s.viewports}
    marks = {
        of[i.values["NUMBER"], i.values["SHEET"]] for i in plan.items if type(i) is d.Symbol and "SHEET" in i.values
    }
    hips = {n for n in of.values() if n.startswith("Section along hip stringer")}
    assert len(hips) == 2 and hips <= marks
