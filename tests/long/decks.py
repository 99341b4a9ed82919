"""Whole decks by lot, each held against two judges: what the program says of its own solids, and what `oracles` finds
in its `model.glb`.

`python tests/long/decks.py FIRST LAST RECORD [PROCESSES]` works through the decks of these seeds (LAST not included)
and adds a line of JSON for each to RECORD; seeds that stand there already are left out, so that a run goes on where it
was broken off. `python tests/long/decks.py --report RECORD` counts: clean, faults by kind, refusals by key, unsaid.
`python tests/long/decks.py --file SEED` prints the parameter file of a seed.
"""

from __future__ import annotations

import collections
import json
import multiprocessing
import random
import sys
import tempfile
import time
import traceback
from pathlib import Path

from oracles import BASE, END, GROUND, HELD, LOOSE, OVERLAP, SPAN, Oracle
from read_back import pieces
from whole_files import parameters as by_lot

from plumbcut.exports.drafting.wording import worded
from plumbcut.exports.formats.measured_json import write_measured
from plumbcut.exports.formats.solids import write_glb
from plumbcut.model.deck import Deck, build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.plan.joist_spacing import joist_spacing
from plumbcut.model.rules import check_solids as solids
from plumbcut.model.rules.check_result import Checking, CheckResult
from plumbcut.model.rules.check_solids import check_solids
from plumbcut.shared.errors import DesignError

# what the program may call what the oracle found
SAYS = {
    OVERLAP: {solids.OVERLAP},
    LOOSE: {solids.CARRIED, solids.BOARD_END, solids.BOARD_BEARS, solids.TREAD_END, solids.MEMBER_END},
    END: {solids.BOARD_END, solids.BOARD_BEARS, solids.TREAD_END},
    SPAN: {solids.BOARD_SPAN, solids.TREAD_SPAN},
    BASE: {solids.FOOTING},
    GROUND: {solids.GROUND, solids.BASE_IN_GROUND},
    HELD: {solids.MEMBER_END, solids.LINE, solids.CARRIED},
}
# what the oracle must have found where the program says this; the rest are finer than the oracle looks
FOUND = {
    solids.OVERLAP: {OVERLAP},
    solids.CARRIED: {LOOSE, HELD},
    solids.BOARD_END: {END, LOOSE},
    solids.TREAD_END: {END, LOOSE},
    solids.BOARD_SPAN: {SPAN},
    solids.TREAD_SPAN: {SPAN},
    solids.FOOTING: {BASE},
    solids.GROUND: {GROUND},
    solids.BASE_IN_GROUND: {GROUND},
}


def parameters(seed: int) -> dict:
    """The parameter file of a seed, as the dictionary that TOML would give."""
    return by_lot(random.Random(seed))


def said(deck: Deck) -> list[CheckResult]:
    """What the program says against its own solids."""
    c = Checking(deck, measure_all(deck.parts))
    check_solids(c)
    return [r for r in c.results if r.result == "not met"]


def faults(deck: Deck) -> list[str]:
    """The same in words."""
    return [f"{r.rule} | {worded(r.place)} | {worded(r.why)}" for r in said(deck)]


def oracle(deck: Deck, given: dict) -> Oracle:
    """The second judge, on the files as they are written."""
    with tempfile.TemporaryDirectory() as folder:
        glb, measured = Path(folder) / "model.glb", Path(folder) / "measured.json"
        write_glb(deck, glb)
        write_measured(measure_all(deck.parts), measured)
        rows = json.loads(measured.read_text())["pieces"]
        return Oracle(pieces(glb), {row["id"]: row for row in rows}, given)


def compared(results: list[CheckResult], judge: Oracle) -> tuple[list[str], list[str]]:
    """(what the oracle found and the program does not say, what the program says and the oracle did not find)."""
    found = judge.found()
    by_rule: dict[str, set[str]] = collections.defaultdict(set)
    for r in results:
        by_rule[r.rule] |= set(r.ids)
    by_kind: dict[str, set[str]] = collections.defaultdict(set)
    for f in found:
        by_kind[f.kind] |= set(f.ids)
    about = {p.id: f"{p.role} {p.id}, {judge.rows[p.id]['where']}" for p in judge.pieces}
    unsaid = [
        f"{f.kind} | {' and '.join(about[i] for i in f.ids)} | {f.much:.4g}"
        for f in found
        if f.sure and not set(f.ids) <= set().union(*(by_rule[k] for k in SAYS[f.kind]))
    ]
    alone = [
        f"{rule} | {about[i]}"
        for rule, kinds in FOUND.items()
        for i in sorted(by_rule[rule] - set().union(*(by_kind[k] for k in kinds)))
    ]
    # a row names what holds or lies below the piece as well: it is alone only where none of its pieces was found
    alone = [
        a for a in alone if not (a.startswith((solids.FOOTING, solids.OVERLAP)) and _shared_row(a, results, by_kind))
    ]
    return unsaid, alone


