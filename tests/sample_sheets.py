"""An invented set of two sheets that has every kind of item, for the tests of the drawing formats; and what is lettered
on any set."""

from __future__ import annotations

from plumbcut.exports.drafting import annotate, symbols
from plumbcut.exports.drafting.draft import strokes
from plumbcut.exports.drafting.drawing import (
    Arc,
    Arrow,
    Circle,
    Dimension,
    DrawingSet,
    Hatch,
    Leader,
    Line,
    Polyline,
    Sheet,
    Symbol,
    Table,
    Tag,
    Text,
    View,
    Viewport,
    chain,
)
from plumbcut.shared.papers import papers

WIDE, DEEP = 240.0, 144.0


def ring(x0, y0, x1, y1):
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def plan(scale: float) -> View:
    view = View("framing plan", scale)

    def piece(box, layer, mark):
        view.add(Polyline(ring(*box), True, layer=layer, mark=mark))

    piece((0, DEEP - 1.5, WIDE, DEEP), "S-JOIS-LEDG", "L1")
    piece((0, 0, WIDE, 1.5), "S-JOIS", "R1")
    for n in range(1, 15):
        piece((16 * n - 0.75, 1.5, 16 * n + 0.75, DEEP - 1.5), "S-JOIS", "J1")
    piece((-6, 21, WIDE + 6, 24), "S-BEAM-HDLN", "BM1")
    posts = [(6.0, 22.5), (WIDE / 2, 22.5), (WIDE - 6, 22.5)]
    for n, (x, y) in enumerate(posts, 1):
        view.add(Symbol("footing", (x, y), 16, true_size=True, layer="S-FNDN-HDLN", mark=f"F{n}"))
        piece((x - 2.75, y - 2.75, x + 2.75, y + 2.75), "S-COLS", "P1")
        view.add(Tag(f"F{n}", tip=(x, y), mark=f"F{n}", shape=("circle", "hexagon", "box")[n - 1]))
    wall = ring(-30, DEEP + 0.5, WIDE + 30, DEEP + 6.5)
    view.add(Polyline(wall, True, layer="A-WALL"), Hatch(wall, layer="A-WALL-PATT", pattern="end grain"))
    box = (0.0, 0.0, WIDE, DEEP)
    view.add(*chain([*posts, (0, 0), (WIDE, 0)], annotate.outside(box, "bottom", 0, scale)))
    view.add(*chain([(0, 0), (WIDE, 0)], annotate.outside(box, "bottom", 1, scale), suffix=" OUT TO OUT"))
    view.add(
        *chain([(WIDE, 0), (WIDE, 22.5), (WIDE, DEEP)], annotate.outside((0, 0, WIDE + 8, DEEP), "right", 0, scale), 90)
    )
    view.add(Dimension((0, 0), (WIDE / 3, DEEP / 3), (30, 40)), Arrow([(96, 80), (144, 80)], "both"))
    view.add(
        Leader((64, 100), '2x8 JOISTS AT 16" ON CENTRE, HANGER AT LEDGER', mark="J1"),
        Leader((60, DEEP - 1), "2x10 LEDGER", head="dot"),
    )
    view.add(*symbols.section_mark((168, -60), (168, DEEP + 30), "A", "S-301", "left", scale))
    view.add(Circle((40, 60), 2, layer="A-ANNO-SYMB"), Arc((80, 60), 10, 30, 200, layer="S-JOIS-BLKG"))
    return view


def section(scale: float) -> View:
    view = View("section A", scale)
    pieces = [
        ("F1", (0, -42, 16, 6), "concrete", 0),
        ("P1", (5.25, 6.5, 10.75, 40), "long grain", 90),
        ("BM1", (6, 40, 9, 49.25), "end grain", 0),
        ("J1", (-20, 49.25, 100, 56.5), "long grain", 0),
    ]
    for mark, box, pattern, angle in pieces:
        view.add(
            Polyline(ring(*box), True, layer="A-SECT-MCUT", mark=mark),
            Hatch(ring(*box), pattern=pattern, angle=angle, layer="A-SECT-PATT", mark=mark),
        )
    view.add(Hatch(ring(16, -6, 110, 0), pattern="earth", layer="A-SECT-PATT"), Line((16, 0), (110, 0), layer="C-TOPO"))
    view.add(Hatch(ring(40, 10, 60, 30), [ring(45, 15, 55, 25)], "steel", layer="A-SECT-PATT"))
    view.add(
        *chain([(0, -42), (0, 0), (0, 56.5)], (-36, 0), 90), Symbol("level", (70, 56.5), values={"LEVEL": "SURFACE"})
    )
    view.add(Leader((8, 30), "6x6 POST"), *symbols.break_line((112, -20), (112, 60), scale))
    return view


def sample(paper: str = "ARCH D", metric: bool = False) -> DrawingSet:
    """Two sheets; every item placed."""
    large = papers()[paper].at_side
    base = (50.0 if metric else 48.0) * (1 if large else 2)
    first, second = plan(base), section(base / 2)
    for view in (first, second):
        report = annotate.place(view, metric=metric)
        assert not report.unplaced
    drawing = DrawingSet(
        fields={
            "project": "ROWAN COURT DECK",
            "address": "12 EXAMPLE LANE",
            "owner": "THE OWNER",
            "creator": "A BUILDER",
            "date": "2026-11-25",
            "revision": "0",
            "document": "PERMIT DRAWING",
            "number": "PC-1",
        },
        metric=metric,
    )
    width, height = papers()[paper].width, papers()[paper].height
    one = Sheet(
        "S-102",
        "FRAMING PLAN",
        paper,
        viewports=[Viewport(first, (width * 0.45, height * 0.6), title="Framing plan", number="1")],
    )
    two = Sheet(
        "S-301",
        "SECTION",
        paper,
        viewports=[Viewport(second, (width * 0.45, height * 0.6), title="Section A", number="A", note="LOOKING LEFT")],
    )
    two.add(
        Table(
            (1, height * 0.35),
            "MEMBERS",
            ["MARK", "PIECE"],
            [["J1", "JOIST 2x8, SOUTHERN PINE NO. 2, TREATED"], ["L1", "LEDGER 2x10"]],
            [0.8, 2.0],
        )
    )
    one.add(
        Text((1, height - 1), "GENERAL NOTES\n1. FIELD VERIFY.", level="top", layer="A-ANNO-LEGN"),
        Symbol("north", (width * 0.7, height * 0.7)),
    )
    drawing.sheets = [one, two]
    return drawing


def lettered(drawing) -> dict[str, str]:
    """Everything lettered on each sheet, by its title."""
    found: dict[str, list[str]] = {}
    for sheet in drawing.sheets:
        for items, scale in [(sheet.items, 1.0), *((p.view.items, p.view.scale) for p in sheet.viewports)]:
            for item in items:
                texts = [s.text for s in strokes(item, scale, drawing.metric) if type(s) is Text]
                found.setdefault(sheet.name, []).extend(texts)
    return {name: " ".join(" ".join(texts).split()) for name, texts in found.items()}
