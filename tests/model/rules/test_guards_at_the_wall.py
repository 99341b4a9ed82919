"""Where a guard comes up to the house: what passes between its last post and the wall, whichever way the wall stands to
the edge and however thick the rim before it is.

What passes is worked out here in plan, on the posts' and balusters' own outlines: the widest disc that comes from the
deck to the air beside it. A 4 in ball must not pass (IRC R312.1.3).
"""

from __future__ import annotations

import pytest
import shapely
from shapely.geometry import Polygon

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.deck import Deck, build
from plumbcut.model.design.advised import checked_with_mends
from plumbcut.model.input.parameters import Parameters

LEANING = {"points": [[0, 0], [214, 0], [250, 150], [-30, 150]], "house": ["e3"]}
BLUNT = {"points": [[0, 0], [214, 0], [180, 150], [40, 150]], "house": ["e3"]}
SQUARE = {"width": 210, "depth": 134}


def deck(outline: dict, post: str, **frame) -> Deck:
    return build(
        Parameters.model_validate(
            {
                "outline": outline,
                "levels": {"surface": 45},
                "frame": frame,
                "guard": {"post": post, "post_spacing": 30},
            }
        )
    )


def widest(d: Deck) -> float:
    """Diameter of the widest disc that passes 15 in above the surface, to 1/50 in."""
    at = d.planes.surface_top + 15
    barrier = [p.footprint for p in d.parts if p.role in ("guard post", "baluster") and p.box[0, 2] < at < p.box[1, 2]]
    solid = shapely.union_all([*barrier, d.layout.house_wall])
    floor = d.layout.outline.polygon
    low, high = 0.5, 40.0
    while high - low > 0.02:
        size = (low + high) / 2
        free = floor.buffer(60).difference(solid.buffer(size / 2, quad_segs=16))
        pieces = [g for g in getattr(free, "geoms", [free]) if isinstance(g, Polygon)]
        inside = floor.buffer(-12)
        passes = any(g.intersection(inside).area > 1 and g.difference(floor.buffer(8)).area > 1 for g in pieces)
        low, high = (size, high) if passes else (low, size)
    return low


@pytest.mark.parametrize("outline", [LEANING, BLUNT, SQUARE], ids=["leaning", "blunt", "square"])
@pytest.mark.parametrize(
    ("post", "frame"),
    [
        ("4x4", {"rim_plies": 2, "support": "free-standing"}),
        ("6x6", {"rim_plies": 2}),
        ("6x6", {"rim_plies": 1}),
        ("4x4", {"rim_plies": 3, "support": "free-standing"}),
        ("4x4", {"rim_plies": 2, "support": "free-standing", "house_gap": 1.5}),
    ],
)
def test_what_passes_beside_the_wall_is_what_is_told(outline, post, frame):
    d = deck(outline, post, **frame)
    found = widest(d)
    rows = [r for r in checked_with_mends(d) if r.rule in ("guard opening", "guard needed")]
    told = max(r.measured for r in rows if r.rule == "guard opening")
    assert told == pytest.approx(found, abs=0.3)
    assert all(r.result == "met" for r in rows) == (found < 4)


def test_a_guard_too_far_from_the_wall_names_what_would_do():
    d = deck(SQUARE, "4x4", rim_plies=3, support="free-standing")
    rows = [r for r in checked_with_mends(d) if r.rule in ("guard opening", "guard needed") and r.result != "met"]
    assert rows and all("frame.rim_plies = 2 would do" in worded(r.why) for r in rows)
    assert widest(deck(SQUARE, "4x4", rim_plies=2, support="free-standing")) < 4
    d = deck(SQUARE, "4x4", rim_plies=2, support="free-standing", house_gap=1.5)
    rows = [r for r in checked_with_mends(d) if r.rule in ("guard opening", "guard needed") and r.result != "met"]
    assert rows and all("frame.house_gap = 0.9375 would do" in worded(r.why) for r in rows)
