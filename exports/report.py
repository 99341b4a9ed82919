"""What the command line says at the end: a short summary, and the checks as a readable table."""

from __future__ import annotations

import itertools
import textwrap
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from pydantic import BaseModel

from ..model.design.designed import Designed
from ..model.design.landing_keys import landing_key
from ..model.design.reasons import Reason
from ..model.design.trials import Mended, Trial
from ..model.design.variants import FrameVariant
from ..model.plan.house_places import house_chosen
from ..shared.as_toml import as_toml
from .drafting.frame_reasons import reason_lines
from .drafting.style import CAUTIONS, CHECK_CAUTION
from .drafting.unlettered import code_point, unlettered
from .drafting.wording import limit_text, measured_text, source_text, worded

REPORT_WIDTH = 110
MOST_OTHERS = 6  # rows named of those that a value changes beside its own


def counts(checks) -> str:
    c = Counter(r.result for r in checks)
    return f"{c['met']} met, {c['not met']} not met, {c['not checked']} not checked"


def summary(result, out: Path) -> str:
    """Pieces, output folder, checks, and every rule not met."""
    lines = [f"{out}: {len(result.deck.parts)} pieces, {len({p.mark for p in result.deck.parts})} marks"]
    parameters = result.deck.parameters
    metric = parameters.drawing.units == "metric"
    notes = (*(worded(n, metric) for n in result.deck.notes), *without_letters(parameters))
    lines += [f"  note: {n}" for n in notes]
    lines.append(f"  checks: {counts(result.checks)}")
    lines += [f"  NOT MET  {line(r, metric)}" for r in result.checks if r.result == "not met"]
    return "\n".join([*lines, *(f"  {c}" for c in CAUTIONS)])


def without_letters(parameters: BaseModel) -> list[str]:
    """A note for each text of the parameter file with characters that the sheets' face has no letters for."""
    return [
        f"{key}: the sheets' face has no letter for {', '.join(f'{c} ({code_point(c)})' for c in odd)}: a box stands"
        " there on paper."
        for key, odd in unlettered(parameters)
    ]


def line(r, metric: bool = False) -> str:
    parts = [r.rule, worded(r.place, metric)]
    if r.measured is not None:
        parts.append(f"measured {measured_text(r, metric)}")
    if r.limit is not None:
        parts.append(f"limit {limit_text(r, metric)}")
    return "; ".join(p for p in parts if p) + f" [{source_text(r, metric)}]"


def check_table(checks, everything: bool = False, metric: bool = False) -> str:
    """Results grouped by outcome, not met first. `everything` also lists what is met; `metric` words lengths so."""
    lines = []
    for result, title in (("not met", "NOT MET"), ("not checked", "NOT CHECKED"), ("met", "MET")):
        rows = [r for r in checks if r.result == result]
        if not rows or (result == "met" and not everything):
            continue
        lines.append(f"{title} ({len(rows)})")
        for r in rows:
            text = line(r, metric) + (f" - {worded(r.why, metric)}" if r.why else "")
            lines += textwrap.wrap(text, REPORT_WIDTH, initial_indent="  ", subsequent_indent="      ")
    lines.append(counts(checks))
    return "\n".join([*lines, CHECK_CAUTION, *CAUTIONS])


def design_lines(
    made: Designed, metric: bool = False, why: Sequence[Reason] = (), figures: Sequence[str] = ()
) -> list[str]:
    """What was chosen for the frame, as lines of a parameter file that pin it, and what no choice could mend; then its
    `figures` (`frames_beside`), and why each key of the frame is what it is, where these are given."""
    lines = [f"# {made.built} frames built and checked" if made.built > 1 else "# the frame as the file has it"]
    for key, value, told in house_chosen(made.deck.layout):
        lines.append(f"# by the house: {key} = {as_toml(value)}  # {worded(told, metric)}")
    if made.chosen:
        of_landings = [c for c in made.chosen if landing_key(c.key)]
        lines += ["[frame]"] if len(of_landings) < len(made.chosen) else []
        for c in sorted(made.chosen, key=of_landings.__contains__):
            found = landing_key(c.key)
            where = f"# stair {found.stair + 1} landing {found.landing + 1}: " if found else ""
            lines.append(f"{where}{found.key if found else c.key} = {as_toml(c.value)}  # {worded(c.why, metric)}")
    elif not made.faults:
        lines.append("# nothing had to be chosen: no member of the frame is not met")
    for member, row in made.faults:
        lines.append(f"# NOT MET whatever was tried: {row.check} of the {member.kind} {member.where}")
    told = ["#", *(f"#{line}".rstrip() for line in figures)] if figures else []
    return [*lines, *told, *_why_lines(why, metric), *(f"# {text}" for text in (CHECK_CAUTION, *CAUTIONS))]


