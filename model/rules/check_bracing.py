"""Whether the outermost posts of beams are braced against leaning, read off the solids: which of them are longer than
the guide allows without, and which a knee brace holds to the beam; and that no inner post is braced."""

from __future__ import annotations

from ...shared.cited import Missing
from ...shared.said import Quantity, Words, decimal, listed, number, said
from ...shared.standards import clause
from ..measuring.braces_seen import braces_seen
from ..measuring.member_seen import MemberSeen, SupportAt
from ..pieces.knee_braces import spared
from ..solid.part import Part
from ..strength.wind import sway_psf
from ..structure.lateral import sway
from .check_result import Checking, places

BRACED_ENDS = "diagonal bracing"


def check_bracing(c: Checking, surface: float) -> None:
    """Knee braces where DCA 6-2012 asks for them: parallel to the beam, at its end posts, none at inner ones. `surface`
    in square feet is what people sway on."""
    flush = {r.edge for r in c.deck.layout.runs if r.flush}
    beams = [
        m
        for m in c.deck.members
        if m.first.stair is None
        and (m.role == "beam" or (m.role == "rim" and m.first.edge in flush))
        and len(_on_posts(m, c)) > 1
    ]
    if not beams:
        return
    row = c.row("diagonal_bracing_post_height_min")
    if isinstance(row, Missing):
        c.skip(BRACED_ENDS, row, "posts under beams", row.why)
        return
    braced = _braced(c)
    ends, inner = [], []
    for m in beams:
        stands = _on_posts(m, c)
        mine = {p.id for p in m.parts}
        for s in (stands[0], stands[-1]):
            post = _post(s, c)
            long = float(m.first.box[0, 2] - post.box[0, 2])
            ends.append((long, post, post.id in braced))  # where beams meet in a mitre, along either of them
        inner += [p for s in stands[1:-1] if braced.get((p := _post(s, c)).id, set()) & mine]
    asked = [(long, post, held) for long, post, held in ends if long > row.value]
    bare = sorted({p.id: p for _, p, held in asked if not held}.values(), key=lambda p: p.id)
    c.state(
        BRACED_ENDS,
        row,
        not bare or spared(c.deck.layout),
        "posts at the ends of beams",
        _why(c, ends, asked, bare),
        places(bare),
    )
    if braced:
        told = listed([p.id for p in inner])
        why: Words = said("braced, though it carries most: {posts}", posts=told) if inner else "none of them is braced"
        c.state(
            "inner posts without braces",
            clause("no braces at inner posts", c.edition),
            not inner,
            "posts between the ends of beams",
            why,
            places(inner),
        )
    if asked and not any(p.role == "ledger" for p in c.deck.parts):
        _both_ways(c, surface)


def _both_ways(c: Checking, surface: float) -> None:
    """What braces along the beams leave open where no house holds the deck."""
    c.skip(
        "bracing square to the beams",
        clause("bracing both ways", c.edition),
        "posts at the corners",
        said(
            "a free-standing deck is braced both ways; braces square to the beams are no pieces here: cross-brace"
            " the end posts of neighbouring beams, or fix the rim to the house where its wall allows it; people"
            " moving together, {psf} psf sideways as is recommended, no code value, come to {lb} lb",
            psf=number(sway_psf()),
            lb=number(sway(surface), 0, grouped=True),
        ),
    )


def _why(c: Checking, ends: list, asked: list, bare: list[Part]) -> Words:
    longest = decimal(max(long for long, _, _ in ends))
    if not asked:
        return said("the longest is {long}", long=longest)
    if not bare:
        return said("{n} longer than that, up to {long}, each with a knee brace", n=len(asked), long=longest)
    if spared(c.deck.layout):
        return "boards at 45 degrees to the joists stiffen a deck on a ledger in their place"
    names = listed([p.id for p in bare])
    if c.deck.parameters.frame.knee_braces is False:
        return said("{n} of {of} without a knee brace ({posts}); {long} long", **_count(asked, bare, names, longest))
    return said(
        "{n} of {of} without a knee brace ({posts}): something stands in its way, the post stands askew to its beam, or"
        " there is no length for one; up to {long} long",
        **_count(asked, bare, names, longest),
    )


def _count(asked: list, bare: list[Part], posts: Words, long: Quantity) -> dict:
    return {"n": len(bare), "of": len({p.id for _, p, _ in asked}), "posts": posts, "long": long}


def _on_posts(m: MemberSeen, c: Checking) -> list[SupportAt]:
    return [s for s in m.in_order if any(c.deck.by_id[k].role == "post" for k in s.on)]


def _post(s: SupportAt, c: Checking) -> Part:
    return next(c.deck.by_id[k] for k in s.on if c.deck.by_id[k].role == "post")


def _braced(c: Checking) -> dict[str, set[str]]:
    """The beams' plies that a knee brace holds, by the post that it stands against."""
    found: dict[str, set[str]] = {}
    for brace in braces_seen(c.deck.parts, c.deck.contacts):
        for post in brace.posts:
            found.setdefault(post.id, set()).update(p.id for p in brace.beams)
    return found
