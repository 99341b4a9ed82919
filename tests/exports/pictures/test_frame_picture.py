"""Frames in plan: every joist, beam, post and footing is there at its place, and several plans stand clear of each
other at one scale. The decks are invented."""

from __future__ import annotations

import itertools
import re

import pytest
from click.testing import CliRunner
from PIL import Image
from shapely.geometry import box

from plumbcut.exports.command import main
from plumbcut.exports.drafting.wording import worded
from plumbcut.exports.pictures.canvas import Lettering, Region, svg
from plumbcut.exports.pictures.frame_picture import frame_words, plan_items, plans_side_by_side
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.plan.layout import lay_out


def plan(width=173, depth=131, **frame):
    file = {"outline": {"width": width, "depth": depth}, "levels": {"surface": 46}, "frame": frame}
    return lay_out(Parameters.model_validate(file))


def regions(items):
    return [i.polygon for i in items if isinstance(i, Region)]


def test_joists_beams_and_posts_lie_where_they_will():
    """173 in wide, 16 in on centre: joists at 16, 32, ... 160 between the two rims. One beam of two plies, 12 in of
    joist past its outer face, on three posts of 5-1/2 in."""
    shapes = regions(plan_items(plan()))
    across = sorted(p.centroid.x for p in shapes if p.bounds[3] - p.bounds[1] > 100 and p.area < 1.6 * 131)
    assert across[1:-1] == pytest.approx([16.0 * n for n in range(1, 11)], abs=0.8) and len(across) == 12
    posts = [p for p in shapes if p.area == pytest.approx(5.5**2)]
    assert len(posts) == 3
    plies = sorted(
        p.bounds[1] for p in shapes if p.bounds[2] - p.bounds[0] > 160 and p.bounds[1] > 5 and p.bounds[3] < 20
    )
    assert plies == pytest.approx([12.0, 13.5])
    assert all(p.centroid.y == pytest.approx(13.5 + 1.5, abs=1.6) for p in posts)


def test_the_words_say_what_is_drawn():
    told = [worded(w) for w in frame_words(plan())]
    assert told == ['joists 2x8, 16" on centre', "1 beam 2-2x10", '3 footings of 22", 3 posts 6x6']
    metric = [worded(w, True) for w in frame_words(plan())]
    assert "406 mm" in metric[0] and "559 mm" in metric[2]


def test_plans_side_by_side_stand_clear_at_one_scale():
    plans = [("shallow", plan()), ("wide", plan(width=281, beam_plies=3)), ("deep", plan(depth=163, joist="2x10"))]
    picture = plans_side_by_side(plans, "three frames")
    names = {i.text: i.at[0] for i in picture.items if isinstance(i, Lettering) and i.text in dict(plans)}
    assert list(names) == ["shallow", "wide", "deep"] and names["shallow"] < names["wide"] < names["deep"]
    shapes = regions(picture.items)
    middles = list(names.values())
    edges = [(a + b) / 2 for a, b in itertools.pairwise(middles)]
    assert not any(p.intersects(box(e - 0.1, -1e4, e + 0.1, 1e4)) for p in shapes for e in edges)
    # each as wide as it will be built: nothing is drawn smaller to fit
    for (name, made), width in zip(plans, (173, 281, 173)):
        assert made.outline.polygon.bounds[2] == width
        around = [p for p in shapes if abs(p.centroid.x - names[name]) < width / 2 and p.area < 1.6 * 281]
        assert max(p.bounds[2] for p in around) - min(p.bounds[0] for p in around) == pytest.approx(width, abs=20)
    # in no window's way
    x0, y0, x1, y1 = picture.window
    assert all(box(x0, y0, x1, y1).contains(p) for p in shapes)
    texts = [i for i in picture.items if isinstance(i, Lettering)]
    assert all(x0 < i.at[0] < x1 and y0 < i.at[1] < y1 for i in texts)


def test_the_picture_is_the_same_every_time():
    assert svg(plans_side_by_side([("", plan())], "one")) == svg(plans_side_by_side([("", plan())], "one"))


@pytest.mark.parametrize("ending", ["png", "svg"])
def test_the_command_draws_it(tmp_path, ending):
    (tmp_path / "deck.toml").write_text("[outline]\nwidth = 151\ndepth = 113\n[levels]\nsurface = 41\n")
    path = tmp_path / f"frame.{ending}"
    result = CliRunner().invoke(main, ["design", str(tmp_path / "deck.toml"), "--picture", str(path)])
    assert result.exit_code == 0, result.output
    if ending == "png":
        image = Image.open(path)
        assert image.width == 1600 and len(image.getcolors(1 << 20)) > 20
    else:
        assert re.search(r"joists 2x8, 16&quot; on centre|joists 2x8, 16\" on centre", path.read_text())


def test_a_picture_of_another_kind_is_refused(tmp_path):
    file = tmp_path / "deck.toml"
    file.write_text("[outline]\nwidth = 151\ndepth = 113\n[levels]\nsurface = 41\n")
    result = CliRunner().invoke(main, ["design", str(file), "--picture", str(tmp_path / "frame.pdf")])
    assert result.exit_code == 2 and ".png or .svg" in result.output and "\n" not in result.output.strip()
