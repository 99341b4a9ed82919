"""Straight beams across all joists of a deck: every set of one to four lines, on a grid, that leaves no joist over its
span, past its overhang or on fewer than two supports. In the corners between slanted edges short joists may lie on
fewer, and hang between the rims there.

Enumerated, not solved as a mixed-integer model: the overhang allowed at one end depends on the span behind it, which
no linear constraint says without a variable for every pair of lines, and the sets are few enough to look at all of
them at once (numpy). Inches.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from ..measuring.member_seen import STUB
from .hung_corners import rim_moments
from .joist_rows import JoistRows

MOST_LINES = 4
GRIDS = {1: 1.0, 2: 2.0, 3: 3.0, 4: 8.0}  # inches between places tried, by the number of lines: our own
LINES_APART = 24.0  # inches between beams: nearer ones, with their posts and footings, no builder would set (our own)
SIDE_BY_SIDE = 72.0  # inches between beams of about one length, of which one would do in the middle: our own
UNDER_A_LOAD = 48.0  # inches between such beams under a load of an area, where no others carry all joists; our own
OFF_THE_WALL = 15.0  # inches from the house's wall to a beam beside it: room for half a footing; our own
ONE_LENGTH = 0.75  # of the longer of two beams, from which the other is about as long: our own
MOST_HUNG = 3  # lines over which short joists may hang between slanted rims: our own
HANGS_OFF = 48.0  # inches across, past the last joist on two beams, of joists that hang between slanted rims: our own
MOST_SETS = 2000  # sets of one number of lines that are weighed, evenly picked of those that carry all joists: our own
WHOLE_SEAT = 1.75  # inches of a line under the end of a joist, on the mean: as much as it needs and a little; our own
OFF_THE_END = 0.25  # inches a beam's outer face keeps off the end of a joist that it carries, rim and all; our own

ROUNDS = 1e-6  # inches: places nearer to a limit than this are looked at once more

Overhang = Callable[[np.ndarray], np.ndarray]  # the longest overhang by table, of clear spans behind it


@dataclass(frozen=True)
class LineSets:
    """Sets of lines that would do: (n, k) positions of beam centres, inches of joist whose load each takes, and the
    longest clear span of a joist on each; (n,) inches of joists that hang between slanted rims, the moment of the rim
    that is bent most by them (`rim_moments`), and how many joists end on a line by less than they need to bear."""

    places: np.ndarray
    carried: np.ndarray
    spans: np.ndarray
    hung: np.ndarray
    rims: np.ndarray
    grazed: np.ndarray


def line_sets(
    rows: JoistRows,
    width: float,
    longest: float | np.ndarray,
    overhang: Overhang,
    share: float,
    hung: bool = False,
    weighs: float | np.ndarray = 1.0,
) -> Iterator[LineSets]:
    """The sets of each number of lines `width` inches wide that leave no clear span over `longest`, of all or (n,) of
    each joist; a joist hangs past its last beam by `share` of the span behind it at most, and by what `overhang` says.
    `hung`: over up to `MOST_HUNG` lines short ones may hang between slanted rims. `weighs`: times its length, of all or
    each, that a joist counts on its beams."""
    longest = np.broadcast_to(np.asarray(longest, float), rows.low.shape)
    weighs = np.broadcast_to(np.asarray(weighs, float), rows.low.shape)
    ends = _within_reach(rows, width / 2, longest, share)
    loaded = any(psf > 0 for _, psf in rows.covered)
    most = MOST_LINES  # one more than the fewest that do is no dearer at times, two more are
    for count in range(1, MOST_LINES + 1):
        grid = np.arange(GRIDS[count], rows.depth, GRIDS[count])
        for wall in rows.walls:
            grid = grid[np.abs(grid - wall) >= OFF_THE_WALL]
        grid = grid[[not rows.has_no_room(float(x)) for x in grid]]
        if len(grid) < count:
            return
        every = _spaced(grid, count, float(longest.max()) + width, *ends)
        # nearer together under a heavy load alone, where nothing else does
        for apart in (SIDE_BY_SIDE, UNDER_A_LOAD) if loaded else (SIDE_BY_SIDE,):
            sets = _worth_two(rows, grid, every, apart)
            found = _carrying(rows, sets, width, longest, overhang, share, hung and count <= MOST_HUNG, weighs)
            if len(found.places):
                break
        if len(found.places):
            yield found
            most = min(most, count + 1)
        if count >= most:
            return


def _worth_two(rows: JoistRows, grid: np.ndarray, sets: np.ndarray, apart: float) -> np.ndarray:
    """The sets without those in which two beams of about one length lie nearer than `apart`, where one would do in the
    middle."""
    total = np.array([sum(rows.line_lengths(float(x))) for x in grid])
    long = total[np.searchsorted(grid, sets)]
    alike = np.minimum(long[:, 1:], long[:, :-1]) >= ONE_LENGTH * np.maximum(long[:, 1:], long[:, :-1])
    return sets[np.all(~alike | (np.diff(sets, axis=1) >= apart), axis=1)]


def _within_reach(rows: JoistRows, half: float, longest: np.ndarray, share: float) -> tuple[float, float]:
    """The greatest place of the first line, and the least of the last, of any set that carries the longest joist: from
    its end to the first line under it is a span at most, or an overhang where no ledger holds it. A joist no longer
    than a span may lie on its ledgers alone and bounds nothing."""
    k = int(np.argmax(rows.high - rows.low))
    low, high = float(rows.low[k]), float(rows.high[k])
    most = float(longest[k])
    if high - low <= most:
        return math.inf, -math.inf
    from_low, from_high = (
        half + max(most if held else share * most, OFF_THE_END) + ROUNDS
        for held in (rows.held_low[k], rows.held_high[k])
    )
    return low + from_low, high - from_high


def _spaced(grid: np.ndarray, count: int, furthest: float, first_most: float, last_least: float) -> np.ndarray:
    """(n, count) rising places on a `grid`, neighbours `LINES_APART` to `furthest` apart, the first at `first_most` at
    most and the last at `last_least` at least: line by line from those before, since of all sets of a deep deck,
    millions, hardly any are such."""
    sets = grid[grid <= first_most][:, None]
    for more in range(count, 0, -1):
        sets = sets[sets[:, -1] + (more - 1) * (furthest + ROUNDS) >= last_least]
        if more == 1:
            break
        last = sets[:, -1]
        first = np.searchsorted(grid, last + LINES_APART - ROUNDS)
        number = np.searchsorted(grid, last + furthest + ROUNDS, "right") - first
        number = np.maximum(number, 0)
        nth = np.arange(number.sum()) - np.repeat(np.cumsum(number) - number - first, number)
        sets = np.column_stack([np.repeat(sets, number, axis=0), grid[nth]])
    gaps = np.diff(sets, axis=1)
    return sets[np.all((gaps >= LINES_APART) & (gaps <= furthest), axis=1)]


def _carrying(
    rows: JoistRows,
    sets: np.ndarray,
    width: float,
    longest: np.ndarray,
    overhang: Overhang,
    share: float,
    hung: bool,
    weighs: np.ndarray,
) -> LineSets:
    """Those of the sets that carry every joist."""
    half = width / 2
    first, last = np.full(len(sets), np.inf), np.full(len(sets), -np.inf)  # across, of the joists that lie on them
    hangs = np.zeros(len(sets))
    for k in np.argsort(rows.low - rows.high):  # the longest first: it leaves fewest
        if len(sets) == 0:
            break
        good, few, _, _ = _over(rows, k, sets, half, float(longest[k]), overhang, share)
        begin, end = np.min(rows.places[k]), np.max(rows.places[k])
        held = hung & few & rows.slanted[k] & (begin >= first - HANGS_OFF) & (end <= last + HANGS_OFF)
        first, last = np.where(good, np.minimum(first, begin), first), np.where(good, np.maximum(last, end), last)
        hangs = hangs + np.where(good, 0.0, (rows.high[k] - rows.low[k]) * (1 + (begin < end)))
        sets, first, last, hangs = (of[good | held] for of in (sets, first, last, hangs))
    sets, hangs = (of[:: math.ceil(len(sets) / MOST_SETS) or 1] for of in (sets, hangs))
    carried, spans = np.zeros(sets.shape), np.zeros(sets.shape)
    alone = np.zeros((len(sets), len(rows.low)), bool)
    for k in range(len(rows.low) if len(sets) else 0):
        _, few, takes, beside = _over(rows, k, sets, half, float(longest[k]), overhang, share)
        alone[:, k] = few
        carried = np.maximum(carried, np.where(few[:, None], 0.0, takes * weighs[k]))
        spans = np.maximum(spans, np.where(few[:, None], 0.0, beside))
    needed = np.all(carried > 0, axis=1)
    sets = sets[needed]
    rims = rim_moments(rows, sets, alone[needed], weighs)
    return LineSets(sets, carried[needed], spans[needed], hangs[needed], rims, _grazed(rows, sets, half))


def _grazed(rows: JoistRows, sets: np.ndarray, half: float) -> np.ndarray:
    """(n,) how many joists, alike ones once, have an end on a line of each set that is too short a seat."""
    count = np.zeros(len(sets))
    for k in range(len(rows.low)):
        on = rows.seats(k, sets, half)
        count += np.any((on > 0) & (on < WHOLE_SEAT), axis=1)
    return count


def _over(
    rows: JoistRows, k: int, sets: np.ndarray, half: float, longest: float, overhang: Overhang, share: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Of one joist over each set: whether it is carried, whether it lies on fewer than two supports, the inches of it
    that each line takes, and its longest clear span, of each that it lies on."""
    low, high = rows.low[k], rows.high[k]
    under = (sets >= low + half + OFF_THE_END) & (sets <= high - half - OFF_THE_END)
    n, count = sets.shape
    # supports in order: the ledger at the low end, the lines under it, the ledger at the high end
    place = np.where(under, sets, np.nan)
    first, last = (end if held else np.nan for end, held in ((low, rows.held_low[k]), (high, rows.held_high[k])))
    at = np.column_stack([np.full(n, first), *place.T, np.full(n, last)])
    faces = np.column_stack([np.zeros(n), np.full((n, count), half), np.zeros(n)])
    order = np.argsort(np.isnan(at), axis=1, kind="stable")  # those that are there, in order, first
    at, faces = np.take_along_axis(at, order, 1), np.take_along_axis(faces, order, 1)
    number = (~np.isnan(at)).sum(axis=1)
    clear = at[:, 1:] - at[:, :-1] - faces[:, 1:] - faces[:, :-1]  # nan beyond the last support
    good = (number >= 2) & np.all((clear <= longest) | np.isnan(clear), axis=1)
    lasts = np.clip(number - 1, 0, None)
    pick = lambda of, which: np.take_along_axis(of, which[:, None], 1)[:, 0]  # noqa: E731
    ends = (
        (rows.held_low[k], at[:, 0] - faces[:, 0] - low, clear[:, 0]),
        (rows.held_high[k], high - pick(at, lasts) - pick(faces, lasts), pick(clear, np.clip(number - 2, 0, None))),
    )
    hangs = []
    for held, past, behind in ends:
        past = np.zeros(n) if held else past
        behind = np.nan_to_num(behind, nan=1.0)
        with_rim = np.where(past + half > STUB, past + rows.rim, past)  # beside a short span an inch and a half is much
        good &= (with_rim <= share * behind + 1e-9) & (past <= overhang(np.maximum(behind, 1.0)) + 1e-9)
        hangs.append(np.maximum(past, 0.0))
    # what each support takes: half of both spans beside it, at an end the lever of the overhang too; the middle of
    # three takes 5/4 (handbook)
    spans = np.nan_to_num(at[:, 1:] - at[:, :-1])
    left = np.column_stack([np.zeros(n), spans])
    right = np.column_stack([spans, np.zeros(n)])
    takes = np.where((left > 0) & (right > 0), 1.25, 1.0) * (left + right) / 2
    rate = np.maximum(takes, 1e-9)
    takes[:, 0] = np.where(hangs[0] > 0, (2 * rate[:, 0] + hangs[0]) ** 2 / (4 * rate[:, 0]), takes[:, 0])
    end = np.take_along_axis(takes, lasts[:, None], 1)[:, 0]
    led = np.where(hangs[1] > 0, (2 * end + hangs[1]) ** 2 / (4 * np.maximum(end, 1e-9)), end)
    np.put_along_axis(takes, lasts[:, None], led[:, None], 1)
    back = np.argsort(order, axis=1, kind="stable")
    takes = np.take_along_axis(np.nan_to_num(takes), back, 1)[:, 1 : count + 1]
    span = np.nan_to_num(clear).max(axis=1)[:, None]
    return good, number < 2, np.where(under, takes, 0.0), np.where(under, span, 0.0)
