"""Headers of stairs at rims beside the joists, that only a beam's end carries: the beam goes through and the header is
butted to it (common practice, no source). Decks are invented."""

from __future__ import annotations

import pytest
from test_board_ends import deck, faults

from plumbcut.model.structure.structure import analyse


@pytest.mark.parametrize("at", [6, 12, 20, 40])
@pytest.mark.parametrize("surface", [21, 66])
@pytest.mark.parametrize("plies", [2, 3])
def test_a_rim_with_a_stair_lies_on_its_beam(at, surface, plies):
    made = deck(
        {"width": 107, "depth": 95},
        {"surface": surface},
        frame={"joist_direction": "y", "beam_plies": plies, "joist": "2x6", "cantilever": 14},
        stair=[{"edge": "left", "width": 40, "at": at}],
        guard={"edges": []},
    )
    by = {p.id: p for p in made.parts}
    rims = [p for p in made.roles("rim") if p.edge == "left"]
    assert all("beam" in {by[k].role for k in p.carried_by} for p in rims)
    assert [m.trouble for m in analyse(made).path.members if m.trouble] == []
    assert faults(made) == [] and made.clashes == []
    beams = {p.id for p in made.roles("beam")}
    butted = [c for c in made.contacts if c.a.role == "stair header" and c.id_b in beams]
    over = any(p.box[0, 1] < 95 - at and p.box[1, 1] > 95 - at - 40 for p in made.roles("beam") if p.stair is None)
    assert bool(butted) == over and all(c.kind == "end" for c in butted)
