"""The load path a second time, from what a build writes alone: `model.glb` (solids), `measured.json` (roles, axes,
weights) and the loads of the parameter file. None of the program's own contacts, members, loads or beams is asked;
`calcs.csv` is read at the end, to be compared.

How the surface is divided: every board is cut into eight lines along it; each line is a row of simple beams over the
joists, rims and flush beams that it crosses, what stands out past the last of them by the lever. Boards along the
joists rest on blocks between them: they are cut across, from joist to joist. Treads do the same over their stringers.
Members are solved by the stiffness method (`beam_matrix`), the live load span by span; greatest and least reactions go
down from joist to beam, post and footing. Pounds, inches, square feet that load a place.

`python tests/long/second_path.py [NAME ...]` builds the decks of `second_decks` and says what agrees.
"""

from __future__ import annotations

import csv
import itertools
import json
import re
import sys
import tempfile
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
from beam_matrix import Spread, StiffBeam
from hands_down import FrameOnSolids
from path_on_solids import Brings, Timber, all_touches
from read_back import Piece, pieces
from touching_faces import Touch

E_WET = (
    1.4e6 * 0.9
)  # psi: southern pine No.2 by the NDS Supplement, Table 4B, wet (CM 0.9): the lumber of all decks here
FACTORS = {  # ASCE 7, allowable stress: on dead, live and snow load
    "D": (1.0, 0.0, 0.0),
    "D + L": (1.0, 1.0, 0.0),
    "D + S": (1.0, 0.0, 1.0),
    "D + 0.75 L + 0.75 S": (1.0, 0.75, 0.75),
}
CLOSE = 0.02
AS_WRITTEN = 5e-7  # half of the last place that `calcs.csv` writes
STUB = 6.0  # inches past an end support, as the program says


@dataclass
class Solved:
    """The responses of a member to 1 psf: everywhere, by each span's pattern, and pounds that are always there; for
    each ply group, with its share of the breadth."""

    m: Timber
    groups: list[tuple[float, StiffBeam, list]] = field(default_factory=list)
    pounds: list[list] = field(default_factory=list)  # of each group the answers to the pounds on each span

    def __post_init__(self) -> None:
        m = self.m
        xs = [s.x for s in m.supports]
        loads = m.loads
        ends = [0.0, m.length, *(x for b in loads for x in (b.start, b.end))]
        low, high = min(ends), max(ends)
        cuts = sorted({*(b.start for b in loads if b.start == b.end), low, high})
        marks = [low - 1, *xs[1:-1], high + 1] if len(xs) > 1 else [low - 1, high + 1]
        marks = sorted({low - 1, *xs, high + 1})
        for share, hinges in m.ply_groups():
            beam = StiffBeam(cuts, xs, hinges)
            always = beam.solve([Spread(b.start, b.end, b.steady) for b in loads])
            own = beam.solve([Spread(b.start, b.end, b.own) for b in loads if b.own])
            moving, pounds = [], []
            for a, z in itertools.pairwise(marks):
                if on := [p for b in loads if (p := _within(b, a, z, b.own))]:
                    pounds.append(beam.solve(on))
                for kind in ("most", "least"):
                    on = [p for b in loads if (p := _within(b, a, z, getattr(b, kind)))]
                    if on:
                        moving.append((a, kind, beam.solve(on)))
            self.groups.append((share, beam, [always, own, moving]))
            self.pounds.append(pounds)

    def adds_up(self, what: str, k: int, dead: float, live: float) -> np.ndarray:
        """What an answer of a ply group is the sum or the difference of: what each span gives it, taken positive."""
        _, _, (_, own, moving) = self.groups[k]
        whole = np.zeros_like(getattr(own, what))
        for _, kind, x in moving:
            whole += abs(getattr(x, what)) * (live + (dead if kind == "most" else 0.0))
        return whole + sum(abs(getattr(x, what)) for x in self.pounds[k])

    def extremes(self, what: str, k: int, dead: float, live: float) -> tuple[np.ndarray, np.ndarray]:
        """(greatest, least) of one of the answers of a ply group, as if it stood alone."""
        _, _, (always, own, moving) = self.groups[k]
        base = dead * getattr(always, what) + getattr(own, what)
        parts = [getattr(a, what) for _, _, a in moving]
        up = sum((np.maximum(p, 0) for p in parts), np.zeros_like(base))
        down = sum((np.minimum(p, 0) for p in parts), np.zeros_like(base))
        return base + live * up, base + live * down

    def brings(self) -> list[Brings]:
        """What each support is given, of all plies together."""
        n = len(self.m.supports)
        steady, own = np.zeros(n), np.zeros(n)
        by: dict[tuple, np.ndarray] = defaultdict(lambda: np.zeros(n))
        for share, _, (always, pounds, moving) in self.groups:
            steady += share * always.reactions
            own += share * pounds.reactions
            for a, kind, x in moving:
                by[a, kind] += share * x.reactions
        most = sum((np.maximum(x, 0) for x in by.values()), np.zeros(n))
        least = sum((np.minimum(x, 0) for x in by.values()), np.zeros(n))
        return [Brings(0.0, 0.0, *map(float, row)) for row in zip(steady, most, least, own)]

    def group_brings(self, k: int) -> list[Brings]:
        _, _, (always, own, moving) = self.groups[k]
        n = len(self.m.supports)
        most = sum((np.maximum(x.reactions, 0) for _, _, x in moving), np.zeros(n))
        return [Brings(0, 0, *map(float, row)) for row in zip(always.reactions, most, np.zeros(n), own.reactions)]


