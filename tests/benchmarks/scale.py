"""What every stage of a build costs as decks grow: about 300, 1,400, 3,400 and 10,000 pieces.

`python tests/benchmarks/scale.py` builds each deck in a process of its own, one stage after the other, prints time of
the processor, time by the clock and the highest memory of every stage, and writes `scale.csv` and `scale.svg` beside
itself. `python tests/benchmarks/scale.py 300 1400` does those decks alone and writes nothing. The last rows are a whole
build as the command does it, with the sheets in a second process; its seconds depend on what else runs.
"""

from __future__ import annotations

import csv
import json
import re
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

HERE = Path(__file__).parent
# width and depth in feet, stairs along the front: decks round a house corner, invented
DECKS = {300: (16.5, 14.5, 1), 1400: (48.0, 38.0, 2), 3400: (95.0, 66.0, 4), 10000: (190.0, 118.0, 8)}
WHOLE, BESIDE = "whole build, after import", "second process of it"


def parameters(size: int):
    """The deck of about `size` pieces: an L round a corner of the house, 38 in above the ground."""
    from plumbcut.model.input.parameters import Parameters

    wide, deep, stairs = (12 * DECKS[size][0], 12 * DECKS[size][1], DECKS[size][2])
    corner = (round(wide * 0.62), round(deep * 0.7))
    points = [(0, 0), (wide, 0), (wide, deep), (corner[0], deep), corner, (0, corner[1])]
    return Parameters.model_validate(
        {
            "project": {"name": f"Terrace of {size} pieces"},
            "outline": {
                "points": points,
                "edges": ["front", "right", "end", "wall", "house", "left"],
                "house": ["wall", "house"],
            },
            "levels": {"surface": "38 in"},
            "frame": {"joist": "2x10"},
            "surface": {"border": {"courses": 1}},
            "stair": [
                {"edge": "front", "at": round((k + 0.5) * wide / stairs - 22), "width": 44} for k in range(stairs)
            ],
            "local": {"frost_depth": "36 in"},
        }
    )


def _peak() -> float:
    """MB of memory that this process held at most since the last `_forget`."""
    found = re.search(r"VmHWM:\s+(\d+) kB", Path("/proc/self/status").read_text())
    return int(found[1]) / 1024 if found else 0.0


def _forget() -> None:
    """Start measuring the highest memory anew (Linux)."""
    Path("/proc/self/clear_refs").write_text("5")


def _staged(size: int) -> list[tuple[str, float, float, float]]:
    """Every stage by itself, one after the other: name, CPU seconds, seconds by the clock, MB held at most; first the
    count of pieces."""
    from plumbcut.exports import build
    from plumbcut.shared.prices import Prices

    rows = []

    class Measured(build.Stages):
        @contextmanager
        def stage(self, name: str) -> Iterator[None]:
            _forget()
            cpu, clock = time.process_time(), time.perf_counter()
            yield
            rows.append((name, time.process_time() - cpu, time.perf_counter() - clock, _peak()))

    given = parameters(size)
    with tempfile.TemporaryDirectory() as folder:
        stages, prices = Measured(), Prices()
        chosen, measured = build.design(given, stages)
        checks = build.check_results(chosen, measured, stages)
        made = build.BuildResult(chosen.deck, measured, chosen.structure, checks, stages)
        build.write_page(made, Path(folder))
        taken = build.write_lists(made, Path(folder), prices, build.frame_reasons(chosen, prices, stages))
        made.order = lambda: taken.order
        build.write_drawings(made, Path(folder))
        for write in (build.write_exact, *build.EITHER):
            write(made, Path(folder))
    return [("pieces", float(len(made.deck.parts)), 0.0, 0.0), *rows]


def _whole(size: int) -> list[tuple[str, float, float, float]]:
    """A build as the command does it, after the import: CPU of both processes, seconds by the clock, memory of each."""
    from plumbcut.exports import build

    build.load_kernel()
    given = parameters(size)
    _forget()
    cpu, clock = time.process_time(), time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        build.write_all(given, Path(folder, "out"), build.Stages())
    took = time.perf_counter() - clock
    second = resource.getrusage(resource.RUSAGE_CHILDREN)
    return [
        (WHOLE, time.process_time() - cpu, took, _peak()),
        (BESIDE, second.ru_utime + second.ru_stime, took, second.ru_maxrss / 1024),
    ]


