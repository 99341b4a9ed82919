"""Whether posts keep clear of the places that the file names for it (`design.no_post`), measured off the solids."""

from __future__ import annotations

from ...shared.said import said
from ..plan.clear_of_posts import clear_places
from .check_result import Checking, places

NO_POST = "no post before a place"
_SHARED = 0.1  # square inches of plan: a post that shares more with a place stands before it (our own)


def check_no_post(c: Checking) -> None:
    """One row a place: the posts of the deck's beams, those of landings apart, whose feet lie before it."""
    layout = c.deck.layout
    for n, place in clear_places(layout):
        wanted = layout.parameters.design.no_post[n]
        posts = [m for m in c.of("post") if m.part.stair is None]
        found = [m for m in posts if m.part.footprint.intersection(place).area > _SHARED]
        where = said("before place {n} along the {edge} edge", n=n + 1, edge=wanted.edge)
        why = "frame.post_spacing or frame.beam_lines moves them" if found else ""
        c.state(NO_POST, "as given (design.no_post)", not found, where, why, places(found))
