"""What a DXF needs before any item: header, layers, line types, the text style, dimension styles and blocks."""

from __future__ import annotations

import re
from collections.abc import Callable

import ezdxf
from ezdxf import units as dxf_units
from ezdxf.document import Drawing as Document
from ezdxf.enums import TextEntityAlignment
from ezdxf.render.arrows import ARROWS

from ..drafting import style
from ..drafting.drawing import AnyItem, Arc, Circle, DrawingSet, Hatch, Line, Point, Polyline, Text
from ..drafting.layers import LAYERS, LINE_TYPES
from ..drafting.symbols import SYMBOLS, TAG_SHAPES
from ..drafting.titleblock import BORDER, INNER, block, caution_items
from .dxf_tags import Entity, Pen

Put = Callable[[Point], Point]  # a point of the drawing where it lies in the file

APP = "PLUMBCUT"  # of the extended data that carries marks
STYLE = "PLUMBCUT"
ALIGN = {"left": 0, "centre": 1, "right": 2}  # as DXF counts them
_ALIGN = {"left": TextEntityAlignment.LEFT, "centre": TextEntityAlignment.CENTER, "right": TextEntityAlignment.RIGHT}


def new_document(metric: bool) -> Document:
    """An R2018 document with units, layers, line types, style and symbols set; inches, or millimetres."""
    doc = ezdxf.new("R2018", setup=False, units=dxf_units.MM if metric else dxf_units.IN)
    header = doc.header
    header["$MEASUREMENT"] = 1 if metric else 0
    header["$LUNITS"], header["$LUPREC"] = (2, 1) if metric else (4, 4)  # decimal; feet and inches to 1/16
    header["$PSTYLEMODE"] = 1  # by colour: each is a weight, which `plot_styles.CTB` plots black
    # Dashes are paper sizes; every dashed entity of a view carries the view's scale as its own line type scale. So they
    # print
    # alike from paper and model, in programs that know $PSLTSCALE and in those that do not.
    header["$LTSCALE"], header["$PSLTSCALE"] = 1.0, 0
    header["$PLINEGEN"] = 1
    header["$LWDISPLAY"] = 1
    unit = 25.4 if metric else 1.0
    for name, (description, dashes) in LINE_TYPES.items():
        if dashes:
            signed = [(-d if n % 2 else d) * unit for n, d in enumerate(dashes)]
            doc.linetypes.add(name, [sum(abs(d) for d in signed), *signed], description=description)
    for layer in LAYERS.values():
        entry = doc.layers.add(
            layer.name,
            color=layer.colour,
            linetype=layer.line_type,
            lineweight=round(layer.weight * 100),
            plot=layer.plot,
        )
        entry.description = layer.description
    doc.appids.add(APP)
    # every style of the file names the one face, so that no program looks for another
    doc.styles.add(STYLE, font=style.FONT_DXF).set_extended_font_data(style.FONT_FAMILY_DXF)
    doc.styles.get("Standard").dxf.font = style.FONT_DXF
    header["$TEXTSTYLE"] = STYLE
    header["$TEXTSIZE"] = style.NOTE * unit
    header["$CLAYER"] = "A-ANNO-NOTE"
    ARROWS.create_block(doc.blocks, ARROWS.architectural_tick)
    make_current(doc, 1.0, metric)  # in paper space; the writer of views makes that of the model current
    return doc


def make_current(doc: Document, scale: float, metric: bool) -> None:
    """Have the drafter go on in the dimension style for `scale`, which the header then repeats variable by variable
    (some programs read these alone). The style called Standard reads lengths as the others do."""
    entry = doc.dimstyles.get(dimension_style(doc, scale, metric))
    entry.copy_to_header(doc)
    doc.header["$DIMBLK"] = ARROWS.block_name(ARROWS.architectural_tick)
    standard = doc.dimstyles.get("Standard")
    for key, value in entry.dxfattribs().items():
        if key.startswith("dim") and not key.endswith("_handle"):
            standard.dxf.set(key, value)
    standard.dxf.dimscale = 1.0


