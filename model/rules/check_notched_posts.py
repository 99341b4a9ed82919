"""Posts in whose notched upper ends beams sit: their size, and the wood left beside the notch, read off the solids."""

from __future__ import annotations

from ...shared.said import Words
from ..measuring.notched_seat import notched_seats
from .check_result import Checking

NOTCHED, LEFT_BESIDE = "notched post", "wood left beside a notch"


def check_notched_posts(c: Checking) -> None:
    """The least size of a post that may be notched, and the least wood left beside the notch."""
    size: list[tuple[float, Words, tuple[str, ...]]] = []
    left: list[tuple[float, Words, tuple[str, ...]]] = []
    for seat in notched_seats(c.deck.contacts).values():
        stock, place = seat.post.stock, f"post {seat.post.mark} under {seat.on[0].mark}"
        size.append((min(stock.thickness, stock.width), place, (seat.post.id,)))
        left.append((seat.left, place, (seat.post.id, *(p.id for p in seat.on))))
    if size:
        c.worst(NOTCHED, c.row("notched_post_size_min"), "at least", size, "notched posts")
        c.worst(LEFT_BESIDE, c.row("notched_post_thickness_left_min"), "at least", left, "notched posts")
