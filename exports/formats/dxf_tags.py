"""The common entities of a DXF written as their tags at once.

ezdxf makes an object of every entity and asks it for one attribute after the other, which takes several times as long
as the drawing itself: a sheet is ten thousand lines and letters. The kinds here are those that come in hundreds; the
document, its tables, layouts and block records, and the rarer kinds stay with ezdxf, which gives the handles too. Tags
and their order are those of the DXF reference for R2018, optional ones left out at their defaults; a test holds every
kind here against the tags that ezdxf writes for it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from ezdxf.entities import DXFEntity
from ezdxf.entities.mtext import split_mtext_string

from ..drafting.drawing import Point

_PATH, _OUTSIDE, _OUTERMOST = 2, 1, 16  # flags of a hatch's boundary: a polyline; its outline; a hole
_CLOSED = 1
_DASHES_RUN_ON = 128  # round the corners of a polyline
_LONGEST = 250  # letters that one tag of an MTEXT holds


@dataclass(slots=True)
class Entity:
    """One entity: its tags but for what may still come. `held_by` are handles of hatches that hold on to it."""

    kind: str
    handle: str
    owner: str
    common: str
    body: str
    mark: str = ""
    held_by: list[str] = field(default_factory=list)
    attributes: list[str] = field(default_factory=list)
    end: str = ""

    def tags(self) -> str:
        held = "".join(f"330\n{h}\n" for h in self.held_by)
        reactors = f"102\n{{ACAD_REACTORS\n{held}102\n}}\n" if held else ""
        head = f"  0\n{self.kind}\n  5\n{self.handle}\n{reactors}330\n{self.owner}\n{self.common}{self.body}{self.mark}"
        return f"{head}{''.join(self.attributes)}{self.end}" if self.attributes else head


class Run(DXFEntity):
    """Entities one after the other in a layout, for ezdxf one thing to write."""

    DXFTYPE = "RUN"

    def __init__(self) -> None:
        super().__init__()
        self.entities: list[Entity] = []

    def export_dxf(self, tagwriter) -> None:
        tagwriter.write_str("".join([entity.tags() for entity in self.entities]))


class Pen:
    """Writes entities into `target`, a layout or block of ezdxf, behind those that are in it. Points, heights and sizes
    in the units of the file; `dash` is the scale of an entity's dashes."""

    def __init__(self, target):
        self.doc, self.owner = target.doc, target.layout_key
        self.space = target.entity_space.entities
        self.next_handle = target.doc.entitydb.next_handle
        self.paper = " 67\n1\n" if target.is_any_paperspace else ""

    def _common(self, layer: str, dash: float = 1.0) -> str:
        scale = f" 48\n{dash}\n" if dash != 1.0 else ""
        return f"100\nAcDbEntity\n{self.paper}  8\n{layer}\n{scale}"

    def _add(self, kind: str, common: str, body: str) -> Entity:
        entity = Entity(kind, self.next_handle(), self.owner, common, body)
        if not self.space or type(self.space[-1]) is not Run:
            self.space.append(Run())
        self.space[-1].entities.append(entity)
        return entity

    def line(self, a: Point, b: Point, layer: str, dash: float = 1.0) -> Entity:
        return self._add("LINE", self._common(layer, dash), f"100\nAcDbLine\n{_at(10, a)}{_at(11, b)}")

    def polyline(self, points: Sequence[Point], closed: bool, layer: str, dash: float = 1.0) -> Entity:
        flags = (_CLOSED if closed else 0) | (_DASHES_RUN_ON if dash != 1.0 else 0)
        body = f"100\nAcDbPolyline\n 90\n{len(points)}\n 70\n{flags}\n{_path(points)}"
        return self._add("LWPOLYLINE", self._common(layer, dash), body)

    def circle(self, centre: Point, radius: float, layer: str, dash: float = 1.0) -> Entity:
        body = f"100\nAcDbCircle\n{_at(10, centre)} 40\n{float(radius)}\n"
        return self._add("CIRCLE", self._common(layer, dash), body)

    def arc(self, centre: Point, radius: float, start: float, end: float, layer: str, dash: float = 1.0) -> Entity:
        """Counter-clockwise from `start` to `end`, degrees."""
        round_ = f"100\nAcDbCircle\n{_at(10, centre)} 40\n{float(radius)}\n"
        body = f"{round_}100\nAcDbArc\n 50\n{float(start)}\n 51\n{float(end)}\n"
        return self._add("ARC", self._common(layer, dash), body)

    def solid(
        self, outline: Sequence[Point], holes: Iterable[Sequence[Point]], layer: str, dash: float = 1.0
    ) -> Entity:
        """A filled face."""
        rings = [(outline, _OUTSIDE), *((hole, _OUTERMOST) for hole in holes)]
        paths = "".join(
            f" 92\n{flag | _PATH}\n 72\n0\n 73\n1\n 93\n{len(ring)}\n{_path(ring)} 97\n0\n" for ring, flag in rings
        )
        level = " 10\n0.0\n 20\n0.0\n 30\n0.0\n210\n0.0\n220\n0.0\n230\n1.0\n"
        body = f"100\nAcDbHatch\n{level}  2\nSOLID\n 70\n1\n 71\n0\n 91\n{len(rings)}\n{paths} 75\n0\n 76\n1\n 98\n0\n"
        return self._add("HATCH", self._common(layer, dash), body)

    def text(self, at: Point, text: str, height: float, turn: float, align: int, style: str, layer: str) -> Entity:
        """One line of lettering; `at` lies on its baseline. `align`: 0 left, 1 middle, 2 right; `turn` in degrees."""
        body = f"{_lettering(at, text, height, turn, align, style)}100\nAcDbText\n"
        return self._add("TEXT", self._common(layer), body)

    def paragraph(
        self, at: Point, text: str, height: float, turn: float, anchor: int, spacing: float, style: str, layer: str
    ) -> Entity:
        """Several lines, broken by `\\P`. `anchor` is MTEXT's attachment point, `spacing` its line spacing factor."""
        *before, last = split_mtext_string(text, size=_LONGEST) or [""]
        chunks = "".join(f"  3\n{chunk}\n" for chunk in before) + f"  1\n{last}\n"
        turned = f" 50\n{float(turn)}\n" if turn else ""
        size = f" 40\n{float(height)}\n 41\n0.0\n 71\n{anchor}\n"
        lines = "" if spacing == 1.0 else f" 44\n{float(spacing)}\n"
        body = f"100\nAcDbMText\n{_at(10, at)}{size}{chunks}  7\n{style}\n{turned} 73\n2\n{lines}"
        return self._add("MTEXT", self._common(layer), body)

    def insert(self, block: str, at: Point, scales: Sequence[float], turn: float, layer: str) -> Entity:
        """A block placed. `scales` along x, y, z; `turn` in degrees."""
        sizes = "".join(f"{code:3d}\n{float(scale)}\n" for code, scale in zip((41, 42, 43), scales) if scale != 1)
        turned = f" 50\n{float(turn)}\n" if turn else ""
        body = f"  2\n{block}\n{_at(10, at)}{sizes}{turned}"
        entity = self._add("INSERT", self._common(layer), f"100\nAcDbBlockReference\n{body}")
        end = self.next_handle()  # of what ends its attributes, should there be any
        entity.end = f"  0\nSEQEND\n  5\n{end}\n330\n{entity.handle}\n{entity.common}"
        return entity

    def attribute(
        self, insert: Entity, tag: str, at: Point, text: str, height: float, align: int, style: str, layer: str
    ) -> None:
        """The lettering of the attribute `tag` of a block placed by `insert`."""
        if not insert.attributes:
            insert.body = insert.body.replace("AcDbBlockReference\n", "AcDbBlockReference\n 66\n1\n", 1)
        rest = f" 70\n0\n 71\n1\n 72\n0\n{_at(11, at)}"  # of one line; from R2018 on its place stands here too
        insert.attributes.append(
            f"  0\nATTRIB\n  5\n{self.next_handle()}\n330\n{self.owner}\n{self._common(layer)}"
            f"{_lettering(at, text, height, 0.0, align, style)}100\nAcDbAttribute\n  2\n{tag}\n{rest}"
        )


def _at(code: int, point: Point) -> str:
    return f"{code:3d}\n{float(point[0])}\n{code + 10:3d}\n{float(point[1])}\n{code + 20:3d}\n0.0\n"


def _path(points: Iterable[Point]) -> str:
    return "".join([f" 10\n{float(x)}\n 20\n{float(y)}\n" for x, y in points])


def _lettering(at: Point, text: str, height: float, turn: float, align: int, style: str) -> str:
    turned = f" 50\n{float(turn)}\n" if turn else ""
    aligned = f" 72\n{align}\n" if align else ""
    size = f" 40\n{float(height)}\n  1\n{text}\n{turned}  7\n{style}\n{aligned}"
    return f"100\nAcDbText\n{_at(10, at)}{size}{_at(11, at)}"
