"""The drawing set as one DXF (R2018): every view at true size in model space, one paper layout a sheet.

Sheets show their views through locked viewports at the stated scale rather than through scaled copies, so that each
line exists once and measures true. Dimensions are DIMENSION entities whose text is `<>`, the live value; the block that
shows them holds the same strokes as the PDF. They are live, not associative: what ties a dimension to other
entities is an object of its own (DIMASSOC) that ezdxf does not write; a drafter's program makes them so on its own
command. Each view is a named view, and a coordinate system in which its own coordinates are read.

With the same drawing the same bytes are written: handles are counted, dates and GUIDs are ezdxf's fixed ones.
"""

from __future__ import annotations

import gc
import math
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from os import PathLike

import ezdxf
from ezdxf.document import Drawing as Document
from ezdxf.render.arrows import ARROWS

from ..drafting import draft, style
from ..drafting.dimensioning import dimension
from ..drafting.drawing import (
    AnyItem,
    Arrow,
    Dimension,
    DrawingSet,
    Hatch,
    Leader,
    Polyline,
    Sheet,
    Symbol,
    Table,
    Tag,
    Text,
)
from ..drafting.furniture import port_middle, port_size, titles
from ..drafting.hatching import definition
from ..drafting.layers import LAYERS
from ..drafting.titleblock import BORDER, block
from .dxf_tables import (
    ALIGN,
    APP,
    STYLE,
    baseline,
    dimension_style,
    leader_style,
    make_current,
    new_document,
    paper_block,
    paper_blocks,
    paragraph,
    plain,
    plain_entity,
    put,
    symbol_block,
    tag_block,
    text_entity,
)
from .dxf_tags import Entity, Pen
from .plot_styles import CTB

_LOCKED = 0x4000  # viewport flag: its zoom cannot be changed by mistake


