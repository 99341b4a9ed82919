"""The model files read back by other readers: cadquery's STEP import, trimesh for STL and GLB, and plain JSON."""

from __future__ import annotations

import json
import os
import struct
import subprocess
import sys
from pathlib import Path

import cadquery as cq
import numpy as np
import pytest
import trimesh
from small_deck import small_deck

from plumbcut.exports.formats import solids
from plumbcut.exports.linework import mesh
from plumbcut.exports.pictures.colours import colour
from plumbcut.model.deck import build
from plumbcut.model.parameter_file import read
from plumbcut.model.solid.kernel import Shape
from plumbcut.model.solid.roles import ROLES
from plumbcut.params import __path__ as DEMOS

MM = 25.4  # cadquery reads every STEP file into millimetres; inch = 25.4 mm exactly (yard and pound agreement of 1959)


@pytest.fixture(scope="module", params=["small", "terrace", "wraparound", "hillside"])
def deck(request):
    """An invented frame with every kind of prism, and each demo as it is built."""
    return small_deck() if request.param == "small" else build(read(os.path.join(DEMOS[0], f"{request.param}.toml")))


@pytest.fixture(scope="module")
def step(deck, tmp_path_factory):
    path = tmp_path_factory.mktemp("step") / "model.step"
    solids.write_step(deck, path)
    return path


@pytest.fixture(scope="module")
def tree(step):
    return cq.Assembly.load(str(step))


def _leaves(assembly, at=cq.Location()):
    at = at * assembly.loc
    if assembly.obj is not None:
        shape = assembly.obj.val() if isinstance(assembly.obj, cq.Workplane) else assembly.obj
        yield assembly.name, shape.moved(at), assembly.color
    for child in assembly.children:
        yield from _leaves(child, at)


def test_step_reads_back_with_the_same_count_names_places_and_volumes(deck, tree):
    read = {name: (shape, tint) for name, shape, tint in _leaves(tree)}
    assert sorted(read) == sorted(p.id for p in deck.parts)
    for part in deck.parts:
        shape, tint = read[part.id]
        assert shape.Volume() / MM**3 == pytest.approx(part.solid.Volume(), rel=1e-9), part.id
        box, wanted = shape.BoundingBox(), part.solid.BoundingBox()
        got = np.array([box.xmin, box.ymin, box.zmin, box.xmax, box.ymax, box.zmax]) / MM
        want = [wanted.xmin, wanted.ymin, wanted.zmin, wanted.xmax, wanted.ymax, wanted.zmax]
        assert np.allclose(got, want, atol=1e-6), part.id
        assert np.allclose(np.array(tint.toTuple()[:3]) * 255, colour(part), atol=0.6), part.id


def test_step_is_in_inches_and_repeats_each_shape_as_an_instance(deck, step):
    text = step.read_text()
    assert "CONVERSION_BASED_UNIT('INCH'" in text and "SI_UNIT(.MILLI.,.METRE.)" in text
    assert text.count("MANIFOLD_SOLID_BREP(") == len({(p.shape, p.mark) for p in deck.parts}) < len(deck.parts)
    for mark in {p.mark for p in deck.parts}:
        assert f"PRODUCT('{mark}','{mark}'" in text


def test_step_nests_pieces_in_roles_in_groups(deck, tree):
    found = {
        (group.name, role.name, piece.name)
        for group in tree.children
        for role in group.children
        for piece in role.children
    }
    assert found == {(p.group, f"{p.group}: {p.role}", p.id) for p in deck.parts}


def test_step_leaves_the_kernel_units_as_cadquery_expects(deck, step, tmp_path):
    cq.exporters.export(cq.Workplane().box(1, 1, 1), str(tmp_path / "after.step"))
    assert "INCH" not in (tmp_path / "after.step").read_text()


def test_step_says_nothing_on_the_terminal(deck, tmp_path, capfd):
    solids.write_step(deck, tmp_path / "m.step")
    assert capfd.readouterr() == ("", "")


def test_step_to_a_folder_that_is_not_there_is_an_error(deck, tmp_path):
    with pytest.raises(OSError):
        solids.write_step(deck, tmp_path / "nowhere" / "m.step")


def test_every_mesh_is_closed_and_agrees_with_its_solid(deck):
    for shape in {p.shape for p in deck.parts}:
        vertices, faces = mesh.triangles(shape)
        body = trimesh.Trimesh(vertices, faces, process=False)
        assert body.is_watertight and body.is_winding_consistent
        # a circle of radius r drawn as a regular n-gon has the area n/2 r^2 sin(2 pi / n) (textbook identity)
        short = np.sin(2 * np.pi / mesh.ROUND) * mesh.ROUND / (2 * np.pi) if shape.circle else 1.0
        assert body.volume == pytest.approx(shape.solid.Volume() * short, rel=1e-9)
        assert body.volume == pytest.approx(
            trimesh.Trimesh(*_kernel_mesh(shape)).volume, rel=5e-3 if shape.circle else 1e-9
        )


