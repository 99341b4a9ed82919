"""Views against outside geometry: OpenCASCADE's sections and exact hidden-line removal, and manifold3d's slices.

The oracles work on the solids; the views work on outlines. They share nothing but the piece's definition.
"""

import math

import numpy as np
import pytest
import shapely
from kernel_section import occ_section_area
from shapely.geometry import LineString

from plumbcut.exports.linework import hidden as hidden_lines
from plumbcut.exports.linework.eye import Eye
from plumbcut.exports.linework.hidden import hidden_spans, once
from plumbcut.exports.linework.view_faces import scene
from plumbcut.exports.linework.views import CUT, HIDDEN, SEEN, cut_faces, elevation, plan, project, section
from plumbcut.model.solid.part import Place, Workshop
from plumbcut.shared.stock import Stock

WOOD = Stock("2x8", 1.5, 7.25, "treated lumber")
SAW = [(0, 0), (10, 0), (10, 7), (20, 7), (20, 14), (30, 14), (30, 21), (44, 21), (44, 15), (8, -9.0)]
NOTCHED = [(0, 0), (96, 0), (96, 5.5), (60, 5.5), (60, 2), (56, 2), (56, 5.5), (4, 5.5)]


def occ_visible_length(parts, view: Eye) -> float:
    """Length of the union of visible sharp edges and silhouettes (OpenCASCADE's exact hidden-line removal)."""
    import cadquery as cq
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
    from OCP.HLRAlgo import HLRAlgo_Projector
    from OCP.HLRBRep import HLRBRep_Algo, HLRBRep_HLRToShape

    algo = HLRBRep_Algo()
    for p in parts:
        algo.Add(p.solid.wrapped)
    algo.Projector(HLRAlgo_Projector(gp_Ax2(gp_Pnt(0, 0, 0), gp_Dir(*view.toward), gp_Dir(*view.right))))
    algo.Update()
    algo.Hide()
    shapes = HLRBRep_HLRToShape(algo)
    lines = []
    for found in (shapes.VCompound(), shapes.OutLineVCompound()):
        if found is None or found.IsNull():
            continue
        for e in cq.Shape.cast(found).Edges():
            steps = 1 if e.geomType() == "LINE" else 64
            lines.append(LineString([e.positionAt(k / steps).toTuple()[:2] for k in range(steps + 1)]))
    return length_of(lines)


def length_of(lines) -> float:
    """Length of lines with coincident stretches counted once (a thin buffer's area over its width, ends allowed
    for)."""
    lines = [l for l in lines if l.length > 1e-6]
    snapped = shapely.unary_union(shapely.set_precision(np.array(lines), 1e-4))
    return snapped.length


def our_length(work, kinds=(SEEN, CUT)) -> float:
    lines = [LineString([l.a, l.b]) for l in work.lines if l.kind in kinds]
    rounds = [
        LineString(shapely.Point(r.centre).buffer(r.radius, quad_segs=64).exterior.coords)
        for r in work.rounds
        if r.kind in kinds
    ]
    return length_of(lines + rounds)


def random_place(rng) -> Place:
    q, _ = np.linalg.qr(rng.normal(size=(3, 3)))
    return Place(tuple(rng.uniform(-20, 20, 3)), tuple(q[0]), tuple(q[1]))


def random_view(rng, plane=None) -> Eye:
    q, _ = np.linalg.qr(rng.normal(size=(3, 3)))
    if np.linalg.det(q) < 0:
        q[2] *= -1
    return Eye(tuple(q[0]), tuple(q[1]), tuple(q[2]), plane)


def some_parts(rng) -> list:
    shop = Workshop()
    made = [
        shop.prism("stringer", WOOD, SAW, 1.5, random_place(rng)),
        shop.prism("board", WOOD, NOTCHED, 1.0, random_place(rng)),
    ]
    made.append(
        shop.prism(
            "board",
            WOOD,
            [(0, 0), (30, 0), (30, 30), (0, 30)],
            4,
            random_place(rng),
            holes=[[(5, 5), (15, 5), (15, 15), (5, 15)]],
        )
    )
    made.append(shop.cylinder("footing", WOOD, rng.uniform(-10, 10, 3), rng.normal(size=3), 6.0, 30.0))
    return made