def dimension_style(doc: Document, scale: float, metric: bool, height: float = style.NOTE) -> str:
    """The dimension style for views at `scale`, made once: sizes are paper sizes times the scale, values live.

    `height` is that of the figures in paper inches.
    """
    name = f"PLUMBCUT-{scale:g}" + ("" if height == style.NOTE else f"-{height:g}")
    if name in doc.dimstyles:
        return name
    unit = 25.4 if metric else 1.0
    entry = doc.dimstyles.new(
        name,
        dxfattribs={
            "dimscale": scale,
            "dimtxt": height * unit,
            "dimasz": style.TICK * unit,
            "dimexo": style.DIM_GAP * unit,
            "dimexe": style.DIM_OVERRUN * unit,
            "dimgap": style.DIM_LIFT * unit,
            "dimdli": style.DIM_SPACING * unit,
            "dimtad": 1,
            "dimtih": 0,
            "dimtoh": 0,
            "dimtix": 1,
            "dimtofl": 1,
            "dimtmove": 1,
            "dimtxsty": STYLE,
            "dimlunit": 2 if metric else 4,
            "dimdec": 0 if metric else 4,
            "dimfrac": 2,
            "dimzin": 8 if metric else 3,  # zero inches kept, zero feet left out
            "dimtdec": 0 if metric else 4,
            "dimtzin": 8 if metric else 3,
            "dimdsep": ord("."),
            "dimlfac": 1.0,
            "dimrnd": 0.0,
            "dimaunit": 0,
            "dimclrd": 256,
            "dimclre": 256,
            "dimclrt": 256,
            "dimlwd": -1,
            "dimlwe": -1,
        },
    )
    entry.set_arrows(blk=ARROWS.architectural_tick, ldrblk="")
    return name


def leader_style(doc: Document, scale: float, metric: bool) -> str:
    """The dimension style leaders take their head from: a filled head of a leader's size."""
    name = f"PLUMBCUT-NOTE-{scale:g}"
    if name not in doc.dimstyles:
        unit = 25.4 if metric else 1.0
        entry = doc.dimstyles.new(
            name,
            dxfattribs={
                "dimscale": scale,
                "dimtxt": style.NOTE * unit,
                "dimasz": style.ARROW * unit,
                "dimgap": style.TEXT_AIR * unit,
                "dimtxsty": STYLE,
                "dimlunit": 2 if metric else 4,
                "dimclrd": 256,
                "dimlwd": -1,
            },
        )
        entry.set_arrows(ldrblk="")
    return name


def block_name(name: str) -> str:
    return "PLUMBCUT_" + name.upper().replace(" ", "_")


def paper_block(paper: str) -> str:
    return block_name(f"title block {paper}")


def plain_entity(pen: Pen, item: AnyItem, at: Put, k: float, layer: str | None = None, dash: float = 1.0) -> Entity:
    """A plain item other than Text or a patterned Hatch, written by `pen`: points where `at` puts them, lengths times
    `k`.

    `dash` is the scale of its dashes, taken where its layer has any.
    """
    name = layer or item.layer
    if dash != 1.0 and not (layer == "0" or LAYERS[name].dashes):
        dash = 1.0
    kind = type(item)
    if kind is Line:
        return pen.line(at(item.a), at(item.b), name, dash)
    if kind is Polyline:
        return pen.polyline([at(p) for p in item.points], item.closed, name, dash)
    if kind is Circle:
        return pen.circle(at(item.centre), item.radius * k, name, dash)
    if kind is Arc:
        return pen.arc(at(item.centre), item.radius * k, item.start, item.end, name, dash)
    assert kind is Hatch and item.pattern == "solid", kind
    return pen.solid([at(p) for p in item.outline], [[at(p) for p in ring] for ring in item.holes], name, dash)


def put(k: float, dx: float = 0.0, dy: float = 0.0) -> Put:
    """Where points of the drawing lie in the file: moved, then times `k`."""
    if not (dx or dy):
        return lambda p: (p[0] * k, p[1] * k)
    return lambda p: ((p[0] + dx) * k, (p[1] + dy) * k)


def baseline(item: Text, scale: float, shift: Put | None = None) -> list[tuple[float, float, str]]:
    """Where each line of a text stands: the anchor on its baseline, in view inches, and the line. `shift` moves it."""
    rows = style.lines(item.text, item.height, item.wrap)
    pitch = item.height * style.LINE_SPACING
    body = item.height + pitch * (len(rows) - 1)
    low = {"bottom": 0.0, "middle": -body / 2, "top": -body}[item.level]
    ux, uy = style.unit(item.rotation)
    x, y = shift(item.at) if shift else item.at
    out = []
    for n, row in enumerate(rows):
        up = (low + pitch * (len(rows) - 1 - n)) * scale
        out.append((x - uy * up, y + ux * up, row))
    return out


def plain(text: str) -> str:
    """A text so written that a reader of TEXT, ATTRIB or MTEXT letters it as it stands here: in DXF `%%d` is a degree
    sign, `%%%` a percent sign, and a caret starts a control character but before a space."""
    return re.sub("%{2,}", lambda run: "%%%" * len(run[0]), text.replace("^", "^ "))


