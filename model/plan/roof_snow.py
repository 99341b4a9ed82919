"""Where the snow from a roof above lies in plan: the triangle of the drift in strips along the edges under the eave,
and the band that slides. Inches, psf.

Each strip carries the mean of the triangle over it, so that all together weigh what the drift does. In each the load
lies evenly and so a little further from the house than in the triangle: joists that bear at the house and past the
drift are bent no less for it, those that bear within it alike. In twelve strips it is 0.35 percent more about the
house, 1 / (2 n²).
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPolygon, Polygon

from ...shared.errors import DesignError
from ...shared.standards import assumed
from ..input.parameters import Parameters
from ..input.roof_above import RoofAbove
from ..strength.snow import Drift, Sliding, drift, sliding
from .edges import FrameOutline

FROM_ROOF = "snow from the roof above"
_STRIPS = 12
_SLIVER = 1e-6  # square inches
SnowKind = Literal["drift", "slide"]


@dataclass(frozen=True)
class SnowStrip:
    """An even load on a part of the plan: snow that `drift`s there or that has slid (`slide`), never both at once (ASCE
    7-16 7.9)."""

    kind: SnowKind
    area: Polygon | MultiPolygon
    psf: float


@dataclass(frozen=True)
class RoofSnow:
    """What a roof above brings to a deck: `drifted` and `slid` by the standard, `flat` psf of snow on that roof, and
    `reach` inches from the eave's edges to the deck's furthest corner."""

    roof: RoofAbove
    ground: float
    flat: float
    outline: Polygon
    eaves: shapely.MultiLineString | LineString
    reach: float
    drifted: Drift | None
    slid: Sliding | None

    @property
    def run(self) -> float:
        """Inches from the eave to the ridge."""
        return self.roof.run if self.roof.run is not None else self.roof.length / 2

    def within(self, inches: float) -> Polygon | MultiPolygon:
        """What of the deck lies so near to the eaves, square to them; round a corner of theirs up to the mitre."""
        if inches <= 0:
            return Polygon()
        return self.outline.intersection(self.eaves.buffer(inches, cap_style="flat", join_style="mitre"))

    @cached_property
    def strips(self) -> list[SnowStrip]:
        """All that lies on the deck."""
        found: list[SnowStrip] = []
        if self.drifted is not None:
            wide, peak = self.drifted.width * 12, self.drifted.peak
            marks = np.linspace(0.0, min(wide, self.reach), _STRIPS + 1).tolist()
            for a, b in itertools.pairwise(marks):
                part = self.within(b).difference(self.within(a))
                if part.area > _SLIVER:
                    found.append(SnowStrip("drift", part, peak * (1 - (a + b) / (2 * wide))))
        if self.slid is not None:
            found.append(SnowStrip("slide", self.within(self.slid.reach * 12), self.slid.psf))
        return found

    def pounds(self, kind: SnowKind) -> float:
        """All that lies on the deck of one kind."""
        return sum(s.area.area * s.psf / 144 for s in self.strips if s.kind == kind)


def roof_snow(p: Parameters, outline: FrameOutline) -> RoofSnow | None:
    """The snow from the roof that the file gives; None without one, or without ground snow. Raises DesignError, naming
    the key, for edges that there are not."""
    roof, ground = p.loads.roof_above, p.loads.ground_snow_psf
    if roof is None:
        return None
    eaves = shapely.line_merge(shapely.MultiLineString(list(_eaves(roof, outline))))
    if not ground:
        return None
    flat = roof.flat_roof_snow_psf or assumed("snow_flat_roof_factor").value * ground
    reach = float(shapely.distance(eaves, shapely.points(shapely.get_coordinates(outline.polygon))).max())
    above, gap = roof.eave_height / 12, roof.distance / 12
    run = roof.run if roof.run is not None else roof.length / 2
    return RoofSnow(
        roof,
        ground,
        flat,
        outline.polygon,
        eaves,
        reach,
        drift(ground, roof.length / 12, reach / 12, above, gap),
        sliding(flat, run / 12, roof.pitch, roof.slippery, above, gap),
    )


def _eaves(roof: RoofAbove, outline: FrameOutline) -> Iterator[Sequence[tuple[float, float]]]:
    key = "loads.roof_above.edges"
    if roof.edges is None:
        under = [e for e in outline.edges if e.house]
        if not under:
            text = "no edge lies against the house: name those that the eave runs along"
            raise DesignError(key, text, (key, [outline.names[-1]]))
        yield from ((e.start, e.end) for e in under)
        return
    for n, name in enumerate(roof.edges):
        if name not in outline:
            raise DesignError(f"{key}.{n}", f"no edge {name!r}; the edges are {', '.join(outline.names)}")
        yield outline[name].start, outline[name].end
