"""S-6xx: schedules of members, footings, hardware and checks, flowed into columns and on to further sheets."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

import numpy as np

from ...shared.stock import Stock, own_sizes
from ..drafting import drawing as d
from ..drafting.wording import limit_text, measured_text, source_text, stock_text
from .flow import Flow
from .hardware import hardware_rows
from .stage import Stage


def build(stage: Stage) -> list[d.Sheet]:
    flow = Flow(stage, lambda k: f"S-{601 + k}", "SCHEDULES")
    flow.table(
        "MEMBERS",
        ["MARK", "PIECE", "STOCK", "NO.", "LONG POINT", "SHORT POINT"],
        member_rows(stage),
        [0.55, 1.45, 0.95, 0.4, 0.95, 0.95],
        "lllcrr",
    )
    flow.table("MATERIALS OF THE MEMBERS", ["MATERIAL", "PIECES"], material_rows(stage), [1.6, 3.65], "ll")
    own = own_sizes(m.stock for m in stage.measured_rows)
    if own:
        flow.table(
            "SIZES WITH VALUES OF THEIR OWN",
            ["STOCK", "DRESSED", "DESIGN VALUES GIVEN BY THE BUILDER"],
            [own_row(stage, s) for s in own],
            [1.0, 1.5, 4.42],
            "lll",
        )
    for t in stage.tables_later:
        flow.table(t.title, t.head, t.rows, t.widths, t.aligns)
    flow.table(
        "FASTENERS AND HARDWARE",
        ["CONNECTION", "WHAT", "NO.", "SOURCE OR NOTE"],
        hardware_rows(stage),
        [1.3, 2.4, 0.58, 2.12],
        "llcl",
    )
    met, unchecked = check_rows(stage)
    if met or unchecked:
        flow.table(
            "CHECKS: PUBLISHED RULES MET AND NOT MET",
            ["RULE", "PIECE", "MEASURED", "LIMIT", "RESULT", "SOURCE"],
            met,
            [2.0, 1.25, 0.95, 0.95, 0.85, 2.1],
            "llrrll",
        )
        flow.table("CHECKS: NOT CHECKED", ["RULE", "PIECE", "WHY"], unchecked, [2.4, 1.5, 4.2], "lll")
    else:
        flow.table(
            "CHECKS: NOT CHECKED",
            ["RULE", "PIECE", "WHY"],
            [["ALL", "WHOLE DECK", "NO CHECK WAS RUN FOR THIS SET"]],
            [2.4, 1.5, 4.2],
            "lll",
        )
    return flow.sheets


def own_row(stage: Stage, stock: Stock) -> list[str]:
    """A size of the file's own: its name, what it dresses to, and by which standard its values are given."""
    dressed = f"{stage.inch(stock.thickness)} x {stage.inch(stock.width)}"
    return [stock_text(stock.name), dressed, stock.given.standard.upper() if stock.given else ""]


def tips_between(piece) -> bool:
    """Whether a tip of a piece lies between its edges, where plumb and level cuts leave it: then no edge tells how long
    the piece is. `piece` is measured or to cut."""
    if piece.length - piece.long_point < 1 / 32:
        return False
    ring = np.asarray(piece.sizes.outline, float)
    low, high = ring[:, 1].min() + 1 / 32, ring[:, 1].max() - 1 / 32
    tips = [ring[np.abs(ring[:, 0] - u) < 1e-3, 1] for u in (ring[:, 0].min(), ring[:, 0].max())]
    return any(bool(((low < at) & (at < high)).all()) for at in tips)


def material_rows(stage: Stage) -> list[list[str]]:
    """What the members are made of: each material with the kinds of piece that are all of it, and else with their
    marks."""
    kinds: dict[str, dict[str, set[str]]] = defaultdict(lambda: defaultdict(set))
    for m in stage.measured_rows:
        kinds[m.role.upper()][m.stock.material.upper()].add(m.mark)
    found: dict[str, list[str]] = defaultdict(list)
    for kind, materials in kinds.items():
        for material, marks in materials.items():
            found[material].append(kind if len(materials) == 1 else f"{kind} {', '.join(sorted(marks))}")
    return [[material, ", ".join(told)] for material, told in found.items()]


def member_rows(stage: Stage) -> list[list[str]]:
    """One row a mark, measured off its solid: piece, stock, number, long and short point; of one whose tips lie between
    its edges from tip to tip."""
    rows: dict[str, list[Any]] = defaultdict(list)
    for m in stage.measured_rows:
        rows[m.mark].append(m)
    out = []
    for mark, same in rows.items():
        m = same[0]
        out.append(
            [
                mark,
                m.role.upper(),
                stage.stock(m.stock),
                str(len(same)),
                stage.text(m.length if tips_between(m) else m.long_point),
                "-" if tips_between(m) else stage.text(m.short_point),
            ]
        )
    return out


def _why_not(stage: Stage, c: Any) -> str:
    """What is said of a rule that is not met where no number is measured."""
    return stage.words(c.why) if c.result == "not met" else ""


def short_source(text: str, most: int = 90) -> str:
    """The first clause of a source or reason, cut at a word where it is long: the whole stands in checks.csv."""
    first = text.split(";")[0].strip()
    return first if len(first) <= most else first[:most].rsplit(" ", 1)[0] + " ..."


def check_rows(stage: Stage) -> tuple[list[list[str]], list[list[str]]]:
    """Rules with a verdict (those not met first), and rules not checked with the reason. Results alike in rule and
    verdict are one row naming the worst piece."""
    order = {"not met": 0, "met": 1, "not checked": 2}
    groups: dict[tuple, list] = defaultdict(list)
    for c in stage.checks:
        groups[str(c.rule), str(c.result)].append(c)
    verdicts, unchecked = [], []
    for (rule, result), same in sorted(groups.items(), key=lambda g: (order.get(g[0][1], 3), g[0][0])):
        worst = min(same, key=lambda c: c.margin if isinstance(c.margin, (int, float)) else 0.0)
        piece = stage.words(worst.place) + (f" +{len(same) - 1}" if len(same) > 1 else "")
        if result == "not checked":
            reason = stage.words(worst.why) or source_text(worst, stage.metric)
            unchecked.append([rule.upper(), piece, short_source(reason, 150).upper()])
        else:
            verdicts.append(
                [
                    rule.upper(),
                    piece,
                    measured_text(worst, stage.metric).upper() or _why_not(stage, worst) or "-",
                    limit_text(worst, stage.metric).upper() or "-",
                    result.upper(),
                    short_source(source_text(worst, stage.metric)).upper(),
                ]
            )
    return verdicts, unchecked
