"""One key for every fault of a frame at once: a frame with many faults is many keys away from one that is met, and few
ways lead there one by one. Values are those of the closed forms (`member_mends`), each with what it would add."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence, Set

from ...shared.stock import lumber
from ..deck import Deck
from ..plan.layout import setting
from ..structure.structure import MemberResult
from .costs import Costs
from .landing_keys import A_FOOTING, MOST_PLIES, landing_mends, landing_of
from .member_mends import member_mends
from .mends import BEAMS, FOOTING_SIZE, JOISTS, POSTS, SPACINGS, Mend, Unmet, volumes

_FRAME_TABLE = "frame."
_SIZES: Mapping[str, Sequence[str]] = {"joist": JOISTS, "beam": BEAMS}
_MORE = frozenset(("beam_plies", "rim_plies", FOOTING_SIZE))  # a greater value is stronger; of lengths a less one

_Adding = tuple[str, object, float]  # key, value, cubic inches of timber


def all_at_once(
    found: Sequence[tuple[MemberResult, Unmet]], deck: Deck, given: Set[str], costs: Costs
) -> dict[str, Mend]:
    """By key, the mends that together would do for all faults that a key mends: those furthest from their limit
    first, each by the key that adds least unless one that is taken does for it."""
    volume = volumes(deck)
    taken: dict[str, Mend] = {}
    for member, row in sorted(found, key=lambda f: -(f[1].ratio or 0.0)):
        able = [a for a in _able(member, row, deck, volume, costs) if a[0] not in given]
        if not able or any(k in taken and not _stronger(k, v, taken[k].value) for k, v, _ in able):
            continue
        key, value, adds = min(able, key=lambda a: a[2] - (taken[a[0]].adds if a[0] in taken else 0.0))
        taken[key] = Mend(key, value, adds, member, row)
    return taken


def _able(member: MemberResult, row: Unmet, deck: Deck, volume: Mapping[str, float], costs: Costs) -> Iterator[_Adding]:
    """What would do for one fault, of what is searched among."""
    landing = landing_of(deck, member) if member.kind == "rim" else None
    if landing is not None:
        yield from landing_mends(deck, landing)
        return
    f = deck.parameters.frame
    for key, value in member_mends(member, row, deck):
        short = key.removeprefix(_FRAME_TABLE)
        if short in _SIZES and value in _SIZES[short]:
            now = getattr(f, short)
            wider = lumber(str(value)).width / lumber(now).width
            deep = costs.depth * (lumber(str(value)).width - lumber(now).width)
            yield short, value, volume.get(short, 0.0) * (wider - 1) + deep
        elif short == "post":
            wider = lumber(str(value)).width / lumber(f.post).width
            yield short, value, volume.get(short, 0.0) * (wider**2 - 1)
        elif short in ("beam_plies", "rim_plies") and isinstance(value, int) and value <= MOST_PLIES:
            now = getattr(f, short)
            yield short, value, volume.get(short.removesuffix("_plies"), 0.0) * (value / now - 1)
        elif short == "joist_spacing" and isinstance(value, float):
            now = setting(deck.parameters).joist_spacing
            printed = max((s for s in SPACINGS if s <= value + 1e-9), default=0.0)
            if printed:
                yield short, printed, volume.get("joist", 0.0) * (now / printed - 1)
        elif short == "post_spacing" and isinstance(value, float):
            posts = sum(len(s.stands) for s in deck.layout.footings)
            longest = max((x.value for x in member.facts if x.label == "span"), default=value)
            yield short, value, costs.footing * max(1.0, posts * (longest / value - 1))
        elif short == FOOTING_SIZE and isinstance(value, (int, float)):
            yield short, value, A_FOOTING * ((value / deck.layout.footing_size) ** 2 - 1)
        elif short == "beam_overhang" or (short == "cantilever" and f.beam_lines is None):
            yield short, value, 0.0


def _stronger(key: str, value: object, than: object) -> bool:
    """Whether a value makes a stronger frame than another."""
    if isinstance(value, str):
        sizes = _SIZES.get(key, POSTS)
        return sizes.index(value) > sizes.index(str(than))
    more = key in _MORE or key.endswith(".rim_plies")
    return float(str(value)) > float(str(than)) if more else float(str(value)) < float(str(than))
