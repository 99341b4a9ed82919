"""Values as a parameter file writes them."""

from __future__ import annotations

import json
import math

TAPE = 16  # marks an inch on a tape


def as_toml(value: object) -> str:
    """A value of plain types as TOML; lengths in inches."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return f"{value:.10g}"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(as_toml(v) for v in value) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{k} = {as_toml(v)}" for k, v in value.items()) + "}"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    return str(value)


def up_to(length: float) -> float:
    """The next sixteenth of an inch: what a message names as a value that would do is one that a tape shows."""
    return math.ceil(length * TAPE - 1e-6) / TAPE


def down_to(length: float) -> float:
    """The sixteenth of an inch before."""
    return math.floor(length * TAPE + 1e-6) / TAPE