class _Layout:
    """Writes items into model space (per view: scale and origin) or into a paper layout (scale 1)."""

    def __init__(self, doc: Document, target, scale: float, origin: tuple[float, float], metric: bool):
        self.doc, self.target, self.scale, self.metric = doc, target, scale, metric
        self.pen = Pen(target)
        self.k = 25.4 if metric else 1.0
        self.at = put(self.k, *origin)
        self.origin = origin
        self.shift = put(1.0, *origin) if any(origin) else None  # of lettering, in view inches still
        self.closed: list[tuple[list, Entity]] = []  # outlines already written, for hatches to hold on to
        self.rings: dict[tuple, Entity] = {}  # the first of each, once a hatch asks

    def write(self, items: list[AnyItem]) -> None:
        for item in sorted(draft.clean(items), key=lambda i: type(i) is Hatch):  # hatches last, when their edges exist
            self._one(item)

    def _one(self, item: AnyItem) -> None:
        for entity in _WRITE.get(type(item), _Layout._plain)(self, item):
            if not item.mark:
                continue
            if type(entity) is Entity:
                entity.mark = f"1001\n{APP}\n1000\n{item.mark}\n"
            else:
                entity.set_xdata(APP, [(1000, item.mark)])

    def _plain(self, item: AnyItem, layer: str | None = None) -> list:
        entity = plain_entity(self.pen, item, self.at, self.k, layer, self.scale)
        if type(item) is Polyline and item.closed:
            self.closed.append((item.points, entity))
        return [entity]

    def _edge(self, ring) -> Entity | None:
        """The outline drawn along `ring`, if any."""
        for points, entity in self.closed:
            self.rings.setdefault(_ring_key(points), entity)
        self.closed.clear()
        return self.rings.get(_ring_key(ring))

    def _text(self, item: Text) -> list:
        if len(style.lines(item.text, item.height, item.wrap)) > 1:
            return [paragraph(self.pen, item, self.scale, self.k, self.shift)]
        return [text_entity(self.pen, item, self.scale, self.k, shift=self.shift)]

    def _hatch(self, item: Hatch) -> list:
        if item.pattern == "solid":
            return self._plain(item)
        name, size, families = definition(item, self.scale)
        hatch = self.target.add_hatch(color=256, dxfattribs={"layer": item.layer})
        hatch.set_pattern_fill(name, color=256, angle=item.angle, scale=size * self.k, style=0, definition=[])
        hatch.set_pattern_definition(
            [
                (a, self.at(base), (s[0] * self.k, s[1] * self.k), [d * self.k for d in dashes])
                for a, base, s, dashes in families
            ]
        )
        out = [hatch]
        for ring in (item.outline, *item.holes):
            path = hatch.paths.add_polyline_path(
                [self.at(p) for p in ring], is_closed=True, flags=1 if ring is item.outline else 16
            )
            edge = self._edge(ring)
            if edge is None:  # no drawn edge: one that does not plot
                (edge,) = self._plain(Polyline(ring, True, layer="A-ANNO-NPLT"))
                out.append(edge)
            path.source_boundary_objects.append(edge.handle)
            if hatch.dxf.handle not in edge.held_by:
                edge.held_by.append(hatch.dxf.handle)
        hatch.dxf.associative = 1
        return out

    def _dimension(self, item: Dimension) -> list:
        parts = dimension(item, self.scale, self.metric)
        aligned = item.angle is None
        block_ = self.doc.blocks.new_anonymous_block(type_char="D")
        inner = _Layout(self.doc, block_, self.scale, self.origin, self.metric)
        for stroke in draft.strokes(item, self.scale, self.metric):
            if type(stroke) is Text:
                inner._text(stroke)
            elif type(stroke) is not Hatch:
                inner._plain(stroke)
        for tip in parts.line:
            size = style.TICK * self.scale * self.k
            tick = ARROWS.block_name(ARROWS.architectural_tick)
            inner.pen.insert(tick, self.at(tip), (size, size, size), parts.direction, item.layer)
        entity = self.target.new_entity(
            "DIMENSION",
            {
                "layer": item.layer,
                "dimstyle": dimension_style(self.doc, self.scale, self.metric, item.height),
                "geometry": block_.name,
                "dimtype": (1 if aligned else 0) | 32 | (128 if item.text_at else 0),
                "defpoint": (*self.at(parts.line[1]), 0),
                "defpoint2": (*self.at(item.a), 0),
                "defpoint3": (*self.at(item.b), 0),
                "angle": 0.0 if aligned else parts.direction % 360,
                "text_midpoint": (*self.at(parts.middle), 0),
                "text_rotation": 0.0 if item.text_angle is None else (item.text_angle - parts.direction) % 360,
                "attachment_point": 5,
                "actual_measurement": parts.value * self.k,
                "text": f"{item.prefix}<>{item.suffix}",
            },
        )
        return [entity]

    def _leader(self, item: Leader) -> list:
        *_path, text = draft.strokes(item, self.scale, self.metric)
        note = paragraph(self.pen, text, self.scale, self.k, self.shift)
        points = [self.at(p) for p in draft.leader_path(item, self.scale)]
        leader = self.target.add_leader(
            points,
            dimstyle=leader_style(self.doc, self.scale, self.metric),
            dxfattribs={
                "layer": item.layer,
                "has_arrowhead": int(item.head == "arrow"),
                "annotation_type": 0,
                "annotation_handle": note.handle,
                "text_height": item.height * self.scale * self.k,
                "has_hookline": 0,
                "text_width": max(
                    style.text_width(r, item.height) for r in style.lines(item.text, item.height, item.wrap)
                )
                * self.scale
                * self.k,
            },
        )
        out = [leader, note]
        if item.head == "dot":
            out.append(self._insert(symbol_block(self.doc, "dot", self.k), item.tip, self.scale, 0.0, item.layer))
        return out

    def _insert(self, block_: str, at, size: float, turn: float, layer: str) -> Entity:
        return self.pen.insert(block_, self.at(at), (size, size, size), turn, layer)

    def _tag(self, item: Tag) -> list:
        scales = [s * self.scale for s in (*draft.tag_size(item), 1.0)]
        entity = self.pen.insert(tag_block(self.doc, item.shape, self.k), self.at(item.at), scales, 0.0, item.layer)
        self.attribute(entity, "MARK", Text(item.at, item.text, item.height, "centre", "middle", layer=item.layer))
        line = draft.tag_line(item, self.scale)
        return [entity] if line is None else [entity, *self._plain(Polyline(list(line), layer=item.layer))]

    def attribute(self, insert: Entity, tag: str, text: Text) -> None:
        """The lettering of an attribute of a placed block."""
        ((x, y, row),) = baseline(text, self.scale, self.shift)
        k, height, align = self.k, text.height * self.scale * self.k, ALIGN[text.align]
        self.pen.attribute(insert, tag, (x * k, y * k), plain(row), height, align, STYLE, text.layer)

    def _symbol(self, item: Symbol) -> list:
        name = symbol_block(self.doc, item.name, self.k, self.scale if item.true_size else 1.0)
        entity = self._insert(name, item.at, draft.symbol_size(item, self.scale), item.rotation, item.layer)
        for tag, text in draft.symbol_slots(item, self.scale):
            self.attribute(entity, tag, text)
        return [entity]

    def _arrow(self, item: Arrow) -> list:
        head = symbol_block(self.doc, "arrow", self.k)
        heads = [self._insert(head, tip, self.scale, turn, item.layer) for tip, turn in draft.arrow_heads(item)]
        return [*self._plain(Polyline(item.points, layer=item.layer)), *heads]

    def _strokes(self, item: Table) -> list:
        for stroke in draft.strokes(item, self.scale, self.metric):
            if draft.has_length(stroke):
                self._one(stroke)
        return []


