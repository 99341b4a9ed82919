"""What a detail is, and how it points at its pieces."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from ..drafting import drawing as d
from ..linework.views import Linework
from .pens import name_of
from .stage import Stage

_ELSEWHERE = ((0.5, 0.25), (0.5, 0.75), (0.25, 0.5), (0.75, 0.5))  # shares of a piece's box a note may point at too

Annotate = Callable[[Stage, d.View, Linework], None]


@dataclass
class Detail:
    """One detail: its cropped linework, what is drawn before it, and what writes its dimensions and notes."""

    title: str
    work: Linework
    kind: str
    annotate: Annotate
    before: Callable[[Stage, float], list] | None = None
    note: str = ""
    spare: tuple[float, float] = (3.0, 0.3)
    open_sides: str = ""  # where the pieces go on beyond the window: l, r, t, b
    at_most: float = 8.0


def note(view: d.View, boxes, text, where=(0.5, 0.5), which: int = 0) -> None:
    """A leader to the `which`-th of some (box, part), at the share `where` of its width and height."""
    if boxes:
        (x0, y0, x1, y1), part = boxes[which]
        at = [(x0 + (x1 - x0) * s, y0 + (y1 - y0) * t) for s, t in (where, *_ELSEWHERE)]
        view.add(d.Leader(at[0], text(part) if callable(text) else text, tips=at[1:], mark=name_of(part)))
