"""The cautions as sentences, for pages and pictures; the drawings set them in capitals."""
from __future__ import annotations

from .style import CAUTIONS


def _sentence(text: str) -> str:
    return ". ".join(s.strip().capitalize() for s in text.rstrip(". ").split(".")) + "."


SENTENCES = tuple(_sentence(c) for c in CAUTIONS)
