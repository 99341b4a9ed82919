"""Comparing decks: sums against the takings of each deck alone, moves that were asked for, and a sweep over
processes."""

from __future__ import annotations

import csv
import itertools
import math
import subprocess
import sys
import xml.etree.ElementTree as ET
from collections import Counter
from types import SimpleNamespace

import pytest
from click.testing import CliRunner
from conftest import PARAMS

from plumbcut.exports.command import main
from plumbcut.exports.comparing import compare as room
from plumbcut.exports.comparing import sweep
from plumbcut.exports.comparing.side_by_side import text, write_csv
from plumbcut.exports.comparing.sweep_plot import nice, plot
from plumbcut.model.deck import build
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.order.takeoff import take_off
from plumbcut.model.parameter_file import prepare, read
from plumbcut.model.rules.checks import check_deck
from plumbcut.shared.errors import InputError
from plumbcut.shared.prices import read_prices

TERRACE = PARAMS / "terrace.toml"


def run(*args):
    return CliRunner().invoke(main, [str(a) for a in args])


@pytest.fixture(scope="module")
def priced(tmp_path_factory):
    """The terrace with a price list beside it."""
    folder = tmp_path_factory.mktemp("priced")
    source = TERRACE.read_text()
    if "prices" not in source:
        source += '\n[order]\nprices = "prices.csv"\n'
    (folder / "prices.csv").write_text((PARAMS / "prices.csv").read_text())
    (folder / "deck.toml").write_text(source)
    return folder / "deck.toml"


@pytest.fixture(scope="module")
def closer(priced):
    """The terrace as it is, and with its joists closer together."""
    return room.two((priced, None, "as drawn"), (priced, {"frame.joist_spacing": "12in"}, "closer"))


@pytest.fixture(scope="module")
def higher(priced):
    """The terrace, and the same 2 in higher: all but what stands in the ground goes up with it."""
    surface = read(priced).levels.surface
    return room.two((priced, None, "as drawn"), (priced, {"levels.surface": surface + 2}, "2 in higher"))


def sums(a, b) -> dict[str, tuple]:
    return {row[0]: row[2:] for row in room.tables(a, b)["Sums"][1]}


def test_each_side_is_what_its_deck_alone_takes(closer, priced):
    for side, changes in zip((0, 1), (None, {"frame.joist_spacing": 12})):
        deck = build(prepare(priced, changes)[0])
        measured = measure_all(deck.parts)
        taken = take_off(deck, measured, read_prices(priced.parent / "prices.csv"))
        results = Counter(c.result for c in check_deck(deck, measured))
        told = {k: v[side] for k, v in sums(*closer).items()}
        assert told["pieces"] == len(deck.parts) and told["marks"] == len({p.mark for p in deck.parts})
        bought = sum(length * n for line in taken.order.lines for length, n in line.counts.items())
        assert told["length bought"] == pytest.approx(bought / 12)
        assert told["weight delivered"] == pytest.approx(taken.totals.delivered)
        assert told["price"] == pytest.approx(taken.order.price + taken.hardware_price) and told["price"] > 0
        assert (told["checks met"], told["checks not met"], told["checks not checked"]) == (
            results["met"],
            results["not met"],
            results["not checked"],
        )


def test_a_deck_is_the_same_as_itself(priced):
    a, b = room.two((priced, None, "a"), (priced, None, "b"))
    tables = room.tables(a, b)
    assert all(not rows for title, (_, rows) in tables.items() if title != "Sums")
    assert {row[-1] for row in tables["Sums"][1]} == {0}
    assert {p.what for p in room.match(a.measured, b.measured)} == {"same"}


def test_every_piece_is_in_one_pair(closer):
    a, b = closer
    pairs = room.match(a.measured, b.measured)
    assert sorted(p.a.id for p in pairs if p.a) == sorted(m.id for m in a.measured)
    assert sorted(p.b.id for p in pairs if p.b) == sorted(m.id for m in b.measured)
    assert all(p.a.role == p.b.role for p in pairs if p.a and p.b)


