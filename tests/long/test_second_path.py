"""The load path against `second_path`, which reads what a build writes and nothing of the program's own. Two decks; the
script takes all of `second_decks`. Sizes are invented."""

from __future__ import annotations

from functools import cache

import pytest
from second_decks import DECKS, write
from second_path import compare

EDGE = 0.05  # of an edge's strip: boards past the last joist by the lever, and not all to that joist
REST = 0.06  # the notches round guard posts and the weights of guards are shared otherwise there


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    """The folder of a deck by its name, written once."""

    @cache
    def folder(name: str):
        found = tmp_path_factory.mktemp("second")
        write(DECKS[name], found)
        return found

    return folder


@pytest.mark.parametrize("name", ["ledger", "L"])
def test_a_second_calculation_off_the_solids_agrees_within_two_percent(name, built):
    """Beams, posts and footings every one; of joists and rims all but a few at an edge, none of these far off."""
    found, left = compare(built(name), DECKS[name])
    assert len(found) > 100 and not left
    assert not [c for c in found if c.kind in ("beam", "post", "footing") and not c.close]
    assert {c.kind for c in found} == {"joist", "rim", "beam", "post", "footing"}
    assert not [c for c in found if c.at_edge and c.off > EDGE]
    rest = [c for c in found if not c.close and not c.at_edge]
    assert not [c for c in rest if c.off > REST] and len(rest) < 0.08 * len(found)


def test_the_comparison_sees_a_load_that_is_not_there(built):
    """A live load of 42 psf where the build had 40: nearly everything is off."""
    found, _ = compare(built("ledger"), {**DECKS["ledger"], "loads": {"live_psf": 42}})
    assert sum(not c.close for c in found) > 0.8 * len(found)
