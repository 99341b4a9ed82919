"""What comes on site together, and what of it is needed first: the frame, then surface and trim, then stairs and
guards. A length that gives pieces of several comes with the first of them."""

from __future__ import annotations

from collections.abc import Iterable

from ..solid.roles import ROLES, in_group

DELIVERIES = {
    "frame": in_group("footings", "frame", "blocking"),
    "surface and trim": in_group("surface", "trim", "built-ins"),
    "stairs and guards": in_group("stairs", "guards"),
}
_NEEDED = {role: k for k, role in enumerate(r for roles in DELIVERIES.values() for r in roles)}


def needed_first(roles: Iterable[str]) -> str:
    """The role of these that is built first."""
    return min(roles, key=_NEEDED.__getitem__)


def rank(role: str) -> int:
    """0 for what is built first."""
    return _NEEDED[role]


def delivery_of(role: str) -> str:
    """The delivery that brings the pieces of a role."""
    assert role in ROLES, role
    return next(name for name, roles in DELIVERIES.items() if role in roles)