def measure(size: int) -> list[tuple[str, float, float, float]]:
    """Rows of one deck, each way of building in a fresh process."""
    found = []
    for way in ("staged", "whole"):
        done = subprocess.run([sys.executable, __file__, f"--{way}", str(size)], capture_output=True, text=True)
        if done.returncode:
            raise RuntimeError(done.stderr)
        found += json.loads(done.stdout.splitlines()[-1])
    return [tuple(row) for row in found]


def _print(rows) -> None:
    print(f"\n{int(rows[0][1])} pieces\n{'':36}    CPU s  clock s    MB")
    for name, cpu, clock, memory in rows[1:]:
        print(f"{name:36}{cpu:9.2f}{clock:9.2f}{memory:6.0f}")
    stages = [r for r in rows[2:] if r[0] not in (WHOLE, BESIDE)]
    print(f"{'all stages but the kernel':36}{sum(r[1] for r in stages):9.2f}", flush=True)


def _plot(found: dict[int, list], path: Path) -> None:
    """CPU seconds a thousand pieces of every stage, so that a level line is growth in proportion; memory below."""
    import matplotlib

    matplotlib.use("svg")
    matplotlib.rcParams["svg.hashsalt"] = "plumbcut"
    import matplotlib.pyplot as plt
    from matplotlib.ticker import NullFormatter

    pieces = [rows[0][1] for rows in found.values()]
    names = [r[0] for r in next(iter(found.values()))[2:] if r[0] not in (WHOLE, BESIDE)]
    by = {n: [next(r for r in rows if r[0] == n) for rows in found.values()] for n in names}
    names.sort(key=lambda n: -by[n][-1][1])
    figure, (upper, lower) = plt.subplots(2, 1, figsize=(9, 9.5), height_ratios=(3, 1), sharex=True)
    for k, name in enumerate(names):
        each = [1000 * r[1] / n for r, n in zip(by[name], pieces)]
        upper.loglog(pieces, each, marker="osD^v"[k % 5], ms=4, lw=1, color=plt.colormaps["tab20"](k % 20), label=name)
    upper.set(ylabel="CPU seconds for each 1,000 pieces (level: in proportion)", title="Stages of a build")
    upper.legend(fontsize=7, ncols=2, loc="center left", bbox_to_anchor=(1.0, 0.5))
    lower.plot(pieces, [max(r[3] for r in rows[1:]) for rows in found.values()], marker="o", ms=4, lw=1)
    lower.set(xscale="log", ylabel="memory, MB at most", xlabel="pieces", ylim=(0, None))
    lower.set_xticks(pieces, [f"{int(n):,}" for n in pieces], minor=False)
    lower.xaxis.set_minor_formatter(NullFormatter())  # its own labels would stand in those of the decks
    figure.savefig(path, metadata={"Date": None}, bbox_inches="tight")


def main(sizes: list[int]) -> None:
    found = {}
    for size in sizes or DECKS:
        found[size] = measure(size)
        _print(found[size])
    if not sizes:
        record(found)


def record(found: dict[int, list]) -> None:
    """Write `scale.csv` and `scale.svg`."""
    with (HERE / "scale.csv").open("w", newline="") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(("pieces", "stage", "cpu_s", "clock_s", "peak_mb"))
        for rows in found.values():
            for name, cpu, clock, memory in rows[1:]:
                out.writerow((int(rows[0][1]), name, f"{cpu:.3f}", f"{clock:.3f}", f"{memory:.0f}"))
    _plot(found, HERE / "scale.svg")


if __name__ == "__main__":
    ways = {"--staged": _staged, "--whole": _whole}
    if sys.argv[1:] and sys.argv[1] in ways:
        print(json.dumps(ways[sys.argv[1]](int(sys.argv[2]))))
    else:
        main([int(a) for a in sys.argv[1:]])
