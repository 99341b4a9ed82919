"""Guards behind rims of several plies: their posts stand further inside, and bar the way as those behind one ply do."""

from __future__ import annotations

import pytest

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.rules.checks import check_deck


@pytest.mark.parametrize(("plies", "post"), [(3, "4x4"), (2, "6x6")])
def test_a_post_behind_a_thick_rim_counts_as_its_edges(plies, post):
    """A 4 in ball passes nowhere between balusters 3-1/2 in apart, nor where a post stands."""
    deck = build(
        Parameters.model_validate(
            {
                "outline": {"width": 210, "depth": 134},
                "levels": {"surface": 40},
                "frame": {"rim_plies": plies},
                "guard": {"post": post},
            }
        )
    )
    rows = {(r.rule, str(r.place)): r for r in check_deck(deck)}
    for edge in ("front", "left", "right"):
        assert rows["guard needed", f"{edge} edge"].result == "met"
        opening = rows["guard opening", f"{edge} edge"]
        assert opening.result == "met" and opening.measured < 4
