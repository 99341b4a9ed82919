"""How long a build takes beside a bare `import cadquery`, beside the plain way, and at ten times the pieces: one run,
one machine.

`pytest tests/test_benchmark_build.py --benchmark-only` prints the figures that DEVELOPERS.md records. Inside a group
the ratio counts; no time is asserted, since a machine's speed is no fact about the program.
"""

from __future__ import annotations

import subprocess
import sys
import time
import tomllib

import pytest
from conftest import PARAMS

from plumbcut.exports.build import Stages, write_all
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.solid.part import Workshop
from plumbcut.shared.stock import Stock

BOARD = Stock("board", 1.0, 5.5, "composite board")
SIZES = {"README demo": None, "ten times as large": {"width": "92'", "depth": "52'"}}


def site(size: str) -> Parameters:
    data = tomllib.loads((PARAMS / "terrace.toml").read_text())
    if SIZES[size]:
        data["outline"] = SIZES[size]
    return Parameters.model_validate(data)


@pytest.mark.benchmark(group="cold, in a process of its own")
@pytest.mark.parametrize("what", ["import cadquery", "build of the README demo"])
def test_cold(benchmark, what, tmp_path):
    call = {
        "import cadquery": [sys.executable, "-c", "import cadquery"],
        "build of the README demo": [
            sys.executable,
            "-m",
            "plumbcut.exports.command",
            "build",
            str(PARAMS / "terrace.toml"),
            "--out",
            str(tmp_path / "out"),
        ],
    }[what]
    benchmark.pedantic(subprocess.run, (call,), {"check": True, "capture_output": True}, rounds=3)


@pytest.mark.benchmark(group="every output, after import")
@pytest.mark.parametrize("size", SIZES)
def test_growth(benchmark, size, tmp_path):
    parameters = site(size)
    kept = {}

    def once():
        stages = Stages()
        result = write_all(parameters, tmp_path / "out", stages, source=PARAMS / "terrace.toml")
        kept["seconds"], kept["pieces"] = stages.seconds, len(result.deck.parts)

    benchmark.pedantic(once, rounds=2, warmup_rounds=0 if SIZES[size] else 1)
    benchmark.extra_info.update({"pieces": kept["pieces"], **{k: round(v, 3) for k, v in kept["seconds"].items()}})
    print(f"\n{size}: {kept['pieces']} pieces", *(f"{v:7.3f} s {k}" for k, v in kept["seconds"].items()), sep="\n  ")


CHANGES = {
    "first build": None,
    "nothing changed": ("[frame]", "[frame]"),
    "joist spacing changed": ("[frame]", '[frame]\njoist_spacing = "12 in"'),
    "surface level changed": ('surface = "38 in"', 'surface = "36 in"'),
}


@pytest.mark.parametrize("change", CHANGES)
@pytest.mark.parametrize("until", ["the page shows the model", "the checks are in too"])
@pytest.mark.benchmark(timer=time.process_time)
def test_watch(benchmark, until, change, tmp_path):
    """What `plumbcut watch` does when the README demo is saved, beside its first build, all in one process after
    import."""
    from plumbcut.exports.page.preview import model_data
    from plumbcut.exports.page.watch import PENDING, Rebuilder
    from plumbcut.model.design.advised import checked_with_mends

    path, text = tmp_path / "deck.toml", (PARAMS / "terrace.toml").read_text()
    benchmark.group = f"watch, until {until}"

    def build(rebuilder):
        deck, measured = rebuilder.model()
        data = model_data(deck, measured, PENDING)
        return (
            model_data(deck, measured, checked_with_mends(deck, measured))
            if until != "the page shows the model"
            else data
        )

    def before():
        path.write_text(text)
        rebuilder = Rebuilder(path)
        if CHANGES[change]:
            build(rebuilder)
            assert CHANGES[change][0] in text
            path.write_text(text.replace(*CHANGES[change], 1))
        kept["by"] = rebuilder
        return (rebuilder,), {}

    kept: dict[str, Rebuilder] = {}
    benchmark.pedantic(build, setup=before, rounds=5, warmup_rounds=1)
    benchmark.extra_info["kept"] = kept["by"].kept
    print(f"\n{change}: {kept['by'].kept} pieces kept")


def _notched(k: int):
    """The outline of board k with a notch in its near edge, and the notch's corner."""
    at = 20 + (k % 60)
    return [
        (0, 0),
        (at, 0),
        (at, 3.75),
        (at + 4, 3.75),
        (at + 4, 0),
        (144 + k / 10, 0),
        (144 + k / 10 + 5.5, 5.5),
        (0, 5.5),
    ], at


@pytest.mark.benchmark(group="200 boards, each with a mitre and a notch")
def test_finished_outline(benchmark):
    def boards():
        shop = Workshop()
        return [shop.upright("board", BOARD, _notched(k)[0], 0, 1).solid for k in range(200)]

    solids = benchmark.pedantic(boards, rounds=3, warmup_rounds=1)
    assert solids[0].Volume() == pytest.approx(5.5 * 144 + 5.5 * 5.5 / 2 - 15)


@pytest.mark.benchmark(group="200 boards, each with a mitre and a notch")
def test_one_boolean_a_notch(benchmark):
    import cadquery as cq

    def boards():
        made = []
        for k in range(200):
            _, at = _notched(k)
            whole = (
                cq.Workplane()
                .polyline([(0, 0), (144 + k / 10, 0), (144 + k / 10 + 5.5, 5.5), (0, 5.5)])
                .close()
                .extrude(1)
            )
            made.append(whole.cut(cq.Workplane().box(4, 3.75, 1, centered=False).translate((at, 0, 0))).val())
        return made

    solids = benchmark.pedantic(boards, rounds=1)
    assert solids[0].Volume() == pytest.approx(5.5 * 144 + 5.5 * 5.5 / 2 - 15)
