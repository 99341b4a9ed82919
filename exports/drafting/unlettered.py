"""What of a parameter file the sheets cannot letter: characters that their face has no letter for, ideographs and emoji
among them. A box stands in the place of each, which is said where a file is built and among the notes on paper."""

from __future__ import annotations

from collections.abc import Iterator

from pydantic import BaseModel

from .style import lacking


def unlettered(parameters: BaseModel) -> Iterator[tuple[str, str]]:
    """(dotted key, characters, each once) of every text of the file that has any."""
    for key, text in _texts(parameters.model_dump(exclude_defaults=True), ""):
        if odd := lacking(text):
            yield key, odd


def code_point(letter: str) -> str:
    """`U+5B57`: how a character is named where it cannot be lettered."""
    return f"U+{ord(letter):04X}"


def unlettered_notes(parameters: BaseModel) -> list[str]:
    """A note on paper for each such text: where it stands in words (a key is the program's), characters by number."""
    return [
        f"{_in_words(key)}: THE FACE OF THESE SHEETS HAS NO LETTER FOR"
        f" {', '.join(map(code_point, odd))}; A BOX STANDS IN THE PLACE OF EACH."
        for key, odd in unlettered(parameters)
    ]


def _in_words(key: str) -> str:
    """`local.notes.0` -> LOCAL NOTES 1: what stands in lists is counted from one."""
    steps = [str(int(step) + 1) if step.isdecimal() else step for step in key.split(".")]
    return " ".join(steps).replace("_", " ").upper()


def _texts(value: object, key: str) -> Iterator[tuple[str, str]]:
    if isinstance(value, str):
        yield key, value
    elif isinstance(value, dict):
        for name, item in value.items():
            yield from _texts(item, f"{key}.{name}" if key else str(name))
    elif isinstance(value, (list, tuple)):
        for n, item in enumerate(value):
            yield from _texts(item, f"{key}.{n}")
