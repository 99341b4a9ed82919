"""The calculation's page on how the frame was chosen: a row a key."""

from __future__ import annotations

from collections.abc import Sequence

from ...model.design.reasons import LITTLE, Reason
from ..drafting.frame_reasons import reason_lines
from .calc_style import table, text

HEAD = ("of the frame", "value", "from", "bound by", "ratio", "runner-up", "it would take", "why")
WIDTHS = (60, 46, 38, 92, 28, 74, 74, 110)  # points


def frame_page(found: Sequence[Reason], metric: bool) -> list:
    """Each choice, the row with least room that it decides, and the runner-up; nothing where none is given."""
    if not found:
        return []
    rows = [
        (line[0], line[1], line[2], text(line[3], "small"), line[4], *(text(t, "small") for t in line[5:]))
        for line in reason_lines(found, metric)
    ]
    return [
        text("How the frame was chosen", "title"),
        text(
            "From: given by the file, chosen, the schema's default, or worked out in plan. Bound by: of all rows of all"
            " members that the key decides, table and calculation, the one with least room. Runner-up: the cheapest"
            " other frame that was estimated with another value, else the next value of what is sold; nothing was built"
            " for it: what it would take, and that it would pass, is an estimate (a board foot is 144 cubic inches as"
            " dressed)."
            f" A member used to less than {LITTLE:g} of every limit is explained."
        ),
        table(HEAD, rows, WIDTHS, (4,)),
    ]
