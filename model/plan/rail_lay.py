"""How the top rail of a guard lies: flat, so that its width takes a load outwards, wherever its post has the room."""

from __future__ import annotations

import math
from collections.abc import Callable

from ...shared.stock import Stock
from ..input.guard_table import Guard


def top_rail_section(guard: Guard, stock: Callable[[str], Stock], room: float = math.inf) -> tuple[float, float]:
    """(across the guard, up), inches, of the top rail's section. Where the file does not say how it lies, it lies flat
    if it is then no wider than its post, nor than the `room` there is across, as between two flights."""
    rail, post = stock(guard.top_rail), stock(guard.post)
    lies = guard.top_rail_lies or ("flat" if rail.width <= min(post.width, room) + 1e-9 else "on edge")
    return (rail.width, rail.thickness) if lies == "flat" else (rail.thickness, rail.width)
