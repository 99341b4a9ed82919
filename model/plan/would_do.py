"""A value that would do for a key that is refused, found by trying: where no formula says how far a beam, a breaker or
a border has to give way.

Only what one key can mend is tried, from the value given on; the first with which the whole plan can be drawn is named.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np

from ...shared.as_toml import down_to, up_to
from ...shared.errors import DesignError, InputError
from ..input.parameters import Parameters

STEPS = 16  # values tried between the one given and the end of what the key may be; our own


def with_value(p: Parameters, key: str, value: object) -> Parameters:
    """The parameters with one key changed, checked as a file's are. ValueError, or InputError, for what it may not
    be."""
    data: Any = p.model_dump(exclude_unset=True)
    *path, last = [int(k) if k.isdecimal() else k for k in key.split(".")]
    at = data
    for k in path:
        at = at[k] if isinstance(k, int) else at.setdefault(k, {})
    at[last] = value
    return Parameters.model_validate(data)


def value_found(
    p: Parameters, refused: DesignError, names: tuple[str, ...], extent: float, draw: Callable[[Parameters], object]
) -> tuple[str, object] | None:
    """The key that was refused and a value of it with which `draw` does not refuse; None where none was found.

    `names`: the edges, `extent`: the deck's longer side, within which lines across it lie.
    """
    if type(p) is not Parameters:  # a deck as it stands: its measurements are what is wrong
        return None
    for key in (refused.key, *_instead(refused.key)):
        for value in _candidates(p, key, names, extent):
            with contextlib.suppress(DesignError, InputError, ValueError):
                draw(with_value(p, key, value))
                return key, value
    return None


def _instead(key: str) -> tuple[str, ...]:
    """Keys that may mend what no value of a key does: a stair that fits nowhere on its edge is narrower, leaves another
    edge, or one with fewer plies at its corners."""
    stair, _, last = key.rpartition(".")
    if stair.startswith("stair.") and last == "at":
        return f"{stair}.width", f"{stair}.edge", "frame.rim_plies", "frame.beam_plies"
    return ()


def _candidates(p: Parameters, key: str, names: tuple[str, ...], extent: float) -> Iterator[object]:
    """Values of a key worth trying, the nearest to the one given first."""
    head, _, last = key.rpartition(".")
    if key in ("frame.cantilever", "surface.overhang"):
        given = p.frame.cantilever if key == "frame.cantilever" else p.surface.overhang
        yield from (down_to(given * k / STEPS) for k in range(STEPS - 1, -1, -1))
        yield from (up_to(given + k) for k in range(1, STEPS))
    elif key in ("frame.rim_plies", "frame.beam_plies"):
        yield from range((p.frame.rim_plies if key == "frame.rim_plies" else p.frame.beam_plies) - 1, 0, -1)
    elif key == "surface.border.courses":
        yield from range(p.surface.border.courses - 1, -1, -1)
    elif head in ("frame.beam_lines", "surface.breakers"):
        lines = (p.frame.beam_lines or []) if head == "frame.beam_lines" else p.surface.breakers
        places = np.arange(1, 2 * STEPS) * extent / (2 * STEPS)
        yield from (down_to(float(x)) for x in sorted(places, key=lambda x: abs(x - lines[int(last)])))
    elif last == "edge" or head == "guard.edges":
        yield from names
    elif head.startswith("stair.") and last == "at":
        places = np.arange(4 * STEPS) * extent / (4 * STEPS)
        yield from (up_to(float(x)) for x in sorted(places, key=lambda x: abs(x - (p.stair[int(head[6:])].at or 0.0))))
    elif head.startswith("stair.") and last == "width":
        given = p.stair[int(head[6:])].width
        yield from (down_to(given * k / STEPS) for k in range(STEPS - 1, 0, -1))
    elif head.startswith("stair.") and last == "rise":
        given = p.stair[int(head[6:])].rise
        yield from (up_to(given + k / 2) for k in range(1, 2 * STEPS))
