"""The snow from a roof above line by line: what of it drifts and slides, by which formula, and what that comes to on
the deck."""

from __future__ import annotations

from collections.abc import Iterator

from ...shared.said import Words, decimal, number, said, span
from ...shared.standards import assumed
from ..plan.roof_snow import RoofSnow
from ..strength.snow import Drift, Sliding
from .verdicts import CalcLine


def snow_lines(snow: RoofSnow) -> tuple[CalcLine, ...]:
    """What the calculation prints of it; one line that says so where nothing drifts or slides."""
    drifts = [*_drift(snow, snow.drifted)] if snow.drifted is not None else [_none(snow)]
    slides = [*_slide(snow, snow.slid)] if snow.slid is not None else [_stays(snow)]
    return (*drifts, *slides)


def _drift(snow: RoofSnow, d: Drift) -> Iterator[CalcLine]:
    g, slope = number(snow.ground), assumed("snow_density_slope")
    how = said(
        "{slope} x {pg} + {base}, at most {most}",
        slope=number(slope.value),
        pg=g,
        base=number(assumed("snow_density_base").value),
        most=number(assumed("snow_density_max").value),
    )
    yield CalcLine("density of the snow", d.density, "pcf", how, slope.citation)
    clear = said("eave {above} over the surface, less {pg} psf of snow", above=span(snow.roof.eave_height), pg=g)
    yield CalcLine("clear height hc", d.clear, "ft", clear, assumed("snow_drift_width_ratio").citation)
    long = snow.reach if d.windward else snow.roof.length
    share = number(assumed("snow_drift_windward_share").value)
    height: Words = said("0.43 lu^(1/3) (pg + 10)^(1/4) - 1.5, lu = {lu}, pg = {pg}", lu=span(long), pg=g)
    if d.windward:
        height = said("{share} of {height}: windward, off the deck itself", share=share, height=height)
    else:
        height = said("{height}: leeward, off the roof", height=height)
    if snow.roof.distance:
        height = said("{height}; {gap} away", height=height, gap=decimal(snow.roof.distance))
    where = assumed("snow_drift_gap_ratio" if snow.roof.distance else "snow_drift_factor")
    yield CalcLine("height of the drift", d.height, "ft", said("{h}, at most hc", h=height), where.citation)
    wide: Words = "4 hd; 4 hd²/hc where hd is more than hc, at most 8 hc"
    yield CalcLine("width of the drift", d.width, "ft", wide, assumed("snow_drift_width_ratio").citation)
    yield CalcLine("drift at its highest", d.peak, "psf", "height x density, beside the ground snow load")
    lies = snow.pounds("drift")
    yield CalcLine("drift on the deck", lies, "lb", "its volume over the frame x density, in twelve strips")


def _slide(snow: RoofSnow, s: Sliding) -> Iterator[CalcLine]:
    share = assumed("snow_sliding_share")
    given = snow.roof.flat_roof_snow_psf is not None
    source = "as given" if given else assumed("snow_flat_roof_factor").citation
    flat: Words = "loads.roof_above" if given else said("0.7 x {pg}", pg=number(snow.ground))
    yield CalcLine("snow on the roof pf", snow.flat, "psf", flat, source)
    how = said("0.4 pf W, W = {run} from eave to ridge", run=span(snow.run))
    yield CalcLine("snow that slides", s.each_foot, "lb/ft", how, share.citation)
    over = said("even over {reach} from the eave", reach=span(assumed("snow_sliding_reach").value * 12))
    yield CalcLine("slid snow", s.psf, "psf", over, assumed("snow_sliding_reach").citation)
    yield CalcLine(
        "slid snow on the deck", snow.pounds("slide"), "lb", "what of that lies on the frame; not with a drift"
    )


def _none(snow: RoofSnow) -> CalcLine:
    least = assumed("snow_drift_clear_over_balanced_min")
    how = said("the eave is too low over the snow, or too far off: {above}", above=span(snow.roof.eave_height))
    return CalcLine("height of the drift", 0.0, "ft", how, least.citation)


def _stays(snow: RoofSnow) -> CalcLine:
    kind = "slippery" if snow.roof.slippery else "other"
    least = assumed(f"snow_sliding_pitch_{kind}")
    how = said(
        "pitch {pitch} in 12: slides when steeper than {least} in 12, and not too far off",
        pitch=number(snow.roof.pitch * 12, figures=3),
        least=number(least.value),
    )
    return CalcLine("snow that slides", 0.0, "lb/ft", how, least.citation)
