"""A deck laid out again from the lettering of its sheets alone: footings, beams, joists and the feet of stairs as a
crew with tape and chalk would find them, held against `model.glb`.

Own reading: rules and lettering of `permit.pdf` (pdfplumber) and `permit.dxf` (ezdxf), feet and inches or millimetres,
the solids by the glTF specification (`read_back`). Nothing of the program's drawing code is asked. Only lettering that
is seen and at least 3/32 in high counts (the height of notes: common practice, no source).

`python tests/long/laid_out.py FIRST LAST [--paper PAPER]` builds the decks of these seeds of `irregular_decks` and
prints what does not lie where the sheets say; `--file PARAMETERS` does so for a parameter file.
"""

from __future__ import annotations

import argparse
import bisect
import json
import math
import re
import subprocess
import sys
import tempfile
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

import ezdxf
import numpy as np
import pdfplumber
from read_back import Piece, pieces

LEAST = 3 / 32 - 1e-3  # paper inches of a capital
CAPITAL = 0.729  # of the face's size: Bitstream Vera Sans, its own metrics
MITRED = 2.5  # inches a ply's long point may stand past the end of its beam's centre line
TOLD = 1 / 16 + 1e-3  # inches: figures are rounded to 1/16, an even step may be 1/16 off before it is told as another
MM = 1 / 25.4
Row = list[str]


@dataclass
class Sheets:
    """What is lettered: the tables by the words of their head, and all other words."""

    tables: dict[tuple[str, ...], list[Row]] = field(default_factory=dict)
    words: str = ""

    def table(self, *head: str) -> list[Row]:
        return self.tables.get(head, [])

    def add(self, rows: Iterable[Row]) -> None:
        head, *body = [[" ".join((c or "").split()) for c in row] for row in rows]
        self.tables.setdefault(tuple(head), []).extend(body)


def of_pdf(path: Path) -> Sheets:
    found, words = Sheets(), []
    with pdfplumber.open(path) as pdf:
        for page in pdf.pages:
            seen = page.filter(lambda o: o["object_type"] != "char" or _seen(o))
            high = float(page.height)
            texts = [
                ((w["x0"] + w["x1"]) / 144, (high - (w["top"] + w["bottom"]) / 2) / 72, w["text"])
                for w in seen.extract_words()
            ]
            texts.sort(key=lambda t: (-round(t[1], 2), t[0]))
            rules = [((l["x0"] / 72, l["y0"] / 72), (l["x1"] / 72, l["y1"] / 72)) for l in page.lines]
            for rows in _tables(texts, rules):
                found.add(rows)
            words.append(" ".join((seen.extract_text() or "").split()))
    found.words = " ".join(words)
    return found


def _seen(char: dict) -> bool:
    """Whether a letter is dark and high enough."""
    colour = char.get("non_stroking_color") or (0,)
    return char["size"] * CAPITAL / 72 >= LEAST and max(colour) < 0.5


def of_dxf(path: Path) -> Sheets:
    """Lettering of the layouts; of tables by the rules that it stands between."""
    found, doc, words = Sheets(), ezdxf.readfile(path), []
    hidden = {l.dxf.name for l in doc.layers if l.is_off() or l.is_frozen() or not l.dxf.get("plot", 1)}
    for layout in doc.layouts:
        if layout.name == "Model":
            continue
        texts = []
        for e in layout.query("TEXT MTEXT"):
            one = e.dxftype() == "TEXT"
            if (e.dxf.height if one else e.dxf.char_height) < LEAST or e.dxf.layer in hidden:
                continue
            text = e.dxf.text if one else e.plain_text(split=False)
            at = e.get_placement()[1] if one else e.dxf.insert
            texts.append((float(at[0]), float(at[1]), " ".join(text.split())))
        rules = [(e.dxf.start, e.dxf.end) for e in layout.query("LINE")]
        for rows in _tables(texts, rules):
            found.add(rows)
        words += [t for *_, t in texts]
    found.words = " ".join(words)
    return found