def variant_lines(found: Sequence[FrameVariant], beside: Designed) -> list[str]:
    """The keys of other frames, each as one line to paste into the frame table; `beside` is the frame that was
    chosen."""
    lines = [""]
    for v in found:
        keys = [f"{c.key} = {as_toml(c.value)}" for c in v.made.chosen if landing_key(c.key) is None]
        same = {(c.key, str(c.value)) for c in v.made.chosen} == {(c.key, str(c.value)) for c in beside.chosen}
        told = "the same frame" if same else ", ".join(keys) or "the frame as the file has it"
        lines += _wrapped(f"{v.named}: frame = {{ {told} }}" if keys and not same else f"{v.named}: {told}", 1)
    return lines


def _why_lines(why: Sequence[Reason], metric: bool) -> list[str]:
    """A paragraph a key, as comments: its value, who gave it, what bound it, the runner-up and what it would take."""
    lines = []
    for key, value, origin, bound, ratio, runner, takes, told in reason_lines(why, metric):
        parts = [f"{key} {value} ({origin})"]
        parts += [f"bound by {bound}" + (f" at {ratio} of its limit" if ratio != "-" else "")] if bound != "-" else []
        parts += [f"runner-up {runner}: {takes}, by estimate"] if runner != "-" else []
        lines += textwrap.wrap(
            "; ".join([*parts, told]), REPORT_WIDTH, initial_indent="#   ", subsequent_indent="#       "
        )
    return ["#", "# how the frame was chosen", *lines] if lines else []


def mend_lines(found: Mended, given: Callable[[str], int | None], metric: bool = False) -> list[str]:
    """What came of the values tried for rows that are not met, and the lines to paste; `given`: the line on which the
    file has a key."""
    if not found.rows:
        return ["MEND: no row is not met"]
    lines = [f"MEND ({len(found.rows)}), each value tried on a deck of its own"]
    for tried in found.rows:
        lines += _wrapped(line(tried.row, metric), 2)
        lines += [text for t in tried.trials for text in _wrapped(_of_trial(t, metric), 6)]
        if not tried.trials:
            lines += _wrapped("no value to try: see what its row says under NOT MET", 6)
    if found.values:
        lines += ["LINES TO PASTE", *_pasted(found.values, given)]
        lines += _wrapped(_with_all(found), 0)
        lines += [text for r in found.left for text in _wrapped(f"NOT MET  {line(r, metric)}", 2)]
    return lines


def _with_all(found: Mended) -> str:
    if found.refused:
        return f"with all of these at once the deck is refused: {found.refused}"
    if found.left:
        return f"with all of these at once {len(found.left)} rows are not met:"
    return "with all of these at once every row that was checked is met"


def _wrapped(text: str, indent: int) -> list[str]:
    return textwrap.wrap(
        text, REPORT_WIDTH, initial_indent=" " * indent, subsequent_indent=" " * (indent + 4), break_on_hyphens=False
    )


def _of_trial(t: Trial, metric: bool) -> str:
    key, value = t.value
    if t.refused:
        return f"{key} = {as_toml(value)}: refused: {t.refused}"
    told = f"{key} = {as_toml(value)}: {'met then' if t.met else 'still not met'}"
    if not t.others:
        return f"{told}; no other row comes out otherwise"
    others = [
        f"{o.row.rule}, {worded(o.row.place, metric)}: {o.after}{f' (was {o.before})' if o.before else ' (a new row)'}"
        for o in t.others[:MOST_OTHERS]
    ]
    more = len(t.others) - len(others)
    return "; ".join([told, *others, *([f"and {more} more rows"] if more else [])])


def _pasted(values: Mapping[str, object], given: Callable[[str], int | None]) -> list[str]:
    """Values as lines of a parameter file, under the head of the table that each belongs to."""
    by_table: dict[str, list[str]] = {}
    for key, value in values.items():
        head, _, last = key.rpartition(".")
        at = given(key)
        where = f"in place of line {at}" if at else "the file leaves it out"
        by_table.setdefault(head, []).append(f"{last} = {as_toml(value)}  # {where}")
    return [text for head, lines in by_table.items() for text in (_head(head, given), *lines)]


def _head(table: str, given: Callable[[str], int | None]) -> str:
    """`[frame]`; of a table of a list its number, as a head of its own would begin another."""
    steps = table.split(".")
    if not any(s.isdecimal() for s in steps):
        return f"[{table}]"
    named = [
        f"{a} {int(b) + 1}" if b.isdecimal() else a for a, b in itertools.pairwise([*steps, ""]) if not a.isdecimal()
    ]
    at = given(table)
    return f"# in {', '.join(named)}" + (f", begun on line {at}:" if at else ":")
