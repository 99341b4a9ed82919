"""Seeded decks of any outline, slope and stairs: each builds with no fault that the solids show, or is refused by key.

`python tests/long/decks.py FIRST LAST` builds the decks of these seeds and prints every fault and refusal, then the
counts. Overlaps are judged twice: by the program, and by a second kernel (manifold3d) on the meshes of `model.glb`,
which is read back here.
"""

from __future__ import annotations

import collections
import itertools
import math
import random
import sys
import tempfile
from pathlib import Path

import manifold3d
import numpy as np
import trimesh

from plumbcut.exports.drafting.wording import worded
from plumbcut.exports.formats.solids import write_glb
from plumbcut.model.deck import Deck, build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.rules.check_result import Checking
from plumbcut.model.rules.check_solids import check_solids
from plumbcut.shared.errors import DesignError

INCH = 1 / 0.0254  # glTF is in metres
SHARED = 0.01  # cubic inches: what two solids may share from meshing a circle alone
LEAST_EDGE = 64.0  # inches of an edge that a stair leaves from


def _outline(r: random.Random) -> dict:
    """Eleven kinds of outline, sizes by lot, counter-clockwise, the house at one to three edges or at none."""
    w, d = r.randint(130, 380), r.randint(100, 260)
    x, y, c, y2 = r.randint(50, w - 50), r.randint(40, d - 45), r.randint(20, 60), r.randint(15, 60)
    a, s, big = w // 3, r.randint(40, w // 2), r.randint(80, 140)
    ring = [(big * math.cos(math.radians(k)), big * math.sin(math.radians(k))) for k in range(0, 360, 60)]
    return r.choice(
        [
            {"width": w, "depth": d, "house": r.choice([["back"], ["back", "left"], []])},
            {"width": w, "depth": d, "house": ["back"]},
            {"points": [[0, 0], [x, 0], [x, y], [w, y], [w, d], [0, d]], "house": ["e5"]},
            {
                "points": [[0, y], [x, y], [x, 0], [w, 0], [w, d], [0, d]],
                "house": r.choice([["e5"], ["e5", "e6"]]),
            },
            {
                "points": [[a, 0], [w - a, 0], [w - a, y], [w, y], [w, d], [0, d], [0, y], [a, y]],
                "house": ["e5"],
            },
            {"points": [[c, 0], [w, 0], [w, d], [0, d], [0, y2]], "house": ["e3"]},
            {"points": [[c, 0], [w - c, 0], [w, c], [w, d], [0, d], [0, c]], "house": ["e4"]},
            {"points": [[round(p, 2), round(q, 2)] for p, q in ring], "house": r.choice([[], ["e2"]])},
            {"points": [[c, 0], [w, y2 / 2], [w + y2 / 2, d], [0, d], [-c / 6, 70]], "house": ["e3"]},
            {
                "points": [[0, 0], [a, 0], [a, y], [w - a, y], [w - a, 0], [w, 0], [w, d], [0, d]],
                "house": ["e7"],
            },
            {
                "points": [[0, 0], [w, 0], [w, d], [w - s, d], [w - s, d - 30], [0, d - 30]],
                "house": ["e3", "e4", "e5"],
            },
        ]
    )


def _stairs(r: random.Random, outline: dict, level: float) -> list[dict]:
    points = outline.get("points") or [
        [0, 0],
        [outline["width"], 0],
        [outline["width"], outline["depth"]],
        [0, outline["depth"]],
    ]
    names = [f"e{k + 1}" for k in range(len(points))] if "points" in outline else ["front", "right", "back", "left"]
    long = {n: math.dist(p, q) for n, p, q in zip(names, points, points[1:] + points[:1])}
    free = [n for n in names if n not in outline["house"] and long[n] >= LEAST_EDGE]
    r.shuffle(free)
    found = []
    for name in free[: r.choice([0, 1, 1, 1, 2, 2, 3])]:
        stair: dict = {"edge": name, "width": r.choice([36, 42, 48])}
        if r.random() < 0.4 and long[name] - stair["width"] > 16:
            stair["at"] = round(r.uniform(6, long[name] - stair["width"] - 6), 1)
        if level >= 60 and r.random() < 0.6:
            after = r.randint(2, max(2, min(9, int(level / 7.5) - 3)))
            turns = [r.choice(["left", "right", "straight"]) for _ in range(2)]
            stair["landings"] = [{"after_risers": after, "turn": turns[0], "depth": r.choice([36, 42, 48])}]
            if level > 100 and r.random() < 0.4:
                stair["landings"].append({"after_risers": after + r.randint(2, 4), "turn": turns[1]})
        if r.random() < 0.2:
            stair["tread"] = "bordered"
        found.append(stair)
    return found


