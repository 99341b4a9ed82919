"""The sheets of a permit set: which views, dimensions, notes and schedules stand on each, at which scale.

Every dimension is measured between points of the pieces; words about sizes are read off the pieces too. Where the model
does not know a thing (the house wall's build-up, a hanger's nails) the sheet says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from ..drafting.draft import arrange
from ..drafting.drawing import DrawingSet
from . import (
    cover,
    details,
    elevations,
    footing_plan,
    framing_plan,
    landing_plan,
    mitre_details,
    revision_sheet,
    schedules,
    sections,
    site,
    stair_section,
    surface_plan,
)
from .stage import Stage


def build_drawing(
    deck,
    measured: Any = None,
    checks: Iterable[Any] = (),
    *,
    paper: str | None = None,
    metric: bool | None = None,
    date: str | None = None,
    kept: Sequence[str] = (),
) -> DrawingSet:
    """The whole set of one deck as data, laid out and ready for any writer.

    `deck`: model.deck.Deck (parts, parameters, layout, planes, notes); `measured`: the rows of model.measure; `checks`:
    the rows of model.checks, read for the last sheet. `paper` and `metric` default to the parameter file's `[drawing]`,
    `date` to its `[project]`. `kept`: numbers of empty sheets behind the cover, for what is told of a revision.
    """
    p = deck.parameters
    paper = paper or p.drawing.paper
    metric = p.drawing.units == "metric" if metric is None else metric
    project = p.project
    drawing = DrawingSet(
        fields={
            "project": project.name,
            "address": project.address,
            "owner": project.owner,
            "creator": project.author,
            "approver": project.approver,
            "document": "PERMIT DRAWING",
            "date": project.date if date is None else date,
            "revision": project.revision,
            "number": project.number,
        },
        metric=metric,
    )
    stage = Stage(deck, measured, checks, paper, metric, drawing)
    for n, _ in enumerate(sections.frame_planes(stage)):
        stage.refs[f"frame section {n}"] = (str(n + 1), f"S-{301 + n}")
    for n, _ in enumerate(stage.flights):
        stage.refs[f"stair section {n}"] = (str(n + 1), f"A-{501 + n}")
    stage.refs |= landing_plan.numbered(stage) | mitre_details.numbered(stage)
    front = cover.build(stage)
    for number in kept:
        stage.sheet(number, revision_sheet.REVISION_SHEET)
    site.build(stage)
    footing_plan.build(stage)
    framing_plan.build(stage)
    surface_plan.build(stage)
    elevations.build(stage)
    sections.build(stage)
    details.build(stage)
    landing_plan.build(stage)
    stair_section.build(stage)
    mitre_details.build(stage)
    schedules.build(stage)
    cover.fill(stage, front)
    revision_sheet.behind_cover(drawing.sheets)
    arrange(drawing)
    return drawing
