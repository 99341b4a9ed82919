"""What a detail is, and how it points at its pieces."""

from __future__ import annotations

from collections.abc import Callable, Sequence
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
    spare: tuple[float, float] = (1.7, 0.2)
    open_sides: str = ""  # where the pieces go on beyond the window: l, r, t, b
    at_most: float = 4.0
    on_leaders: bool = True  # notes stand on leaders on every paper, with no column of keynotes
    least: d.Box | None = None  # what is drawn at least, where more is drawn than the linework

    @property
    def box(self) -> d.Box:
        """What is drawn at true size."""
        a, b = self.work.box, self.least or self.work.box
        return min(a[0], b[0]), min(a[1], b[1]), max(a[2], b[2]), max(a[3], b[3])


def names(thing: str, text: str, at: d.Point, tips: Sequence[d.Point] = (), wrap: float | None = None) -> d.Leader:
    """A leader to a thing that is no piece of the model, of those drawn of it the nearest to `at`."""
    more = {} if wrap is None else {"wrap": wrap}
    return d.Leader(at, text, tips=list(tips), thing=thing, **more)


def note(view: d.View, boxes, text, where=(0.5, 0.5), which: int = 0) -> None:
    """A leader to the `which`-th of some (box, part), at the share `where` of its width and height."""
    if boxes:
        (x0, y0, x1, y1), part = boxes[which]
        at = [(x0 + (x1 - x0) * s, y0 + (y1 - y0) * t) for s, t in (where, *_ELSEWHERE)]
        view.add(d.Leader(at[0], text(part) if callable(text) else text, tips=at[1:], mark=name_of(part)))