def _tables(texts: list[tuple[float, float, str]], rules: list) -> list[list[Row]]:
    """Rows of cells of every table: stacked level rules of one left and right end, upright ones between them."""
    stacks: dict[tuple[float, float], set[float]] = {}
    uprights = []
    for a, b in rules:
        if abs(a[1] - b[1]) < 1e-6:
            stacks.setdefault((round(min(a[0], b[0]), 4), round(max(a[0], b[0]), 4)), set()).add(round(a[1], 5))
        elif abs(a[0] - b[0]) < 1e-6:
            uprights.append((round(a[0], 4), min(a[1], b[1]), max(a[1], b[1])))
    found = []
    for (left, right), levels in stacks.items():
        for low, high in {(round(u[1], 5), round(u[2], 5)) for u in uprights if left - 1e-3 <= u[0] <= right + 1e-3}:
            ys = sorted((y for y in levels if low - 1e-3 <= y <= high + 1e-3), reverse=True)
            xs = sorted({u[0] for u in uprights if abs(u[1] - low) < 1e-3 and abs(u[2] - high) < 1e-3})
            xs = [x for x in xs if left - 1e-3 <= x <= right + 1e-3]
            if len(ys) < 3 or len(xs) < 3 or abs(ys[0] - high) > 1e-3:
                continue
            rows = [["" for _ in xs[1:]] for _ in ys[1:]]
            for x, y, text in texts:
                if xs[0] < x < xs[-1] and ys[-1] < y < ys[0]:
                    row = next(k for k in range(len(rows)) if ys[k + 1] < y)
                    rows[row][bisect.bisect(xs, x) - 1] += f" {text}"
            found.append(rows)
    return found


def inches(text: str, metric: bool = False) -> float:
    """-10'-2 1/2" or -3112 in inches."""
    if metric:
        return float(text) * MM
    told = re.fullmatch(r"(-?)(?:(\d+)'-)?(?:(\d+))?(?: ?(\d+)/(\d+))?\"", text)
    assert told and text not in ('"', '-"'), f"no length: {text}"
    sign, feet, whole, over, under = told.groups()
    value = 12 * float(feet or 0) + float(whole or 0) + (float(over) / float(under) if over else 0.0)
    return -value if sign else value


def stations(text: str, metric: bool) -> list[float]:
    """1'-4", THEN 8 @ 1'-4" TO 12'-0", 13'-3": every station."""
    out: list[float] = []
    for part in text.split(", "):
        run = re.fullmatch(r"THEN (\d+) @ (.*) TO (.*)", part)
        if run:
            n, first, last = int(run[1]), out[-1], inches(run[3], metric)
            assert abs((last - first) / n - inches(run[2], metric)) < TOLD, part
            out += [first + (last - first) * k / n for k in range(1, n + 1)]
        else:
            out.append(inches(part, metric))
    return out


