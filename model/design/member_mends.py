"""What would mend a member that is not met, in closed form: of each key that decides it the nearest value that passes.

A stress goes with the load of its strip and with a power of the depth; the size factor of a deeper piece is smaller, so
a little is kept in hand.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from ...shared.as_toml import down_to, up_to
from ...shared.stock import lumber
from ..deck import Deck
from ..measuring.braces_seen import KNEE_BRACE
from ..measuring.loose_ends import STRINGERS
from ..plan.footings import even
from ..plan.layout import setting
from ..plan.post_places import OVERHANG
from ..plan.would_do import Value
from ..structure.bench_checks import BENCH_FRAME
from ..structure.braced_members import POST_BENT
from ..structure.guard_checks import OF_THE_GUARD
from ..structure.lateral import BENT_BY_BRACE
from ..structure.prescribed import OF_THICKNESS, Prescribed
from ..structure.stringer_checks import LEAST_STRIP
from ..structure.structure import MemberResult
from .landing_keys import LEAST_LEG_SPACING, MOST_PLIES, landing_of
from .mends import LEAST_POST_SPACING, LEFT_TO_BEAR, MOST_GROWN, POSTS, SPACINGS, Unmet, can_hang

SIZES = ("2x6", "2x8", "2x10", "2x12")  # sold everywhere in the lengths a frame needs (common practice, no source)
MOST_BEAM_PLIES = 4  # as the schema has it
LEAST_JOIST_SPACING = 4.0  # inches, as the schema has it
NOT_BY_STRIP = 0.95  # of a spacing: what comes to a joist at points does not fall with it; our own
LEAST_FRAME_SPACING = 8.0  # inches of a bench, as the schema has it
CANTILEVER_STEP = 0.5  # inches
AS_ASKED = 1.0  # inches by which a beam may reach further past its post than was asked, and still by that; our own
SIZE_STEP = 0.9  # of the size factor from one depth to the next, the least of NDS Supplement Tables 4A and 4B


def member_mends(member: MemberResult, row: Unmet, deck: Deck) -> Iterator[Value]:
    """The keys with the values that would each do; none for a member that no key of the file sizes."""
    f, ratio = deck.parameters.frame, row.ratio or math.inf
    stair = next((p.stair for p in deck.parts if p.id in member.ids), None)
    if not math.isfinite(ratio):
        return
    if "overhang" in row.check and member.kind in ("joist", "rim"):
        shorter = list(_cantilever(row, ratio, f.cantilever))
        yield from shorter
        if not shorter and can_hang(deck.parameters):
            yield "frame.beam_position", "flush"
    elif member.kind == "joist":
        if row.check.startswith("bearing on beam"):
            yield from _plies("frame.beam_plies", f.beam_plies, ratio, MOST_BEAM_PLIES)
        yield from _deeper("frame.joist", f.joist, row.check, ratio)
        if "hogging" in row.check:  # over the beam, by what hangs past it
            yield from _cantilever(row, ratio**3, f.cantilever)
        else:
            yield from _closer(row.check, _by_strip(row.check, ratio), setting(deck.parameters).joist_spacing)
    elif member.kind == "rim" and stair is not None:
        yield from _landing(member, row, ratio, deck)
    elif member.kind == "rim":
        yield from _plies("frame.rim_plies", f.rim_plies, _by_strip(row.check, ratio), MOST_PLIES)
        yield from _deeper("frame.joist", f.joist, row.check, ratio)
    elif member.kind == "beam" and stair is None:
        yield from _beam(member, row, ratio, deck)
    elif member.kind == "post":
        yield from _post(row, ratio, deck)
    elif member.kind == "footing":
        yield from _footing(row, ratio, deck.layout.footing_size)
    elif member.kind in (*OF_THE_GUARD, BENCH_FRAME):
        yield from _guard(member, row, ratio, deck)
    elif member.kind in STRINGERS and stair is not None:
        yield from _stringer(stair, ratio, deck)
    elif member.kind == KNEE_BRACE:
        yield from _brace(member, row, ratio, deck)


def _brace(member: MemberResult, row: Unmet, ratio: float, deck: Deck) -> Iterator[Value]:
    """Of what bends the post, V (H - leg): a longer leg, or a thicker post; of the brace's own stress thicker stock."""
    f, told = deck.parameters.frame, {line.label: line.value for line in member.facts}
    if row.check in (BENT_BY_BRACE, POST_BENT):
        leg = up_to(told["post"] - (told["post"] - told["leg"]) / ratio)
        if leg <= _room_for_leg(member, deck):
            yield "frame.brace_leg", leg
        yield from _thicker("frame.post", f.post, ratio, 3)
    else:
        yield from _thicker("frame.brace", f.brace, ratio, 2)


