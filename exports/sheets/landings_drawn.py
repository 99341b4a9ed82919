"""Landings of stairs as their solids show them, and the view of a stair square to the sheet."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ...model.solid.part import Part
from ..drafting import drawing as d
from ..linework.eye import Eye
from .askew import turned_by
from .stage import SURFACE, Stage


@dataclass(frozen=True)
class LandingDrawn:
    """One landing as its solids show it: what is walked on, and the frame under it (none on the ground)."""

    number: int
    walked: list[Part]
    frame: list[Part]
    posts: list[Part]

    @property
    def top(self) -> float:
        return float(max(p.box[1, 2] for p in self.walked))


def stairs_with_landings(stage: Stage) -> list[int]:
    """The 0-based numbers of the stairs that have a sheet of their own here."""
    return [k for k in stage.seen.stairs if landings(stage, k)]


def landings(stage: Stage, stair: int) -> list[LandingDrawn]:
    """From the deck down. Frame and posts lie under the same place as the boards: pieces share its name. Read once."""
    return stage.once(("landings", stair), lambda: _landings(stage, stair))


def _landings(stage: Stage, stair: int) -> list[LandingDrawn]:
    mine = [p for p in stage.parts if p.stair == stair and "landing" in p.where]
    places: dict[str, list[Part]] = defaultdict(list)
    for p in mine:
        places[p.where].append(p)
    found = []
    for pieces in places.values():
        walked = [p for p in pieces if p.role in SURFACE or p.role == "pad"]
        if walked:
            frame = [p for p in pieces if p.role in ("joist", "rim")]
            found.append(LandingDrawn(0, walked, frame, [p for p in pieces if p.role == "post"]))
    found.sort(key=lambda l: -l.top)
    return [replace(l, number=n) for n, l in enumerate(found, 1)]


def square_eye(stage: Stage, stair: int) -> Eye:
    """From above, with the first flight square to the sheet by the smaller turn."""
    out = stage.seen.flights(stair)[0].out
    angle = math.degrees(math.atan2(out[1], out[0]))
    turn = math.radians(angle - 90 * round(angle / 90))
    if abs(turn) < 1e-9:
        return Eye.above()
    c, s = math.cos(turn), math.sin(turn)
    return Eye((c, s, 0.0), (-s, c, 0.0), (0.0, 0.0, 1.0))


def turned_words(eye: Eye) -> str:
    """How the sheet lies against the other plans, where it does not lie as they do."""
    words = turned_by(math.degrees(math.atan2(eye.right[1], eye.right[0])))
    return f" {words}." if words else ""


def seen_at(eye: Eye, point: Sequence[float]) -> d.Point:
    u, v = eye.flat([(point[0], point[1], 0.0)])[0].tolist()
    return u, v


def seen_box(eye: Eye, parts: Iterable[Part]) -> d.Box:
    """Lowest and highest places of pieces in the view."""
    at = np.vstack([eye.flat(p.vertices) for p in parts])
    return (*map(float, at.min(axis=0)), *map(float, at.max(axis=0)))