def test_joists_are_matched_to_the_nearest_over_the_whole_field(closer):
    """Against every possible assignment: the moves add up to the least there is."""
    a, b = closer
    pairs = [p for p in room.match(a.measured, b.measured) if p.role == "joist"]
    x, y = ([float(m.box.mean(axis=0)[0]) for m in v.measured if m.role == "joist"] for v in (a, b))
    assert sum(p.what == "added" for p in pairs) == len(y) - len(x)
    moved = [p for p in pairs if p.a and p.b and p.moved > room.STAYS]
    stayed = {round(v, 3) for v in x} & {round(v, 3) for v in y}
    left, right = ([v for v in side if round(v, 3) not in stayed] for side in (x, y))
    assert len(moved) == len(left)
    least = min(
        sum(abs(p - q) for p, q in zip(sorted(left), some)) for some in itertools.combinations(sorted(right), len(left))
    )  # in order is least on a line
    assert math.fsum(p.moved for p in moved) == pytest.approx(least)


def test_what_was_raised_has_moved_by_as_much(higher):
    pairs = room.match(higher[0].measured, higher[1].measured)
    level = [p for p in pairs if p.role in ("joist", "beam", "rim", "ledger", "board", "border")]
    assert len(level) > 30 and all(p.what == "moved" and p.moved == pytest.approx(2.0) for p in level)
    assert all(p.what == "same" for p in pairs if p.role in ("footing", "post base"))
    posts = [p for p in pairs if p.role == "post"]
    assert posts and all(p.what == "cut differently" and p.b.length - p.a.length == pytest.approx(2.0) for p in posts)


def test_marks_say_which_cut_changed(higher):
    a, b = higher
    cuts = room.marks(a.measured, b.measured, room.match(a.measured, b.measured))
    assert sum(c.count_a for c in cuts) == len(a.measured) and sum(c.count_b for c in cuts) == len(b.measured)
    posts = [c for c in cuts if c.role == "post"]
    assert all(c.what == "cut differently" and c.length_b - c.length_a == pytest.approx(2.0) for c in posts)
    assert all(c.what == "same" for c in cuts if c.role in ("joist", "beam", "ledger", "footing"))
    # a mark with no other cut names the same shape in both
    shapes = [{m.mark: m.part.shape for m in v.measured} for v in higher]
    for c in cuts:
        if c.mark_a and c.mark_b:
            assert (shapes[0][c.mark_a] is shapes[1][c.mark_b]) == (not c.other)


def test_a_rule_that_is_no_longer_met_is_named():
    a = [
        SimpleNamespace(rule=r, source="s", local=None, result=x)
        for r, x in (("rise", "met"), ("rise", "met"), ("going", "met"), ("snow", "not checked"), ("gone", "met"))
    ]
    b = [
        SimpleNamespace(rule=r, source="s", local=None, result=x)
        for r, x in (("rise", "met"), ("rise", "not met"), ("going", "met"), ("going", "met"), ("snow", "met"))
    ]
    assert room.rules(a, b) == [
        ("rise", "s", "2 met", "1 not met, 1 met"),
        ("snow", "s", "1 not checked", "1 met"),
        ("gone", "s", "1 met", "does not apply"),
    ]


def test_a_steeper_stair_shows_in_the_command(tmp_path, priced):
    steep = priced.parent / "steep.toml"
    steep.write_text(priced.read_text().replace("[[stair]]", '[[stair]]\nrise = "9 in"\ngoing = "8 in"', 1))
    done = run("compare", priced, steep, "--csv", tmp_path / "c.csv")
    assert done.exit_code == 0, done.output
    assert (
        "not met" in done.output.split("Rules")[1]
        and "IRC" in done.output
        and "authority having jurisdiction" in done.output
    )
    with open(tmp_path / "c.csv", encoding="utf-8", newline="") as f:
        rows = list(csv.reader(f))
    assert {r[0] for r in rows} == {"Compared", "Sums", "Pieces", "Cuts", "Bought", "Rules", "Each piece"}
    assert any(r[0] == "Each piece" and r[2] == "stringer" and r[1] == "cut differently" for r in rows)


def test_the_file_holds_every_piece_that_changed(closer, tmp_path):
    write_csv(*closer, tmp_path / "c.csv")
    with open(tmp_path / "c.csv", encoding="utf-8", newline="") as f:
        told = [r for r in csv.reader(f) if r[0] == "Each piece"][1:]
    changed = [p for p in room.match(closer[0].measured, closer[1].measured) if p.what != "same"]
    assert len(told) == len(changed) > 20
    assert "added" in {r[1] for r in told}
    assert len(text(*closer).splitlines()) < 120