def _kernel_mesh(shape):
    points, faces = shape.solid.tessellate(1e-3)
    return [p.toTuple() for p in points], faces


@pytest.mark.parametrize(
    "outline, holes",
    [
        ([(0, 0), (10, 0), (10, 10), (6, 10), (6, 2), (4, 2), (4, 10), (0, 10)], ()),  # a deep notch
        (
            [(0, 0), (30, 0), (30, 9), (0, 9)],
            ([(1, 1), (5, 1), (5, 5), (1, 5)], [(6, 1), (6, 5), (9, 5), (9, 1)]),
        ),  # holes either way round
        ([(i * 1.0, 0 if i % 2 else 3.0) for i in range(41)] + [(40, 20), (0, 20)], ()),  # a long saw
        ([(0, 0), (100, 0), (100, 1e-3), (0, 1e-3)], ()),  # a sliver
    ],
)
def test_awkward_outlines_mesh_to_their_area(outline, holes):
    shape = Shape(tuple(outline), 2.0, tuple(tuple(h) for h in holes))
    body = trimesh.Trimesh(*mesh.triangles(shape), process=False)
    assert body.is_watertight and body.volume == pytest.approx(shape.polygon.area * 2, rel=1e-9)


def test_stl_holds_every_piece_as_its_own_closed_shell(deck, tmp_path):
    solids.write_stl(deck, tmp_path / "model.stl")
    read = trimesh.load_mesh(tmp_path / "model.stl", process=False)
    at = 0
    for part in deck.parts:  # shells lie in the file in the order of the pieces
        count = len(mesh.triangles(part.shape)[1])
        shell = trimesh.Trimesh(read.triangles[at : at + count].reshape(-1, 3), np.arange(3 * count).reshape(-1, 3))
        assert shell.is_watertight, part.id
        assert shell.volume == pytest.approx(part.solid.Volume(), rel=4e-3 if part.shape.circle else 1e-4), part.id
        assert np.allclose(shell.bounds, part.box, atol=0.05 if part.shape.circle else 1e-3), part.id
        at += count
    assert at == len(read.faces)


def test_glb_names_every_piece_in_metres_with_y_up(deck, tmp_path):
    solids.write_glb(deck, tmp_path / "model.glb")
    scene = trimesh.load_scene(tmp_path / "model.glb")
    nodes = set(scene.graph.nodes_geometry)
    assert nodes == {p.id for p in deck.parts}
    for part in deck.parts:
        matrix, geometry = scene.graph[part.id]
        corners = trimesh.transform_points(scene.geometry[geometry].vertices, matrix)
        x, y, z = part.vertices.T * 0.0254
        wanted = np.column_stack([x, z, -y])  # glTF 2.0, 3.4: y up, metres, right-handed
        assert np.allclose(corners.min(axis=0), wanted.min(axis=0), atol=1e-3 if part.shape.circle else 1e-6), part.id
        assert np.allclose(corners.max(axis=0), wanted.max(axis=0), atol=1e-3 if part.shape.circle else 1e-6), part.id


def test_glb_shares_meshes_and_carries_mark_and_material(deck):
    data = solids.glb(deck.parts)
    magic, version, size = struct.unpack("<4sII", data[:12])
    assert (magic, version, size) == (b"glTF", 2, len(data))
    tree = json.loads(data[20 : 20 + struct.unpack("<I", data[12:16])[0]])
    by_name = {n["name"]: n for n in tree["nodes"]}
    assert len(tree["meshes"]) < len(deck.parts)
    for part in deck.parts:
        node = by_name[part.id]
        assert node["extras"]["mark"] == part.mark and node["extras"]["role"] == part.role
        material = tree["materials"][tree["meshes"][node["mesh"]]["primitives"][0]["material"]]
        assert material["name"] == f"{part.role} ({part.stock.material})"


def test_every_role_has_a_colour():
    for role in ROLES.values():
        assert len(role.colour) == 3 and all(0 <= c <= 255 for c in role.colour)


STEP_CODE = """
import sys
from plumbcut.exports.formats.solids import write_step
from plumbcut.model.deck import build
from plumbcut.model.parameter_file import read
write_step(build(read(sys.argv[1])), sys.argv[2])
"""


def test_every_process_writes_the_same_step(tmp_path):
    """The kernel lists colours as they lie in memory and stamps the time: neither reaches the file."""
    files = []
    for seed in ("0", "5"):
        call = [sys.executable, "-c", STEP_CODE, str(Path(DEMOS[0]) / "terrace.toml"), str(tmp_path / seed)]
        subprocess.run(call, check=True, env={**os.environ, "PYTHONHASHSEED": seed})
        files.append((tmp_path / seed).read_bytes())
    assert files[0] == files[1]