_WRITE = {
    Text: _Layout._text,
    Hatch: _Layout._hatch,
    Dimension: _Layout._dimension,
    Leader: _Layout._leader,
    Tag: _Layout._tag,
    Symbol: _Layout._symbol,
    Arrow: _Layout._arrow,
    Table: _Layout._strokes,
}


def _ring_key(ring) -> tuple:
    """The same for the same closed ring wherever it starts and whichever way it runs."""
    points = [(round(x, 4), round(y, 4)) for x, y in ring]
    return tuple(sorted(points))


def _write_views(doc: Document, drawing: DrawingSet) -> None:
    space = doc.modelspace()
    space.set_plot_style(CTB)
    k = 25.4 if drawing.metric else 1.0
    low, high = [math.inf, math.inf], [-math.inf, -math.inf]
    dimensioned = Counter(view.scale for view in drawing.views() for item in view.items if type(item) is Dimension)
    if dimensioned:
        make_current(doc, max(dimensioned, key=lambda scale: (dimensioned[scale], scale)), drawing.metric)
    for view in drawing.views():
        _Layout(doc, space, view.scale, view.origin, drawing.metric).write(view.items)
        left, bottom, right, top = (v + view.origin[n % 2] for n, v in enumerate(draft.drawn_box(view, drawing.metric)))
        low, high = [min(low[0], left), min(low[1], bottom)], [max(high[0], right), max(high[1], top)]
        doc.views.new(
            view.name,
            {
                "center": ((left + right) / 2 * k, (bottom + top) / 2 * k),
                "width": (right - left) * k,
                "height": (top - bottom) * k,
            },
        )
        doc.ucs.new(view.name, {"origin": (view.origin[0] * k, view.origin[1] * k, 0)})
    if low[0] <= high[0]:
        space.reset_extents((low[0] * k, low[1] * k, 0), (high[0] * k, high[1] * k, 0))
        space.reset_limits((low[0] * k, low[1] * k), (high[0] * k, high[1] * k))
        doc.set_modelspace_vport(
            (high[1] - low[1]) * k * 1.05, ((low[0] + high[0]) / 2 * k, (low[1] + high[1]) / 2 * k)
        )


