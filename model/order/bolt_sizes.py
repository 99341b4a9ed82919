"""How long bolts and lag screws are, as the pieces that they go through leave room: what a yard asks before it can hand
one out. Read off the solids; lengths in inches, rounded up to what is sold."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ...shared.practice import practice
from ...shared.said import Words, number, said, size, together
from ..measuring.contacts import Contact
from ..measuring.flight_seen import BEARS_TREADS
from ..measuring.measure import Measured
from ..solid.roles import in_group, named
from .hardware_rules import rules

PAST_NUT = practice("bolt past what it holds")
SHORT_OF_FACE = practice("lag screw short of the far face")
LONGEST_LAG = practice("longest lag screw of a brace")
HOUSE_SHEATHING, BAND_JOIST = practice("sheathing behind a ledger"), practice("band joist behind a ledger")
PAST_BAND = practice("lag screw past the band joist")
SPACER = practice("spacers behind a ledger")
_HOLDS_POST = (*named("plies"), *BEARS_TREADS)  # what a guard post is bolted to
_BACKS_POST = in_group("blocking")  # what may lie flat on its other side: the bolt goes through that too
_ALONG = 0.94  # cosine: faces within 20 degrees are of one stack


@dataclass(frozen=True)
class AskedOf:
    """What the code or the file asks of hardware that is bought by its strength or kind: the ledger's fastener, pounds
    that a hold-down and a device behind a guard post hold (None: not told)."""

    ledger_fastener: str = "lag screw"
    hold_down_lb: float | None = None
    guard_post_lb: float | None = None

    def size(self, item: str) -> Words:
        """The item's size as ordered: its strength before what the data says of it."""
        pounds = {"hold-down": self.hold_down_lb, "tension device": self.guard_post_lb}.get(item)
        if pounds is None:
            return ""
        return together(
            said("of at least {lb} lb", lb=number(pounds, 0, grouped=True)), rules()[item].size, between=", "
        )

    def ledger_size(self, thickness: float) -> Words:
        """The ledger's fastener, through a ledger of that thickness (inches), the house's sheathing and its band joist:
        a lag screw's point comes out behind it."""
        long = thickness + HOUSE_SHEATHING + BAND_JOIST
        if self.ledger_fastener == "lag screw":
            long += PAST_BAND
        else:
            long += PAST_NUT + (SPACER if self.ledger_fastener == "bolt with gap" else 0.0)
        kind = self.ledger_fastener.split()[0]
        return together(
            _bolt("ledger fastener", long), "lag screw with washer" if kind == "lag" else _NUT, between=", "
        )


_NUT = "bolt with nut and washers"
_WITH_NUT = "each with a nut and two washers"


def _bolt(item: str, needed: float) -> Words:
    """Diameter and length of one that is at least so long; sold by the whole inch (common practice, no source)."""
    across = rules()[item].diameter
    assert across is not None, f"{item} has no diameter"
    return said("{across} x {long}", across=size(across), long=size(math.ceil(needed - 1e-6)))


def guard_post_bolts(measured: Sequence[Measured], contacts: Iterable[Contact]) -> dict[int, Words]:
    """The size of each guard post's bolts, by its place in `measured`: through what it is bolted to with all its plies,
    the post, and what lies flat on its other side; of two ways the longer."""
    beside, plies = _beside(contacts, "guard post", (*_HOLDS_POST, *_BACKS_POST)), _plies(measured, contacts)
    found: dict[int, Words] = {}
    for post, touching in beside.items():
        ways = [n for j, n in touching if measured[j].role in _HOLDS_POST] or [n for _, n in touching]
        through = max(_stack(measured, post, n, touching, plies) for n in ways)
        found[post] = together(_bolt("guard-post bolt", through + PAST_NUT), _WITH_NUT, between=", ")
    return found


def post_bolts(measured: Sequence[Measured], contacts: Iterable[Contact]) -> dict[int, Words]:
    """The size of the bolts through each post that is notched for a beam, by its place in `measured`."""
    beside, plies = _beside(contacts, "post", ("beam",)), _plies(measured, contacts)
    return {
        post: together(
            _bolt("post bolt", max(_stack(measured, post, n, touching, plies) for _, n in touching) + PAST_NUT),
            _WITH_NUT,
            between=", ",
        )
        for post, touching in beside.items()
    }


def brace_screws(measured: Sequence[Measured], contacts: Iterable[Contact]) -> dict[int, Words]:
    """The size of the lag screws of each knee brace: square to the post's face through the middle of the brace's end,
    and into the post as far as it goes short of its other face."""
    found: dict[int, Words] = {}
    across = rules()["brace lag screw"].diameter
    assert across is not None, "the data gives the lag screws of a brace a diameter"
    for c in contacts:
        for i, brace, post in ((c.i, c.a, c.b), (c.j, c.b, c.a)):
            if brace.role == "knee brace" and post.role == "post":
                steep = abs(
                    float(measured[i].axis[2])
                )  # the end's middle lies half of the brace's width below its face
                through = brace.stock.width / 2 / max(steep, 0.1)
                long = min(through + post.stock.width - SHORT_OF_FACE, LONGEST_LAG)
                found[i] = said("{across} x {long}, with washer", across=size(across), long=size(math.floor(long)))
    return found


_Touching = list[tuple[int, np.ndarray]]  # position in the list measured, direction from the post


def _beside(contacts: Iterable[Contact], role: str, others: Sequence[str]) -> dict[int, _Touching]:
    """What of `others` each piece of a role touches with an upright face."""
    found: dict[int, _Touching] = {}
    for c in contacts:
        for i, j, a, b, way in ((c.i, c.j, c.a, c.b, 1.0), (c.j, c.i, c.b, c.a, -1.0)):
            if a.role == role and b.role in others and abs(c.normal[2]) < 1 - _ALONG and c.kind == "side":
                found.setdefault(i, []).append((j, way * np.array(c.normal[:2])))
    return found


def _plies(measured: Sequence[Measured], contacts: Iterable[Contact]) -> dict[int, set[int]]:
    found: dict[int, set[int]] = {}
    for c in contacts:
        alike = c.kind == "side" and c.a.role == c.b.role and c.a.role in named("plies")
        if alike and abs(float(measured[c.i].axis @ measured[c.j].axis)) > _ALONG:
            found.setdefault(c.i, set()).add(c.j)
            found.setdefault(c.j, set()).add(c.i)
    return found


def _stack(
    measured: Sequence[Measured], post: int, way: np.ndarray, touching: _Touching, plies: Mapping[int, set[int]]
) -> float:
    """Inches from the outermost face to the innermost of all that lies on the post either way along `way`."""
    at = {post} | {j for j, n in touching if abs(float(n @ way)) > _ALONG}
    new = set(at)
    while new := {k for i in new for k in plies.get(i, ()) if _abreast(measured[k], measured[post], way)} - at:
        at |= new
    reach = [np.array(measured[i].part.footprint.exterior.coords) @ way for i in at]
    return float(max(r.max() for r in reach) - min(r.min() for r in reach))


def _abreast(ply: Measured, post: Measured, way: np.ndarray) -> bool:
    """Whether a ply passes the post."""
    along = np.array([-way[1], way[0]])
    a, b = (np.array(x.part.footprint.exterior.coords) @ along for x in (ply, post))
    return bool(a.min() < b.max() and b.min() < a.max())
