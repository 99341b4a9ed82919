"""One build: from parameters to every file of the output folder, in order, with the time of each stage."""
from __future__ import annotations

import time
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Callable, Iterator

from ..model.parameters import Parameters
from ..shared.errors import MissingLibrary

Progress = Callable[[str], None]


@dataclass
class Stages:
    """Seconds spent in each stage, in order; `say` shows the stage's name while it runs."""

    say: Progress = lambda stage: None
    seconds: dict[str, float] = field(default_factory=dict)

    @contextmanager
    def stage(self, name: str) -> Iterator[None]:
        self.say(name)
        start = time.perf_counter()
        try:
            yield
        finally:
            self.seconds[name] = self.seconds.get(name, 0.0) + time.perf_counter() - start


def load_kernel() -> None:
    """Import cadquery; where a system library is missing, say which package brings it."""
    try:
        import cadquery  # noqa: F401
    except ImportError as e:
        if ".so" in str(e):
            raise MissingLibrary(
                f"the geometry kernel needs a system library that is missing ({e}); "
                "on Debian or Ubuntu: apt-get install libgl1 libx11-6 libexpat1"
            ) from None
        raise


@dataclass
class Result:
    """What a build knows at its end: the deck, what was measured off it, and what the checks say."""

    deck: object
    measured: list
    checks: list
    stages: Stages


def model(parameters: Parameters, stages: Stages) -> Result:
    """Solids, measurements and checks, without writing anything."""
    with stages.stage("geometry kernel"):
        load_kernel()
    from ..model.checks import check_deck
    from ..model.deck import build
    from ..model.measure import measure_all

    with stages.stage("solids"):
        deck = build(parameters)
    with stages.stage("measuring"):
        measured = measure_all(deck.parts)
    with stages.stage("checks"):
        checks = check_deck(deck, measured)
    return Result(deck, measured, checks, stages)
