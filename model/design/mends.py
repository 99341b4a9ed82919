"""What would mend a frame member that is not met: the values of the frame's keys that come next, or of those of the
landing of a stair that it belongs to, each with what it would add to the frame's timber.

Only keys that the file leaves out are offered; what it gives stays as given.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence, Set
from dataclasses import dataclass
from typing import Any

from ...shared.stock import lumber
from ..deck import Deck
from ..input.parameters import Parameters
from ..plan.footings import even
from ..plan.layout import setting
from ..rules.check_result import CheckResult
from ..structure.prescribed import OF_THICKNESS, Prescribed
from ..structure.structure import MemberResult
from ..structure.verdicts import NOT_MET, Verdict
from .frame_cost import volume
from .landing_keys import (
    A_FOOTING,
    MOST_PLIES,
    given_of_landings,
    landing_key,
    landing_mends,
    landing_of,
    with_landing_keys,
)

JOISTS = ("2x8", "2x10", "2x12")  # sold everywhere in the lengths a frame needs (common practice, no source)
BEAMS = ("2x8", "2x10", "2x12")
POSTS = ("4x4", "6x6", "8x8")  # square posts sold (common practice, no source)
SPACINGS = (24.0, 16.0, 12.0)  # the spacings that the published tables print
HANGERS = A_FOOTING / 2  # cubic inches: what joists hung on their beams cost more than laid on them (our own)
HOPELESS = 0.5  # of an overhang is allowed: past a slanted edge no shorter cantilever does it, but hung joists; our own
STEP = 0.5  # inches: to what a cantilever is rounded down
LEAST_POST_SPACING = 36.0  # inches between posts below which nothing is gained by another (our own)
MOST_GROWN = 3.0  # times its side beyond which a footing is no mend for what stands on it (our own)
LEFT_TO_BEAR = 0.9  # of what the soil bears, left beside what a footing weighs more than the soil it takes out; our own
FOOTING_SIZE = "footing.size"  # the one key that lies a table further down

Unmet = Prescribed | Verdict


@dataclass(frozen=True)
class Mend:
    """A key of the frame table or of a landing with the value that may mend `row`, of a `member` or of a rule of the
    whole deck, and the cubic inches of timber that it adds."""

    key: str
    value: object
    adds: float
    member: MemberResult | None
    row: Unmet | CheckResult


def faults(results: Sequence[MemberResult]) -> list[tuple[MemberResult, Unmet]]:
    """Every row of every member that is not met, one a member and check."""
    rows: list[tuple[MemberResult, Unmet]] = [(r, row) for r in results for row in r.table]
    rows += [(r, row) for r in results for row in r.calculation]
    return [(r, row) for r, row in rows if row.result == NOT_MET]


def mends(found: Sequence[tuple[MemberResult, Unmet]], deck: Deck, given: Set[str]) -> Iterator[Mend]:
    """What may mend each fault: of a key the cheapest value once, of the keys `given` none."""
    by_name = volumes(deck)
    offered: dict[str, Mend] = {}
    for member, row in found:
        landing = landing_of(deck, member) if member.kind == "rim" else None
        for key, value, adds in landing_mends(deck, landing) if landing else _for(member, row, deck, by_name):
            known = offered.get(key)
            # of several faults that one key mends, the one that asks for most of it
            if key not in given and (known is None or _asks_more(key, value, known.value)):
                offered[key] = Mend(key, value, adds, member, row)
    yield from offered.values()


def volumes(deck: Deck) -> dict[str, float]:
    """Cubic inches of the deck's own pieces, those of stairs apart, by role and by stock."""
    found: dict[str, float] = {}
    for part in deck.parts:
        if part.stair is None:
            for name in (part.role, part.stock.name):
                found[name] = found.get(name, 0.0) + volume(part)
    return found


def given_keys(p: Parameters) -> set[str]:
    """The keys of the frame table and of landings that a file gives."""
    f = p.frame
    return f.model_fields_set | given_of_landings(p) | ({FOOTING_SIZE} if f.footing.size is not None else set())


def key_value(p: Parameters, key: str) -> object:
    """The value of a key of the frame table or of a landing."""
    found = landing_key(key)
    if found:
        return getattr(p.stair[found.stair].landings[found.landing], found.key)
    return p.frame.footing.size if key == FOOTING_SIZE else getattr(p.frame, key)


def with_keys(p: Parameters, changes: Mapping[str, object]) -> Parameters:
    """The file with some of these keys changed."""
    plain = {k: v for k, v in changes.items() if k != FOOTING_SIZE and not landing_key(k)}
    if FOOTING_SIZE in changes:
        plain["footing"] = p.frame.footing.model_copy(update={"size": changes[FOOTING_SIZE]})
    framed = p.model_copy(update={"frame": p.frame.model_copy(update=plain)})
    return with_landing_keys(framed, changes)


def _asks_more(key: str, value: Any, than: Any) -> bool:
    if key == FOOTING_SIZE:
        return value > than
    return key in ("cantilever", "post_spacing", "beam_overhang") and value < than