def parameters(seed: int) -> dict:
    """The parameter file of a seed, as the dictionary that TOML would give."""
    r = random.Random(seed)
    outline, level = _outline(r), r.choice([14, 20, 26, 34, 44, 60, 84, 110, 144])
    levels = {"surface": level, **r.choice([{}, {}, {"slope_y": 0.04}, {"slope_y": -0.03}, {"slope_x": 0.05}])}
    frame = {
        "support": r.choice(["ledger", "ledger", "free-standing"]) if outline["house"] else "free-standing",
        "joist": r.choice(["2x8", "2x10", "2x10", "2x12"]),
        "joist_spacing": r.choice([12, 16, 16, 24]),
        "beam_plies": r.choice([2, 2, 3]),
        **r.choice([{}, {}, {"cantilever": r.choice([0, 12, 18, 24])}]),
        **r.choice([{}, {}, {"footing": {"shape": "square"}}]),
    }
    surface = {
        "border": {"courses": r.choice([0, 1, 1, 2])},
        **r.choice([{}, {}, {}, {"direction": r.choice([45, -45, 30])}]),
        **r.choice([{}, {}, {}, {"breakers": [r.randint(60, 120)]}]),
    }
    return {
        "outline": outline,
        "levels": levels,
        "frame": frame,
        "surface": surface,
        "stair": _stairs(r, outline, level),
    }


def faults(deck: Deck) -> list[str]:
    """What the program says of its own solids."""
    c = Checking(deck, measure_all(deck.parts))
    check_solids(c)
    return [f"{r.rule} | {worded(r.place)} | {worded(r.why)}" for r in c.results if r.result == "not met"]


def overlaps(deck: Deck) -> set[frozenset[str]]:
    """Pairs of pieces that share more than `SHARED`, by a second kernel on the file that everybody opens."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "model.glb"
        write_glb(deck, path)
        scene = trimesh.load(path)
    solids, boxes = {}, {}
    ids = {p.id for p in deck.parts}
    for node in scene.graph.nodes_geometry:
        placed, name = scene.graph[node]
        if node not in ids:
            continue
        mesh = scene.geometry[name].copy()
        mesh.apply_transform(placed)
        mesh.apply_scale(INCH)
        mesh.merge_vertices()
        solids[node] = manifold3d.Manifold(
            manifold3d.Mesh(np.asarray(mesh.vertices, np.float32), np.asarray(mesh.faces, np.uint32))
        )
        boxes[node] = mesh.bounds
    found = set()
    for a, b in itertools.combinations(sorted(solids), 2):
        low, high = np.maximum(boxes[a][0], boxes[b][0]), np.minimum(boxes[a][1], boxes[b][1])
        if (high - low > 1e-3).all() and (solids[a] ^ solids[b]).volume() > SHARED:
            found.add(frozenset((a, b)))
    return found


def main(first: int, last: int) -> int:
    """Prints what is wrong with the decks of the seeds from `first` up to, not including, `last`; 1 where anything
    is that the program does not say."""
    count: collections.Counter = collections.Counter()
    refused: collections.Counter = collections.Counter()
    unsaid = 0
    for seed in range(first, last):
        try:
            deck = build(Parameters.model_validate(parameters(seed)))
        except DesignError as e:
            refused[e.key] += 1
            print(f"{seed} refused | {e}")
            continue
        said = faults(deck)
        unsaid_here = overlaps(deck) - {frozenset((c.a.id, c.b.id)) for c in deck.clashes}
        unsaid += len(unsaid_here)
        count.update({line.split(" | ")[0] for line in said} or {"clean"})
        print(*(f"{seed} {line}" for line in said), *(f"{seed} UNSAID {sorted(p)}" for p in unsaid_here), sep="\n")
    print(dict(count), "refused", sum(refused.values()), dict(refused), "overlaps unsaid", unsaid)
    return 1 if unsaid else 0


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:3])))
