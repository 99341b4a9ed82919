"""What the rows of the roles leave unsaid, and the loads that they leave out: nothing of it passes for checked."""

from __future__ import annotations

import math

from ...shared.said import number, said
from ...shared.stock import weight
from ..measuring.measure import Measured
from ..solid.roles import DEAD_LOAD, LEFT_OUT, ROLES, SEAT_LOAD, SURFACE_LOAD, in_group, named
from ..structure.own_weight import over_with
from ..structure.structure import Structure
from .check_result import Checking, places

OWN_WEIGHT_RULE = "own weight in the dead load"
FROM_ROLES = "what this program knows of each kind of piece"


NOT_ON_THE_DECK = frozenset((*in_group("footings"), *named("stands")))  # weighed with the footing, or left out


def check_roles(c: Checking, structure: Structure) -> None:
    """A row for every kind of piece of which it is not said what carries it, what it weighs on others or how it is
    fastened; one for all whose weight is in no member's load; and one for those that weigh more than the dead load
    taken for them, which the deck's surface and the seats' own plan areas bring: of the deck it is calculated whether
    that matters."""
    left_out = []
    for role in ROLES.values():
        found = c.of(role.name)
        if not found:
            continue
        unsaid = [
            what
            for what, told in (
                ("what carries it", role.carried),
                ("what it brings to the members", role.load),
                ("how it is fastened", role.fastened),
            )
            if told is None
        ]
        if unsaid:
            c.skip(
                f"pieces of kind {role.name}",
                FROM_ROLES,
                f"{len(found)} pieces",
                f"not said: {', '.join(unsaid)}",
                places(found),
            )
        if role.load == LEFT_OUT:
            left_out += found
    if left_out:
        kinds = ", ".join(dict.fromkeys(m.role for m in left_out))
        pounds = _pounds(left_out)
        c.skip(
            "weight left out of the loads",
            FROM_ROLES,
            f"{len(left_out)} pieces",
            said("{pounds} lb of {kinds} are in no member's load", pounds=number(pounds, 0), kinds=kinds),
        )
    given = c.deck.parameters.loads.dead_psf
    spread = [m for m in c.measured if ROLES[m.role].load in (DEAD_LOAD, SURFACE_LOAD)]
    _deck_heavier(c, [m for m in spread if m.role not in NOT_ON_THE_DECK], structure, given)
    for role in ROLES.values():
        if role.load == SEAT_LOAD and (found := c.of(role.name)):
            area = math.fsum(m.part.footprint.area for m in found) / 144
            _heavier(c, found, area, given, f"pieces of kind {role.name}")


def _pounds(pieces: list[Measured]) -> float:
    return math.fsum(weight(m.stock, m.volume) for m in pieces)


def _deck_heavier(c: Checking, pieces: list[Measured], structure: Structure, given: float) -> None:
    """Whether all that is calculated is met with what the pieces weigh, too. Where it is not, that is left open, as the
    published tables take the lighter load whatever lies there, with the key and the value that count it in."""
    sqft, pounds = structure.path.surface_sqft, _pounds(pieces)
    if pounds <= given * sqft + 1:
        return
    psf = pounds / sqft if sqft else math.inf
    over = list(over_with(structure, psf, c.deck.planes.grade)) if sqft else []
    told = said(
        "the pieces weigh {pounds} lb, {psf} psf; calculated is with {given} psf (loads.dead_psf)",
        pounds=number(pounds, 0),
        psf=number(psf, 1),
        given=number(given),
    )
    if over:
        ids = list(dict.fromkeys(first for first, _ in over))
        first, v = max(over, key=lambda o: o[1].ratio or 0.0)
        why = said(
            f"{{told}}, which the tables take too; with what they weigh {v.check} of {first} is over its limit: give it"
            " (loads.dead_psf = {psf})",
            told=told,
            psf=number(math.ceil(10 * psf) / 10, 1),
        )
        c.skip(OWN_WEIGHT_RULE, FROM_ROLES, "whole deck", why, ids)
        return
    why = said("{told}; members, posts and footings, calculated with what they weigh, come out no otherwise", told=told)
    c.state(OWN_WEIGHT_RULE, FROM_ROLES, True, "whole deck", why)


def _heavier(c: Checking, pieces: list[Measured], sqft: float, given: float, place: str) -> None:
    """A row where the pieces weigh more than the dead load given takes for them."""
    pounds = _pounds(pieces)
    if pounds > given * sqft + 1:  # a pound is less than any piece's moisture
        c.skip(
            OWN_WEIGHT_RULE,
            FROM_ROLES,
            place,
            said(
                "the pieces weigh {pounds} lb, {psf} psf; calculated is with {given} psf (loads.dead_psf)",
                pounds=number(pounds, 0),
                psf=number(pounds / sqft if sqft else math.inf, 1),
                given=number(given),
            ),
            [m.id for m in pieces],
        )
