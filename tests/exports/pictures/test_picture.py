"""Pictures against a ray caster of our own test's, against Chromium's drawing of the same SVG, and against plain
arithmetic."""

from __future__ import annotations

import io
import itertools
import os
import shutil
import xml.etree.ElementTree as ET
from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from PIL import Image
from playwright.sync_api import sync_playwright
from shapely.geometry import Polygon
from small_deck import STOCK, small_deck

from plumbcut.exports.drafting.style import CAUTIONS
from plumbcut.exports.linework import mesh
from plumbcut.exports.linework.eye import Eye
from plumbcut.exports.linework.shading import visible
from plumbcut.exports.pictures import canvas, picture, stair_picture
from plumbcut.model.deck import build
from plumbcut.model.parameter_file import read
from plumbcut.model.solid.part import Place, Workshop
from plumbcut.model.solid.roles import GROUPS
from plumbcut.params import __path__ as DEMOS
from plumbcut.shared.units import feet_inches

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")


@pytest.fixture(scope="module")
def deck():
    return small_deck()


@pytest.fixture(scope="module")
def demo():
    return build(read(os.path.join(DEMOS[0], "terrace.toml")))


def nearest_parts(parts, view: Eye, points: np.ndarray) -> list:
    """The piece nearest to the eye at each picture point, by casting a ray at every triangle (barycentric test)."""
    best, found = np.full(len(points), -np.inf), [None] * len(points)
    for part in parts:
        vertices, faces = mesh.triangles(part.shape)
        t = (part.place.world(vertices) @ view.axes.T)[faces]
        a, b, c = t[:, 0], t[:, 1], t[:, 2]
        d = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
        flat = np.abs(d) > 1e-9
        a, b, c, d = a[flat], b[flat], c[flat], d[flat]
        px, py = points[:, None, 0] - a[:, 0], points[:, None, 1] - a[:, 1]
        u = (px * (c[:, 1] - a[:, 1]) - py * (c[:, 0] - a[:, 0])) / d
        v = (py * (b[:, 0] - a[:, 0]) - px * (b[:, 1] - a[:, 1])) / d
        depth = a[:, 2] + u * (b[:, 2] - a[:, 2]) + v * (c[:, 2] - a[:, 2])
        depth[(u < 0) | (v < 0) | (u + v > 1)] = -np.inf
        reach = depth.max(axis=1, initial=-np.inf)
        for n in np.flatnonzero(reach > best):
            found[n] = part
        best = np.maximum(best, reach)
    return found


def agreement(parts, view: Eye, count: int = 3000) -> tuple[float, int]:
    """Share of random picture points at which the visible regions and the ray caster name the same piece."""
    seen = visible(parts, view)
    regions = np.array([s.region for s in seen], object)
    x0, y0, x1, y1 = shapely.total_bounds(regions)
    points = np.random.default_rng(5).uniform((x0, y0), (x1, y1), (count, 2))
    wanted = nearest_parts(parts, view, points)
    shown: list = [None] * count
    for p, r in zip(*shapely.STRtree(regions).query(shapely.points(points), predicate="within")):
        assert shown[p] is None, "two visible regions overlap"
        shown[p] = seen[r].part
    same = sum(a is b for a, b in zip(wanted, shown))
    return same / count, sum(w is not None for w in wanted)


@pytest.mark.parametrize("corner", picture.CORNERS)
def test_visible_regions_agree_with_a_ray_caster(deck, corner):
    share, hits = agreement(deck.parts, picture.looking_down(*picture.CORNERS[corner]))
    assert hits > 800
    assert share > 0.998  # rays that graze an arris may fall either way


@pytest.mark.parametrize(
    "view",
    [
        picture.looking_down(1, 1),
        picture.looking_down(-0.3, 1, 12),
        Eye.looking((1, 0)),
        Eye.above(),
        picture.looking_down(1, 0.4, -25),
    ],
    ids=["iso", "low", "side", "above", "below"],
)
def test_visible_regions_agree_with_a_ray_caster_on_a_demo(demo, view):
    assert agreement(demo.parts, view)[0] > 0.998