# --- sweeps -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "given, wanted",
    [
        ("frame.joist_spacing=12in,16in", ["12in", "16in"]),
        ("frame.joist=2x8", ["2x8"]),
        ("frame.beam_lines=[10ft, 20ft],[12ft]", ["[10ft, 20ft]", "[12ft]"]),
        ("levels.surface=3' 2\",4'", ["3' 2\"", "4'"]),
        ('project.name="a, b",c', ['"a, b"', "c"]),
        ("frame.cantilever=12,12", ["12"]),
    ],
)
def test_values_are_read_from_the_command_line(given, wanted):
    assert sweep.read_vary([given]) == [(given.partition("=")[0], wanted)]


@pytest.mark.parametrize(
    "given",
    [["frame.joist_spacing"], ["=1"], ["a="], ["a=1,,2"], ["a=1", "a=2"], ["a=" + ",".join(map(str, range(300)))]],
)
def test_what_cannot_be_read_is_one_clear_message(given):
    with pytest.raises(InputError, match="^--vary: "):
        sweep.read_vary(given)


@pytest.mark.parametrize(
    "given, wanted",
    [
        ("12in", "12in"),
        ("16", 16),
        ("1.5", 1.5),
        ("true", True),
        ('"2x8"', "2x8"),
        ("2x8", "2x8"),
        ("[1, 2]", [1, 2]),
        ("1\nx=2", "1\nx=2"),
    ],
)
def test_a_value_is_what_it_would_be_in_the_file(given, wanted):
    assert sweep.value(given) == wanted


def test_a_variant_is_the_file_with_that_value(tmp_path):
    key = "frame.joist_spacing"
    edited = tmp_path / "deck.toml"
    edited.write_text(TERRACE.read_text().replace("[frame]", '[frame]\njoist_spacing = "1\' 0\\""', 1))
    assert prepare(TERRACE, {key: "12in"})[0] == prepare(edited)[0]


@pytest.mark.parametrize(
    "key, value, words",
    [
        ("frame.joist_spacing", "-3in", "wanted at least 4 in"),
        ("frame.nosuch", "1", "unknown key"),
        ("stair.4.width", "40in", "not there to change"),
        ("project.name.first", "x", "what is above it is a value"),
        ("stair.0.at", "40ft", "does not fit"),
    ],
)
def test_a_bad_value_is_told_before_anything_is_built(key, value, words, tmp_path):
    out = tmp_path / "out"
    done = run("compare", TERRACE, "--vary", f"{key}={value}", "--out", out)
    assert done.exit_code == 2 and words in done.output and f"--vary {key}={value}" in done.output
    assert not out.exists()


def test_a_sweep_over_processes_gives_what_each_variant_alone_gives(priced, tmp_path):
    out = tmp_path / "out"
    done = run(
        "compare", priced, "--vary", "frame.joist_spacing=12in,24in", "--vary", "frame.joist=2x8,2x10", "--out", out
    )
    assert done.exit_code == 0, done.output
    with open(out / "sweep.csv", encoding="utf-8", newline="") as f:
        rows = list(csv.DictReader(f))
    assert [(r["frame.joist_spacing"], r["frame.joist"]) for r in rows] == [
        ("12in", "2x8"),
        ("12in", "2x10"),
        ("24in", "2x8"),
        ("24in", "2x10"),
    ]
    for row in rows[1:3]:
        label = (("frame.joist_spacing", row["frame.joist_spacing"]), ("frame.joist", row["frame.joist"]))
        alone = sweep.figures(priced, label)
        assert float(row["price"]) == pytest.approx(alone.price, abs=1e-5) and float(
            row["weight (lb)"]
        ) == pytest.approx(alone.weight, abs=1e-5)
        assert (
            float(row["least margin (%)"]) == pytest.approx(100 * alone.margin, abs=1e-4)
            and int(row["not met"]) == alone.not_met
        )
    # heavier joists weigh more; the same joists further apart weigh less (2x8s take one more beam there) and spare no
    # more: a footing governs at both, by its table here and by the soil there; where the joists lie between its posts
    # moves that by a percent or two
    assert float(rows[1]["weight (lb)"]) > float(rows[0]["weight (lb)"])
    assert float(rows[3]["weight (lb)"]) < float(rows[1]["weight (lb)"])
    assert float(rows[3]["least margin (%)"]) <= float(rows[1]["least margin (%)"]) + 2
    drawn = ET.fromstring((out / "sweep.svg").read_text())
    words = {e.text for e in drawn.iter("{http://www.w3.org/2000/svg}text")}
    assert {
        "12in",
        "24in",
        "frame.joist_spacing",
        "Price",
        "Weight delivered, lb",
        "Least margin of the frame, percent",
    } <= words
    assert (out / "sweep.png").read_bytes()[:4] == b"\x89PNG"