def _within(b: Brings, a: float, z: float, much: float) -> Spread | None:
    if not much:
        return None
    if b.start == b.end:
        return Spread(b.start, b.end, much) if a <= b.start < z else None
    lo, hi = max(a, b.start), min(z, b.end)
    return Spread(lo, hi, much * (hi - lo) / (b.end - b.start)) if hi - lo > 1e-9 else None


def _off_stubs(m: Timber) -> list[Brings]:
    """The loads of a member, those past an end support on less than a stub at that support: so the program says in its
    assumptions that it takes them."""
    xs = sorted(h.x for h in m.supports)
    low = xs[0] if xs[0] <= STUB else -1e9
    high = xs[-1] if xs[-1] >= m.length - STUB else 1e9
    found = []
    for b in m.loads:
        cuts = [b.start, *(c for c in (low, high) if b.start < c < b.end), b.end]
        for a, z in itertools.pairwise(cuts):
            part = replace(b * ((z - a) / (b.end - b.start)), start=a, end=z) if z > a else b
            middle = (a + z) / 2
            found.append(part.at(min(max(middle, low), high)) if not low <= middle <= high else part)
    return found


class SecondPath:
    """The whole path of one build: `said` gives every number that is compared, by (ids, check)."""

    def __init__(self, rows: dict[str, dict], every: Sequence[Piece], met: Sequence[Touch], given: dict, tipping: bool):
        self.given = given
        self.frame = FrameOnSolids(every, rows, met, given, tipping)
        loads = given.get("loads", {})
        self.dead, self.live, self.snow = (
            float(loads.get(k, d)) for k, d in (("dead_psf", 10), ("live_psf", 40), ("ground_snow_psf", 0))
        )
        self.solved: dict[int, Solved] = {}
        self.on_post: dict[str, list[Brings]] = defaultdict(list)
        self.left: list[str] = []
        for m in self.frame.in_order():
            if len(m.supports) < 2:
                if m.loads:
                    self.left.append(f"{m.role} {m.ids[0]} has {len(m.supports)} supports")
                continue
            if not tipping:
                m.loads = _off_stubs(m)
            s = self.solved[id(m)] = Solved(m)
            for held, b in zip(m.supports, self.frame.handed(m, s.brings())):
                for key, share in held.on.items():
                    self.frame.hand(key, held.points.get(key, held.point), b * share, self.on_post, self.left)

    def psf(self, combination: str) -> tuple[float, float]:
        d, l, s = FACTORS[combination]
        return d * self.dead, l * self.live + s * self.snow

    def value(self, kind: str, ids: tuple[str, ...], check: str, combination: str) -> tuple[float, float] | None:
        """(the number that `calcs.csv` should have as demand of a check, of a post or footing its load; the sum of what
        it is made of, which is more where parts of it take off what others bring)."""
        if kind in ("post", "footing"):
            return self._on_column(kind, ids, check, combination)
        m = self.frame.home.get(ids[0])
        if m is None or id(m) not in self.solved:
            return None
        s = self.solved[id(m)]
        if check.startswith("deflection,"):
            return self._deflection(s, check)
        if combination not in FACTORS:
            return None
        dead, live = self.psf(combination)
        found = []
        for k, (share, _, _) in enumerate(s.groups):
            b = m.breadth * share
            if check.startswith("bending"):
                most, least = s.extremes("moment", k, dead, live)
                answers = [most if check.endswith("sagging") else -least]
                each = share / (1.0 if kind == "stringer" else b * m.depth**2 / 6)
                found += [_greatest(a, s.adds_up("moment", k, dead, live), each) for a in answers]
            elif check == "shear":
                each = share * (1.0 if kind == "stringer" else 1.5 / (b * m.depth))
                found += [_greatest(abs(e), s.adds_up(side, k, dead, live), each)
                          for side in ("right", "left") for e in s.extremes(side, k, dead, live)]  # fmt: skip
            elif check.startswith("bearing on"):
                role = check.removeprefix("bearing on ")
                found += [
                    self._bearing(m, h, r, dead, live) for h, r in zip(m.supports, s.group_brings(k)) if h.role == role
                ]
        if check.startswith("bearing on"):
            stress = max(found, key=lambda f: f[1])[0] if found else None
            return None if stress is None else (stress, stress)
        if check.startswith(("nailing on", "uplift at")):
            role = check.split(" on " if "nailing" in check else " at ")[1]
            parts = sum(share * s.adds_up("reactions", k, dead, live) for k, (share, _, _) in enumerate(s.groups))
            each = [(r, g) for h, r, g in zip(m.supports, s.brings(), parts) if h.role == role]
            found = [(-r.lifting(dead, live), g) for r, g in each]
            if check.startswith("nailing"):
                found += [(r.pressing(dead, live), g) for r, g in each]
        return max(found, default=None)

    @staticmethod
    def _bearing(m: Timber, h, r: Brings, dead: float, live: float) -> tuple[float, float]:
        """(stress, stress over the bearing area factor Cb of NDS 3.10.4)."""
        area = h.area if h.area >= 1.5 * m.breadth * 0.999 or not h.hung else 0.0
        long = (area or 1.5 * m.breadth) / m.breadth
        end = min(h.x, m.length - h.x) - long / 2
        cb = (max(long, 0.5) + 0.375) / max(long, 0.5) if long < 6 and end >= 3 else 1.0
        stress = r.pressing(dead, live) / (m.breadth * long)
        return stress, stress / cb

    def _deflection(self, s: Solved, check: str) -> float | None:
        m, live = s.m, max(self.live, self.snow)
        ei = E_WET * m.breadth * m.depth**3 / 12
        xs = [h.x for h in m.supports]
        found = []
        for k, (_, beam, _) in enumerate(s.groups):
            most, least = s.extremes("down", k, 0.0, live)
            own = s.groups[k][2][1].down
            most, least = (most, least) if self.given.get("area_load") else (most - own, least - own)
            marks = [beam.x[0], *xs, beam.x[-1]]
            for n, (a, z) in enumerate(itertools.pairwise(marks)):
                inside = (beam.x >= a - 1e-6) & (beam.x <= z + 1e-6)
                outside = n in (0, len(marks) - 2)
                gross = s.adds_up("down", k, 0.0, live)
                ways = [_greatest(a[inside], gross[inside], 1 / ei) for a in ([most] if outside else [most, -least])]
                down = max(ways)
                if outside == check.endswith("overhang") and z - a >= (6 if outside else 1):
                    found.append((down[0] / (z - a), down))
        return max(found)[1] if found else None

    def _on_column(self, kind: str, ids: tuple[str, ...], check: str, combination: str) -> tuple[float, float] | None:
        posts = set(ids) if kind == "post" else {p for p, f in self.frame.footing_of.items() if f in ids} | set(ids)
        dead, live = self.psf(combination)
        on = [b for p in posts for b in self.on_post.get(p, ())]
        if not on:
            return None
        if check == "uplift":
            own = sum(abs(b.own) + dead * abs(b.steady) for b in on)
            return -sum(b.lifting(dead, live) for b in on), own - live * sum(b.least for b in on)
        own = sum(self.frame.rows[p]["weight_lb"] for p in posts) * FACTORS[combination][0] if kind == "post" else 0.0
        return (found := sum(b.pressing(dead, live) for b in on) + own), found