def test_a_hidden_piece_is_not_seen_and_a_hole_shows_what_is_behind():
    shop = Workshop()
    wall = shop.prism(
        "board",
        STOCK["5/4x6"],
        [(0, 0), (40, 0), (40, 40), (0, 40)],
        1.0,
        Place((0, 0, 0)),
        [[(10, 10), (30, 10), (30, 30), (10, 30)]],
    )
    hidden = shop.prism("joist", STOCK["2x8"], [(0, 0), (5, 0), (5, 5), (0, 5)], 1.0, Place((2, 2, -4)))
    shown = shop.prism("rim", STOCK["2x8"], [(0, 0), (5, 0), (5, 5), (0, 5)], 1.0, Place((18, 18, -4)))
    half = shop.prism("beam", STOCK["2x8"], [(0, 0), (8, 0), (8, 4), (0, 4)], 1.0, Place((26, 18, -4)))
    area = {}
    for s in visible([wall, hidden, shown, half], Eye.above()):
        area[s.part.role] = area.get(s.part.role, 0.0) + s.region.area
    assert area == pytest.approx({"board": 40 * 40 - 20 * 20, "rim": 25, "beam": 16})


def test_the_three_axes_of_an_isometric_are_equally_foreshortened():
    view = picture.looking_down(1, 1)
    lengths = np.linalg.norm(view.flat(np.eye(3)), axis=1)
    assert lengths == pytest.approx([np.sqrt(2 / 3)] * 3)  # textbook identity of isometric projection
    assert np.linalg.det(view.axes) == pytest.approx(1)


def as_array(data: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(data)).convert("RGB"), int)


def differing(a: np.ndarray, b: np.ndarray) -> float:
    return float((np.abs(a - b).max(axis=2) > 40).mean())


def test_a_missing_piece_changes_the_picture_and_a_rebuild_does_not(deck):
    whole = as_array(canvas.png(picture.isometric(deck, "front-left"), 800))
    again = as_array(canvas.png(picture.isometric(small_deck(), "front-left"), 800))
    assert differing(whole, again) == 0
    baluster = next(p for p in deck.parts if p.role == "baluster")
    fewer = SimpleNamespace(parts=[p for p in deck.parts if p is not baluster])
    assert differing(whole, as_array(canvas.png(picture.isometric(fewer, "front-left"), 800))) > 1e-3


def test_another_program_draws_the_svg_as_the_png_and_a_missing_piece_would_show(deck):
    if not CHROMIUM:
        if os.environ.get("CI"):
            pytest.fail("CI needs Chromium: apt-get install chromium")
        pytest.skip("no Chromium here: apt-get install chromium")
    drawn = picture.isometric(deck, "front-right")
    ours, text = as_array(canvas.png(drawn, 900)), canvas.svg(drawn, 900)
    fewer = SimpleNamespace(parts=[p for p in deck.parts if p.id != "BA1-05"])
    short = as_array(canvas.png(picture.isometric(fewer, "front-right"), 900))
    with sync_playwright() as play:
        browser = play.chromium.launch(
            executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
        )
        page = browser.new_page(viewport={"width": 900, "height": ours.shape[0]})
        page.set_content(f"<body style='margin:0'>{text}</body>")
        theirs = as_array(page.screenshot())
    body = slice(0, ours.shape[0] - 60)  # the foot's words are set in another face
    same, missing = differing(ours[body], theirs[body]), differing(short[body], theirs[body])
    assert same < 0.01
    assert missing > same + 5e-4


def test_the_exploded_layers_stand_clear_of_one_another_and_are_named(deck):
    lifts = picture.layer_lifts(deck.parts)
    spans = [
        (
            min(p.box[0][2] for p in deck.parts if p.group == g) + lifts[g],
            max(p.box[1][2] for p in deck.parts if p.group == g) + lifts[g],
        )
        for g in GROUPS
        if g in lifts
    ]
    assert all(upper[0] > lower[1] for lower, upper in itertools.pairwise(spans)) and len(spans) == 7
    words = [i.text for i in picture.exploded(deck).items if isinstance(i, canvas.Lettering)]
    assert words == [g for g in GROUPS if g in lifts]


def texts(p: canvas.Picture) -> list[str]:
    return [i.text for i in p.items if isinstance(i, canvas.Lettering)]