def _for(
    member: MemberResult, row: Unmet, deck: Deck, volume: Mapping[str, float]
) -> Iterator[tuple[str, object, float]]:
    check, p = row.check, deck.parameters
    behind = p.frame.beam_lines is None  # a beam stands behind an edge, by the cantilever, only where no line is given
    if "overhang" in check and member.kind in ("joist", "rim") and behind:
        yield from _shorter_cantilever(row, p, volume)
    if member.kind == "joist":
        if check.startswith("bearing on beam"):
            yield from _more_plies("beam_plies", p.frame.beam_plies, volume.get("beam", 0.0))
        else:
            if "hogging" in check and behind:  # over the beam, by what hangs past it: as much less of it as it is over
                value = _down(p.frame.cantilever * _limit(row) / max(_measured(row), 1e-9))
                if value < p.frame.cantilever:
                    yield "cantilever", value, 0.0
            yield from _deeper("joist", p.frame.joist, JOISTS, volume.get(p.frame.joist, 0.0))
            yield from _closer(p, volume)
    elif member.kind == "rim":
        yield from _more_plies("rim_plies", p.frame.rim_plies, volume.get("rim", 0.0))
        yield from _deeper("joist", p.frame.joist, JOISTS, volume.get(p.frame.joist, 0.0))
    elif member.kind == "footing" and row.check != OF_THICKNESS:
        yield from _larger_footings(row, deck.layout.footing_size)
    elif member.kind == "post":
        yield from _thicker_posts(p.frame.post, volume.get("post", 0.0))
    elif member.kind == "beam":
        if check == "beam overhang":
            yield "beam_overhang", _down(_limit(row)), 0.0
        else:
            yield from _deeper("beam", p.frame.beam, BEAMS, volume.get("beam", 0.0))
            yield from _more_plies("beam_plies", p.frame.beam_plies, volume.get("beam", 0.0))
            yield from _nearer_posts(member, row, sum(len(s.stands) for s in deck.layout.footings))


def _shorter_cantilever(row: Unmet, p: Parameters, volume: Mapping[str, float]) -> Iterator[tuple[str, object, float]]:
    """A cantilever shorter by what it is too long: what is taken off it goes to the span behind, a share of which is
    the limit. Flush beams where that is none; where it is hopeless, flush ones after deeper joists."""
    now = p.frame.cantilever
    too_long = _measured(row) - _limit(row)
    share = _limit(row) / max(_measured(row), 1e-9)
    value = _down(now - too_long) if isinstance(row, Prescribed) else _down(now * min(share, 1.0) ** (1 / 3))
    if value < now:
        yield "cantilever", value, 0.0
    deeper = max(
        (adds for _, _, adds in _deeper("joist", p.frame.joist, JOISTS, volume.get(p.frame.joist, 0.0))), default=0
    )
    if (value >= now or share < HOPELESS) and can_hang(p):
        yield "beam_position", "flush", HANGERS + (deeper if value < now else 0.0)


def can_hang(p: Parameters) -> bool:
    """Whether the beams that a file leaves out may lie at joist level, where no joist goes past them."""
    f = p.frame
    return f.beam_position != "flush" and f.beam_lines is None and not f.beam_line_position


def _deeper(key: str, now: str, sizes: Sequence[str], volume: float) -> Iterator[tuple[str, object, float]]:
    if now in sizes[:-1]:
        after = sizes[sizes.index(now) + 1]
        yield key, after, volume * (lumber(after).width / lumber(now).width - 1)


def _thicker_posts(now: str, volume: float) -> Iterator[tuple[str, object, float]]:
    if now in POSTS[:-1]:
        after = POSTS[POSTS.index(now) + 1]
        yield "post", after, volume * ((lumber(after).width / lumber(now).width) ** 2 - 1)


def _more_plies(key: str, now: int, volume: float) -> Iterator[tuple[str, object, float]]:
    if now < MOST_PLIES:
        yield key, now + 1, volume / now


def _closer(p: Parameters, volume: Mapping[str, float]) -> Iterator[tuple[str, object, float]]:
    now = setting(p).joist_spacing
    # an inch closer than printed: a last bay that is wider by what stands beside the rim is then no wider than printed
    tried = [*SPACINGS, *(s - 1 for s in SPACINGS[:-1] if s == now)]
    closer = max((s for s in tried if s < now - 1e-9), default=None)
    if closer is not None:
        yield "joist_spacing", closer, volume.get("joist", 0.0) * (now / closer - 1)


def _nearer_posts(member: MemberResult, row: Unmet, posts: int) -> Iterator[tuple[str, object, float]]:
    """Posts of all beams nearer by as much as this one asks for: as many more of the deck's `posts`."""
    spans = [f.value for f in member.facts if f.label == "span"]
    longest = max(spans, default=0.0)
    wanted = _limit(row) if row.check == "beam span" else longest * len(spans) / (len(spans) + 1)
    value = math.floor(min(wanted, longest - 1))
    if value >= LEAST_POST_SPACING:
        yield "post_spacing", float(value), A_FOOTING * max(1.0, posts * (longest / value - 1))


def _larger_footings(row: Unmet, now: float) -> Iterator[tuple[str, object, float]]:
    """All footings larger by as much as one has to be, by the table or for the pressure under it."""
    over = _measured(row) / max(_limit(row), 1e-9)
    grows = _limit(row) / _measured(row) if row.unit == "in" else math.sqrt(over / LEFT_TO_BEAR)
    if 1 < grows < MOST_GROWN:
        yield FOOTING_SIZE, even(now * grows), A_FOOTING * (grows**2 - 1)


def _limit(row: Unmet) -> float:
    limit = row.limit if isinstance(row, Prescribed) else row.capacity
    return 0.0 if limit is None else limit


def _measured(row: Unmet) -> float:
    value = row.measured if isinstance(row, Prescribed) else row.demand
    return 0.0 if value is None else value


def _down(value: float) -> float:
    return max(0.0, math.floor(value / STEP + 1e-9) * STEP)