def _room_for_leg(member: MemberResult, deck: Deck) -> float:
    """Inches along the beam: braces from both posts of its shortest end span meet in the middle of it."""
    f, stock = deck.parameters.frame, deck.parameters.stock
    beams = [m.spans for m in deck.members if m.role == "beam" and m.first.where == member.where and m.spans]
    shortest = min((b - a for spans in beams for a, b in (spans[0], spans[-1])), default=math.inf)
    return (shortest - stock(f.post).width) / 2 - stock(f.brace).width / math.sqrt(2.0)


def _thicker(key: str, now: str, ratio: float, power: int) -> Iterator[Value]:
    for size in POSTS[POSTS.index(now) + 1 :] if now in POSTS else ():
        if ratio * (lumber(now).width / lumber(size).width) ** power <= SIZE_STEP:
            yield key, size
            return


def _power(check: str) -> int:
    """Of the depth, by which what is checked falls."""
    if "deflection" in check:
        return 3
    return 2 if "bending" in check else 1


def _deeper(key: str, now: str, check: str, ratio: float, sizes: Sequence[str] = SIZES) -> Iterator[Value]:
    if now not in sizes or check.startswith("bearing"):
        return
    for n, size in enumerate(sizes[sizes.index(now) + 1 :], start=1):
        lost = SIZE_STEP**n if "bending" in check or "span" in check else 1.0
        if ratio * (lumber(now).width / lumber(size).width) ** _power(check) / lost <= 1.0:
            yield key, size
            return


def _by_strip(check: str, ratio: float) -> float:
    """How much less has to come to a member of its size: a published span falls with the root of its strip or ply."""
    return ratio**2 if check.endswith("span") else ratio


def _plies(key: str, now: int, ratio: float, most: int) -> Iterator[Value]:
    wanted = math.ceil(now * ratio - 1e-9)
    if now < wanted <= most:
        yield key, wanted


def _closer(check: str, ratio: float, now: float) -> Iterator[Value]:
    """Each joist carries its strip; a load at one place does not fall with the spacing. Nearer than the printed
    spacings they stand as near as they have to."""
    exact = down_to(now / ratio * NOT_BY_STRIP)
    spacing = max((s for s in SPACINGS if s < now - 1e-9 and ratio * s / now <= 1.0), default=exact)
    if LEAST_JOIST_SPACING <= spacing < now and "point load" not in check and "table" not in check:
        yield "frame.joist_spacing", spacing


def _cantilever(row: Unmet, ratio: float, now: float) -> Iterator[Value]:
    """Shorter by what it is too long: the span behind grows, and with it the share that is the limit. A calculated one
    bends by the third power of its length."""
    short = now - (row.measured or 0.0) + (row.limit or 0.0) if isinstance(row, Prescribed) else now * ratio ** (-1 / 3)
    value = max(0.0, math.floor(short / CANTILEVER_STEP + 1e-9) * CANTILEVER_STEP)
    if value < now:
        yield "frame.cantilever", value


def _beam(member: MemberResult, row: Unmet, ratio: float, deck: Deck) -> Iterator[Value]:
    f = deck.parameters.frame
    if row.check == "beam overhang":  # what a post that gave way to something leaves over, no key shortens
        if isinstance(row, Prescribed) and (row.measured or 0.0) <= (f.beam_overhang or OVERHANG) + AS_ASKED:
            yield "frame.beam_overhang", down_to(float(row.limit or 0.0))
        return
    yield from _plies("frame.beam_plies", f.beam_plies, _by_strip(row.check, ratio), MOST_BEAM_PLIES)
    yield from _deeper("frame.beam", f.beam, row.check, ratio)
    value = _nearer(member, row, ratio)
    if value >= LEAST_POST_SPACING:
        yield "frame.post_spacing", value


