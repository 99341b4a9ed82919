"""What all pictures of a deck share: its name, and its visible faces in their colours."""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from ..linework.shading import Seen
from .canvas import Region, Stroke
from .colours import RGB, colour

_EDGE: RGB = (58, 54, 50)


def shaded(seen: Sequence[Seen]) -> list[Region]:
    """Visible stretches as filled regions, edged; the flats of a round side without lines between them."""
    out, rounds = [], {}
    for s in seen:
        fill = tuple(round(min(255, c * s.light * 1.06)) for c in colour(s.part))
        if s.flat_of_round:
            out.append(Region(s.region, fill))
            rounds.setdefault(s.part.id or id(s.part), []).append(s.region)
        else:
            out.append(Region(s.region, fill, _EDGE))
    for regions in rounds.values():
        whole = shapely.union_all([r.buffer(0.01, join_style="mitre") for r in regions])
        for ring in (r for p in shapely.get_parts(whole) for r in (p.exterior, *p.interiors)):
            out.append(Stroke(tuple(ring.coords), _EDGE, 0.7))
    return out


def name_of(deck) -> str:
    return getattr(getattr(getattr(deck, "parameters", None), "project", None), "name", None) or "Deck"
