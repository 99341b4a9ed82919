"""Templates at 1:1: stringers, skirts, risers and tread pieces as closed lines to plot on paper or hand to a router.

One DXF a mark. Layers: CUT (closed polylines), MARK (text), DIMS (live dimensions). True size in the drawing's units.
"""

from __future__ import annotations

from os import PathLike
from pathlib import Path
from typing import Any

from ...model.measuring.loose_ends import STRINGERS
from ...model.measuring.measure import measure_all
from ...model.order.cuts import Cut, cut_list
from ...model.solid.roles import named
from ..formats.dxf import reproducible, save
from ..formats.dxf_tables import STYLE, dimension_style, make_current, new_document
from .set_out import set_out

ON_TEMPLATES = named("template")
CUT_LAYER, MARK_LAYER, DIMS_LAYER = "CUT", "MARK", "DIMS"
LETTER = 0.5  # inches high: read on the piece, at arm's length
_LINE = 1e-4


def write_templates(deck, folder: str | PathLike, measured: Any = None) -> list[Path]:
    """Write `folder/MARK-role.dxf` for every distinct stringer, riser, tread piece and skirt; returns the paths.

    Inches, or millimetres where the parameter file's drawing is metric. The folder is made where it is missing.
    """
    rows = measured if measured is not None else measure_all([p for p in deck.parts if p.role in ON_TEMPLATES])
    metric = deck.parameters.drawing.units == "metric"
    out = Path(folder)
    out.mkdir(parents=True, exist_ok=True)
    first = {}
    for m in rows:
        first.setdefault(m.mark, m)
    paths = []
    for cut in cut_list([m for m in rows if m.role in ON_TEMPLATES]):
        m = first[cut.mark]
        ring = (
            list(set_out(m).outline)
            if cut.role in (*STRINGERS, "skirt")
            else [(float(x), float(y)) for x, y in cut.sizes.outline]
        )
        path = out / f"{cut.mark.lower()}-{cut.role.replace(' ', '-')}.dxf"
        _write(path, cut, ring, metric)
        paths.append(path)
    return paths


def _write(path: Path, cut: Cut, ring: list[tuple[float, float]], metric: bool) -> None:
    k = 25.4 if metric else 1.0
    with reproducible():
        doc = new_document(metric)
        for name, weight in ((CUT_LAYER, 50), (MARK_LAYER, 25), (DIMS_LAYER, 18)):
            doc.layers.add(name, color=7, lineweight=weight)
        space = doc.modelspace()
        space.add_lwpolyline([(x * k, y * k) for x, y in ring], close=True, dxfattribs={"layer": CUT_LAYER})
        for hole in cut.holes:
            a, b, c, e = (
                hole.at - hole.length / 2,
                hole.across - hole.width / 2,
                hole.at + hole.length / 2,
                hole.across + hole.width / 2,
            )
            space.add_lwpolyline(
                [(x * k, y * k) for x, y in ((a, b), (c, b), (c, e), (a, e))],
                close=True,
                dxfattribs={"layer": CUT_LAYER},
            )
        high = max(y for _, y in ring)
        style = dimension_style(doc, 4.0, metric)
        make_current(doc, 4.0, metric)
        offset = 1.0
        for prefix, a, b, side in points(cut, ring):
            y = (high + offset) if side > 0 else -offset
            dim = space.add_linear_dim(
                base=(0.0, y * k),
                p1=(a[0] * k, a[1] * k),
                p2=(b[0] * k, b[1] * k),
                dimstyle=style,
                text=f"{prefix}<>",
                dxfattribs={"layer": DIMS_LAYER},
            )
            dim.render()
        lines = [
            f"{cut.mark}  x {cut.quantity}  {cut.role.upper()}",
            f"{cut.stock.name} {cut.stock.material.upper()}, {cut.face_up.upper()}",
        ]
        if cut.mirror_of:
            lines.append(f"MIRROR IMAGE OF {cut.mirror_of}")
        for n, line in enumerate(lines):
            space.add_text(line, height=LETTER * k, dxfattribs={"layer": MARK_LAYER, "style": STYLE}).set_placement(
                (0.0, -(offset + 1.2 + n * LETTER * 1.8) * k)
            )
        save(doc, path)


def points(cut: Cut, ring) -> list[tuple[str, tuple[float, float], tuple[float, float], int]]:
    """(words, from, to, side) of what is dimensioned: long and short point along the two edges of a mitred piece, else
    the length from tip to tip. `side` is +1 over the piece, -1 under it."""
    ends = []
    high = max(y for _, y in ring)
    for level, side in ((0.0, -1), (high, 1)):
        on = sorted(p for p in ring if abs(p[1] - level) < _LINE)
        if len(on) > 1:
            ends.append((on[0], on[-1], side, on[-1][0] - on[0][0]))
    mitred = cut.role == "tread" and any(s.mitre for s in cut.settings) and len(ends) == 2
    if mitred:
        ends.sort(key=lambda e: -e[3])
        return [(word, a, b, side) for word, (a, b, side, _) in zip(("LONG POINT ", "SHORT POINT "), ends)]
    left, right = min(ring), max(ring)
    return [("", left, right, 1)]