def _nearer(member: MemberResult, row: Unmet, ratio: float) -> float:
    """Spans so long that what is checked, which grows by a power of the span, is at its limit; whole inches."""
    longest = max((x.value for x in member.facts if x.label == "span"), default=0.0)
    falls = {3: 4, 2: 2, 1: 1}[_power(row.check)]
    return float(math.floor(longest * ratio ** (-1 / falls)))


def _landing(member: MemberResult, row: Unmet, ratio: float, deck: Deck) -> Iterator[Value]:
    """Posts between those of a landing, or a rim of more plies where the stair does not turn back."""
    found = landing_of(deck, member)
    if found is None:
        return
    at, landing = found
    if landing.turn != "back":
        key = f"stair.{at}.landings.{landing.index}.rim_plies"
        yield from _plies(key, landing.rim_plies, ratio, MOST_PLIES)
    value = _nearer(member, row, ratio)
    if value >= LEAST_LEG_SPACING:
        yield f"stair.{at}.landings.{landing.index}.post_spacing", value


def _post(row: Unmet, ratio: float, deck: Deck) -> Iterator[Value]:
    """A square post holds at least as its area, under a length that is as slender as before or less."""
    now = deck.parameters.stock(deck.parameters.frame.post)
    for size in POSTS:
        wide = lumber(size).width
        if wide > now.width and ratio * (now.width / wide) ** 2 <= 1.0:
            yield "frame.post", size
            return


def _footing(row: Unmet, ratio: float, now: float) -> Iterator[Value]:
    """A size by the table, or an area under which the pressure is borne: that of the footing's own weight stays."""
    if row.check == OF_THICKNESS and isinstance(row, Prescribed) and row.limit:
        yield "frame.footing.thickness", row.limit
        return
    grows = ratio if row.unit == "in" else math.sqrt(ratio / LEFT_TO_BEAR)
    if 1 < grows < MOST_GROWN:
        yield "frame.footing.size", even(now * grows)


def _guard(member: MemberResult, row: Unmet, ratio: float, deck: Deck) -> Iterator[Value]:
    """Posts nearer, so that a rail is shorter; a stick as much thicker as the cube root of what is asked of it; a
    larger post."""
    g = deck.parameters.guard
    if member.kind == BENCH_FRAME:  # of a bench: what of the seat comes to it falls with their spacing
        number = int(member.where.split()[1]) - 1
        spacing = math.floor(deck.parameters.bench[number].frame_spacing / ratio)
        if spacing >= LEAST_FRAME_SPACING:
            yield f"bench.{number}.frame_spacing", float(spacing)
    elif member.kind == "guard post":
        post = next((s for s in POSTS if lumber(s).width >= deck.parameters.stock(g.post).width * ratio ** (1 / 3)), "")
        if post:
            yield "guard.post", post
    elif member.kind == "baluster":
        yield "guard.baluster", up_to(g.baluster * ratio ** (1 / 3))
    elif row.check == "shear":  # all of the load beside a post, wherever the next one stands
        yield from _deeper("guard.top_rail", g.top_rail, row.check, ratio, (g.top_rail, *SIZES))
    else:
        length = max((x.value for x in member.facts if x.label == "length"), default=0.0)
        posts = deck.parameters.stock(g.post).width
        yield "guard.post_spacing", float(math.floor(length / ratio + posts))


def _stringer(at: int, ratio: float, deck: Deck) -> Iterator[Value]:
    """Its strip goes with the spacing; solid, it keeps its whole depth."""
    stair = deck.parameters.stair[at]
    spacing = down_to(stair.stringer_spacing / ratio)
    if spacing >= LEAST_STRIP:
        yield f"stair.{at}.stringer_spacing", spacing
    elif stair.stringer_kind == "cut":
        yield f"stair.{at}.stringer_kind", "solid"
