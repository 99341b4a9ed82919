"""Frame marks: for every ledger, rim and beam that carries joists, where each joist goes, running from one end."""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon, box

from .. import drawing as d
from ..layers import layer_for
from ..sheets import reading
from ..sheets.stage import Stage
from .corners import corner_at
from .pages import Pages, fit, scale_words, size_of
from .running import running

STUB = 0.3  # paper inches of each joist that are drawn


@dataclass(frozen=True)
class Carrier:
    """A straight run of a ledger, rim or beam and the joists on it: (near station, far station, joist), from its low end."""

    role: str
    line: reading.BeamLine
    joists: tuple[tuple[float, float, object], ...]

    @property
    def name(self) -> str:
        return f"{self.role.upper()} {' + '.join(sorted({p.mark for p in self.line.plies}))}"

    @property
    def length(self) -> float:
        return self.line.along[1] - self.line.along[0]


def carriers(stage: Stage) -> list[Carrier]:
    """Every ledger, rim, stair header and beam that joists meet or cross, measured off the pieces."""
    out = []
    joists = stage.of("joist")
    for role in ("ledger", "rim", "beam"):
        # plies of ledgers and rims, side by side and end to end, are gathered just as those of a beam are
        for line in reading.beam_lines([p.replaced(role="beam") for p in stage.of(role)]):
            found = [(a, b, j) for j in joists if (ab := _meets(line, j, role)) for a, b in [ab]]
            if found:
                out.append(Carrier(role, line, tuple(sorted(found, key=lambda f: f[0]))))
    return out


def _meets(line: reading.BeamLine, joist, role: str) -> tuple[float, float] | None:
    """Stations along the line, from its low end, between which a joist meets its face or crosses it."""
    axis, n = line.axis, reading.square(line.axis)
    if abs(float(reading.plan_axis(joist) @ axis)) > 0.999:
        return None
    if role == "beam":
        if abs(line.top - joist.box[0, 2]) > reading.NEAR:
            return None
        band = Polygon([line.point(s, c) for s, c in zip((line.along[0], line.along[1], line.along[1], line.along[0]),
                                                         (line.across[0], line.across[0], line.across[1], line.across[1]))])
        over = joist.footprint.intersection(band)
        flat = np.array(over.exterior.coords) if over.area > 0.01 else np.empty((0, 2))
    else:
        if reading.overlap((line.bottom, line.top), (joist.box[0, 2], joist.box[1, 2])) < 1:
            return None
        flat = joist.vertices[:, :2]
        off = flat @ n
        flat = flat[(np.abs(off - line.across[0]) < reading.NEAR) | (np.abs(off - line.across[1]) < reading.NEAR)]
    s = flat @ axis - line.along[0]
    if len(s) < 2 or s.max() < -reading.NEAR or s.min() > line.along[1] - line.along[0] + reading.NEAR or np.ptp(s) < 0.1:
        return None
    return float(s.min()), float(s.max())


def build(stage: Stage) -> None:
    found = carriers(stage)
    if not found:
        return
    pages = Pages(stage, 100, "FRAME MARKS")
    pages.text("FIGURES RUN FROM THE 0 END TO THE NEAR FACE OF EACH JOIST. MARK THE LINE, THE JOIST GOES BEYOND IT (X). SEEN FROM ABOVE.", gap=0.22)
    for n, carrier in enumerate(found):
        view = fit(stage, lambda scale: _strip(stage, carrier, scale, n), (carrier.length, 1.0), (pages.width, 4.0))
        where = corner_at(stage, carrier.line.point(carrier.line.along[0]))
        zero = f"0 AT CORNER {where}" if where else "0 AT THE LEFT END" if abs(carrier.line.axis[0]) > 0.5 else "0 AT THE END LOW ON THE PLAN"
        pages.heading(f"{carrier.name}, {stage.text(carrier.length)}, {len(carrier.joists)} JOISTS. {zero}. {scale_words(stage, view.scale)}", size_of(view, stage.metric)[1])
        pages.view(view, gap=0.25)


def _strip(stage: Stage, carrier: Carrier, scale: float, n: int) -> d.View:
    line = carrier.line
    ux, uy = line.axis
    turn = np.array([[ux, uy], [-uy, ux]])  # the run along x, still as seen from above
    base = np.asarray(line.point(line.along[0], line.across[0]))

    def flat(points) -> list[d.Point]:
        return [(float(x), float(y)) for x, y in (np.asarray(points)[:, :2] - base) @ turn.T]

    view = d.View(f"marks {n + 1} {carrier.name.lower()}", scale)
    corners = [p for q in line.plies for p in flat(q.footprint.exterior.coords)]
    low, high = min(p[1] for p in corners), max(p[1] for p in corners)
    for ply in line.plies:
        view.add(d.Polyline(flat(ply.footprint.exterior.coords)[:-1], True, layer=layer_for(carrier.role), mark=ply.id))
    middles = [float(np.mean([p[1] for p in flat(j.footprint.exterior.coords)])) for *_, j in carrier.joists]
    above = sum(m > (low + high) / 2 for m in middles) * 2 > len(middles)
    stub = STUB * scale
    window = box(-1e4, low - stub, 1e4, high + stub)
    for a, b, j in carrier.joists:
        piece = Polygon(flat(j.footprint.exterior.coords)).intersection(window)
        if piece.geom_type == "Polygon" and piece.area > 0:
            view.add(d.Polyline([(float(x), float(y)) for x, y in piece.exterior.coords[:-1]], True, layer=layer_for("joist"), mark=j.id))
        view.add(d.Text(((a + b) / 2, (high + stub + 0.09 * scale) if above else (low - stub - 0.09 * scale)), "X", 0.1, "centre", "middle", layer="A-ANNO-IDEN", mark=j.mark))
    face, off, at = (low, -90.0, 0.12 * scale) if above else (high, 90.0, 0.12 * scale)
    zero = (0.0, face)
    stations = [0.0, *(a for a, _, _ in carrier.joists if a > 1 / 32), carrier.length]
    running(view, [(s, face) for s in stations], zero, 0.0, off, at, stage.text, mark=line.plies[0].mark)
    return view
