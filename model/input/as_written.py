"""What a file says in the trade's own hand, read where its meaning is certain: `2X10` and `2 x 10` for 2x10, `Left` for
the edge left, a choice in capitals or with its parts joined otherwise (`freestanding`, `Arch-D`). What could mean two
things stays as it is, and the schema says what is wanted."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from ...shared.units import plain_marks
from .fault_wording import choices, hint_of, is_lumber
from .outline_table import RECTANGLE, edge_names

# keys that hold the name of an edge, or several; those of the outline itself give the names
NAMES_AN_EDGE = frozenset(
    ("edge", "edges", "house", "joists_along", "access_edge", "whole_edge", "start", "end", "door")
)
OF_THE_OUTLINE = ("outline", "edges")
_SIZE = re.compile(r"(\d+|5/4)\"?\s*(?:[xX×*]|by)\s*(\d+)\"?")
_APART = re.compile(r"[\s_-]+")  # what is left out or put in between the parts of a word


def as_written(data: dict[str, Any]) -> dict[str, Any]:
    """The same document with such values as the schema spells them; nothing else is touched."""
    names = _edges(data)
    return {key: _read(value, (key,), names) for key, value in data.items()}


def _read(value: Any, path: tuple[str | int, ...], names: Sequence[str]) -> Any:
    if isinstance(value, dict):
        return {key: _read(v, (*path, key), names) for key, v in value.items()}
    if isinstance(value, list):
        return [_read(v, (*path, n), names) for n, v in enumerate(value)]
    return _spelt(value, path, names) if isinstance(value, str) else value


def _spelt(value: str, path: tuple[str | int, ...], names: Sequence[str]) -> str:
    hint = hint_of(path)
    allowed: Sequence[Any] = choices(hint)
    if not allowed and is_lumber(hint) and (size := _SIZE.fullmatch(plain_marks(value).strip())):
        return f"{size[1]}x{size[2]}"
    if not allowed and path != OF_THE_OUTLINE and path[:2] != OF_THE_OUTLINE:
        key = next((k for k in reversed(path) if isinstance(k, str)), "")
        allowed = names if key in NAMES_AN_EDGE else ()
    if value in allowed:
        return value
    alike = [a for a in allowed if isinstance(a, str) and a.casefold() == value.strip().casefold()]
    if not alike and choices(hint):
        alike = [a for a in allowed if isinstance(a, str) and _joined(a) == _joined(value)]
    return alike[0] if len(alike) == 1 else value


def _joined(word: str) -> str:
    return _APART.sub("", word.casefold())


def _edges(data: dict[str, Any]) -> Sequence[str]:
    """The names of the outline's edges, as the file has them or as they are numbered."""
    outline = data.get("outline")
    if not isinstance(outline, dict):
        return RECTANGLE
    given, points = outline.get("edges"), outline.get("points")
    named = isinstance(given, list) and all(isinstance(name, str) for name in given)
    clip = outline.get("clip")
    clipped = [str(k).replace("_", "-") for k in clip] if isinstance(clip, dict) else []
    return edge_names(given if named else None, points if isinstance(points, list) else None, clipped)
