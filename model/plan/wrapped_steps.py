"""Steps that go on round a convex corner: which stairs are one there, and what refuses them. Lengths in inches."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from ...shared.as_toml import down_to, up_to
from ...shared.errors import DesignError
from ...shared.standards import find_limit
from ..input.surveyed import surveyed
from .edges import in_line
from .flight import highest_rise
from .spots import StairSpot
from .stages import Setting

AT_CORNER = 1 / 16  # inches short of a corner at which a stair reaches it: nobody writes a slanted edge's length out
SAME_STEPS = ("total_rise", "rise", "going", "stringer", "risers", "nosing")  # keys of two stairs that are one
LOWEST_CHOSEN = 4.0  # inches: no lower rise is chosen for a hip's throat; common practice, no source

UNBUILT = (  # keys, the value that steps round a corner are built with, and why
    ("kind", "stringers", "box steps end square"),
    ("stringer_kind", "cut", "a hip stringer is notched"),
    ("tread", "boards", "a tread with returns ends square"),
)


def joined_at_corners(layout: Setting, spots: Sequence[StairSpot]) -> tuple[StairSpot, ...]:
    """The stairs with their mitres, where they are to go on round a corner. Raises DesignError, naming the key, where
    nothing meets one there, or what meets it has other steps."""
    found = {s.index: s for s in spots}
    together = {s.index: {s.index} for s in spots}
    for first, second, slope in _meeting(layout, spots):
        a, b = found[first.index], found[second.index]
        found[a.index] = replace(a, end=a.edge.length, mitres=(a.mitres[0], slope))
        found[b.index] = replace(b, start=0.0, mitres=(slope, b.mitres[1]))
        both = together[a.index] | together[b.index]
        together.update(dict.fromkeys(both, both))
    for spot in spots:
        if spot.parameters.wrap and not any(found[spot.index].mitres):
            key = f"stair.{spot.index}.wrap"
            text = f"no stair of an edge beside {spot.edge.name} reaches the same convex corner as this one"
            raise DesignError(key, text, (key, False))
    groups = {n: tuple(found[k] for k in sorted(both)) for n, both in together.items() if len(both) > 1}
    for group in groups.values():
        _check_alike(layout, group)
    return tuple(replace(s, wrapped=groups.get(s.index, ())) for s in found.values())


def _meeting(layout: Setting, spots: Sequence[StairSpot]) -> Iterator[tuple[StairSpot, StairSpot, float]]:
    """The stairs before and after each corner round which steps go on, and the cotangent of half its angle."""
    for first in spots:
        after = layout.outline.after(first.edge)
        turn = layout.outline.turn(after)
        for second in (s for s in spots if s.edge is after and s.start <= AT_CORNER):
            wanted = first.parameters.wrap or second.parameters.wrap
            if wanted and first.end >= first.edge.length - AT_CORNER and turn > 0 and not in_line(turn):
                yield first, second, math.tan(math.radians(turn) / 2)


def _check_alike(layout: Setting, group: Sequence[StairSpot]) -> None:
    """Raises DesignError, naming the keys, where stairs that meet in corners have other steps."""
    for name in SAME_STEPS:
        given = {s.index: getattr(s.parameters, name) for s in group}
        wanted = next((v for v in given.values() if v is not None), None)
        other = [n for n, v in given.items() if v != wanted]
        if other:
            had = "left out" if given[other[0]] is None else given[other[0]]
            text = f"is {had}, and steps that wrap round a corner with it have {wanted}"
            keys = [f"stair.{n}.{name}" for n in other]
            raise DesignError(keys[0], text, values=[(key, wanted) for key in keys])
    s = layout.parameters.surface
    first, edges = group[0].edge, {s.edge.name: s.edge for s in group}
    other_edges = [n for n, e in edges.items() if abs(layout.overhang(first) - layout.overhang(e)) > AT_CORNER]
    if other_edges:
        text = (
            f"steps wrap from edge {first.name} on, and there the surface reaches less far past the frame, or further"
        )
        keys = [f"surface.edge_overhang.{n}" for n in other_edges]
        raise DesignError(keys[0], text, values=[(k, s.edge_overhang.get(first.name, s.overhang)) for k in keys])


def rise_at_mitre(layout: Setting, spot: StairSpot) -> float:
    """The highest rise, in sixteenths, whose notches leave every hip stringer of steps that go on round corners the
    published throat: its treads are deeper than those of the flights, and so are its notches. Infinite where any does,
    or where no throat is published."""
    row = find_limit("stringer_throat_min", layout.parameters.local.edition)
    slopes = [m for s in spot.wrapped for m in s.mitres]
    if row is None or not any(slopes):
        return math.inf
    going = spot.parameters.going * math.sqrt(1 + max(slopes) ** 2)
    rise = highest_rise(layout.parameters.stock(spot.parameters.stringer).width, going, float(row.value))
    return down_to(rise) if math.isfinite(rise) else rise


def wanted_rise(layout: Setting, spot: StairSpot) -> float:
    """The rise that a stair's file wants, or of steps round a corner that leave it out the lower one that its hip
    stringers allow."""
    wanted = spot.parameters.rise
    if any("rise" in s.parameters.model_fields_set for s in spot.wrapped or (spot,)):
        return wanted
    allowed = rise_at_mitre(layout, spot)
    return min(wanted, allowed) if allowed >= LOWEST_CHOSEN else wanted


def check_wrapped(layout: Setting, spot: StairSpot) -> None:
    """Raises DesignError, naming the keys, for steps that are not built round a corner."""
    p, key = spot.parameters, f"stair.{spot.index}"
    stands = surveyed(layout.parameters)
    for name, other, why in UNBUILT:
        asked = [s.index for s in spot.wrapped if getattr(s.parameters, name) != other]
        if asked:
            text, values = f"steps wrap round a corner, and {why}", [(f"stair.{n}.{name}", other) for n in asked]
            raise DesignError(f"stair.{asked[0]}.{name}", text, values=values)
    square = [(f"stair.{s.index}.wrap", False) for s in spot.wrapped if s.parameters.wrap]
    if p.landings:
        raise DesignError(f"{key}.landings", "steps that wrap round a corner have none", values=square)
    if stands and spot.index in stands.rises:
        text = "this foot was measured stringer by stringer, and steps that wrap have one level"
        raise DesignError(f"{key}.wrap", text, values=square)
    t = layout.parameters.stock(p.stringer).thickness
    least = 2 * t + sum(t * math.sqrt(1 + slope**2) for slope in spot.mitres if slope)
    if spot.end - spot.start < least:
        raise DesignError(
            f"{key}.width",
            f"{p.width:g} in leaves no room for two stringers beside the hip stringer on the mitre",
            (f"{key}.width", up_to(least)),
        )
