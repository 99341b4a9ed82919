"""The model for other programs: STEP (exact solids), STL (triangles) and GLB (triangles, named and coloured).

Each distinct shape is written once and placed as often as it is used. STEP and STL are in inches, z up; GLB is in
metres, y up, as the glTF 2.0 specification (ISO/IEC 12113:2022, 3.4) demands.
"""

from __future__ import annotations

import os
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Protocol

import numpy as np

from ...model.solid.part import Part
from ...model.solid.roles import GROUPS
from ..linework.mesh import by_shape
from ..pictures.colours import colour, linear, surface

STAMP = "2000-01-01T00:00:00"  # in place of the time of writing, so that the same deck gives the same bytes
METRES_PER_INCH = 0.0254  # exact since the international yard and pound agreement of 1959
_Y_UP = np.array([[1, 0, 0, 0], [0, 0, 1, 0], [0, -1, 0, 0], [0, 0, 0, 1]], float)  # z up to y up, right-handed


class HasParts(Protocol):
    parts: Sequence[Part]


def nested(parts: Sequence[Part]) -> dict[str, dict[str, list[Part]]]:
    """The pieces by group, and by role within it, in building order (footings first)."""
    tree: dict[str, dict[str, list[Part]]] = {}
    for group in GROUPS:
        for part in parts:
            if part.group == group:
                tree.setdefault(group, {}).setdefault(part.role, []).append(part)
    return tree


def write_step(deck: HasParts, path: str | Path) -> None:
    """`model.step`: AP214, inches; an assembly of groups, of roles, of pieces.

    An instance is named by the piece's id, the shape it repeats by its mark. Raises OSError where the file cannot be
    written.
    """
    from OCP.Interface import Interface_Static
    from OCP.STEPCAFControl import STEPCAFControl_Writer
    from OCP.STEPControl import STEPControl_StepModelType
    from OCP.XSControl import XSControl_WorkSession

    document = _document(deck.parts)
    writer = STEPCAFControl_Writer(XSControl_WorkSession(), False)
    writer.SetColorMode(True)
    writer.SetNameMode(True)
    Interface_Static.SetIVal_s("write.surfacecurve.mode", 0)  # plane faces need no curves in their parameter space
    # "IN" would be ignored without a word and the file be in millimetres
    Interface_Static.SetCVal_s("xstep.cascade.unit", "INCH")
    Interface_Static.SetCVal_s("write.step.unit", "INCH")
    try:
        with _quiet():
            writer.Transfer(document, STEPControl_StepModelType.STEPControl_AsIs)
            _header(writer)
            done = writer.Write(os.fspath(path))
    finally:  # the kernel's settings are global: leave them as cadquery expects them
        Interface_Static.SetCVal_s("xstep.cascade.unit", "MM")
        Interface_Static.SetCVal_s("write.step.unit", "MM")
    if not done.name.endswith("RetDone"):
        raise OSError(f"{path}: the STEP file could not be written")
    Path(path).write_text(_in_order(Path(path).read_text(encoding="latin-1")), encoding="latin-1")


_STYLES = re.compile(r"#(\d+) = MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION")
_ENTITY = re.compile(r"#(\d+) = (.*?);\n(?=#|ENDSEC)", re.S)
_REFERENCE = re.compile(r"#(\d+)")


def _in_order(text: str) -> str:
    """The file with the colours of its shapes in the order of the shapes: the kernel writes them as they lie in memory,
    so that no two processes made the same bytes. A colour that two shapes share is written with each."""
    first = _STYLES.search(text)
    if first is None:
        return text
    end = text.index("ENDSEC;", first.start())
    start, known = int(first[1]), {}
    for number, body in _ENTITY.findall(text[first.start() : end] + "ENDSEC"):
        known[int(number)] = body
    groups = []
    for root in (n for n, body in known.items() if body.startswith("MECHANICAL_DESIGN")):
        order, shapes = {}, []

        def follow(number: int, order: dict = order, shapes: list = shapes) -> None:
            if number < start:
                shapes.append(number)
            elif number not in order:
                order[number] = len(order)
                for other in _REFERENCE.findall(known[number]):
                    follow(int(other))

        follow(root)
        groups.append((sorted(shapes), order))
    lines, at = [], start
    for _, order in sorted(groups, key=lambda g: g[0]):
        for number in order:
            body = _REFERENCE.sub(lambda m: f"#{at + order[int(m[1])]}" if int(m[1]) >= start else m[0], known[number])
            lines.append(f"#{at + order[number]} = {body};\n")
        at += len(order)
    return text[: first.start()] + "".join(lines) + text[end:]


def _header(writer) -> None:
    """Who wrote the file, in place of the kernel's fillers."""
    from OCP.APIHeaderSection import APIHeaderSection_MakeHeader
    from OCP.TCollection import TCollection_HAsciiString as Text

    header = APIHeaderSection_MakeHeader(writer.ChangeWriter().Model())
    header.SetName(Text("deck"))
    header.SetAuthorValue(1, Text(""))
    header.SetOrganizationValue(1, Text(""))
    header.SetOriginatingSystem(Text("plumbcut"))
    header.SetAuthorisation(Text(""))
    header.SetTimeStamp(Text(STAMP))
    header.SetDescriptionValue(1, Text("Every piece of a timber deck; inches. Verify on site; not an approval."))


