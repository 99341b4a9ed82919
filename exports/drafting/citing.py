"""The sources that checks and calculations cite, one by one, and which of them are from memory."""

from __future__ import annotations

import re
from collections.abc import Iterable

from ...shared.said import Words
from .wording import worded

MEMORY = "(from memory)"


def citations(sources: Iterable[Words]) -> list[str]:
    """The citations among sources, each once; what a source tells of a factor (`CL 1: ...`) is none, nor is a
    measurement."""
    alike = {id(s): s for s in sources}
    found: dict[str, None] = {}
    for told in dict.fromkeys(map(worded, alike.values())):
        found.update(dict.fromkeys(c for c in _parted(told) if c and not _NO_CITATION.match(c)))
    return list(found)


_NO_CITATION = re.compile(r"C\w+ [\d.]+: |measured|hung on |volume x density|not applied")


def _parted(told: str) -> list[str]:
    """What stands between semicolons, those in brackets left alone."""
    return [c.strip() for c in re.split(r";(?![^()]*\))", told)]


def from_memory(sources: Iterable[Words]) -> list[str]:
    """The citations from memory among sources: values to look up in the adopted code."""
    return [c for c in citations(sources) if MEMORY in c]
