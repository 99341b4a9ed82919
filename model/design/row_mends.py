"""What would mend a rule of a frame's surroundings that is not met though every member holds: footings in the house's
wall, places kept clear, ends that find no seat. Keys of the frame table that the file leaves out."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence, Set

import numpy as np
from shapely.affinity import translate

from ...shared.stock import lumber
from ..deck import Deck
from ..plan.footings import even
from ..plan.off_the_wall import FOOTING_AT_WALL
from ..plan.stages import LevelPlan
from ..rules.check_bracing import BRACED_ENDS
from ..rules.check_house import OFF_WALL
from ..rules.check_result import CheckResult
from ..structure.prescribed import OF_THICKNESS
from ..structure.structure import MemberResult
from .frame_cost import volume
from .landing_keys import A_FOOTING, MOST_PLIES
from .mends import BEAMS, FOOTING_SIZE, JOISTS, LEAST_POST_SPACING, LEFT_TO_BEAR, Mend, Unmet
from .rule_mends import rule_mends

_FRAME = "frame."
CLOSER_POSTS = 0.92  # of a post spacing is tried next where a post stands in the wrong place; our own
LEAST_SMALLER = 4.0  # inches: two sizes of form tubes (our own)
SHORT_SEAT = "bearing on wood"
SEAT_MOVED = 2.0  # inches that a beam is moved at a time under the end of a joist; our own
MOST_SEATS = 8  # times that it is moved so, at most; our own
SEAT_SPARE = 1.1  # times the seat that it is to have there: places are those of the plan; our own
HOUSE_GAP = "frame.house_gap"


def row_mends(rows: Sequence[CheckResult], deck: Deck, given: Set[str]) -> Iterator[Mend]:
    """Of each key the first value that may mend a row."""
    offered: dict[str, Mend] = {}
    for row in rows:
        # a gap wide enough for a footing beside the wall is one to step into: the builder's to choose
        named = [(key, value, 0.0) for key, value in rule_mends(row, deck) if key != HOUSE_GAP]
        off_wall = row.rule == OFF_WALL
        moved = [*_under_at_house(deck), *_off_the_wall(deck, given), *_other_posts(deck)] if off_wall else []
        spanned = list(_spanned(deck)) if row.rule in (OFF_WALL, BRACED_ENDS) else []
        seats = list(_whole_seat(row, deck)) if row.rule == SHORT_SEAT and "cantilever" not in given else []
        for key, value, adds in (*named, *moved, *spanned, *seats):
            short = key.removeprefix(_FRAME)
            if key.startswith(_FRAME) and short not in given and ("." not in short or short == FOOTING_SIZE):
                offered.setdefault(short, Mend(short, value, adds, None, row))
    yield from offered.values()


class _Positions(dict[str, str]):
    """Of beams by their edges, as a key of a search that remembers what it has tried."""

    def __hash__(self) -> int:  # type: ignore[override]
        return hash(frozenset(self.items()))


class _Lines(list[float]):
    """Of beams, as a key of a search that remembers what it has tried."""

    def __hash__(self) -> int:  # type: ignore[override]
        return hash(tuple(self))


def _under_at_house(deck: Deck) -> Iterator[tuple[str, object, float]]:
    """Flush beams behind edges along the house under the joists instead: there they may stand as far in as their
    footings need, where a flush one is the deck's own edge."""
    layout = deck.layout
    edges = [e.name for e in layout.outline.edges if e.house and not layout.has_ledger(e)]
    flush = [name for name in edges if any(r.flush and r.edge == name for r in layout.runs)]
    if flush:
        now = deck.parameters.frame.beam_line_position
        yield "frame.beam_line_position", _Positions({**now, **dict.fromkeys(flush, "under")}), 0.0


def _off_the_wall(deck: Deck, given: Set[str]) -> Iterator[tuple[str, object, float]]:
    """The size that footings have come to, said before the beams are laid: they keep off the wall by as much, and a
    size that is not known yet is taken for a usual one."""
    size = deck.layout.footing_size
    if FOOTING_SIZE not in given and size > FOOTING_AT_WALL and deck.parameters.frame.footing.size is None:
        yield f"{_FRAME}{FOOTING_SIZE}", size, 0.0