@pytest.mark.parametrize("seed", range(12))
def test_section_area_is_the_solids_own(seed):
    rng = np.random.default_rng(seed)
    hits = 0
    for part in some_parts(rng):
        centre = part.vertices.mean(axis=0)
        view = random_view(rng)
        view = Eye(view.right, view.up, view.toward, float(centre @ view.toward + rng.uniform(-3, 3)))
        ours = sum(f.area for f in cut_faces(part, view))
        assert ours == pytest.approx(occ_section_area(part, view), rel=1e-3, abs=1e-6)
        hits += ours > 0
    assert hits


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("axis", [0, 1, 2])
def test_section_along_and_across_the_extrusion(seed, axis):
    """The plane is square to one of the piece's own axes: the cases whose oblique arithmetic would divide by zero."""
    rng = np.random.default_rng(100 + seed)
    for part in some_parts(rng):
        m = part.place.matrix[:3, :3]
        toward, right = m[:, axis], m[:, (axis + 1) % 3]
        d = part.vertices @ toward
        view = Eye(tuple(right), tuple(np.cross(toward, right)), tuple(toward), float(rng.uniform(d.min(), d.max())))
        assert sum(f.area for f in cut_faces(part, view)) == pytest.approx(
            occ_section_area(part, view), rel=1e-3, abs=1e-6
        )


@pytest.mark.parametrize("seed", range(6))
def test_section_agrees_with_a_second_kernel(seed):
    """manifold3d slices the tessellated solid; its area must be ours (to the facets of a round piece)."""
    import manifold3d

    rng = np.random.default_rng(200 + seed)
    for part in some_parts(rng):
        points, faces = part.solid.tessellate(1e-4, 0.02)
        mesh = manifold3d.Mesh64(np.array([p.toTuple() for p in points]), np.array(faces, np.uint64))
        mesh.merge()
        solid = manifold3d.Manifold(mesh)
        assert solid.volume() == pytest.approx(part.solid.Volume(), rel=1e-3)
        view = random_view(rng, float(part.vertices.mean(axis=0) @ (0, 0, 1)))
        axes = view.axes
        plane = float(part.vertices.mean(axis=0) @ axes[2])
        view = Eye(view.right, view.up, view.toward, plane)
        slice_ = solid.transform(np.column_stack([axes, np.zeros(3)])).slice(plane)
        assert sum(f.area for f in cut_faces(part, view)) == pytest.approx(slice_.area(), rel=2e-3, abs=1e-6)


def test_a_plane_that_only_touches_does_not_cut():
    part = Workshop().upright("joist", WOOD, [(0, 0), (1.5, 0), (1.5, 96), (0, 96)], 10, 17.25, along=(0, 1))
    for x in (0.0, 1.5):
        assert cut_faces(part, Eye.looking((1, 0), (x, 0))) == []
    (face,) = cut_faces(part, Eye.looking((1, 0), (0.75, 0)))
    assert face.bounds == pytest.approx((-96, 10, 0, 17.25))  # looking along +x, y runs to the left