def text_entity(
    pen: Pen, item: Text, scale: float, k: float, layer: str | None = None, shift: Put | None = None
) -> Entity:
    """One line of lettering as TEXT; `shift` moves its anchor, in view inches."""
    ((x, y, row),) = baseline(item, scale, shift)
    height, align = item.height * scale * k, ALIGN[item.align]
    return pen.text((x * k, y * k), plain(row), height, item.rotation, align, STYLE, layer or item.layer)


def paragraph(pen: Pen, item: Text, scale: float, k: float, shift: Put | None = None) -> Entity:
    """Several lines as MTEXT, broken where the PDF breaks them; anchored at the top of the first line's capitals."""
    rows = baseline(item, scale, shift)
    ux, uy = style.unit(item.rotation)
    up = item.height * scale
    point = ((rows[0][0] - uy * up) * k, (rows[0][1] + ux * up) * k)
    text = "\\P".join(plain(row).replace("\\", "\\\\").replace("{", "\\{").replace("}", "\\}") for _, _, row in rows)
    anchor, spacing = ALIGN[item.align] + 1, style.LINE_SPACING * 3 / 5
    return pen.paragraph(point, text, up * k, item.rotation, anchor, spacing, STYLE, item.layer)


def place_attribute(entity, at, align: str, k: float) -> None:
    entity.set_placement((at[0] * k, at[1] * k), align=_ALIGN[align])


def symbol_block(doc: Document, name: str, k: float, dash: float = 1.0) -> str:
    """The block of a symbol, made once, drawn on layer 0 so that it takes the layer it is placed on.

    A symbol of true size needs one for each scale its dashes are drawn at.
    """
    title = block_name(name) + (f"_{dash:g}" if dash != 1.0 else "")
    if title in doc.blocks:
        return title
    target = doc.blocks.new(title)
    pen = Pen(target)
    for item in SYMBOLS[name].items:
        if type(item) is Text:
            text_entity(pen, item, 1.0, k, "0")
        else:
            plain_entity(pen, item, put(k), k, "0", dash)
    for slot in SYMBOLS[name].slots:
        text = Text(slot.at, slot.tag, slot.height, slot.align, slot.level, layer="0")
        ((x, y, _),) = baseline(text, 1.0)
        attdef = target.add_attdef(
            slot.tag, height=slot.height * k, dxfattribs={"prompt": slot.prompt, "style": STYLE, "layer": "0"}
        )
        place_attribute(attdef, (x, y), slot.align, k)
    return title


def tag_block(doc: Document, shape: str, k: float) -> str:
    """The block of a balloon, made once: of diameter 1, stretched to its text where it is placed."""
    title = block_name(f"tag {shape}")
    if title in doc.blocks:
        return title
    target = doc.blocks.new(title)
    pen = Pen(target)
    for item in TAG_SHAPES[shape]:
        plain_entity(pen, item, put(k), k, "0")
    attdef = target.add_attdef(
        "MARK", height=style.NOTE * k, dxfattribs={"prompt": "Mark of the piece", "style": STYLE, "layer": "0"}
    )
    place_attribute(attdef, (0.0, -style.NOTE / 2), "centre", k)
    return title


def paper_blocks(doc: Document, drawing: DrawingSet, k: float) -> None:
    """A title block with attributes for every paper the set uses."""
    for paper in dict.fromkeys(sheet.paper for sheet in drawing.sheets):
        parts = block(paper)
        target = doc.blocks.new(paper_block(paper))
        pen = Pen(target)
        for item in parts.items:
            if type(item) is Text:
                text_entity(pen, item, 1.0, k)
            else:
                plain_entity(pen, item, put(k), k)
        for item in caution_items(paper, drawing.cautions):
            paragraph(pen, item, 1.0, k)
        fields = [drawing.title_fields(sheet) for sheet in drawing.sheets if sheet.paper == paper]
        for cell in parts.cells:
            for row in range(max(cell.rows, *(values[cell.tag].count("\n") + 1 for values in fields))):
                tag = cell.tag.upper() + (f"_{row + 1}" if row else "")
                _, text = cell.texts("X")[0]
                attdef = target.add_attdef(
                    tag, height=cell.height * k, dxfattribs={"prompt": tag.capitalize(), "style": STYLE, "layer": INNER}
                )
                place_attribute(
                    attdef, (text.at[0], text.at[1] - row * cell.height * style.LINE_SPACING), text.align, k
                )
    assert BORDER in doc.layers
