"""Loads, shear and moment along a member, for its diagram: the numbers that its checks are made of, at every place.

Live and snow load stand on any spans or are absent from them, and a single load stands anywhere: shear and moment are
the greatest and least that come about at each place. Inches, pounds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ...shared.cited import Missing
from ...shared.standards import limit_or_missing
from ..strength.beams import Beam, Load, PointLoad
from ..strength.loads import Combination, Curves, DesignLoads
from .member_facts import points, runs, snow_on
from .members import Length, Member, Plies, clipped
from .stringer_checks import ON_ONE_TREAD, Stringer, dead_load, single_places

_STATIONS = 65  # places along a span under a load that stands anywhere


@dataclass(frozen=True)
class HeldAt:
    """A support at `x`, named `by`, with the pounds that press it most; `fixed` also holds the rotation."""

    x: float
    by: str
    most: float | None = None
    fixed: bool = False


@dataclass(frozen=True)
class LoadDiagram:
    """A member from `start` to `end` with what stands on it: `spread` in pounds an inch, `single` in pounds; one that
    stands `anywhere` is drawn in the middle. `curves` is None where no moment is worked out. `moment_of` and
    `shear_of` name the plies they are of, where those are not all."""

    start: float
    end: float
    held: tuple[HeldAt, ...]
    spread: tuple[Load, ...] = ()
    single: tuple[PointLoad, ...] = ()
    anywhere: bool = False
    curves: Curves | None = None
    under: str = ""
    moment_of: str = ""
    shear_of: str = ""


def of_member(m: Member, loads: DesignLoads, c: Combination, named: str = "") -> LoadDiagram | None:
    """A joist, rim or beam under a combination."""
    if m.trouble or not m.plies_alike:
        return None
    psf = c.psf(loads)
    whole = sum(psf)
    ends = [(l.start, l.end) for _, l in m.lengths]
    start, end = min(a for a, _ in ends), max(b for _, b in ends)
    snow = [load.scaled(c.snow) for load in snow_on(m)] if c.snow else []
    spread = [Load(l.start, l.end, l.w0 * whole, l.last * whole) for l in runs(m.steady)] + runs([*m.own, *snow])
    single = [PointLoad(p.x, p.total) for p in points(m, c, loads)] + [p for p in snow if isinstance(p, PointLoad)]
    inside = [
        Load(q.start + start, q.end + start, q.w0, q.last)
        for l in spread
        for q in clipped(l, start, end, start, end)
        if isinstance(q, Load)
    ]
    bent, sheared = (_governing(m, (*psf, c.snow), k) for k in ("moment", "shear"))
    curves = Curves(bent[1].x, sheared[1].shear_x, sheared[1].shear, bent[1].moment)
    return LoadDiagram(
        start,
        end,
        tuple(HeldAt(s.x, s.role, m.reactions.on(k).pressing(c, loads)) for k, s in enumerate(m.supports)),
        tuple(inside),
        tuple(single),
        curves=curves,
        under=c.name,
        moment_of=_plies(bent[0], m),
        shear_of=_plies(sheared[0], m),
    )


def _plies(plies: Plies, m: Member) -> str:
    return "" if plies.count == m.plies else f"{plies.count} of {m.plies} plies"


def _governing(m: Member, psf: tuple[float, float, float], kind: str) -> tuple[Plies, Curves]:
    """The plies that are stressed most, with their share of moment and shear along the member."""
    found = []
    for plies in m.plies_alike:
        whole = _joined([(l, l.patterns.curves(*psf)) for l in plies.lengths])
        most = np.abs(whole.moment if kind == "moment" else whole.shear).max()
        found.append((float(most), plies, whole))
    _, plies, whole = max(found, key=lambda f: f[0])
    return plies, Curves(whole.x, whole.shear_x, whole.shear * plies.share, whole.moment * plies.share)


def _joined(pieces: Sequence[tuple[Length, Curves]]) -> Curves:
    """Lengths one after the other, hinged where they meet."""
    return Curves(
        np.concatenate([l.start + c.x for l, c in pieces]),
        np.concatenate([l.start + c.shear_x for l, c in pieces]),
        np.concatenate([c.shear for _, c in pieces], axis=1),
        np.concatenate([c.moment for _, c in pieces], axis=1),
    )


def of_stringer(s: Stringer, loads: DesignLoads, edition: str, c: Combination, named: str = "") -> LoadDiagram:
    """A stringer on its horizontal length, from its head on, under its treads; or where a check is `named` by the load
    of one tread under that, wherever it stands, and the dead load."""
    point = limit_or_missing("stair_tread_concentrated_load", edition)
    if named == ON_ONE_TREAD and not isinstance(point, Missing):
        return _under_one_tread(s, loads, float(point.value))
    psf = c.psf(loads)
    whole = sum(psf)
    spread = [Load(l.start, l.end, l.w0 * whole, l.last * whole) for l in runs(s.loads)]
    single = [PointLoad(l.x, l.p * whole) for l in s.loads if isinstance(l, PointLoad) and l.p * whole > 0.5]
    names = ["head", *["cross piece"] * (len(s.places) - 2), "foot"]
    most = s.patterns.envelope(*psf).most
    held = tuple(HeldAt(x, by, float(r)) for x, by, r in zip(s.places, names, most))
    return LoadDiagram(0.0, s.length, held, tuple(spread), tuple(single), curves=s.patterns.curves(*psf), under=c.name)


def _under_one_tread(s: Stringer, loads: DesignLoads, pounds: float) -> LoadDiagram:
    beam = Beam(s.length, s.places)
    dead = [l.scaled(dead_load(loads)) for l in s.loads]
    places = single_places(s.places)
    every = [beam.solve([*dead, PointLoad(x, pounds)]) for x in places]
    x = np.unique(np.concatenate([beam.solve(dead).grid(8), places]))
    moment = np.array([b.at(x)[1] for b in every])
    sides = np.array([np.column_stack(b.both_sides(x)[:2]).ravel() for b in every])
    curves = Curves(x, np.repeat(x, 2), *(np.array([a.max(axis=0), a.min(axis=0)]) for a in (sides, moment)))
    most = np.max([b.reactions for b in every], axis=0)
    held = tuple(HeldAt(at, "", float(r)) for at, r in zip(s.places, most))
    spread = tuple(Load(l.start, l.end, l.w0, l.last) for l in runs(dead))
    middle = PointLoad(places[len(places) // 2], pounds)
    return LoadDiagram(0.0, s.length, held, spread, (middle,), True, curves, ON_ONE_TREAD)


def of_ledger(brought: Sequence[tuple[float, float]], start: float, end: float) -> LoadDiagram:
    """A ledger with the pounds that each line of framing brings to it, at places; its fasteners hold it all along."""
    single = tuple(PointLoad(x - start, p) for x, p in brought if p > 0.5)
    return LoadDiagram(0.0, end - start, (), (), single, under="worst combination of each")


def under_a_load(span: float, pounds: float, by: str, under: str) -> LoadDiagram:
    """A simple span under a load that stands anywhere on it: P x (L - x) / L at each place, and the shear beside it."""
    x = np.linspace(0.0, span, _STATIONS)
    moment = pounds * x * (span - x) / span
    shear = np.array([pounds * (span - x) / span, -pounds * x / span])
    curves = Curves(x, x, shear, np.array([moment, np.zeros_like(x)]))
    held = (HeldAt(0.0, by, pounds), HeldAt(span, by, pounds))
    return LoadDiagram(0.0, span, held, (), (PointLoad(span / 2, pounds),), True, curves, under)


def spread_over(span: float, w: float, by: str, under: str) -> LoadDiagram:
    """A simple span under `w` pounds an inch."""
    x = np.linspace(0.0, span, _STATIONS)
    shear = w * (span / 2 - x)
    moment = w * x * (span - x) / 2
    none = np.zeros_like(x)
    curves = Curves(x, x, np.array([shear, none]), np.array([moment, none]))
    held = (HeldAt(0.0, by, w * span / 2), HeldAt(span, by, w * span / 2))
    return LoadDiagram(0.0, span, held, (Load(0.0, span, w),), curves=curves, under=under)


def standing_out(lever: float, pounds: float, by: str, under: str) -> LoadDiagram:
    """A post held at one end, with a load at the other: drawn lying, from what holds it."""
    x = np.array([0.0, lever])
    shear, moment = np.full(2, pounds), pounds * (x - lever)
    none = np.zeros(2)
    curves = Curves(x, x, np.array([shear, none]), np.array([none, moment]))
    return LoadDiagram(
        0.0, lever, (HeldAt(0.0, by, pounds, True),), (), (PointLoad(lever, pounds),), curves=curves, under=under
    )