def plain_spans(a, b, faces, nearest=np.inf) -> list[list[tuple[float, float]]]:
    """The reference for hidden stretches: every edge clipped by every face (Cyrus and Beck), nothing left out, one face
    at a time."""
    found: list[list[tuple[float, float]]] = [[] for _ in a]
    for ring in (r for group in faces for r in group):
        normal = np.cross(ring[1:-1] - ring[0], ring[2:] - ring[0]).sum(axis=0)
        if abs(normal[2]) < 1e-9:
            continue  # on edge
        turned = ring if normal[2] > 0 else ring[::-1]

        def depth(p):
            return ring[0, 2] - ((p[:, :2] - ring[0, :2]) @ normal[:2]) / normal[2]

        limits = [
            (a[:, 2] + hidden_lines.BEHIND - depth(a), b[:, 2] + hidden_lines.BEHIND - depth(b))
        ]  # inside where <= 0
        if np.isfinite(nearest):
            limits.append((depth(a) - nearest - hidden_lines.BEHIND, depth(b) - nearest - hidden_lines.BEHIND))
        for p, q in zip(turned[:, :2], np.roll(turned[:, :2], -1, axis=0)):
            out = np.array([q[1] - p[1], p[0] - q[0]]) / np.hypot(*(q - p))
            limits.append(tuple((end[:, :2] - p) @ out - hidden_lines.SILHOUETTE for end in (a, b)))
        t0, t1 = np.zeros(len(a)), np.ones(len(a))
        for at_a, at_b in limits:
            with np.errstate(divide="ignore", invalid="ignore"):
                t = at_a / (at_a - at_b)
            t1 = np.where((at_a <= 0) & (at_b > 0), np.minimum(t1, t), t1)
            t0 = np.where((at_a > 0) & (at_b <= 0), np.maximum(t0, t), t0)
            t1 = np.where((at_a > 0) & (at_b > 0), -1, t1)
        for i in np.nonzero(t1 - t0 > 1e-9)[0]:
            found[i].append((float(t0[i]), float(t1[i])))
    return [joined_spans(spans) for spans in found]


def joined_spans(spans):
    out: list[tuple[float, float]] = []
    for t0, t1 in sorted(spans):
        if out and t0 <= out[-1][1] + 1e-7:
            out[-1] = out[-1][0], max(out[-1][1], t1)
        else:
            out.append((t0, t1))
    return out


def rows_of_parts(rng, toward) -> list:
    """Random pieces in rows away from the eye, the last of each a little off its row: much stands wholly behind
    much."""
    parts = []
    for k in range(3):
        for p in some_parts(rng)[:3]:
            for n in range(5):
                o = (
                    np.asarray(p.place.origin)
                    + (25 * k, 0, 0)
                    - 40 * n * np.asarray(toward)
                    + (rng.uniform(-2, 2, 3) if n == 4 else 0)
                )
                parts.append(p.replaced(place=Place(tuple(o), p.place.x, p.place.y)))
    shop = Workshop()
    parts += [
        shop.upright("joist", WOOD, [(0, y), (96, y), (96, y + 1.5), (0, y + 1.5)], 0, 7.25) for y in range(0, 160, 16)
    ]
    parts += [
        shop.upright("board", WOOD, [(x, 0), (x + 5.5, 0), (x + 5.5, 160), (x, 160)], 7.25, 8.25)
        for x in np.arange(0, 90, 5.75)
    ]
    parts.append(shop.upright("border", WOOD, [(-6, -6), (96, -6), (90.5, -0.5), (-0.5, -0.5)], 7.25, 8.25))
    return parts


@pytest.mark.parametrize("plane", [None, 30.0])
@pytest.mark.parametrize("seed", range(6))
def test_faces_left_out_early_change_no_hidden_stretch(seed, plane):
    """What is dropped before the clip (faces and edges wholly behind one nearer face) against a clip that drops
    nothing."""
    rng = np.random.default_rng(400 + seed)
    view = (
        Eye.looking((0, 1)),
        Eye.above(),
        Eye.looking((0.3, 0.954)),
        Eye.looking((0, -1)),
        random_view(rng),
        random_view(rng),
    )[seed]
    made = scene(rows_of_parts(rng, view.toward), view)
    nearest = np.inf if plane is None else float(np.median(made.a[:, 2]) + plane / 2)
    before = np.maximum(made.a[:, 2], made.b[:, 2]) <= nearest
    a, b = made.a[before], made.b[before]
    groups = [hidden_lines._CornerGroup.of(f) for f in made.faces]
    fewer, whole = hidden_lines._settled(a, b, groups, nearest)
    assert len(whole) > 20 and sum(len(g.rings) for g in fewer) < 0.9 * sum(
        len(g.rings) for g in groups
    )  # there is something to leave out
    ours: list[list[tuple[float, float]]] = [[] for _ in a]
    for e, t0, t1 in zip(*hidden_spans(a, b, made.faces, nearest)):
        ours[e].append((float(t0), float(t1)))
    length = np.hypot(*(b - a)[:, :2].T)
    for mine, plain, long in zip(ours, plain_spans(a, b, made.faces, nearest), length):
        if long < hidden_lines.SHORTEST_LINE:
            continue
        keep = [[s for s in spans if (s[1] - s[0]) * long > 2e-5] for spans in (mine, plain)]
        assert np.ravel(keep[0]) == pytest.approx(np.ravel(keep[1]), abs=max(2e-5 / long, 1e-7))


