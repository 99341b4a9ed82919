"""Why the frame is as it is, in words and units of the paper: what the table of a build, the calculation's page and the
command line each show."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from ...model.design.landing_keys import landing_key
from ...model.design.next_values import RunnerUp
from ...model.design.reasons import Reason, value_words
from ...model.structure.prescribed import Prescribed
from ...model.structure.verdicts import NOT_MET
from ...shared.stock import BOARD_FOOT, CUBIC_INCHES_PER_CUBIC_FOOT
from ...shared.units import INCH_PER_MM
from .wording import worded

_CUBIC_METRE = (1000 * INCH_PER_MM) ** 3  # cubic inches


def key_text(key: str) -> str:
    """As a builder calls it: `beam plies`, `stair 1 landing 1: rim plies`."""
    found = landing_key(key)
    name = key if found is None else worded(found.said)
    return name.replace("_", " ").replace("footing.", "footing ")


def full_key(key: str) -> str:
    """As it stands in the parameter file."""
    return key if landing_key(key) else f"frame.{key}"


def bound_text(r: Reason) -> str:
    """The member and the row that bound it: `joist J1: joist span (table)`."""
    if r.row is None:
        return "-"
    route = "table" if isinstance(r.row, Prescribed) else "calculation"
    unmet = ", not met" if r.row.result == NOT_MET else ""
    return f"{_member(r)}: {r.row.check} ({route if r.member is not None else 'rule'}){unmet}"


def _member(r: Reason) -> str:
    return "footings" if r.member is None else f"{r.member.kind} {r.member.mark}"


def runner_text(other: RunnerUp | None, metric: bool) -> str:
    """The runner-up: `2x8`, `11.5 in, with beam 2x8`."""
    if other is None:
        return "-"
    beside = _beside(other.beside, metric)
    if other.value is None:
        return beside
    own = worded(value_words(other.value), metric)
    return f"{own}, with {beside}" if beside else own


def _beside(keys: Mapping[str, object], metric: bool) -> str:
    return ", ".join(f"{key_text(k)} {worded(value_words(v), metric)}" for k, v in keys.items())


def timber_text(cubic_inches: float, metric: bool) -> str:
    """Board feet, or cubic metres, more or less."""
    if metric:
        return _more(cubic_inches / _CUBIC_METRE, "cu m of timber", 3)
    feet = cubic_inches / BOARD_FOOT
    return _more(feet, "board foot" if abs(round(feet)) == 1 else "board feet", 0)


def _more(value: float, what: str, places: int) -> str:
    told = f"{abs(value):,.{places}f}"
    return "" if float(told.replace(",", "")) == 0 else f"{told} {what} {'more' if value > 0 else 'less'}"


def cost_text(other: RunnerUp | None, metric: bool) -> str:
    """What the runner-up would take more, or less, by estimate."""
    if other is None:
        return "-"
    concrete = other.concrete / (_CUBIC_METRE if metric else CUBIC_INCHES_PER_CUBIC_FOOT)
    footings = f"footing{'s' if abs(other.posts) != 1 else ''} with posts"
    told = [
        timber_text(other.timber, metric),
        _more(other.posts, footings, 0),
        _more(concrete, "cu m of concrete" if metric else "cu ft of concrete", 2 if metric else 1),
        "" if other.price is None else _more(other.price, "in price", 2),
    ]
    return ", ".join(t for t in told if t) or "nothing more"


def ratio_or_none(r: Reason) -> float | None:
    """The ratio of the row that bound it; None where there is none, or it is not met without one."""
    return r.ratio if r.ratio is not None and math.isfinite(r.ratio) else None


def reason_lines(found: Sequence[Reason], metric: bool) -> list[tuple[str, ...]]:
    """(key, value, from, bound by, ratio, runner-up, what it would take, why), a line a key."""
    return [
        (
            key_text(r.key),
            worded(value_words(r.value), metric),
            r.origin,
            bound_text(r),
            "-" if (ratio := ratio_or_none(r)) is None else f"{ratio:.2f}",
            runner_text(r.runner_up, metric),
            cost_text(r.runner_up, metric),
            worded(r.why, metric),
        )
        for r in found
    ]