def test_the_stair_picture_carries_what_arithmetic_says(demo):
    """Closed form from the boxes of the pieces: the demo's one stair runs straight down the sheet from the front
    edge."""
    words = texts(stair_picture.stair_pictures(demo)["stair-1"])
    treads = [p for p in demo.parts if p.role == "tread"]
    levels = sorted({round(float(p.box[1][2]), 6) for p in treads})
    fronts = [max(-float(p.box[0][1]) for p in treads if abs(p.box[1][2] - z) < 1e-3) for z in reversed(levels)]
    total = demo.planes.surface_top - max(float(p.box[1][2]) for p in demo.parts if p.role == "pad")
    rises, going = len(levels) + 1, float(np.diff(fronts).mean())
    assert f"total rise {feet_inches(total)} in {rises} rises" in words
    assert words.count(feet_inches(total / rises)) == rises
    assert words.count(feet_inches(going)) == len(levels)
    assert f"total run {feet_inches(going * len(levels))}" in words
    assert f"pitch line {np.degrees(np.arctan(total / rises / going)):.1f}°" in words
    nosing = min(
        f - max(-float(r.box[0][1]) for r in demo.parts if r.role == "riser" and z - 2 < r.box[1][2] < z)
        for z, f in zip(reversed(levels), fronts)
    )
    assert f"nosing {feet_inches(nosing)}" in words
    assert any(w.startswith("headroom: nothing") for w in words)


def test_headroom_is_drawn_where_something_hangs_over_the_flight(demo):
    treads = sorted((p for p in demo.parts if p.role == "tread"), key=lambda p: p.box[1][2])
    x, y = (treads[0].box[0][:2] + treads[0].box[1][:2]) / 2
    beam = Workshop().upright(
        "beam", STOCK["2x8"], [(x - 60, y - 1), (x + 60, y - 1), (x + 60, y + 1), (x - 60, y + 1)], 90, 97
    )
    over = SimpleNamespace(
        parts=[*demo.parts, beam.replaced(id="BM9-01", mark="BM9")],
        parameters=demo.parameters,
        layout=demo.layout,
        planes=demo.planes,
        contacts=demo.contacts,
        touching=demo.touching,
    )
    found = [w for w in texts(stair_picture.stair_pictures(over)["stair-1"]) if w.startswith("headroom ")]
    # least where the pitch line, which falls from nosing to nosing, is highest under the beam: at its edge nearer the
    # deck
    levels = sorted({round(float(p.box[1][2]), 6) for p in treads}, reverse=True)
    fronts = [max(-float(p.box[0][1]) for p in treads if abs(p.box[1][2] - z) < 1e-3) for z in levels]
    assert found == [f"headroom {feet_inches(90 - float(np.interp(-y - 1, fronts, levels)))}"]


def test_everything_is_written_as_png_and_svg_with_the_cautions(demo, tmp_path):
    paths = picture.write_pictures(demo, tmp_path / "pictures")
    assert {p.name for p in paths} == {
        f"{n}.{e}"
        for n in (*(f"iso-{c}" for c in picture.CORNERS), "exploded", "plan", "stair-1")
        for e in ("png", "svg")
    }
    for path in paths:
        if path.suffix == ".svg":
            words = "".join(ET.parse(path).getroot().itertext()).upper()
            assert all(c.rstrip(".") in words for c in CAUTIONS) and "BACK TERRACE" in words
        else:
            image = np.asarray(Image.open(path).convert("RGB"), int)
            assert image.shape[1] == 1600 and differing(image, np.broadcast_to(image[1, 1], image.shape)) > 0.05


def test_markup_in_a_name_stays_text(deck):
    nasty = "<script>alert(1)</script> & co"
    named = SimpleNamespace(parts=deck.parts[:3], parameters=SimpleNamespace(project=SimpleNamespace(name=nasty)))
    root = ET.fromstring(canvas.svg(picture.isometric(named, "front-left")))
    assert not [e for e in root.iter() if e.tag.endswith("script")]
    assert nasty in "".join(root.itertext())


def test_a_region_with_a_hole_is_painted_with_its_hole():
    ring = Polygon([(0, 0), (30, 0), (30, 30), (0, 30)], [[(10, 10), (20, 10), (20, 20), (10, 20)]])
    p = canvas.Picture("hole", items=[canvas.Region(ring, (10, 20, 30))])
    image = as_array(canvas.png(p, 300, 400))
    middle = (300 - 72) / 2 + 36
    assert tuple(image[int(middle), 150]) == canvas.PAPER
    assert tuple(image[int(middle), 60]) == (10, 20, 30)