def _greatest(answer: np.ndarray, parts: np.ndarray, each: float) -> tuple[float, float]:
    """The greatest of an answer and what is added up there, both times `each`."""
    k = int(np.argmax(answer))
    return float(answer[k]) * each, float(parts[k]) * each


@dataclass(frozen=True)
class Compared:
    """One number of `calcs.csv` beside the second one; `ours` None where the second path has none; `strip` that with
    whole strips at the edge; `made_of` the sum of what is added up and taken off to come to it."""

    ids: str
    kind: str
    check: str
    theirs: float
    ours: float | None
    strip: float | None
    made_of: float = 0.0

    @property
    def off(self) -> float:
        """By which share of what makes up the second number the first is off."""
        return self._off(self.ours)

    @property
    def close(self) -> bool:
        return self.off <= CLOSE

    @property
    def at_edge(self) -> bool:
        """Whether it is off by the edge's strips alone."""
        return not self.close and self._off(self.strip) <= CLOSE

    def _off(self, ours: float | None) -> float:
        if ours is None:
            return float("inf")
        return max(0.0, abs(self.theirs - ours) - AS_WRITTEN) / max(self.made_of, 1e-9)


KINDS = ("joist", "rim", "beam", "post", "footing", "stringer")
CHECKS = ("bending, sagging", "bending, hogging", "shear", "bearing on ", "nailing on ", "uplift", "deflection, span",
          "deflection, overhang", "compression", "soil bearing")  # fmt: skip
