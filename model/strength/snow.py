"""Snow that comes to a lower surface from a roof above it, in its simple forms: what drifts (ASCE 7-16 7.7) and what
slides (7.9). The standard's own units: feet, psf, pounds a cubic foot. The importance factor is 1, a dwelling's; the
snow on the lower surface is the ground snow load whole, as the combinations have it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ...shared.standards import assumed


def snow_density(ground: float) -> float:
    """Pounds a cubic foot of snow, of a ground snow load in psf."""
    slope, base, most = (assumed(f"snow_density_{i}").value for i in ("slope", "base", "max"))
    return min(slope * ground + base, most)


def drift_height(length: float, ground: float) -> float:
    """hd: feet that snow off so many feet of roof drifts high, where there is room; of a short roof no more than all
    the snow on it."""
    least = assumed("snow_drift_fetch_min").value
    factor, added, off = (assumed(f"snow_drift_{i}").value for i in ("factor", "ground_snow_added", "taken_off"))
    height = factor * max(length, least) ** (1 / 3) * (ground + added) ** 0.25 - off
    if length < least:
        height = min(height, math.sqrt(ground * length / (4 * snow_density(ground))))
    return max(0.0, height)


@dataclass(frozen=True)
class Drift:
    """A triangle of snow: `height` feet at the edge nearest the roof, none `width` feet from it; `density` pounds a
    cubic foot. `windward`: blown against the house from the lower surface; `clear` is the height above its snow."""

    height: float
    width: float
    density: float
    windward: bool
    clear: float

    @property
    def peak(self) -> float:
        """Pounds a square foot at its highest."""
        return self.height * self.density

    @property
    def each_foot(self) -> float:
        """Pounds a foot of the roof's eave, where all of it lies on the surface."""
        return self.peak * self.width / 2


@dataclass(frozen=True)
class Sliding:
    """Snow that slid off, even over `reach` feet from the edge: `psf`, and what that is a foot of eave over the whole
    reach of the standard."""

    psf: float
    reach: float
    each_foot: float


def drift(ground: float, roof: float, lower: float, above: float, gap: float = 0.0) -> Drift | None:
    """The greater of the drifts from a `roof` so many feet long, `above` feet over the lower surface, and from the
    `lower` surface itself, so many feet deep, against the house; `gap`: feet in plan between them. None where the
    standard asks for none."""
    density = snow_density(ground)
    balanced = ground / density
    clear = above - balanced
    if clear < assumed("snow_drift_clear_over_balanced_min").value * balanced or clear <= 0:
        return None
    ratio, most = assumed("snow_drift_width_ratio").value, assumed("snow_drift_width_over_clear_height_max").value
    found = []
    for height, windward in (
        (drift_height(roof, ground), False),
        (assumed("snow_drift_windward_share").value * drift_height(lower, ground), True),
    ):
        high, wide = height, ratio * height
        if height > clear:
            high, wide = clear, min(ratio * height**2 / clear, most * clear)
        if gap and windward:  # the part that lies in the gap is left out
            high, wide = (high * (1 - gap / wide), wide - gap) if wide > gap else (0.0, 0.0)
        elif gap:
            sixth = assumed("snow_drift_gap_ratio").value
            left = sixth * above - gap if gap < assumed("snow_drift_gap_max").value else 0.0
            high, wide = max(0.0, min(height, left / sixth)), max(0.0, min(sixth * height, left))
        found.append(Drift(high, wide, density, windward, clear))
    worst = max(found, key=lambda d: d.each_foot)
    return worst if worst.each_foot > 0 else None


def sliding(flat: float, run: float, pitch: float, slippery: bool, above: float, gap: float = 0.0) -> Sliding | None:
    """What slides off a roof with `flat` psf of flat roof snow, `run` feet from eave to ridge, at a `pitch` (rise over
    run); None where it is too flat for that, or too far off for its height."""
    least = assumed(f"snow_sliding_pitch_{'slippery' if slippery else 'other'}").value / 12
    reach = assumed("snow_sliding_reach").value
    if pitch <= least or gap >= reach or (gap and above <= gap):
        return None
    each_foot = assumed("snow_sliding_share").value * flat * run
    return Sliding(each_foot / reach, reach - gap, each_foot)
