"""What the rows of the roles leave unsaid, and the loads that they leave out: nothing of it passes for checked."""

from __future__ import annotations

import math

from ...shared.said import number, said
from ...shared.stock import weight
from ..solid.roles import LEFT_OUT, ROLES
from .check_result import Checking, places

FROM_ROLES = "what this program knows of each kind of piece"


def check_roles(c: Checking) -> None:
    """A row for every kind of piece of which it is not said what carries it, what it weighs on others or how it is
    fastened; and one for all whose weight is in no member's load."""
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
        pounds = math.fsum(weight(m.stock, m.volume) for m in left_out)
        c.skip(
            "weight left out of the loads",
            FROM_ROLES,
            f"{len(left_out)} pieces",
            said("{pounds} lb of {kinds} are in no member's load", pounds=number(pounds, 0), kinds=kinds),
        )
