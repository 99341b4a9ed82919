"""Entities written as tags, each against the tags that ezdxf writes for the same entity."""

import io

import ezdxf
import pytest
from ezdxf.enums import TextEntityAlignment
from ezdxf.lldxf.tagwriter import TagWriter

from plumbcut.exports.formats.dxf_tags import Pen

LONG = "LETTERS THAT ONE TAG DOES NOT HOLD " * 20
RING, HOLE = [(0.5, 0.0), (9.0, -0.25), (9.0, 7.125)], [(1.0, 1.0), (2.0, 1.0), (2.0, 2.0)]
ALIGNED = [TextEntityAlignment.LEFT, TextEntityAlignment.CENTER, TextEntityAlignment.RIGHT]


def _text(space, align, turn):
    entity = space.add_text("A 1", height=0.1, rotation=turn, dxfattribs={"layer": "L", "style": "S"})
    entity.set_placement((1.5, 2.0), align=ALIGNED[align])


def _mtext(space, text, turn, factor):
    space.add_mtext(
        text,
        {
            "layer": "L",
            "style": "S",
            "char_height": 0.1,
            "insert": (1.5, 2.0),
            "rotation": turn,
            "attachment_point": 3,
            "line_spacing_style": 2,
            "line_spacing_factor": factor,
            "width": 0.0,
        },
    )


def _placed(space, scale, turn, texts=()):
    attribs = {"layer": "L", "xscale": scale, "yscale": scale, "zscale": scale, "rotation": turn}
    entity = space.add_blockref("B", (1.5, 2.0), attribs)
    for text, align in texts:
        attrib = entity.add_attrib("TAG", text, dxfattribs={"layer": "M", "style": "S", "height": 0.1})
        attrib.set_placement((3.0, 4.0), align=ALIGNED[align])


def _pen_placed(pen, scale, turn, texts=()):
    entity = pen.insert("B", (1.5, 2.0), (scale, scale, scale), turn, "L")
    for text, align in texts:
        pen.attribute(entity, "TAG", (3.0, 4.0), text, 0.1, align, "S", "M")


def _hatch(space, rings, attribs):
    hatch = space.add_hatch(color=256, dxfattribs=attribs)
    for n, ring in enumerate(rings):
        hatch.paths.add_polyline_path(ring, is_closed=True, flags=16 if n else 1)


L = {"layer": "L"}
KINDS = {
    "line": (lambda s: s.add_line((0.1, 2), (3, 4), L), lambda p: p.line((0.1, 2), (3, 4), "L")),
    "dashed line": (
        lambda s: s.add_line((0, 0), (3, 4), {**L, "ltscale": 48.0}),
        lambda p: p.line((0, 0), (3, 4), "L", 48.0),
    ),
    "open": (lambda s: s.add_lwpolyline(RING, dxfattribs=L), lambda p: p.polyline(RING, False, "L")),
    "closed": (lambda s: s.add_lwpolyline(RING, close=True, dxfattribs=L), lambda p: p.polyline(RING, True, "L")),
    "circle": (lambda s: s.add_circle((1, 2), 3, L), lambda p: p.circle((1, 2), 3, "L")),
    "arc": (lambda s: s.add_arc((1, 2), 3, 30, 90, True, L), lambda p: p.arc((1, 2), 3, 30, 90, "L")),
    "face": (lambda s: _hatch(s, [RING], L), lambda p: p.solid(RING, [], "L")),
    "face with a hole": (
        lambda s: _hatch(s, [RING, HOLE], {**L, "ltscale": 12.0}),
        lambda p: p.solid(RING, [HOLE], "L", 12.0),
    ),
    "text": (lambda s: _text(s, 0, 0.0), lambda p: p.text((1.5, 2.0), "A 1", 0.1, 0.0, 0, "S", "L")),
    "text in the middle": (lambda s: _text(s, 1, 90.0), lambda p: p.text((1.5, 2.0), "A 1", 0.1, 90.0, 1, "S", "L")),
    "text to the right": (lambda s: _text(s, 2, 0.0), lambda p: p.text((1.5, 2.0), "A 1", 0.1, 0.0, 2, "S", "L")),
    "lines": (
        lambda s: _mtext(s, "A\\PB", 0.0, 1.02),
        lambda p: p.paragraph((1.5, 2.0), "A\\PB", 0.1, 0.0, 3, 1.02, "S", "L"),
    ),
    "many lines": (
        lambda s: _mtext(s, LONG, 45.0, 1.0),
        lambda p: p.paragraph((1.5, 2.0), LONG, 0.1, 45.0, 3, 1.0, "S", "L"),
    ),
    "no letters": (
        lambda s: _mtext(s, "", 0.0, 1.02),
        lambda p: p.paragraph((1.5, 2.0), "", 0.1, 0.0, 3, 1.02, "S", "L"),
    ),
    "block": (lambda s: _placed(s, 1.0, 0.0), lambda p: _pen_placed(p, 1.0, 0.0)),
    "block turned": (lambda s: _placed(s, 2.5, 30.0), lambda p: _pen_placed(p, 2.5, 30.0)),
    "block with letters": (
        lambda s: _placed(s, 2.5, 30.0, [("A", 0), ("B", 1)]),
        lambda p: _pen_placed(p, 2.5, 30.0, [("A", 0), ("B", 1)]),
    ),
}


def _tags(write, paper: bool) -> str:
    """What stands in a layout after `write`, and a line behind it, whose handle shows which were taken before."""
    doc = ezdxf.new("R2018")
    doc.blocks.new("B")
    space = doc.paperspace() if paper else doc.modelspace()
    before = len(space.entity_space)
    write(space)
    space.add_line((0, 0), (1, 1))
    out = io.StringIO()
    for entity in space.entity_space.entities[before:]:
        entity.export_dxf(TagWriter(out, dxfversion=doc.dxfversion))
    return out.getvalue()


@pytest.mark.parametrize("paper", [False, True])
@pytest.mark.parametrize("kind", KINDS)
def test_tags_are_those_that_ezdxf_writes(kind, paper):
    theirs, ours = KINDS[kind]
    assert _tags(lambda space: ours(Pen(space)), paper) == _tags(theirs, paper)


def test_a_mark_and_a_hatch_that_holds_on_are_written_as_ezdxf_writes_them():
    def theirs(space):
        edge, hatch = space.add_lwpolyline(RING, close=True), space.add_hatch()
        hatch.associate(hatch.paths.add_polyline_path(RING), [edge])
        edge.set_xdata("APP", [(1000, "J1-01")])

    def ours(space):
        edge, hatch = Pen(space).polyline(RING, True, "0"), space.add_hatch()
        path = hatch.paths.add_polyline_path(RING)
        path.source_boundary_objects.append(edge.handle)
        hatch.dxf.associative = 1
        edge.held_by.append(hatch.dxf.handle)
        edge.mark = "1001\nAPP\n1000\nJ1-01\n"

    assert "J1-01" in _tags(theirs, False)
    assert _tags(ours, False) == _tags(theirs, False)