def _shared_row(line: str, results: list[CheckResult], by_kind: dict[str, set[str]]) -> bool:
    rule, about = line.split(" | ")
    i = about.split(",")[0].split()[-1]
    seen = set().union(*(by_kind[k] for k in FOUND[rule]))
    return any(r.rule == rule and i in r.ids and set(r.ids) & seen for r in results)


def too_wide(deck: Deck) -> bool:
    """Whether the file itself gives joists a wider spacing than its boards allow at their angle: the only faults that
    the lot asks for."""
    p, layout = deck.parameters, deck.layout
    free = p.model_copy(update={"frame": p.frame.model_copy(update={"joist_spacing": None})})
    given = p.frame.joist_spacing
    return given is not None and given > joist_spacing(free, layout.along, layout.across) + 1e-6


def judged(seed: int) -> dict:
    """One line of the record: what became of the deck of a seed."""
    start = time.process_time()
    line: dict = {"seed": seed}
    try:
        given = parameters(seed)
        line["corners"] = len(given["outline"].get("points", "4444"))
        line["stairs"] = [len(s.get("landings", [])) for s in given["stair"]]
        deck = build(Parameters.model_validate(given))
        results = said(deck)
        line["unsaid"], line["alone"] = compared(results, oracle(deck, given))
        line["said"] = [f"{r.rule} | {worded(r.place)} | {worded(r.why)}" for r in results]
        line["parts"] = len(deck.parts)
        line["asked"] = bool(results) and too_wide(deck) and {r.rule for r in results} == {solids.BOARD_SPAN}
    except DesignError as e:
        line["refused"] = [e.key, e.reason]
    except Exception:
        line["crashed"] = traceback.format_exc().splitlines()[-5:]
    line["seconds"] = round(time.process_time() - start, 2)
    return line


def main(first: int, last: int, record: Path, processes: int = 1) -> None:
    """Judges the decks that `record` has no line of yet, and adds them."""
    done = {line["seed"] for line in _lines(record)} if record.exists() else set()
    left = [s for s in range(first, last) if s not in done]
    with record.open("a") as out, multiprocessing.Pool(processes, maxtasksperchild=50) as pool:
        for line in pool.imap_unordered(judged, left):
            out.write(json.dumps(line) + "\n")
            out.flush()


def _lines(record: Path) -> list[dict]:
    return [json.loads(line) for line in record.read_text().splitlines()]


def report(record: Path) -> str:
    """The counts of a record, in lines."""
    lines = _lines(record)
    drawn = [l for l in lines if "said" in l]
    refused = collections.Counter(
        ".".join("#" if k.isdigit() else k for k in l["refused"][0].split(".")) for l in lines if "refused" in l
    )
    kinds = collections.Counter(k for l in drawn for k in {s.split(" | ")[0] for s in l["said"]})
    apart = {
        w: collections.Counter(k for l in drawn for k in {s.split(" | ")[0] for s in l[w]}) for w in ("unsaid", "alone")
    }
    return "\n".join(
        [
            f"{len(lines)} decks, {sum(not l['said'] and not l['unsaid'] for l in drawn)} clean,"
            f" {sum(bool(l['said']) for l in drawn)} with faults said ({sum(l['asked'] for l in drawn)} of them boards"
            f" over joists as far apart as the file gives), {sum(refused.values())} refused,"
            f" {sum('crashed' in l for l in lines)} crashed; {sum(l['seconds'] for l in lines):.0f} s",
            f"said, decks by kind: {dict(kinds.most_common())}",
            f"refused by key: {dict(refused.most_common())}",
            f"unsaid, decks by kind: {dict(apart['unsaid'])}",
            f"said alone, decks by kind: {dict(apart['alone'])}",
        ]
    )


def toml(table: dict, path: str = "") -> str:
    """A parameter file as TOML."""

    def value(v) -> str:
        if isinstance(v, dict):
            return "{ " + ", ".join(f"{k} = {value(w)}" for k, w in v.items()) + " }"
        if isinstance(v, list):
            return "[" + ", ".join(map(value, v)) + "]"
        return json.dumps(v)

    return "\n".join(f"{section} = {value(v)}" for section, v in table.items()) + "\n"


if __name__ == "__main__":
    if sys.argv[1] == "--report":
        print(report(Path(sys.argv[2])))
    elif sys.argv[1] == "--file":
        print(toml(parameters(int(sys.argv[2]))))
    else:
        main(int(sys.argv[1]), int(sys.argv[2]), Path(sys.argv[3]), int(sys.argv[4]) if len(sys.argv) > 4 else 1)
