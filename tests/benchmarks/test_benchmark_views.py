"""How long the views take beside the plain way: cadquery's own hidden-line exporter on the same pieces, in one run.

Run alone with `pytest tests/test_benchmark_views.py -n 0 --benchmark-only`; the tests of one group make the ratio. CPU
time is measured, and none is asserted: a machine's speed is no fact about the program.
"""

import time

import numpy as np
import pytest
from test_benchmark_build import SIZES, site

from plumbcut.exports.linework.views import elevation, plan, section
from plumbcut.model.solid.part import Workshop
from plumbcut.shared.stock import Stock

WOOD = Stock("2x8", 1.5, 7.25, "treated lumber")


def platform(bays: int) -> list:
    """A plain platform of about 45 pieces a bay: joists, rims, boards, a beam on posts, balusters between guard
    posts."""
    shop, width = Workshop(), 96 * bays
    parts = [
        shop.upright("rim", WOOD, [(0, y), (width, y), (width, y + 1.5), (0, y + 1.5)], 20, 27.25) for y in (0, 94.5)
    ]
    parts += [
        shop.upright("joist", WOOD, [(x, 1.5), (x + 1.5, 1.5), (x + 1.5, 94.5), (x, 94.5)], 20, 27.25, along=(0, 1))
        for x in range(0, width, 16)
    ]
    parts.append(shop.upright("beam", WOOD, [(0, 12), (width, 12), (width, 15), (0, 15)], 10.75, 20))
    for bay in range(bays):
        x = 96 * bay
        parts.append(shop.box_along("post", WOOD, (x + 10, 13.5, -2), (x + 10, 13.5, 10.75), (1, 0, 0), 5.5, 5.5))
        parts.append(shop.cylinder("footing", WOOD, (x + 10, 13.5, -30), (0, 0, 1), 6, 28))
        parts += [
            shop.upright("board", WOOD, [(x, y), (x + 96, y), (x + 96, y + 5.5), (x, y + 5.5)], 27.25, 28.25)
            for y in np.arange(0, 90, 5.75)
        ]
        parts.append(
            shop.box_along("guard post", WOOD, (x + 1.75, -1.75, 20), (x + 1.75, -1.75, 64), (1, 0, 0), 3.5, 3.5)
        )
        parts += [
            shop.box_along("baluster", WOOD, (bx, -1.75, 31), (bx, -1.75, 60), (1, 0, 0), 1.5, 1.5)
            for bx in np.arange(x + 8, x + 94, 5.3)
        ]
    return parts


@pytest.mark.benchmark(group="front elevation of 87 pieces", timer=time.process_time)
def test_views_elevation(benchmark):
    parts = platform(2)
    work = benchmark(elevation, parts, (0, 1))
    assert {l.part.role for l in work.lines} >= {"rim", "baluster", "post"}


@pytest.mark.benchmark(group="front elevation of 87 pieces", timer=time.process_time)
def test_cadquery_exporter_elevation(benchmark):
    import cadquery as cq
    from cadquery.occ_impl.exporters.svg import getSVG

    compound = cq.Compound.makeCompound([p.solid for p in platform(2)])
    text = benchmark.pedantic(getSVG, (compound, {"projectionDir": (0, -1, 0), "showHidden": False}), rounds=3)
    assert "<path" in text


VIEWS = {
    "elevation": lambda parts: elevation(parts, (0, 1)),
    "plan": plan,
    "section": lambda parts: section(parts, (50, 50), (1, 0)),
}


@pytest.mark.parametrize("bays", [2, 20])
@pytest.mark.parametrize("what", [*VIEWS, "all three"])
@pytest.mark.benchmark(timer=time.process_time)
def test_views_growth(benchmark, what, bays):
    """The section looks along a row of like bays: all but the nearest stands behind others."""
    parts = platform(bays)
    draws = list(VIEWS.values()) if what == "all three" else [VIEWS[what]]
    benchmark.group = f"growth of views, {what}: 87 and 843 pieces"
    works = benchmark.pedantic(lambda: [draw(parts) for draw in draws], rounds=7, warmup_rounds=1)
    assert all(w.lines for w in works)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("what", ["drawn", "drawn and written as DXF and PDF"])
@pytest.mark.benchmark(timer=time.process_time)
def test_sheets_growth(benchmark, what, size, tmp_path):
    """Every sheet of the README demo and of a deck of about ten times the pieces, on top of the model."""
    from plumbcut.exports.build import Stages, model
    from plumbcut.exports.formats.dxf import write_dxf
    from plumbcut.exports.formats.pdf import write_pdf
    from plumbcut.exports.sheets import build_drawing

    made = model(site(size), Stages())
    benchmark.group = f"growth of all sheets, {what}"
    benchmark.extra_info["pieces"] = len(made.deck.parts)

    def once():
        drawing = build_drawing(made.deck, made.measured, made.checks)
        if what != "drawn":
            write_dxf(drawing, tmp_path / "permit.dxf")
            write_pdf(drawing, tmp_path / "permit.pdf")
        return drawing

    drawing = benchmark.pedantic(once, rounds=2 if SIZES[size] else 5, warmup_rounds=0 if SIZES[size] else 1)
    print(f"\n{size}: {len(made.deck.parts)} pieces, {len(drawing.sheets)} sheets")


@pytest.mark.benchmark(
    group="README demo: the whole set of sheets beside one elevation by cadquery's exporter", timer=time.process_time
)
def test_all_sheets(benchmark):
    from conftest import demo_checks, demo_deck, demo_measured

    from plumbcut.exports.sheets import build_drawing

    given = demo_deck("terrace"), demo_measured("terrace"), demo_checks("terrace")
    drawing = benchmark.pedantic(build_drawing, given, rounds=3, warmup_rounds=1)
    assert len(drawing.sheets) > 10


@pytest.mark.benchmark(
    group="README demo: the whole set of sheets beside one elevation by cadquery's exporter", timer=time.process_time
)
def test_one_elevation_by_the_exporter(benchmark):
    import cadquery as cq
    from cadquery.occ_impl.exporters.svg import getSVG
    from conftest import demo_deck

    compound = cq.Compound.makeCompound([p.solid for p in demo_deck("terrace").parts])
    assert "<path" in benchmark.pedantic(
        getSVG, (compound, {"projectionDir": (0, -1, 0), "showHidden": False}), rounds=3
    )