@dataclass
class LaidOut:
    """The solids in the X and Y of the sheets, O found from the footings; `faults` says what lies elsewhere."""

    sheets: Sheets
    solids: list[Piece]
    where: dict[str, str]
    metric: bool
    faults: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        turned = re.search(r"TURNED ([\d.]+) DEGREES (COUNTER-)?CLOCKWISE AGAINST THE SITE PLAN", self.sheets.words)
        a = math.radians(float(turned[1]) * (-1 if turned[2] else 1)) if turned else 0.0
        self.right, self.down = np.array([math.cos(a), math.sin(a)]), np.array([math.sin(a), -math.cos(a)])
        rows = self.sheets.table("MARK", "SIZE", "HIGH", "BELOW GRADE", "T.O.", "X", "Y", "POST", "POST LONG")
        self.told = {r[0]: np.array([self.inch(r[5]), self.inch(r[6])]) for r in rows}
        own = [self.flat(p.box.mean(axis=0)) - self.told[p.id] for p in self.of("footing") if p.id in self.told]
        self.origin = np.median(own, axis=0) if own else np.zeros(2)

    def inch(self, text: str) -> float:
        return inches(text, self.metric)

    def of(self, *roles: str) -> list[Piece]:
        return [p for p in self.solids if p.role in roles]

    def flat(self, at: np.ndarray) -> np.ndarray:
        """Plan points along the sheet: right and down."""
        return np.asarray(at)[..., :2] @ np.array([self.right, self.down]).T

    def at(self, where: np.ndarray) -> np.ndarray:
        """Plan points as X and Y from O."""
        return self.flat(where) - self.origin

    def corner_of_origin(self, corners: Iterable[tuple[float, float]]) -> float:
        """How far O lies off the nearest of some corners of the file."""
        return min(float(np.hypot(*(self.flat(np.array(c)) - self.origin))) for c in corners)

    def footings(self) -> None:
        solid = self.of("footing")
        if sorted(p.id for p in solid) != sorted(self.told):
            self.faults.append(f"footings told: {sorted(self.told)}")
        for p in solid:
            off = self.at(p.box.mean(axis=0)) - self.told.get(p.id, np.inf)
            if not (np.abs(off) < TOLD).all():
                self.faults.append(f"footing {p.id} off by {off}")

    def beams(self) -> None:
        """Each told line carries plies, as long and in the middle of them; no ply lies on none."""
        rows = self.sheets.table("BEAM", "PLIES", "LONG", "FROM X", "FROM Y", "TO X", "TO Y", "JOINTS")
        left = {p.id: p for p in self.of("beam")}
        for row in rows:
            a, b = np.array([self.inch(c) for c in row[3:5]]), np.array([self.inch(c) for c in row[5:7]])
            long = float(np.hypot(*(b - a)))
            way = (b - a) / long
            side = np.array([-way[1], way[0]])
            # a rim that stands on posts is a beam too, where no other lies there
            mine = self.along("beam", a, way, side, long) or self.along("rim", a, way, side, long)
            name = f"beam {row[0]} {row[3:7]}"
            if not mine:
                self.faults.append(f"{name}: no ply")
                continue
            near, far = min(m[2] for m in mine), max(m[3] for m in mine)
            corners = np.concatenate([self.at(m[4].corners) - a for m in mine])
            u, v = corners @ way, corners @ side
            outer = u[v < near + 0.05], u[v > far - 0.05]
            # where plies are cut askew the middle of the line ends half way between their two sides
            low, high = (sum(f(edge) for edge in outer) / 2 for f in (np.min, np.max))
            if max(abs(low), abs(high - long)) > 2 * TOLD or abs(near + far) / 2 > TOLD * 1.5:
                self.faults.append(
                    f"{name}: plies from {low:.2f} to {high - long:.2f} past, {(near + far) / 2:.2f} aside"
                )
            if abs(self.inch(row[2]) - long) > 2 * TOLD:
                self.faults.append(f"{name}: told {row[2]} long")
            rows_of_plies = {round((m[2] + m[3]) / 2, 1) for m in mine}
            if not row[1].startswith(f"({len(rows_of_plies)})"):
                self.faults.append(f"{name}: {len(rows_of_plies)} plies side by side")
            for m in mine:
                left.pop(m[4].id, None)
        self.faults += [f"beam {k} on no line told" for k in left]

    def along(self, role: str, a: np.ndarray, way: np.ndarray, side: np.ndarray, long: float) -> list[tuple]:
        """The pieces that lie within a line: from and to along it, from and to across it, and the piece."""
        found = []
        for p in self.of(role):
            at = self.at(p.corners) - a
            along, across = at @ way, at @ side
            if np.abs(across).max() < 5 and along.min() > -MITRED and along.max() < long + MITRED:
                found.append((along.min(), along.max(), across.min(), across.max(), p))
        return found

    def joists(self) -> None:
        """As many as are told, at their stations, by the way they run."""
        told: list[tuple[np.ndarray, float]] = []
        for _, run, number, text in self.sheets.table(
            "JOISTS", "RUN ALONG", "NO.", "CENTRES, SQUARE TO THE RUN FROM O"
        ):
            if run in "XY":
                across = np.array([1.0, 0.0] if run == "Y" else [0.0, 1.0])
            else:
                a = math.radians(float(run.removesuffix(" DEG")))  # counter-clockwise, y down
                across = np.array([math.sin(a), math.cos(a)])
                across = across if across[0] > 0 else -across
            found = stations(text, self.metric)
            if len(found) != int(number):
                self.faults.append(f"joists: {number} told, {len(found)} stations")
            told += [(across, s) for s in found]
        for p in self.of("joist"):
            at = self.at(p.corners)
            way = self.flat(p.axes[:, 0])
            match = [
                (abs((at @ n).min() + (at @ n).max() - 2 * s) / 2, k)
                for k, (n, s) in enumerate(told)
                if abs(float(way @ n)) < 2e-3
            ]
            off, k = min(match, default=(math.inf, -1))
            if off > 2 * TOLD:
                self.faults.append(f"joist {p.id} {off:.2f} off the nearest station told")
            else:
                told.pop(k)
        self.faults += [f"no joist at {s:.2f}" for _, s in told]

    def stairs(self) -> None:
        """The feet of flights at outer corners of stringers (of treads where there are none), pads and the frames of
        landings at their corners, as many as there are."""
        rows = self.sheets.table("WHAT", "T.O.", "FROM X", "FROM Y", "TO X", "TO Y")
        cut = self.of("stringer", "step frame", "hip stringer", "jack stringer") + self.of("tread", "board", "pad")
        for name, _, *places in rows:
            a, b = np.array([self.inch(c) for c in places]).reshape(2, 2)
            if name.startswith("PAD "):
                some = [p for p in self.of("pad") if p.id == name.removeprefix("PAD ")]
            elif "FRAME" in name:
                some = [p for p in self.of("joist", "rim") if "landing" in self.where[p.id]]
            else:
                some = cut
            corners = [self.at(p.corners) for p in some]
            for end in (a, b):
                off = min((float(np.hypot(*(c - end).T).min()) for c in corners), default=math.inf)
                if off > 2 * TOLD:
                    self.faults.append(f"{name}: no corner at {end}, nearest {off:.2f} off")
        flights = {told for p in self.of("stringer", "tread") if (told := _flight(self.where[p.id]))}
        feet = sum("FOOT" in r[0] for r in rows)
        if feet < len(flights) or sum(r[0].startswith("PAD ") for r in rows) != len(self.of("pad")):
            self.faults.append(f"{feet} feet of {len(flights)} flights told")


