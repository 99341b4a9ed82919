"""`model.glb` read back by the glTF 2.0 specification alone (ISO/IEC 12113:2022, 3.4, 3.6, 4.4): nothing of the program
and no library that wrote it. Inches, z up."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import manifold3d
import numpy as np

INCH = 1 / 0.0254  # glTF is in metres
_JSON, _BINARY = 0x4E4F534A, 0x004E4942  # kinds of chunk
_TYPES = {5125: np.uint32, 5123: np.uint16, 5121: np.uint8, 5126: np.float32}
_WIDTH = {"SCALAR": 1, "VEC3": 3, "VEC4": 4, "VEC2": 2}
_Z_UP = np.array([[1, 0, 0, 0], [0, 0, -1, 0], [0, 1, 0, 0], [0, 0, 0, 1]], float)
_ONE_POINT = 1e-6  # metres: corners nearer than this are one (they are written once a triangle)


@dataclass(frozen=True, eq=False)
class Piece:
    """One node: its name, what its extras say, its corners in the world (n, 3), its triangles (m, 3), its local axes as
    columns, and its solid."""

    id: str
    about: dict
    corners: np.ndarray
    faces: np.ndarray
    axes: np.ndarray
    solid: manifold3d.Manifold

    @property
    def role(self) -> str:
        return self.about["role"]

    @cached_property
    def box(self) -> np.ndarray:
        return np.array([self.corners.min(axis=0), self.corners.max(axis=0)])

    @cached_property
    def triangles(self) -> np.ndarray:
        """(m, 3, 3) corners of the triangles."""
        return self.corners[self.faces]

    @cached_property
    def normals(self) -> np.ndarray:
        """(m, 3) unit normals of the triangles."""
        t = self.triangles
        n = np.cross(t[:, 1] - t[:, 0], t[:, 2] - t[:, 0])
        return n / np.maximum(np.linalg.norm(n, axis=1, keepdims=True), 1e-12)


def pieces(path: Path) -> list[Piece]:
    """Every node with a mesh, in the order of the file. Raises ValueError for a mesh that is no closed solid."""
    tree, binary = _chunks(path.read_bytes())
    meshes = [_mesh(tree, binary, m) for m in tree["meshes"]]
    found = []

    def walk(node: int, above: np.ndarray) -> None:
        here = tree["nodes"][node]
        placed = above @ _matrix(here)
        if "mesh" in here:
            corners, faces, solid = meshes[here["mesh"]]
            m = _Z_UP @ placed
            m = np.vstack([np.column_stack([m[:3, :3], m[:3, 3] * INCH]), [0, 0, 0, 1]])
            moved = solid.transform(m[:3])
            found.append(
                Piece(here["name"], here.get("extras", {}), corners @ m[:3, :3].T + m[:3, 3], faces, m[:3, :3], moved)
            )
        for child in here.get("children", ()):
            walk(child, placed)

    for root in tree["scenes"][tree.get("scene", 0)]["nodes"]:
        walk(root, np.eye(4))
    return found


def _chunks(data: bytes) -> tuple[dict, bytes]:
    _, version, length = np.frombuffer(data[:12], "<u4")
    assert data[:4] == b"glTF" and version == 2 and length == len(data), "no binary glTF 2.0 file"
    chunks, at = {}, 12
    while at < len(data):
        size, kind = (int(x) for x in np.frombuffer(data[at : at + 8], "<u4"))
        chunks[kind] = data[at + 8 : at + 8 + size]
        at += 8 + size
    return json.loads(chunks[_JSON]), chunks[_BINARY]


def _array(tree: dict, binary: bytes, number: int) -> np.ndarray:
    a = tree["accessors"][number]
    view = tree["bufferViews"][a["bufferView"]]
    width, kind = _WIDTH[a["type"]], _TYPES[a["componentType"]]
    start = view.get("byteOffset", 0) + a.get("byteOffset", 0)
    assert "byteStride" not in view, "rows apart"
    return np.frombuffer(binary, kind, a["count"] * width, start).reshape(-1, width)


def _mesh(tree: dict, binary: bytes, mesh: dict) -> tuple[np.ndarray, np.ndarray, manifold3d.Manifold]:
    (primitive,) = mesh["primitives"]
    points = _array(tree, binary, primitive["attributes"]["POSITION"]).astype(float)
    faces = _array(tree, binary, primitive["indices"]).reshape(-1, 3).astype(np.int64)
    # equal within rounding is one corner: sorted by cells, with a cell's neighbour looked at by shifting the grid
    _, first, back = np.unique(np.round(points / _ONE_POINT), axis=0, return_index=True, return_inverse=True)
    corners, faces = points[first] * INCH, back.reshape(-1)[faces]
    solid = manifold3d.Manifold(manifold3d.Mesh64(corners, faces.astype(np.uint64)))
    if solid.status() != manifold3d.Error.NoError or solid.is_empty():
        raise ValueError(f"{mesh.get('name')}: no closed solid: {solid.status()}")
    return corners, faces, solid


def _matrix(node: dict) -> np.ndarray:
    if "matrix" in node:
        return np.array(node["matrix"], float).reshape(4, 4).T
    m = np.eye(4)
    if "rotation" in node:
        x, y, z, w = node["rotation"]
        m[:3, :3] = [
            [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
            [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
            [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
        ]
    m[:3, :3] = m[:3, :3] * np.array(node.get("scale", (1, 1, 1)))
    m[:3, 3] = node.get("translation", (0, 0, 0))
    return m
