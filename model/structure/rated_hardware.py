"""Demands on bought hardware against the loads that its makers allow, where the builder gives them. Pounds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from ...shared.said import Words, number, said, together
from ..input.connectors import Hardware
from ..strength.loads import DesignLoads, those_that_count
from .guard_push import CHECK
from .load_path import LoadPath
from .verdicts import NOT_CHECKED, CalcLine, Verdict, verdict

AS_GIVEN = "the maker's value, given in the file"
HANGER = "load on a joist hanger"


def rated(found: Sequence[Verdict], hardware: Hardware) -> list[Verdict]:
    """The checks of a member, with those that only a bought connector decides judged by what the file gives of it."""
    return [_rated(v, hardware) for v in found]


def _rated(v: Verdict, hardware: Hardware) -> Verdict:
    if v.result != NOT_CHECKED or v.demand is None:
        return v
    if v.check.startswith("uplift"):
        return _against(v, v.demand, hardware.uplift_lb, "hardware.uplift_lb")
    if v.check == CHECK:
        pull = next((l.value for l in v.lines if l.label == "pull at its edges"), None)
        return v if pull is None else _against(v, pull, hardware.guard_post_lb, "hardware.guard_post_lb")
    return v


def _against(v: Verdict, demand: float, allowed: float | None, key: str) -> Verdict:
    asked: Words = said(f"choose a connector rated for {{lb}} lb ({key})", lb=number(demand, 0, grouped=True))
    if allowed is None:
        return replace(v, why=together(v.why, asked))
    given = CalcLine("allowed", allowed, "lb", AS_GIVEN)
    judged = verdict(v.check, demand, allowed, "lb", v.combination, [*v.lines, given])
    return judged if demand <= allowed else replace(judged, why=asked)


def on_hangers(path: LoadPath, loads: DesignLoads) -> tuple[float, str] | None:
    """The greatest load on a hanger, and the member that hangs on it; None where nothing hangs."""
    found = [
        (max(m.reactions.on(k).pressing(c, loads) for c in those_that_count(loads)), f"{m.role} {m.key}")
        for m in path.members
        if not m.trouble
        for k, s in enumerate(m.supports)
        if s.hanger
    ]
    return max(found, default=None)