def test_of_two_faces_in_one_plane_neither_is_dropped_for_the_other():
    square = np.array([[0, 0, 0], [10, 0, 0], [10, 10, 0], [0, 10, 0.0]])
    far = square * 0.5 + (2, 2, -5)
    group = hidden_lines._CornerGroup.of(np.stack([square, square, far, far + (0, 0, 2e-7)]))
    gone = hidden_lines.dropped(group.rings, group.walls, group.depth, hidden_lines.SILHOUETTE)
    assert gone.tolist() == [False, False, True, True]


def frame():
    """A small frame: ledger, joists under boards, a beam in two plies on posts on round footings, a stringer and a
    guard."""
    shop = Workshop()
    parts = [shop.upright("ledger", WOOD, [(0, 94.5), (96, 94.5), (96, 96), (0, 96)], 20, 27.25)]
    parts += [
        shop.upright("joist", WOOD, [(x, 1.5), (x + 1.5, 1.5), (x + 1.5, 94.5), (x, 94.5)], 20, 27.25, along=(0, 1))
        for x in range(0, 95, 16)
    ]
    parts += [shop.upright("rim", WOOD, [(0, 0), (96, 0), (96, 1.5), (0, 1.5)], 20, 27.25)]
    parts += [shop.upright("beam", WOOD, [(0, y), (96, y), (96, y + 1.5), (0, y + 1.5)], 10.75, 20) for y in (12, 13.5)]
    parts += [shop.box_along("post", WOOD, (x, 13.5, -2), (x, 13.5, 10.75), (1, 0, 0), 5.5, 5.5) for x in (10, 86)]
    parts += [shop.cylinder("footing", WOOD, (x, 13.5, -30), (0, 0, 1), 6, 28) for x in (10, 86)]
    parts += [
        shop.upright("board", WOOD, [(0, y), (96, y), (96, y + 5.5), (0, y + 5.5)], 27.25, 28.25)
        for y in np.arange(-1, 90, 5.75)
    ]
    parts += [
        shop.prism("stringer", WOOD, SAW, 1.5, Place((30, -44, 3), (0, 1, 0), (0, 0, 1))),
        shop.prism("stringer", WOOD, SAW, 1.5, Place((60, -44, 3), (0, 1, 0), (0, 0, 1))),
    ]
    # a sloped rail: a parallelogram in the side view
    parts += [
        shop.prism(
            "top rail", WOOD, [(0, 34), (44, 55), (44, 58.5), (0, 37.5)], 1.5, Place((30, -44, 3), (0, 1, 0), (0, 0, 1))
        )
    ]
    parts += [shop.box_along("guard post", WOOD, (30 + 1.75, 3, 20), (31.75, 3, 64), (1, 0, 0), 3.5, 3.5)]
    return parts


VIEWS = {
    "front": Eye.looking((0, 1)),
    "left": Eye.looking((1, 0)),
    "right": Eye.looking((-1, 0)),
    "back": Eye.looking((0, -1)),
    "above": Eye.above(),
    "askew": Eye.looking((0.6, 0.8)),
}


@pytest.mark.parametrize("name", VIEWS)
def test_visible_lines_are_those_of_exact_hidden_line_removal(name):
    parts = frame()
    ours, occ = our_length(project(parts, VIEWS[name])), occ_visible_length(parts, VIEWS[name])
    assert ours == pytest.approx(occ, rel=1e-3)


@pytest.mark.parametrize("seed", range(8))
def test_visible_lines_of_a_random_heap(seed):
    """Pieces placed at random, also through each other's shadow, seen from a random eye."""
    rng = np.random.default_rng(300 + seed)
    parts = []
    for _k in range(3):  # set apart so that no two solids run into each other: the oracle wants sound bodies
        for p in some_parts(rng)[:3]:
            o = np.asarray(p.place.origin) + (0, 0, 130 * len(parts))
            parts.append(p.replaced(place=Place(tuple(o), p.place.x, p.place.y)))
    view = Eye.above() if seed % 2 else random_view(rng)
    assert our_length(project(parts, view)) == pytest.approx(occ_visible_length(parts, view), rel=2e-3)


