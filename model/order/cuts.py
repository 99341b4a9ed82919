"""The cut list: what the saw is set to for each distinct piece, measured off its solid. Inches and degrees.

A piece lies on the saw table as in `saw`: end A to the left, end B to the right, the far edge against the fence. Angles
are given exactly and as set on a saw, to half a degree.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ...shared.stock import KIT, Stock, material
from ..measuring.measure import Measured
from ..measuring.saw import EndCut, Hole, Notch, Sizes
from ..solid.roles import ROLES

CUT_OF_A_KIT = ("top rail", "bottom rail")
_SAW = 0.5  # degrees: what a saw can be set to
_SAME = 3  # decimals of an inch to which two outlines are one


@dataclass(frozen=True)
class SawSetting:
    """How the saw stands for one end: table turned `mitre` degrees to `mitre_side`, blade tilted `bevel` to
    `bevel_side` ("left", "right", or "" where it is square); `long_point` says where the piece is longest at that end.
    Angles to 0.5.
    """

    end: str
    mitre: float
    mitre_side: str
    bevel: float
    bevel_side: str
    long_point: str
    exact: EndCut

    def __str__(self) -> str:
        if not self.mitre and not self.bevel:
            return "square"
        parts = []
        if self.mitre:
            parts.append(f"mitre {self.mitre:g}° {self.mitre_side}")
        if self.bevel:
            parts.append(f"bevel {self.bevel:g}° {self.bevel_side}")
        return ", ".join(parts) + f", long point {self.long_point}"


@dataclass(frozen=True, eq=False)
class Cut:
    """One distinct piece to cut `quantity` times. `ids` of the pieces, `mirror_of` the mark of its mirror image, if
    any.

    `face_up` says how it lies while it is set out and cut; `settings` one entry an end cut, end A first (two at one end
    where a corner is clipped). `rip` is the width to rip to, None for full stock.
    """

    mark: str
    role: str
    stock: Stock
    quantity: int
    ids: tuple[str, ...]
    where: tuple[str, ...]
    sizes: Sizes
    settings: tuple[SawSetting, ...]
    face_up: str
    mirror_of: str = ""

    @property
    def group(self) -> str:
        return ROLES[self.role].group

    @property
    def length(self) -> float:
        return self.sizes.length

    @property
    def long_point(self) -> float:
        return self.sizes.long_point

    @property
    def short_point(self) -> float:
        return self.sizes.short_point

    @property
    def rip(self) -> float | None:
        return self.sizes.rip

    @property
    def notches(self) -> tuple[Notch, ...]:
        return self.sizes.notches

    @property
    def holes(self) -> tuple[Hole, ...]:
        return self.sizes.holes

    def end(self, name: str) -> tuple[SawSetting, ...]:
        """The settings at end "A" or "B"."""
        return tuple(s for s in self.settings if s.end == name)


def cut_list(measured: Iterable[Measured], groups: Sequence[str] | None = None) -> list[Cut]:
    """One `Cut` a distinct piece, in the order the marks first appear; `groups` limits it to groups of roles.

    Poured pieces (concrete) and metal are no work for the saw and are left out, and what of a kit comes as it is.
    """
    heaps: dict[tuple, list[Measured]] = {}
    for m in measured:
        if (groups is not None and m.group not in groups) or material(m.stock.material).kind in ("poured", "metal"):
            continue
        if m.stock.material == KIT and m.role not in CUT_OF_A_KIT:
            continue
        heaps.setdefault((m.mark, m.role, m.stock, m.part.shape), []).append(m)
    cuts = [_cut(heap) for heap in heaps.values()]
    return _mirrored(cuts)


def saw_setting(cut: EndCut) -> SawSetting:
    """A measured end cut as settings of a mitre saw with its fence along the far edge.

    Turned right: the near end of the cut line moves right. Tilted left: the top of the blade leans left.
    """
    sign = 1 if cut.end == "B" else -1
    mitre, bevel = _half(abs(cut.mitre)), _half(abs(cut.bevel))
    points = []
    if mitre:
        points.append("near edge" if cut.mitre > 0 else "far edge")
    if bevel:
        points.append("underneath" if cut.bevel > 0 else "on top")
    return SawSetting(
        cut.end,
        mitre,
        ("right" if cut.mitre * sign > 0 else "left") if mitre else "",
        bevel,
        ("left" if cut.bevel * sign > 0 else "right") if bevel else "",
        " ".join(points),
        cut,
    )


def _half(angle: float) -> float:
    return np.floor(angle / _SAW + 0.5).item() * _SAW


def _cut(heap: list[Measured]) -> Cut:
    m = heap[0]
    where = tuple(dict.fromkeys(h.part.where for h in heap if h.part.where))
    return Cut(
        m.mark,
        m.role,
        m.stock,
        len(heap),
        tuple(h.id for h in heap),
        where,
        m.sizes,
        tuple(saw_setting(c) for c in m.sizes.cuts),
        _face_up(m),
    )


def _face_up(m: Measured) -> str:
    _, v, w = (m.part.place.matrix[:3, :3] @ m.sizes.axes.T).T
    if abs(w[2]) > 0.7:
        return "top face up" if w[2] > 0 else "top face down"
    if abs(v[2]) > 0.7:
        return "on its side, top edge far" if v[2] > 0 else "on its side, top edge near"
    return "either face up"


def chirality(sizes: Sizes) -> tuple[tuple, tuple]:
    """Keys of a piece and of its mirror image: equal for a symmetric piece, swapped for two pieces that mirror each
    other."""
    points = np.array(sizes.outline)
    far = points.max(axis=0)
    inner = np.array([(h.at, h.across) for h in sizes.holes]).reshape(-1, 2)

    def key(flip: bool):
        def moved(p, turn):
            p = p * (-1, 1) + (far[0], 0) if flip else p
            return far - p if turn else p

        return min((_ring(moved(points, t)), _points(moved(inner, t))) for t in (False, True))

    about = (round(sizes.thickness, _SAME), round(sizes.width, _SAME), sizes.profile)
    return (about, key(False)), (about, key(True))


def same_cuts(cuts: Iterable[Cut]) -> dict[str, tuple[str, ...]]:
    """By mark the other marks whose pieces are cut out of the same stock just so: one pile at the saw. A mark tells the
    kind of piece, by which drawings, a survey and a revision know its place; what is cut alike is told beside it."""
    heaps: dict[tuple, list[str]] = {}
    for c in cuts:
        heaps.setdefault((c.stock, chirality(c.sizes)[0]), []).append(c.mark)
    return {m: tuple(x for x in heap if x != m) for heap in heaps.values() if len(set(heap)) > 1 for m in heap}


def _points(points: np.ndarray) -> tuple:
    return tuple(sorted(map(tuple, (np.round(points, _SAME) + 0.0).tolist())))


def _ring(points: np.ndarray) -> tuple:
    """A ring as a set of its edges, whichever way round and wherever it starts."""
    p = [tuple(x) for x in (np.round(points, _SAME) + 0.0).tolist()]
    return tuple(sorted(tuple(sorted((a, b))) for a, b in zip(p, p[1:] + p[:1])))


def _mirrored(cuts: list[Cut]) -> list[Cut]:
    known: dict[tuple, Cut] = {}
    keys = [chirality(c.sizes) for c in cuts]
    for cut, (own, _) in zip(cuts, keys):
        known.setdefault((cut.role, cut.stock, own), cut)
    out = []
    for cut, (own, other) in zip(cuts, keys):
        twin = known.get((cut.role, cut.stock, other)) if own != other else None
        out.append(replace(cut, mirror_of=twin.mark) if twin else cut)
    return out
