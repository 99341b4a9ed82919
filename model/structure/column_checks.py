"""The calculated route for posts and footings: demand against capacity, line by line."""

from __future__ import annotations

import math
from collections.abc import Callable

from shapely.ops import unary_union

from ...shared.cited import Missing, Row
from ...shared.said import Words, decimal, number, put_in, said
from ...shared.standards import clause, limit_or_missing
from ...shared.stock import material, weight
from ..strength.loads import Combination, DesignLoads, LoadsAndSoil, those_that_count
from ..strength.nds import Lumber, compression
from .load_path import Column
from .notch_checks import ECCENTRIC, check_at_notch, most
from .verdicts import NOT_CHECKED, NOT_MET, CalcLine, Verdict, areas, tried, unchecked, value_line, verdict, worst

BRACE_NEEDED = (
    "brace needed: no ledger keeps what stands on it from swaying, and the post alone does not; until something does,"
    " its strength cannot be calculated"
)


def post_weight(c: Column) -> float:
    posts = [p for p in (c.post, *c.beside) if p is not None]
    return sum(weight(p.stock, p.shape.polygon.area * p.shape.thickness) for p in posts)


def post_length(c: Column) -> float:
    """Of the post as a column: up to its top, or to the shoulder that the beam lies on."""
    assert c.post is not None, "only a column with a post has its length"
    return c.bears_at - float(c.post.box[0, 2])


def check_post(c: Column, wood: Lumber, loads: DesignLoads) -> list[Verdict]:
    """Compression with column stability, both ends pinned, over the post's measured length; of a notched post also on
    the shoulder, and with the load as far off the axis as its bearing lies."""
    assert c.post is not None, "a footing without a post is no post to check"
    size, own = c.post.stock, post_weight(c)
    least, wide = sorted((c.post.stock.thickness, c.post.stock.width))
    height = post_length(c)

    def loaded(p: float, k: Combination, ends: str) -> list[CalcLine]:
        slender = said(
            "le/d = {le} / {d} = {ratio}, {ends}",
            le=number(height, 2),
            d=number(least),
            ratio=number(height / least, 1),
            ends=ends,
        )
        stress = said("P / A = {p} lb / {area} in2", p=put_in(p), area=put_in(least * wide))
        frame = areas(c.load, k, loads, also=[("post", own * k.dead)])
        return [
            CalcLine("axial load P", p, "lb", frame, k.source),
            CalcLine("height", height, "in", slender, "measured"),
            CalcLine("compression stress fc", p / (least * wide), "psi", stress, clause("compression stress").source),
        ]

    def make() -> list[Verdict]:
        found = []
        for load, k in most(c, loads):
            p = load + own * k.dead
            fc = compression(wood, size, k.duration, height / least)
            lines = [*loaded(p, k, "Ke = 1.0 (pinned ends, held by the deck)"), value_line("Fc'", fc)]
            found.append(verdict("compression", p / (least * wide), fc.value, "psi", k.name, lines))
        return worst(found)

    def swaying() -> list[Verdict]:
        p, k = max(((load + own * k.dead, k) for load, k in most(c, loads)), key=lambda t: t[0])
        lines = tuple(loaded(p, k, "no Ke serves: pinned at both ends, its top free to sway"))
        return [Verdict("compression", p / (least * wide), None, "psi", k.name, NOT_CHECKED, lines, BRACE_NEEDED)]

    at_notch = check_at_notch(c, c.seat, wood, loads, height) if c.seat is not None else []
    if not c.held:  # the shoulder is pressed all the same; what is below it has no strength by any formula
        at_notch = [unchecked(v.check, BRACE_NEEDED) if v.check == ECCENTRIC else v for v in at_notch]
    return (tried("compression", make) if c.held else swaying()) + at_notch + _lifted(c, loads) + _trouble(c)


def _trouble(c: Column) -> list[Verdict]:
    return [Verdict("load path", None, None, "", "", NOT_MET, (), c.trouble)] if c.trouble else []


def _lifted(c: Column, loads: DesignLoads) -> list[Verdict]:
    """What the cap and the base of a post have to hold down."""
    least, k = _least(c, loads)
    if least > -1.0:
        return []
    line = CalcLine("uplift", -least, "lb", areas(c.load, k, loads, least=True), k.source)
    why = said("load elsewhere lifts it by {up} lb: a cap and a base have to hold it down", up=number(-least, 0))
    return [Verdict("uplift", -least, None, "lb", k.name, NOT_CHECKED, (line,), why)]


