"""How far surface boards span in the clear over the tops of what bears them, read off the solids. Inches."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import shapely

from ..solid.clear_spans import LENGTHWISE, clear_spans
from ..solid.part import Part
from ..solid.roles import named
from .bearing import tops_at
from .contacts import Contact
from .loose_ends import Stretch, stretches


def board_spans(parts: Sequence[Part], by: dict[int, list[Contact]], on: Sequence[str]) -> list[Stretch]:
    """The longest clear stretch of every surface board between what bears it (pieces of the roles `on`), with the skew
    of the joists under it; 0 where it bears at fewer than two places."""
    found = [s for s in stretches(parts, by, named("walked"), on) if not s.past]
    if not found:
        return []
    boards = [s.part for s in found]
    borne = tops_at(boards, [p for p in parts if p.role in on])
    axes = _directions(boards)
    axes = axes / np.linalg.norm(axes, axis=1)[:, None]
    outlines = _turned([b.footprint for b in boards], axes)
    whose = np.array([k for k, below in enumerate(borne) for _ in below], dtype=int)
    tops = _turned([top for below in borne for _, top in below], axes[whose])
    along = np.abs(np.einsum("ij,ij->i", axes[whose], _directions(part for below in borne for part, _ in below)))
    spans = clear_spans(outlines, tops, whose, along > LENGTHWISE)
    return [replace(s, length=span) for s, span in zip(found, spans)]


def _directions(parts: Iterable[Part]) -> np.ndarray:
    """Long axes of `parts` in the plan, shape (n, 2)."""
    return np.array([p.place.x[:2] for p in parts]).reshape(-1, 2)


def _turned(shapes: Sequence[Any], axes: np.ndarray) -> np.ndarray:
    """Each shape as its own board sees it: the first coordinate along that board's axis, the second to its left."""
    turned = np.array(shapes, dtype=object)
    at, of = shapely.get_coordinates(turned, return_index=True)
    (x, y), (c, s) = at.T, axes[of].T
    return shapely.set_coordinates(turned, np.column_stack([c * x + s * y, c * y - s * x]))
