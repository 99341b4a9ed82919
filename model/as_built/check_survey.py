"""Whether what was measured on the site can be built to; what would do where it cannot."""

from __future__ import annotations

import contextlib
import math

from ...shared.as_toml import down_to
from ...shared.errors import DesignError, InputError
from ..input.parameters import Parameters
from ..plan.layout import lay_out
from ..plan.stages import LevelPlan
from ..plan.would_do import with_value
from .survey import as_built, measured_distances


def check_survey(parameters: Parameters, design: LevelPlan) -> None:
    """Raises DesignError where what was measured cannot be, or cannot be built to, naming the measurements that would
    do as designed. Nothing here needs the geometry kernel."""
    if not parameters.survey.taken:
        return
    try:
        lay_out(as_built(parameters, design)[0])
    except DesignError as refused:
        values = _as_designed(parameters, design, refused)
        raise DesignError(refused.key, refused.plain, values=values) from refused


def _as_designed(parameters: Parameters, design: LevelPlan, refused: DesignError) -> list[tuple[str, object]]:
    """What would do instead of what is refused: the value that the refusal names, where that is enough; else designed
    lengths in place of measured ones, of those furthest from the design, as few as will do."""
    try:
        measured = [d for ds in measured_distances(parameters.survey, design.outline) for d in ds]
    except DesignError:  # of edges or corners that are none
        measured = []
    corners = [e.start for e in design.outline.edges]
    off = {d.key: math.dist(corners[d.first], corners[d.second]) for d in measured}
    far = sorted(measured, key=lambda d: -abs(d.length - off[d.key]))
    tried = [list(refused.values)] if refused.values else []
    lengths: list[tuple[str, object]] = [(d.key, down_to(off[d.key])) for d in far]
    for values in (*tried, *(lengths[:n] for n in range(1, len(lengths) + 1))):
        with contextlib.suppress(DesignError, InputError, ValueError):
            changed = parameters
            for key, value in values:
                changed = with_value(changed, key, value)
            lay_out(as_built(changed, design)[0])
            return values
    return []
