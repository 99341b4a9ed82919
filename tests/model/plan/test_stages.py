"""The plan's stages: nothing can be written to, each holds what the one before holds, and levels do not share."""

import dataclasses
import itertools

import numpy as np
import pytest
from shapely.geometry import Polygon

from plumbcut.model.input.parameters import Parameters
from plumbcut.model.parameter_file import read
from plumbcut.model.plan import stages
from plumbcut.model.plan.beam_run import BeamRun
from plumbcut.model.plan.edges import Edge, FrameOutline
from plumbcut.model.plan.layout import lay_out
from plumbcut.shared.stock import Stock

CHAIN = [stages.LevelPlan, *stages.LevelPlan.__mro__[1:-1]]


@pytest.fixture(scope="module")
def plan(request):
    return read(request.config.rootpath / "params" / "hillside.toml"), lay_out(
        read(request.config.rootpath / "params" / "hillside.toml")
    )


def test_each_stage_is_made_from_the_one_before():
    assert [s.__name__ for s in reversed(CHAIN)] == [
        "Setting", "Bordered", "Surfaced", "Entered", "Joisted", "Posted", "Stepped", "Laid", "Beamed", "LevelPlan",
    ]  # fmt: skip
    for later, earlier in itertools.pairwise(CHAIN):
        assert {f.name for f in dataclasses.fields(earlier)} < {f.name for f in dataclasses.fields(later)}


def test_nothing_of_a_plan_can_be_written_to(plan):
    _, layout = plan
    for field in dataclasses.fields(layout):
        with pytest.raises(dataclasses.FrozenInstanceError):
            setattr(layout, field.name, None)

    def still(value, path) -> None:
        if isinstance(value, np.ndarray):
            assert not value.flags.writeable, path
        assert not isinstance(value, (list, dict, set)), f"{path} can be written to"
        if isinstance(value, tuple):
            for k, item in enumerate(value):
                still(item, [*path, k])
        elif dataclasses.is_dataclass(value) and not isinstance(value, (Edge, Stock)):
            assert value.__dataclass_params__.frozen, path
            for field in dataclasses.fields(value):
                still(getattr(value, field.name), [*path, field.name])
        else:
            assert not isinstance(value, BeamRun)
            known = (np.ndarray, Polygon, FrameOutline, Edge, Stock, float, int, str, type(None))
            assert isinstance(value, known) or type(value).__name__ == "mappingproxy" or path[-1] == "parameters", path

    still(layout, ["plan"])


def test_a_second_level_is_another_chain(plan):
    """Two plans of two heights in one process share nothing that either could change."""
    parameters, upper = plan
    low = parameters.model_copy(update={"levels": parameters.levels.model_copy(update={"surface": 118.0})})
    lower = lay_out(low)
    assert lower.planes.surface_top == 118.0 and upper.planes.surface_top == parameters.levels.surface
    again = lay_out(Parameters.model_validate(parameters.model_dump(exclude_unset=True)))
    assert [r.posts for r in again.runs] == [r.posts for r in upper.runs]
    assert again.notes == upper.notes and again.footing_size == upper.footing_size
