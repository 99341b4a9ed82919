"""Decks of odd outlines by lot that leave their whole frame to the program: outline, house edges, height, stairs and
local values, no `[frame]` table but for `support`.

`python tests/long/irregular_decks.py FIRST LAST` designs the decks of these seeds and prints a line for each: pieces,
seconds, frames built, what was chosen, and every row of frame, footing, boards' span or stair's support not met.
`python tests/long/irregular_decks.py --file SEED` prints a deck's file. With `--wide` before the seeds each frame is
also held against a search ten times as wide: every estimated frame built and mended, the cheapest that is met.
"""

from __future__ import annotations

import math
import random
import sys
import time
from collections.abc import Callable, Sequence

from plumbcut.model.deck import build
from plumbcut.model.design.advised import checked_with_mends
from plumbcut.model.design.costs import Costs
from plumbcut.model.design.designed import Designed, designed
from plumbcut.model.design.estimate import estimated
from plumbcut.model.design.mends import given_keys, with_keys
from plumbcut.model.design.search import Candidate, LookedAt, pruned, searched
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.plan.layout import lay_out
from plumbcut.model.rules.check_result import CheckResult
from plumbcut.model.solid.part import Workshop
from plumbcut.model.structure.structure import analyse
from plumbcut.shared.as_toml import as_toml
from plumbcut.shared.errors import DesignError

Corners = list[tuple[float, float]]
FOOT = 12.0
# what is no matter of the frame: guards, stairs' own sizes, the site, paper
NOT_OF_THE_FRAME = (
    "guard",
    "handrail",
    "baluster",
    "sphere",
    "setback",
    "lot",
    "wind",
    "riser",
    "going",
    "landing length",
)


def _size(r: random.Random, low: float, high: float) -> float:
    """Feet to whole inches, and now and then to a half."""
    return round(r.uniform(low, high) * FOOT) + r.choice([0.0, 0.0, 0.5])


def _clipped(r: random.Random) -> tuple[Corners, list[str]]:
    w, d = _size(r, 11, 26), _size(r, 9, 19)
    c, e = _size(r, 2, 4), _size(r, 2, 5)
    points = [(0.0, 0.0), (w - c, 0.0), (w, e), (w, d), (0.0, d)]
    return points, ["e4"]


def _ell(r: random.Random) -> tuple[Corners, list[str]]:
    w, d = _size(r, 18, 38), _size(r, 9, 15)
    v, f = _size(r, 7, 12), _size(r, 6, 13)
    points = [(0.0, 0.0), (w - v, 0.0), (w - v, -f), (w, -f), (w, d), (0.0, d)]
    return points, ["e5"]


def _tee(r: random.Random) -> tuple[Corners, list[str]]:
    w, d = _size(r, 24, 40), _size(r, 9, 14)
    a, b = _size(r, 6, 8), _size(r, 8, 12)
    f = _size(r, 6, 11)
    points = [(0.0, 0.0), (a, 0.0), (a, -f), (a + b, -f), (a + b, 0.0), (w, 0.0), (w, d), (0.0, d)]
    return points, ["e7"]


def _round_the_house(r: random.Random) -> tuple[Corners, list[str]]:
    w, d = _size(r, 20, 36), _size(r, 18, 30)
    a, b = _size(r, 8, 13), _size(r, 8, 13)
    points = [(0.0, 0.0), (w, 0.0), (w, d), (w - a, d), (w - a, b), (0.0, b)]
    return points, ["e4", "e5"]


def _trapeze(r: random.Random) -> tuple[Corners, list[str]]:
    w, d = _size(r, 14, 26), _size(r, 9, 17)
    a, b = _size(r, 1.5, 4), _size(r, 1.5, 4)
    return [(a, 0.0), (w - b, 0.0), (w, d), (0.0, d)], ["e3"]


def _many_sided(r: random.Random) -> tuple[Corners, list[str]]:
    n, radius, turn = r.choice([5, 6, 6, 8]), _size(r, 6.5, 11), r.uniform(0, math.pi)
    ring = [
        (radius * math.cos(turn + 2 * math.pi * k / n), radius * math.sin(turn + 2 * math.pi * k / n)) for k in range(n)
    ]
    return [(round(x, 2), round(y, 2)) for x, y in ring], []


def _bay(r: random.Random) -> tuple[Corners, list[str]]:
    w, d = _size(r, 18, 32), _size(r, 9, 14)
    a, b, f = _size(r, 4, 6), _size(r, 2, 3.5), _size(r, 2, 4)
    points = [(0.0, 0.0), (a, 0.0), (a + b, -f), (w - a - b, -f), (w - a, 0.0), (w, 0.0), (w, d), (0.0, d)]
    return points, ["e7"]


