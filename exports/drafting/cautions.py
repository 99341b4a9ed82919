"""The cautions as sentences, for pages and pictures; the drawings set them in capitals."""

from __future__ import annotations

from .style import CAUTIONS


def sentence(text: str) -> str:
    """A caution in capitals as a plain sentence."""
    return ". ".join(s.strip().capitalize() for s in text.rstrip(". ").split(".")) + "."


SENTENCES = tuple(sentence(c) for c in CAUTIONS)