def _whole_seat(row: CheckResult, deck: Deck) -> Iterator[tuple[str, object, float]]:
    """The line of a beam on which the end of a joist has too little seat, moved under the joist until it has enough: at
    a slanted rim further than across a square end."""
    lines, layout = deck.parameters.frame.beam_lines, deck.layout
    parts = [deck.by_id[i] for i in row.ids if i in deck.by_id]
    joist, beam = (next((p for p in parts if p.role in roles), None) for roles in (("joist", "rim"), ("beam",)))
    if lines is None or joist is None or beam is None:
        return
    begin = float((np.asarray(layout.outline.polygon.exterior.coords) @ layout.along).min())
    (first, last), (low, high) = (
        (float(s.min()), float(s.max()))
        for s in (np.asarray(p.footprint.exterior.coords) @ layout.along - begin for p in (beam, joist))
    )
    at, middle = (first + last) / 2, (low + high) / 2
    way = SEAT_MOVED if middle > at else -SEAT_MOVED
    k = min(range(len(lines)), key=lambda n: abs(lines[n] - at))
    run = next((r for r in layout.runs if r.polygon.intersects(beam.footprint.representative_point())), None)
    if run is None:
        return
    wanted = SEAT_SPARE * (row.limit or 0.0) * joist.stock.thickness
    for n in range(1, MOST_SEATS + 1):
        dx, dy = n * way * layout.along  # its own ends stay at the rims: what is moved is a little long or short
        if joist.footprint.intersection(translate(run.polygon, dx, dy)).area >= wanted:
            moved = [*lines[:k], lines[k] + n * way, *lines[k + 1 :]]
            yield f"{_FRAME}beam_lines", _Lines(moved), 0.0
            return


def _spanned(deck: Deck) -> Iterator[tuple[str, object, float]]:
    """Deeper joists in place of beams that are added between those of edges: over a corner they are short, and neither
    their braces nor their footings beside the wall have room."""
    f, layout = deck.parameters.frame, deck.layout
    if f.joist in JOISTS[:-1] and f.beam_lines is None and any(r.edge is None for r in layout.runs):
        after = JOISTS[JOISTS.index(f.joist) + 1]
        timber = sum(volume(p) for p in deck.parts if p.stock.name == f.joist and p.role in ("joist", "rim"))
        yield f"{_FRAME}joist", after, timber * (lumber(after).width / lumber(f.joist).width - 1)


def _other_posts(deck: Deck) -> Iterator[tuple[str, object, float]]:
    """Fewer posts under a stronger beam, smaller footings under posts that are nearer."""
    f, layout = deck.parameters.frame, deck.layout
    beams = sum(p.area for r in layout.runs for p in r.plies) * layout.beam.width
    if f.beam in BEAMS[:-1]:
        yield "frame.beam", BEAMS[BEAMS.index(f.beam) + 1], beams / BEAMS.index(BEAMS[-1])
    if f.beam_plies < MOST_PLIES:
        yield "frame.beam_plies", f.beam_plies + 1, beams / f.beam_plies
    posts = sum(len(r.posts) for r in layout.runs)
    spacing = next(nearer_spacings(layout), None)
    if spacing is not None:
        yield "frame.post_spacing", spacing, A_FOOTING * posts * (1 - CLOSER_POSTS)


def smaller_footings(results: Sequence[MemberResult], deck: Deck, given: Set[str]) -> Mend | None:
    """The least size, by the table and by what bears and holds down on each, of footings under one post; None where it
    is not smaller by so much that a builder would dig another hole for it, or the file gives the size."""
    now, least = deck.layout.footing_size, 0.0
    found: tuple[MemberResult, Unmet] | None = None
    for m in results:
        if m.kind != "footing" or any(deck.by_id[i].box[1, 0] - deck.by_id[i].box[0, 0] > now + 1.0 for i in m.ids):
            continue
        sizes: list[tuple[float, Unmet]] = [(row.limit or 0.0, row) for row in m.table if row.check != OF_THICKNESS]
        sizes += [(now * math.sqrt((row.ratio or 0.0) / LEFT_TO_BEAR), row) for row in m.calculation]
        size, row = max(sizes, key=lambda s: s[0], default=(now, None))
        if row is not None and size > least:
            least, found = size, (m, row)
    if found is None or FOOTING_SIZE in given or even(least) > now - LEAST_SMALLER:
        return None
    return Mend(FOOTING_SIZE, even(least), 0.0, *found)


def nearer_spacings(layout: LevelPlan) -> Iterator[float]:
    """Post spacings below the plan's widest, in whole inches."""
    widest = max((math.dist(a, b) for r in layout.runs for a, b in zip(r.posts, r.posts[1:])), default=0.0)
    while (widest := math.floor(widest * CLOSER_POSTS)) >= LEAST_POST_SPACING:
        yield float(widest)