SAID = {"post": r"axial load P = ([\d,.]+) lb", "footing": r"load from the frame = ([\d,.]+) lb"}
OF_STRINGER = {"bending, sagging": r"moment M = ([\d,.]+) ft lb", "shear": r"shear V = [\d,.]+ lb \(([\d,.]+) lb plumb"}


def calcs(path: Path) -> Iterator[tuple[dict, float]]:
    """Every calculated row that is compared, with its number."""
    with open(path, newline="") as file:
        next(file)
        for r in csv.DictReader(file):
            if r["route"] != "calculation" or r["kind"] not in KINDS or not r["check"].startswith(CHECKS):
                continue
            if r["check"].endswith("wind on its braces"):
                continue  # no load path brings it
            at = None if r["check"] == "uplift" else SAID.get(r["kind"])
            if r["kind"] == "stringer":
                at = OF_STRINGER.get(r["check"])
                if at is None:
                    continue
            if at is None:
                if r["demand"]:
                    yield r, float(r["demand"])
            elif found := re.search(at, r["formula"]):
                times = 12.0 if "moment" in at else 1.0
                yield r, float(found[1].replace(",", "")) * times


def compare(folder: Path, given: dict) -> tuple[list[Compared], list[str]]:
    """Every number of `calcs.csv` beside the second one, and what could not be followed. Boards past the last joist are
    taken by the lever; where that differs, `strip` is what it is with the strips that the program says it draws."""
    rows = {p["id"]: p for p in json.loads((folder / "measured.json").read_text())["pieces"]}
    every = pieces(folder / "model.glb")
    met = all_touches(every)
    path, strips = (SecondPath(rows, every, met, given, tipping) for tipping in (True, False))
    bare = SecondPath(rows, every, met, {**given, "area_load": []}, True) if given.get("area_load") else path
    told = list(calcs(folder / "calcs.csv"))
    found = []
    for r, x in told:
        about = r["kind"], tuple(r["ids"].split()), r["check"], r["combination"].split(",")[0]
        here = bare if ", without " in r["combination"] else path
        ours, strip = here.value(*about) or (None, 0.0), strips.value(*about) or (None, 0.0)
        found.append(Compared(r["ids"], r["kind"], r["check"], x, ours[0], strip[0], ours[1]))
    return found, path.left


def report(name: str, found: Sequence[Compared], left: Sequence[str]) -> None:
    """Prints what agrees, and every number that does not."""
    off = sorted((c for c in found if not c.close and not c.at_edge), key=lambda c: -c.off)
    edge = [c for c in found if c.at_edge]
    print(f"{name}: {len(found)} numbers, {sum(c.close for c in found)} within 2 percent,", end=" ")
    print(
        f"{len(edge)} by the edge's strips (at most {max((c.off for c in edge), default=0):.1%}), {len(off)} off", *left
    )
    for c in off:
        ours = "nothing" if c.ours is None else f"{c.ours:,.4g} (strips {c.strip or 0:,.4g})"
        print(f"  {c.kind} {c.ids}, {c.check}: calcs.csv {c.theirs:,.4g}, here {ours}, {c.off:.1%}")


def main(names: Sequence[str]) -> None:
    from second_decks import DECKS, write

    with tempfile.TemporaryDirectory() as scratch:
        for name in names or DECKS:
            folder = Path(scratch) / name.replace(" ", "_")
            write(DECKS[name], folder)
            report(name, *compare(folder, DECKS[name]))


if __name__ == "__main__":
    main(sys.argv[1:])
