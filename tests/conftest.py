"""Demo decks built once a session. Tests never write into the working folder."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest
from hypothesis import settings

# the same examples in every run: a failure is a change's own; widen the search by hand with --hypothesis-seed
settings.register_profile("steady", derandomize=True, deadline=None)
settings.load_profile("steady")

PARAMS = Path(__file__).parents[1] / "params"
DEMOS = sorted(p.stem for p in PARAMS.glob("*.toml"))


@cache
def demo_deck(name: str):
    """The deck of a demo in params/, built once."""
    from plumbcut.model.deck import build
    from plumbcut.model.parameter_file import read

    return build(read(PARAMS / f"{name}.toml"))


@cache
def demo_measured(name: str):
    from plumbcut.model.measuring.measure import measure_all

    return measure_all(demo_deck(name).parts)


@cache
def demo_checks(name: str):
    from plumbcut.model.rules.checks import check_deck

    return check_deck(demo_deck(name), demo_measured(name))


@pytest.fixture(params=DEMOS)
def demo(request) -> str:
    """The name of each demo in turn."""
    return request.param


@pytest.fixture
def deck(demo):
    return demo_deck(demo)
