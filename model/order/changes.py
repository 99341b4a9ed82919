"""Which pieces of a deck change when it is built to what stands: matched piece by piece, and by how much. Inches."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from ...shared.said import Words, listed, said, size
from ..measuring.pairing import SAME_PIECE, paired
from ..solid.part import Part
from ..solid.roles import ROLES

if TYPE_CHECKING:
    from ..deck import Deck

UNSEEN_IN_A_CUT = 1 / 32  # inches: what a saw cut does not show (our own; half of what paper is rounded to)


@dataclass(frozen=True, eq=False)
class Change:
    """One piece in both decks, or in one of them (the other None).

    `cut` is the greatest distance between its outlines laid one on the other, `longer` how much its length grew,
    `moved` from middle to middle.
    """

    design: Part | None
    built: Part | None
    cut: float = 0.0
    longer: float = 0.0
    moved: float = 0.0

    @property
    def part(self) -> Part:
        piece = self.built or self.design
        assert piece is not None, "a change has its piece in one of the two decks"
        return piece

    @property
    def role(self) -> str:
        return self.part.role

    @property
    def what(self) -> str:
        """added, gone, cut differently, or moved."""
        if self.design is None or self.built is None:
            return "added" if self.design is None else "gone"
        return (
            "cut differently"
            if self.cut > UNSEEN_IN_A_CUT or self.design.stock.name != self.built.stock.name
            else "moved"
        )


def changes(design: Deck, built: Deck, least: float = UNSEEN_IN_A_CUT) -> list[Change]:
    """Every piece that is cut differently, stands elsewhere, came or went, by more than `least`, in the order of roles.

    A deck out of square moves nearly every piece a little: ask `what` for the ones that are cut differently.
    """
    found = []
    known: dict[tuple, tuple[float, float]] = {}
    for a, b in matched(design.parts, built.parts):
        if a is None or b is None:
            found.append(Change(a, b))
            continue
        key = id(a.shape), id(b.shape), abs(round(float(np.dot(a.place.z, b.place.z)), 3))
        if key not in known:
            known[key] = _difference(a, b)
        cut, longer = known[key]
        moved = float(np.linalg.norm(a.box.mean(axis=0) - b.box.mean(axis=0)))
        if cut > least or moved > least or a.stock.name != b.stock.name:
            found.append(Change(a, b, cut, longer, moved))
    rank = {r: k for k, r in enumerate(ROLES)}
    return sorted(found, key=lambda c: (rank[c.role], c.part.id))


def changed_marks(found: Sequence[Change]) -> dict[str, list[Change]]:
    """Changes by what stands on the piece: the mark in the design, or the built deck's where the piece is new. Moves
    alone are left out: such a piece keeps its cut."""
    by_mark: dict[str, list[Change]] = defaultdict(list)
    for c in found:
        if c.what != "moved":
            by_mark[(c.design or c.part).mark].append(c)
    return dict(by_mark)


def summary(found: Sequence[Change]) -> list[Words]:
    """One line a role: how many pieces are cut differently and by how much at most, how many came and went."""
    lines: list[Words] = []
    for role in ROLES:
        own = [c for c in found if c.role == role]
        cut = [c.cut for c in own if c.what == "cut differently"]
        words: list[Words] = (
            [said("{n} cut differently, by up to {cut}", n=len(cut), cut=size(max(cut)))] if cut else []
        )
        for what in ("added", "gone"):
            if n := sum(c.what == what for c in own):
                words.append(f"{n} {what}")
        if words:
            lines.append(said("{role}: {words}", role=role, words=listed(words)))
    return lines


def matched(a: Sequence[Part], b: Sequence[Part]) -> list[tuple[Part | None, Part | None]]:
    """Pieces of two decks in pairs: those whose place has the same name, nearest first over the whole place; then what
    is left of a role within 12 in; then those that have no partner."""
    return paired(
        a, b, [(lambda p: (p.role, p.where, p.edge, p.stair, p.step), np.inf), (lambda p: (p.role,), SAME_PIECE)]
    )


def _difference(a: Part, b: Part) -> tuple[float, float]:
    """(greatest distance between the outlines, growth in length). A piece may be laid down end for end."""
    if a.shape.circle is not None or b.shape.circle is not None:
        return abs((a.shape.circle or 0.0) - (b.shape.circle or 0.0)), b.shape.thickness - a.shape.thickness
    if abs(float(np.dot(a.place.z, b.place.z))) < 0.9:  # drawn from another side, as a pad is whose top slopes
        size = np.abs(np.ptp(b.box, axis=0) - np.ptp(a.box, axis=0))
        return float(size.max()), 0.0
    p, q = a.shape.polygon, b.shape.polygon
    low, high = np.array(p.bounds[:2]), np.array(p.bounds[2:])
    apart = []
    for turn in (1.0, -1.0):
        t = shapely.transform(q, lambda r: r * turn)
        for of, to in ((t.bounds[:2], low), (t.bounds[2:], high)):
            apart.append(
                shapely.hausdorff_distance(p.boundary, shapely.transform(t, lambda r: r + (to - np.array(of))).boundary)
            )
    size = [s.bounds[2] - s.bounds[0] for s in (p, q)]
    return max(float(min(apart)), abs(a.shape.thickness - b.shape.thickness)), float(size[1] - size[0])