def _write_sheet(doc: Document, drawing: DrawingSet, sheet: Sheet, first: bool) -> None:
    metric, k = drawing.metric, 25.4 if drawing.metric else 1.0
    name = f"{sheet.number} {sheet.name}".translate(str.maketrans('<>/\\":;?*|,=`', "-------------"))
    if first:
        layout = doc.layout("Layout1")
        doc.layouts.rename("Layout1", name)
    else:
        layout = doc.layouts.new(name)
    width, height = sheet.size
    layout.page_setup(
        size=(width * k, height * k), margins=(0, 0, 0, 0), units="mm" if metric else "inch", scale=(1, 1)
    )
    layout.set_plot_style(CTB)
    for main in layout.viewports():
        main.dxf.layer = "A-ANNO-NPLT"
    for port in sheet.viewports:
        wide, high = port_size(port, metric)
        (mx, my), (ox, oy) = port_middle(port, metric), port.view.origin
        entity = layout.add_viewport(
            center=(port.centre[0] * k, port.centre[1] * k),
            size=(wide * k, high * k),
            view_center_point=((mx + ox) * k, (my + oy) * k),
            view_height=high * port.view.scale * k,
            dxfattribs={"layer": "A-ANNO-NPLT"},
        )
        entity.dxf.flags |= _LOCKED
    writer = _Layout(doc, layout, 1.0, (0.0, 0.0), metric)
    writer.write(sheet.items)
    writer.write(titles(sheet, metric))
    insert = writer.pen.insert(paper_block(sheet.paper), (0.0, 0.0), (1.0, 1.0, 1.0), 0.0, BORDER)
    values = drawing.title_fields(sheet)
    for cell in block(sheet.paper).cells:
        for tag, text in cell.texts(values[cell.tag]) or [(cell.tag.upper(), cell.texts("X")[0][1])]:
            blank = text if values[cell.tag] else replace(text, text="")
            writer.attribute(insert, tag, blank)


def write_dxf(drawing: DrawingSet, path: str | PathLike) -> None:
    """Write the set to `path`. Views without an origin are given one (`draft.arrange`).

    Raises KeyError for an item on a layer that is not in `layers.LAYERS`.
    """
    _check_layers(drawing)
    with reproducible(), draft.standing_still():
        draft.arrange(drawing)
        doc = new_document(drawing.metric)
        k = 25.4 if drawing.metric else 1.0
        paper_blocks(doc, drawing, k)
        _write_views(doc, drawing)
        for number, sheet in enumerate(drawing.sheets):
            _write_sheet(doc, drawing, sheet, number == 0)
        save(doc, path)


def save(doc: Document, path: str | PathLike) -> None:
    """Save a document made under `reproducible`. ezdxf would list its classes in the order of a set, another in every
    process."""
    for name in sorted(doc.entitydb.dxf_types_in_use()):
        doc.classes.add_class(name)
    doc.saveas(str(path))


@contextmanager
def reproducible() -> Iterator[None]:
    """ezdxf's own switch for a file without clock or chance: its default puts dates and random GUIDs in the header.

    The collector of garbage rests meanwhile: the document is 100,000 small objects, none of them garbage until the end.
    """
    before, collecting = ezdxf.options.write_fixed_meta_data_for_testing, gc.isenabled()
    ezdxf.options.write_fixed_meta_data_for_testing = True
    gc.disable()
    try:
        yield
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before
        if collecting:
            gc.enable()


def _check_layers(drawing: DrawingSet) -> None:
    for item in drawing.items():
        if item.layer not in LAYERS:
            raise KeyError(f"layer {item.layer!r} of {type(item).__name__} is not in the table of layers")