def test_seen_and_hidden_together_are_every_edge_turned_to_the_eye():
    parts = frame()
    both = our_length(project(parts, Eye.above(), hidden=True), (SEEN, HIDDEN))
    alone = [LineString([l.a, l.b]) for p in parts for l in project([p], Eye.above(), hidden=True).lines]
    rounds = [r for p in parts for r in project([p], Eye.above()).rounds]
    alone += [LineString(shapely.Point(r.centre).buffer(r.radius, quad_segs=64).exterior.coords) for r in rounds]
    assert both == pytest.approx(length_of(alone), rel=1e-3)


def test_no_line_twice():
    work = project(frame(), Eye.looking((0, 1)), hidden=True)
    total = sum(l.length for l in work.lines)
    assert length_of([LineString([l.a, l.b]) for l in work.lines]) == pytest.approx(total, rel=1e-4)
    assert min(l.length for l in work.lines) > 0


def test_beam_under_a_framing_plan_is_dashed_and_whole():
    parts = frame()
    above = [p for p in parts if p.role in ("ledger", "joist", "rim")]
    work = plan(above, under=[p for p in parts if p.role in ("beam", "footing")])
    assert {l.kind for l in work.lines if l.part.role == "beam"} == {HIDDEN}
    assert {l.kind for l in work.lines if l.part.role == "joist"} == {SEEN}
    assert [(r.kind, r.radius) for r in work.rounds] == [(HIDDEN, 6), (HIDDEN, 6)]
    # each beam ply's two sides and ends, the shared side once, less where a joist's own line runs along it
    assert sum(l.length for l in work.lines if l.part.role == "beam") == pytest.approx(3 * 96 + 2 * 3 - 2 * 3, abs=3.1)


def test_section_shows_what_lies_behind_and_nothing_before():
    parts = frame()
    work = section(parts, (40, 0), (1, 0), beyond=24)
    assert {c.part.role for c in work.cuts} == {"ledger", "rim", "beam", "board"}
    xs = [p.box[0, 0] for p in {id(l.part): l.part for l in work.lines if l.kind == SEEN}.values()]
    joists = [p for p in {id(l.part): l.part for l in work.lines if l.kind == SEEN}.values() if p.role == "joist"]
    assert [p.box[0, 0] for p in joists] == [48]  # the next joist behind the plane; those beyond hide behind it
    assert xs and min(xs) < 65
    assert not any(l.part.role == "guard post" for l in work.lines)


def test_once_keeps_the_higher_rank():
    a = np.array([[0, 0], [2, 0], [0, 5], [9, 0.0]])
    b = np.array([[10, 0], [6, 0], [0, 0], [12, 0.0]])
    source, p, q = once(a, b, np.array([2, 1, 1, 2]), np.zeros(4))
    found = sorted((int(i), *sorted([tuple(map(float, s)), tuple(map(float, e))])) for i, s, e in zip(source, p, q))
    assert found == [
        (0, (0, 0), (2, 0)),
        (0, (6, 0), (10, 0)),
        (1, (2, 0), (6, 0)),
        (2, (0, 0), (0, 5)),
        (3, (10, 0), (12, 0)),
    ]


def test_view_axes_are_right_handed_and_readable():
    for view in VIEWS.values():
        assert np.linalg.det(view.axes) == pytest.approx(1)
    assert Eye.looking((0, 1)).right == (1, 0, 0)  # from the front, x runs to the right
    assert Eye.looking((1, 0)).right == (0, -1, 0)  # from the left side, the house (y up the sheet) is at the left


def test_elevation_hides_joists_behind_the_rim():
    work = elevation(frame(), (0, 1))
    assert not [l for l in work.lines if l.part.role == "joist"]
    assert [l for l in elevation(frame(), (0, 1), hidden=True).lines if l.part.role == "joist" and l.kind == HIDDEN]
    assert math.isclose(work.box[3], 64)
