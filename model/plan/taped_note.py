"""What is said of an outline that was taped."""

from __future__ import annotations

from collections.abc import Iterator

from ...shared.said import Words, decimal, said
from ..input.parameters import Parameters
from ..input.taped_outline import laid_out


def taped_notes(p: Parameters) -> Iterator[Words]:
    """How well the sides and diagonals that an outline was taped by agree."""
    taped = p.outline.taped
    if taped is None:
        return
    spare = len(taped.diagonals) - (len(taped.sides) - 3)
    if spare <= 0:
        yield (
            "The outline is drawn by its sides and as many diagonals as it takes: nothing taped checks another. Tape"
            " one diagonal more (outline.taped)."
        )
        return
    found = laid_out(taped.sides, taped.diagonals)
    key, off = found.worst
    alone = len(found.unchecked)
    yield said(
        "The outline is drawn by {n} lengths as taped, {spare} more than it takes; they close within {off}, the worst"
        " of them ({key}){alone}.",
        alone=f", and nothing checks {alone} of them" if alone else "",
        n=len(taped.sides) + len(taped.diagonals),
        spare=spare,
        off=decimal(abs(off), 2),
        key=key,
    )