def _document(parts: Sequence[Part]):
    from OCP.Quantity import Quantity_Color, Quantity_TOC_RGB
    from OCP.TCollection import TCollection_ExtendedString
    from OCP.TDataStd import TDataStd_Name
    from OCP.TDocStd import TDocStd_Document
    from OCP.TopLoc import TopLoc_Location
    from OCP.XCAFApp import XCAFApp_Application
    from OCP.XCAFDoc import XCAFDoc_ColorGen, XCAFDoc_DocumentTool

    document = TDocStd_Document(TCollection_ExtendedString("BinXCAF"))
    XCAFApp_Application.GetApplication_s().InitDocument(document)
    tool = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    tool.SetAutoNaming_s(False)
    paint = XCAFDoc_DocumentTool.ColorTool_s(document.Main())

    def named(label, name: str):
        TDataStd_Name.Set_s(label, TCollection_ExtendedString(name, True))
        return label

    def inside(parent, name: str):
        child = named(tool.NewShape(), name)
        return child, lambda: named(tool.AddComponent(parent, child, TopLoc_Location()), name)

    known: dict[tuple, object] = {}
    deck = named(tool.NewShape(), "deck")
    for group, roles in nested(parts).items():
        group_label, place_group = inside(deck, group)
        for role, pieces in roles.items():
            role_label, place_role = inside(
                group_label, f"{group}: {role}"
            )  # a name once in the tree: readers rely on it
            for part in pieces:
                key = part.shape, part.mark or role, colour(part)
                if key not in known:
                    known[key] = named(tool.AddShape(_own(part.shape.solid), False), part.mark or role)
                    paint.SetColor(
                        known[key], Quantity_Color(*linear(colour(part)), Quantity_TOC_RGB), XCAFDoc_ColorGen
                    )
                named(
                    tool.AddComponent(role_label, known[key], part.place.kernel_location), part.id or part.mark or role
                )
            place_role()
        place_group()
    tool.UpdateAssemblies()
    return document


def _own(solid):
    """A shape of its own for the document: one solid under two marks (a joist as long as a blocking) stays two
    products."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_Copy

    return BRepBuilderAPI_Copy(solid.wrapped, True, False).Shape()


class _quiet:
    """The kernel's writer reports its statistics on the terminal: a build stays quiet in a pipe."""

    def __enter__(self):
        from OCP.Message import Message

        self._messenger = Message.DefaultMessenger_s()
        self._printers = list(self._messenger.Printers())
        for printer in self._printers:
            self._messenger.RemovePrinter(printer)

    def __exit__(self, *_):
        for printer in self._printers:
            self._messenger.AddPrinter(printer)


def write_stl(deck: HasParts, path: str | Path) -> None:
    """`model.stl`: binary, inches, z up: every piece a closed shell of its own (touching pieces are not joined)."""
    meshes = by_shape(deck.parts)
    corners = []
    for part in deck.parts:
        vertices, faces = meshes[part.shape]
        corners.append(part.place.world(vertices)[faces])
    corners = np.concatenate(corners) if corners else np.zeros((0, 3, 3))
    across = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.linalg.norm(across, axis=1, keepdims=True)
    record = np.zeros(len(corners), np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")]))
    record["normal"] = across / np.where(size > 0, size, 1)
    record["corners"] = corners
    with open(path, "wb") as out:
        out.write(b"plumbcut model, inches, z up".ljust(80, b" ") + np.uint32(len(record)).tobytes() + record.tobytes())


def write_glb(deck: HasParts, path: str | Path) -> None:
    """`model.glb`: metres, y up; a node a piece, named by its id, with mark, role, stock and group in its extras."""
    Path(path).write_bytes(glb(deck.parts))


def glb(parts: Sequence[Part]) -> bytes:
    """The bytes of a binary glTF 2.0 file: one mesh a shape and colour, one named node a piece under its group and
    role."""
    import trimesh
    from trimesh.visual import TextureVisuals
    from trimesh.visual.material import PBRMaterial

    scene = trimesh.Scene(base_frame="deck")
    scale = np.diag([METRES_PER_INCH] * 3 + [1.0])
    inch = np.diag([1 / METRES_PER_INCH] * 3 + [1.0])
    triangles = by_shape(parts)
    known: dict[tuple, str] = {}
    for group, roles in nested(parts).items():
        scene.graph.update(frame_from="deck", frame_to=group, matrix=_Y_UP)
        for role, pieces in roles.items():
            scene.graph.update(frame_from=group, frame_to=f"{group}: {role}", matrix=np.eye(4))
            for number, part in enumerate(pieces):
                key = part.shape, part.mark or role, colour(part), part.stock.material
                if key not in known:
                    known[key] = f"{part.mark or role}~{len(known)}"
                    vertices, faces = triangles[part.shape]
                    flat = vertices[faces].reshape(-1, 3) * METRES_PER_INCH  # corners apart: wood has sharp arrises
                    metallic, roughness = surface(part.stock.material)
                    material = PBRMaterial(
                        name=f"{role} ({part.stock.material})",
                        metallicFactor=metallic,
                        roughnessFactor=roughness,
                        baseColorFactor=[*linear(colour(part)), 1.0],
                    )
                    scene.geometry[known[key]] = trimesh.Trimesh(
                        flat,
                        np.arange(len(flat)).reshape(-1, 3),
                        process=False,
                        visual=TextureVisuals(material=material),
                    )
                scene.graph.update(
                    frame_from=f"{group}: {role}",
                    frame_to=part.id or f"{part.mark or role}-{number + 1}",
                    geometry=known[key],
                    matrix=scale @ part.place.matrix @ inch,
                    metadata={"mark": part.mark, "role": part.role, "group": part.group, "stock": part.stock.name},
                )
    return trimesh.exchange.gltf.export_glb(scene, include_normals=True)
