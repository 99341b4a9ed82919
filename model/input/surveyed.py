"""What a site survey found standing, in the form in which the layout takes them instead of the design's own.

`AsBuilt` is made by `as_built/survey` and never read from a file. Plan coordinates, inches.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from .parameters import Parameters

CentreLine = tuple[tuple[float, float], tuple[float, float]]


@dataclass(frozen=True)
class SurveyedJoist:
    """A joist's centre line between the outer faces of the frame at its two ends; `key` is the survey's key that placed
    it."""

    line: CentreLine
    key: str = ""


@dataclass(frozen=True)
class SurveyedPost:
    """A guard post behind `edge`: `at` its near side along it, `inside` its outer face; `size` along the edge by
    `depth`."""

    key: str
    edge: str
    at: float
    inside: float
    size: float
    depth: float


@dataclass(frozen=True)
class Surveyed:
    """Joists as they lie (all of them), guard posts as they stand (some of them), by stair the total rise at each
    of its stringers, from the start side on, and whether the design is set out from the low ends across and along its
    joists (1) or from the high ones (-1)."""

    joists: tuple[SurveyedJoist, ...] = ()
    posts: tuple[SurveyedPost, ...] = ()
    rises: dict[int, tuple[float, ...]] = field(default_factory=dict)
    ends: tuple[int, int] = (1, 1)


class AsBuilt(Parameters):
    """Parameters whose outline and total rises are those measured, with what else stands."""

    surveyed: Surveyed = Surveyed()


def surveyed(parameters: Parameters) -> Surveyed | None:
    """What stands, where the parameters are as built."""
    return parameters.surveyed if isinstance(parameters, AsBuilt) else None
