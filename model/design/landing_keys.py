"""The frame of a stair's landing, chosen as the deck's is: its keys by one name each, and what may mend its rims.

A key is named as in the file, `stair.0.landings.1.rim_plies`, so that it stands beside those of the frame table.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from ...shared.practice import estimate
from ...shared.said import Words, said
from ...shared.standards import limit
from ..deck import Deck
from ..input.parameters import Parameters
from ..plan.spots import Landing
from ..structure.structure import MemberResult

CHOSEN_KEYS = ("rim_plies", "post_spacing")
MOST_PLIES = 3
A_FOOTING = estimate("timber worth a footing with its post")  # cubic inches
LEAST_LEG_SPACING = 24.0  # inches between posts under a landing, as the schema has it
SPACING_STEP = 0.5  # inches: to what the spacing is rounded up


@dataclass(frozen=True)
class LandingKey:
    """A key of one landing: 0-based numbers of the stair and of the landing in it."""

    stair: int
    landing: int
    key: str

    @property
    def name(self) -> str:
        return f"stair.{self.stair}.landings.{self.landing}.{self.key}"

    @property
    def said(self) -> Words:
        """As a builder calls it."""
        text = "stair {stair} landing {landing}: {key}"
        return said(text, stair=self.stair + 1, landing=self.landing + 1, key=self.key)


def landing_key(name: str) -> LandingKey | None:
    """The key of that name; None for one of the frame table."""
    parts = name.split(".")
    return LandingKey(int(parts[1]), int(parts[3]), parts[4]) if parts[0] == "stair" else None


def given_of_landings(p: Parameters) -> set[str]:
    """The names of those keys that the file gives."""
    return {
        LandingKey(i, j, key).name
        for i, stair in enumerate(p.stair)
        for j, stop in enumerate(stair.landings)
        for key in stop.model_fields_set & {*CHOSEN_KEYS}
    }


def with_landing_keys(p: Parameters, changes: Mapping[str, object]) -> Parameters:
    """The file with those of the changes that are a landing's."""
    stairs = list(p.stair)
    for name, value in changes.items():
        found = landing_key(name)
        if found:
            stops = list(stairs[found.stair].landings)
            stops[found.landing] = stops[found.landing].model_copy(update={found.key: value})
            stairs[found.stair] = stairs[found.stair].model_copy(update={"landings": stops})
    return p.model_copy(update={"stair": stairs})


def landing_of(deck: Deck, member: MemberResult) -> tuple[int, Landing] | None:
    """(0-based number of the stair, landing) that a member is a piece of; None for one of the deck's frame."""
    return next(
        (
            (plan.index, landing)
            for plan in deck.layout.stair_plans
            for landing in plan.landings
            if member.where == f"stair {plan.index + 1} landing {landing.index + 1}"
        ),
        None,
    )


def landing_mends(deck: Deck, of: tuple[int, Landing]) -> Iterator[tuple[str, object, float]]:
    """(key, value, cubic inches of timber added) of what may mend a rim of a landing: a ply more, where the rims that
    butt the others still bear on the posts at the corners, or posts between those that stand furthest apart. Where the
    stair turns back the guard posts between its flights stand inside the rim, and it is left as thick as it is."""
    stair, landing = of
    place = f"stair {stair + 1} landing {landing.index + 1}"
    rims = [p for p in deck.parts if p.role == "rim" and p.where == place]
    size, ply = deck.parameters.stock(deck.parameters.frame.post).width, deck.layout.joist.thickness
    bears = limit("bearing_on_wood_min", deck.parameters.local.edition).value
    after = landing.rim_plies + 1
    if landing.turn != "back" and after <= MOST_PLIES and size - after * ply >= bears - 1e-9:
        volume = sum(p.shape.polygon.area * p.shape.thickness for p in rims)
        yield (
            LandingKey(stair, landing.index, "rim_plies").name,
            after,
            volume / landing.rim_plies,
        )
    value = math.ceil(_furthest_apart(landing, size) / 2 / SPACING_STEP - 1e-9) * SPACING_STEP
    if value >= LEAST_LEG_SPACING:
        more = len(replace(landing, post_spacing=value).legs(size)) - len(landing.legs(size))
        yield LandingKey(stair, landing.index, "post_spacing").name, value, A_FOOTING * more


def _furthest_apart(landing: Landing, size: float) -> float:
    """The greatest distance between two posts that stand next to each other under one rim, on centre."""
    at = [landing.above.position(leg.centroid.coords[0]) for leg in landing.legs(size)]
    furthest = 0.0
    for line, along in ((0, 1), (1, 0)):
        rows: dict[float, list[float]] = {}
        for place in at:
            rows.setdefault(round(place[line], 3), []).append(place[along])
        ends = min(rows), max(rows)
        gaps = (b - a for row in ends for a, b in itertools.pairwise(sorted(rows[row])))
        furthest = max(furthest, *gaps)
    return furthest
