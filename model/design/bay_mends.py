"""What would mend the bays of a guard: the gap that its balusters are divided by; of a kit, whose rails are cut at
their holes, the spacing of its posts with which every bay is served, found by trying in plan with the guards alone
built. Inches."""

from __future__ import annotations

import math
from collections.abc import Iterator
from weakref import WeakKeyDictionary

from ...shared.as_toml import TAPE, down_to, up_to
from ...shared.errors import DesignError, InputError
from ...shared.standards import find_limit
from ..deck import Deck
from ..input.parameters import Parameters
from ..measuring.bay_seen import see_bays
from ..measuring.kit_seen import kit_rails_seen
from ..measuring.measure import measure_all
from ..pieces.guards import build_guards
from ..plan.layout import lay_out
from ..plan.would_do import Value, with_value
from ..rules.check_kit import LAST_HOLE, NOT_SERVED
from ..rules.check_result import CheckResult
from ..solid.part import Workshop

OF_THE_BAYS = (NOT_SERVED, *LAST_HOLE, "guard opening", "stair guard opening")
KEY = "guard.post_spacing"
MOST_SPACINGS = 8  # spacings tried on each side of the one of now, nearest first; our own
# what was found, of decks that are still there: many rows of one deck ask for the same
_FOUND: WeakKeyDictionary[Deck, float | None] = WeakKeyDictionary()


def bay_mends(row: CheckResult, deck: Deck, most: float) -> Iterator[Value]:
    """For a rule `OF_THE_BAYS`. Balusters are divided evenly, so that no opening is wider than the gap; under the
    bottom rail it is the gap there."""
    g, opening = deck.parameters.guard, row.rule in ("guard opening", "stair guard opening")
    if g.kit is not None:
        yield from _spacing_that_serves(deck)
    elif opening and g.gap > most:
        yield "guard.gap", most
    if opening and g.bottom_gap > most:
        yield "guard.bottom_gap" if g.kit is None else "guard.kit.bottom", most


def at_the_wall(deck: Deck, edge: str) -> Iterator[Value]:
    """A guard that comes up to the house on a deck with no ledger ends behind the rim there: fewer plies of that, or
    less between it and the wall, where these alone leave too much open."""
    p, outline = deck.parameters, deck.layout.outline
    ball = find_limit("guard_opening_sphere", p.local.edition)
    beside = [o for o in (outline.before(outline[edge]), outline.after(outline[edge])) if o.house]
    if ball is None or not p.free_standing or not beside:
        return
    most, f, thick = float(ball.value), p.frame, deck.layout.joist.thickness
    if f.house_gap + thick * max(map(deck.layout.rim_plies, beside)) < most:
        return
    plies = [n for n in range(f.rim_plies - 1, 0, -1) if f.house_gap + n * thick < most]
    if plies and not any(deck.layout.flush_line(o.name) for o in beside):
        yield "frame.rim_plies", plies[0]
    if (room := most - thick * max(map(deck.layout.rim_plies, beside)) - 1 / TAPE) > 0:
        yield "frame.house_gap", down_to(room)


def _spacing_that_serves(deck: Deck) -> Iterator[Value]:
    """Nearest to the spacing of now; none where none does."""
    if deck not in _FOUND:
        _FOUND[deck] = next((s for s in _spacings(deck) if _serves(deck.parameters, s)), None)
    found = _FOUND[deck]
    if found is not None:
        yield KEY, found


def _spacings(deck: Deck) -> list[float]:
    """Those at which the number of bays between two fixed posts changes: less than now from the widest down, then more
    up to what is published."""
    now, layout = deck.parameters.guard.post_spacing, deck.layout
    runs: list[tuple[int, float]] = []
    for k, bay in enumerate(layout.bays):
        apart = math.dist(layout.posts[bay.first].centre, layout.posts[bay.last].centre)
        before = layout.bays[k - 1] if k else None
        if before is not None and before.last == bay.first and layout.posts[bay.first].kind == "line":
            runs[-1] = runs[-1][0] + 1, runs[-1][1] + apart
        else:
            runs.append((1, apart))
    row = find_limit("guard_post_spacing_max", deck.parameters.local.edition)
    most = min(float(row.value) if row else math.inf, 144.0)
    found = {up_to(long / n) for count, long in runs for n in range(1, count + MOST_SPACINGS)}
    less = sorted((s for s in found if 24 <= s < now), reverse=True)
    more = sorted(s for s in found if now < s <= most)
    return less[:MOST_SPACINGS] + more[:MOST_SPACINGS]


def _serves(p: Parameters, spacing: float) -> bool:
    """Whether every rail then comes out of one sold, and no ball passes between its balusters and posts."""
    try:
        changed = with_value(p, KEY, spacing)
        bays = see_bays(measure_all(build_guards(lay_out(changed), Workshop())))
    except (DesignError, InputError, ValueError):
        return False
    kit, ball = changed.guard.kit, find_limit("guard_opening_sphere", p.local.edition)
    assert kit is not None, "asked of decks whose guards are a kit"
    rails = [(s, kit.stairs if s.sloped else kit) for s in kit_rails_seen(bays)]
    served = all(of is None or s.served_by(of) for s, of in rails)
    return served and (ball is None or all(max(b.spaces) < float(ball.value) for b in bays))