def test_the_margin_is_the_least_over_all_members(priced):
    from plumbcut.model.structure.structure import analyse

    deck = build(read(priced))
    structure = analyse(deck)
    ratios = [r["ratio"] for r in structure.rows() if r["ratio"] is not None and r["result"] != "not checked"]
    assert sweep.least_margin(structure)[0] == pytest.approx(1 - max(ratios))


def test_a_plot_has_a_point_a_variant_and_rings_what_is_not_met():
    found = [
        sweep.Figures((("a", x), ("b", y)), price=float(p), weight=10.0, margin=m, not_met=int(m < 0))
        for (x, y), p, m in zip(itertools.product("12", "xy"), (5, 6, 7, 8), (0.1, 0.2, -0.1, 0.3))
    ]
    picture = plot([*found, sweep.Figures((("a", "3"), ("b", "x")), fault="deck.toml: no")], "a deck")
    dots = [i for i in picture.items if type(i).__name__ == "Region"]
    rings = [i for i in picture.items if type(i).__name__ == "Stroke" and len(i.points) > 20]
    assert len(dots) == 3 * 4 + 2  # four variants in three panels, two in the legend
    assert len(rings) == 3 + 1
    heights = sorted(d.polygon.centroid.y for d in dots if d.polygon.centroid.x < 1200)[
        -4:
    ]  # the top panel holds the prices 5, 6, 7, 8
    steps = [b - a for a, b in itertools.pairwise(heights)]
    assert steps[0] > 20 and steps == pytest.approx([steps[0]] * 3), "prices a step apart stand a step apart"
    assert any(getattr(i, "text", "") == "a=3 b=x: not drawn" for i in picture.items)


@pytest.mark.parametrize(
    "low, high", [(0, 1), (4038, 4570), (-3.02, 11.7), (5, 5), (0, 0), (0.001, 0.0011), (2.4e6, 3e6)]
)
def test_scales_are_round_and_hold_their_values(low, high):
    ticks = nice(low, high)
    assert ticks[0] <= low + 1e-9 and ticks[-1] >= high - 1e-9 and 2 <= len(ticks) <= 8
    steps = {round((b - a) / (ticks[1] - ticks[0]), 6) for a, b in itertools.pairwise(ticks)}
    assert steps == {1.0}


@pytest.mark.parametrize(
    "call",
    [
        ["picture", "BAD"],
        ["watch", "MISSING"],
        ["compare", "BAD", "BAD"],
        ["compare", TERRACE, "--vary", "frame.joist_spacing=1in"],
    ],
    ids=["picture", "watch", "compare", "vary"],
)
def test_a_fault_is_told_without_the_kernel(call, tmp_path):
    bad = tmp_path / "bad.toml"
    bad.write_text("[outline]\nwidth = -1\n")
    call = [str({"BAD": bad, "MISSING": tmp_path / "none.toml"}.get(c, c)) for c in call]
    code = (
        f"import sys\nfrom plumbcut.exports.command import main\ntry:\n    main({call!r})\nexcept SystemExit as e:\n   "
        " print(e.code, 'OCP' in sys.modules)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=tmp_path)
    assert done.stdout.split() == ["2", "False"] and done.stderr.strip()
    assert [p.name for p in tmp_path.iterdir()] == ["bad.toml"]


def test_picture_draws_each_view_twice(tmp_path):
    out = tmp_path / "pictures"
    done = run("picture", TERRACE, "--out", out)
    assert done.exit_code == 0, done.output
    names = {p.stem for p in out.iterdir() if not p.name.startswith(".")}
    assert {"iso-front-left", "iso-front-right", "iso-back-left", "iso-back-right", "exploded"} < names and any(
        n.startswith("stair") for n in names
    )
    for name in names:
        assert (out / f"{name}.png").read_bytes()[:4] == b"\x89PNG" and ET.fromstring(
            (out / f"{name}.svg").read_text()
        ).tag.endswith("svg")
    assert run("picture", TERRACE, "--out", out).exit_code == 0, "what it wrote itself it replaces"


@pytest.mark.parametrize(
    "call",
    [
        ["compare", TERRACE],
        ["compare", TERRACE, TERRACE, TERRACE],
        ["compare", TERRACE, TERRACE, "--out", "x"],
        ["compare", TERRACE, TERRACE, "--vary", "a=1"],
    ],
    ids=range(4),
)
def test_a_wrong_call_says_what_is_wanted(call):
    done = run(*call)
    assert done.exit_code == 2 and "give two files, or one file and --vary" in done.output