def _flight(where: str) -> str:
    """The flight that a piece's place names, with its stair."""
    told = re.search(r"(stair \d+ )?flight \d+|^stair \d+", where)
    return told[0] if told else ""


def faults(folder: Path, metric: bool = False, corners: Iterable[tuple[float, float]] = ()) -> list[str]:
    """What does not lie where the sheets of a build say, by PDF and by DXF; `corners`: of the outline in the file, O
    being one of them."""
    solids, out, corners = pieces(folder / "model.glb"), [], list(corners)
    where = {p["id"]: p["where"] for p in json.loads((folder / "measured.json").read_text())["pieces"]}
    for kind, sheets in (("pdf", of_pdf(folder / "permit.pdf")), ("dxf", of_dxf(folder / "permit.dxf"))):
        laid = LaidOut(sheets, solids, where, metric)
        for step in (laid.footings, laid.beams, laid.joists, laid.stairs):
            step()
        if corners and laid.of("footing") and laid.corner_of_origin(corners) > TOLD:
            laid.faults.append("O is no corner of the outline")
        if not re.search(r"O IS THE LEFT(MOST)? \w+", sheets.words) or not re.search(r"O (LIES|TO) ", sheets.words):
            laid.faults.append("O is not named, or not tied to the house or the lot")
        out += [f"{kind}: {fault}" for fault in laid.faults]
    return out


def built(text: str, folder: Path) -> Path:
    """A parameter file's text built by the command, in a process of its own."""
    file = folder / "deck.toml"
    file.write_text(text)
    run = [str(Path(sys.executable).with_name("plumbcut")), "build", str(file), "--out", str(folder / "out")]
    done = subprocess.run(run, capture_output=True, text=True, check=False)
    if done.returncode not in (0, 1):
        raise ValueError(done.stderr)
    return folder / "out"


def of_seed(seed: int, folder: Path, paper: str = "ARCH B") -> list[str]:
    from irregular_decks import by_lot

    from plumbcut.shared.as_toml import as_toml

    data = by_lot(seed) | {"drawing": {"paper": paper, "units": "metric" if paper == "A3" else "imperial"}}
    text = "\n".join(f"{k} = {as_toml(v)}" for k, v in data.items())
    return faults(built(text, folder), paper == "A3", data["outline"]["points"])


if __name__ == "__main__":
    p = argparse.ArgumentParser()
    p.add_argument("seeds", nargs="*", type=int)
    p.add_argument("--paper", default="ARCH B")
    p.add_argument("--file", type=Path)
    args = p.parse_args()
    with tempfile.TemporaryDirectory() as place:
        if args.file:
            print("\n".join(faults(built(args.file.read_text(), Path(place)))) or "all where the sheets say")
        for seed in range(*args.seeds) if args.seeds else ():
            try:
                some = of_seed(seed, Path(place), args.paper)
            except ValueError as refused:
                some = [str(refused)]
            print(seed, "all where the sheets say" if not some else "".join(f"\n    {s}" for s in some), flush=True)
