"""Wind on a low open structure by ASCE 7 (other structures: F = qz G Cf As), and the sway of people as recommended.

Square feet, miles an hour, pounds; `z` in feet above the ground. Every number is a row of `shared/data/wind.csv`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from ...shared.standards import table


@dataclass(frozen=True)
class WindRow:
    """A number with where it comes from."""

    value: float
    source: str


@cache
def wind_row(item: str, case: str) -> WindRow:
    """KeyError where the data has none."""
    for r in table("wind"):
        if (r["item"], r["case"]) == (item, case):
            return WindRow(float(r["value"]), r["source"] + (" (from memory)" if r["how"] == "memory" else ""))
    raise KeyError(f"data/wind.csv has no {item} for {case}")


def exposure_factor(exposure: str, z: float) -> float:
    """Kz at a height."""
    least = wind_row("least height", "all exposures").value
    power = 2 / wind_row("alpha", exposure).value
    ratio = max(z, least) / wind_row("gradient height", exposure).value
    return wind_row("at ground", "all exposures").value * ratio**power


def velocity_pressure(exposure: str, mph: float, z: float) -> float:
    """qz, pounds a square foot, strength level."""
    return (
        wind_row("velocity pressure", "psf at 1 mph").value
        * exposure_factor(exposure, z)
        * wind_row("topography", "flat ground").value
        * wind_row("directionality", "open signs and lattice frameworks").value
        * mph**2
    )


def force_factor(share: float) -> WindRow:
    """Cf by the share of a guard's outline that is solid."""
    if share < 0.1:
        return wind_row("force", "solid to less than 0.1")
    if share < 0.3:
        return wind_row("force", "solid to less than 0.3")
    return wind_row("force", "solid to 0.7") if share <= 0.7 else wind_row("force", "a member by itself")


def gust() -> float:
    return wind_row("gust", "rigid structures").value


def allowable() -> float:
    """What of the strength-level wind counts in allowable stress design."""
    return wind_row("allowable stress", "0.6 W").value


def sway_psf() -> float:
    """Sideways load of people moving together: recommended, no code asks for it."""
    return wind_row("people moving", "cyclic sway").value