def _least(c: Column, loads: DesignLoads) -> tuple[float, Combination]:
    return min(((c.load.lifted(k, loads), k) for k in those_that_count(loads)), key=lambda t: t[0])


def footing_area(c: Column) -> float:
    """Square inches of the footing's underside (the true circle of a round one); of footings that run into one another,
    of all together."""
    assert c.footing is not None, "asked of columns that stand on a footing"
    if c.joined:
        return unary_union([p.footprint for p in (c.footing, *c.joined)]).area
    shape = c.footing.shape
    return math.pi * shape.circle**2 if shape.circle is not None else c.footing.footprint.area


def _soil_displaced(pounds: float, buried: float, soil: Row) -> CalcLine:
    """The soil in the footing's place, so many inches of it, to be taken off."""
    how = said("{deep} below grade at {pcf} pcf", deep=decimal(buried, 1), pcf=number(soil.value))
    return CalcLine("soil displaced", -pounds, "lb", how, soil.citation)


def check_footing(
    c: Column, loads: LoadsAndSoil, edition: str, grade: Callable[[float, float], float] | None
) -> list[Verdict]:
    """Pressure under the footing, gross (load, post and concrete) and net (less the soil the concrete displaces below
    `grade`). The net one decides: presumptive values are customarily beyond the weight of the soil taken out."""
    if c.footing is None:
        return [unchecked("soil bearing", c.trouble)]
    parts = (c.footing, *c.joined)
    area, low, high = footing_area(c), min(p.box[0, 2] for p in parts), max(p.box[1, 2] for p in parts)
    own = material(c.footing.stock.material).weight(area * (high - low))
    centre = c.footing.box[:, :2].mean(axis=0)
    buried = max(0.0, min(high, grade(*centre)) - low) if grade else 0.0
    soil = limit_or_missing("soil_unit_weight", edition)
    if isinstance(soil, Missing):
        return [unchecked("soil bearing", soil.why)]
    displaced = soil.value * area * buried / 1728
    load, k = max(most(c, loads), key=lambda t: t[0])
    gross = load + post_weight(c) + own
    net, square = gross - displaced, area / 144
    lines = [
        CalcLine(
            "load from the frame",
            load,
            "lb",
            areas(c.load, k, loads),
            k.source,
        ),
        *(
            [
                CalcLine(
                    "posts" if c.beside else "post",
                    post_weight(c),
                    "lb",
                    "volume x density",
                    c.post.stock.density_source,
                )
            ]
            if c.post is not None
            else []
        ),
        CalcLine(
            "concrete",
            own,
            "lb",
            said("{volume} cu ft", volume=number(area * (high - low) / 1728, 2)),
            material(c.footing.stock.material).source,
        ),
        CalcLine("area", square, "sq ft", "measured underside"),
        _pressure("gross soil pressure", gross, square),
        _soil_displaced(displaced, buried, soil),
        _pressure("net soil pressure", net, square, clause("soil bearing is net").source),
    ]
    found = verdict(
        "soil bearing", net / square, loads.soil_bearing_psf, "psf", k.name, lines, _decides(gross / square, loads)
    )
    return [found, *_held_down(c, own, loads)]


def _pressure(label: str, pounds: float, square: float, source: Words = "") -> CalcLine:
    how = said("P / A = {pounds} lb / {area} sq ft", pounds=put_in(pounds), area=put_in(square))
    return CalcLine(label, pounds / square, "psf", how, source)


def _decides(gross: float, loads: LoadsAndSoil) -> Words:
    """Which of the two pressures is held against the soil's bearing, and what the other would say."""
    other = "within it too" if gross <= loads.soil_bearing_psf * (1 + 1e-9) else "over it"
    return said(
        "the soil dug out for the footing is taken off the load, as it weighed on the ground before; without that it is"
        f" {{gross}} psf, {other}",
        gross=number(gross, 0, grouped=True),
    )


def _held_down(c: Column, own: float, loads: DesignLoads) -> list[Verdict]:
    """Live load that lifts a footing, against the weight of its concrete and posts; what the soil holds is left out."""
    least, k = _least(c, loads)
    if least > -1.0:
        return []
    posts = post_weight(c)
    held = said("concrete {own} lb, posts {posts} lb", own=number(own, 0), posts=number(posts, 0))
    lines = [
        CalcLine("uplift", -least, "lb", areas(c.load, k, loads, least=True), k.source),
        CalcLine("weight", own + posts, "lb", held, "volume x density"),
    ]
    return [verdict("uplift", -least, own + posts, "lb", k.name, lines)]
