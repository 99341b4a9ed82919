"""A few kills of whole builds; `kills.py` does as many as wanted."""

from __future__ import annotations

import sys

import pytest
from kills import run


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="reads /proc")
def test_whole_builds_killed_at_random_moments_keep_the_earlier_output(tmp_path):
    seen = run(tmp_path, kills=3, seed=3, clear_every=2)
    assert not seen.faults and seen.kept + seen.new == 3
    assert seen.left  # one at least was killed at its work