def _slanted(r: random.Random) -> tuple[Corners, list[str]]:
    w, d, more = _size(r, 14, 30), _size(r, 8, 13), _size(r, 2, 6)
    return [(0.0, -more), (w, 0.0), (w, d), (0.0, d)], ["e3"]


SHAPES: Sequence[Callable[[random.Random], tuple[Corners, list[str]]]] = (
    _clipped, _ell, _tee, _round_the_house, _trapeze, _many_sided, _bay, _slanted,
)  # fmt: skip


def by_lot(seed: int) -> dict:
    """The parameter file of a seed, as the dictionary that TOML would give."""
    r = random.Random(seed)
    points, house = SHAPES[seed % len(SHAPES)](r)
    if r.random() < 0.5:  # the same deck the other way round
        points = [(-x, y) for x, y in reversed(points)]
        n = len(points)
        house = [f"e{n - int(name[1:]) if int(name[1:]) < n else n}" for name in house]
    made: dict = {
        "project": {"name": f"irregular {seed}"},
        "outline": {"points": [list(q) for q in points], "house": house},
        "levels": {"surface": float(r.choice([16, 22, 30, 36, 44, 52, 64, 80, 100, 124, 150]))},
        "local": {"frost_depth": float(r.choice([0, 18, 30, 42, 48]))},
    }
    if not house or r.random() < 0.2:
        made["frame"] = {"support": "free-standing"}
    made["surface"] = r.choice([{}, {}, {"material": "treated lumber", "board_thickness": 1.5, "fastening": "face"}])
    made["loads"] = r.choice([{}, {}, {}, {"ground_snow_psf": 40.0}, {"soil_bearing_psf": 2000.0}])
    free = [k for k in range(len(points)) if f"e{k + 1}" not in house]
    lengths = {k: math.dist(points[k], points[(k + 1) % len(points)]) for k in free}
    long = [k for k in free if lengths[k] >= 84]
    made["stair"] = [{"edge": f"e{r.choice(long) + 1}", "width": 44.0}] if long and r.random() < 0.6 else []
    return {k: v for k, v in made.items() if v}


def parameters(seed: int) -> Parameters:
    return Parameters.model_validate(by_lot(seed))


def unmet(made: Designed) -> list[CheckResult]:
    """The rows that a frame could mend and that are not met."""
    rows = checked_with_mends(made.deck, None, made.structure)
    return [r for r in rows if r.result == "not met" and not any(w in str(r.rule).lower() for w in NOT_OF_THE_FRAME)]


def widely(p: Parameters, most: int = 40) -> float:
    """The cost of the cheapest frame that is met among all that are estimated, each built and mended, and the plan's
    own."""
    costs, found = Costs.of(p), []
    layout, shop = lay_out(p), Workshop()
    given = given_keys(p)
    for keys in [{}, *(e.keys for e in estimated(layout, given, costs)[:most])]:
        framed = with_keys(p, keys)
        try:
            deck = build(framed, shop=shop)
        except DesignError:
            continue
        made = Candidate(deck, analyse(deck), {}, costs.of_deck(deck))
        if made.faults:
            tried = LookedAt(framed, made, shop, costs)
            made = pruned(searched(tried, given, 30), tried)
        if made.met:
            found.append(made.cost)
    return min(found, default=math.inf)


def _worked(seed: int, wide: bool = False) -> str:
    begun = time.process_time()
    try:
        made = designed(parameters(seed))
    except Exception as e:
        return f"{seed} {type(e).__name__}: {e}"
    took = time.process_time() - begun
    chosen = ", ".join(f"{c.key}={c.value}" for c in made.chosen)
    rows = "".join(f"\n    {r.rule} | {r.place} | {r.measured} | {r.limit}" for r in unmet(made))
    posts = len(made.deck.roles("post"))
    if wide:
        p = parameters(seed)
        rows = f"; {Costs.of(p).of_deck(made.deck) / widely(p):.3f} of the wide search" + rows
    return f"{seed} {len(made.deck.parts)} pieces, {posts} posts, {took:.1f} s, {made.built} built: {chosen}{rows}"


if __name__ == "__main__":
    if sys.argv[1] == "--file":
        data = by_lot(int(sys.argv[2]))
        print("\n".join(f"{k} = {as_toml(v)}" for k, v in data.items()))
    else:
        wide = sys.argv[1] == "--wide"
        first, last = (int(a) for a in sys.argv[1 + wide : 3 + wide])
        for n in range(first, last):
            print(_worked(n, wide), flush=True)
