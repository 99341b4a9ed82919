"""Every kind of contact in the demos is in the fastener take-off, or stands here with the reason why it takes no
fastener.

What is said to be counted is put to the test: without the contacts of that kind the take-off has fewer of that item.
The reasons are the trade's (common practice, no source).
"""

from __future__ import annotations

from functools import cache

import pytest
from conftest import DEMOS, demo_deck, demo_measured

from plumbcut.model.order.fasteners import fasteners

# (roles, roles) of the two pieces either way round, kinds of contact, item. Counted at the contact.
COUNTED = [
    (
        ("board",),
        ("joist", "rim", "blocking", "border blocking", "post blocking"),
        "bearing",
        "deck screw|hidden clip|start clip",
    ),
    (
        ("border", "breaker"),
        ("joist", "ledger", "rim", "blocking", "border blocking", "post blocking"),
        "bearing",
        "deck screw",
    ),
    (("tread", "riser"), ("stringer",), "bearing end side", "tread screw"),
    (("tread",), ("tread blocking",), "bearing", "tread screw"),
    (("tread blocking",), ("stringer",), "end side", "framing screw"),
    (("blocking",), ("joist", "rim", "border blocking", "post blocking"), "end", "framing screw"),
    (("post blocking",), ("joist", "rim", "post blocking", "blocking"), "end", "framing screw"),
    (("joist", "rim"), ("rim",), "end", "framing screw"),
    (("stair header",), ("blocking",), "side", "framing screw"),
    (("stair header",), ("post",), "end", "framing screw"),
    (("rim",), ("blocking",), "side", "framing screw"),
    (
        ("border blocking",),
        ("joist", "rim", "ledger", "guard post", "post blocking", "border blocking"),
        "end",
        "angle pair",
    ),
    (("joist", "rim"), ("ledger",), "end", "joist hanger"),
    (("joist", "rim"), ("beam",), "bearing", "beam tie"),
    (("beam", "rim"), ("post",), "bearing", "beam cap"),
    (("knee brace",), ("post",), "end", "brace lag screw"),
    (("beam",), ("beam",), "side", "ply nail"),
    (("stringer", "guard post"), ("pad",), "bearing", "pad anchor"),
    (("top rail", "bottom rail"), ("guard post", "post sleeve"), "end", "rail bracket"),
    (("baluster",), ("top rail", "bottom rail"), "bearing", "baluster screw"),
]
# The same, but counted by the piece named last: by its length, or so many a piece.
BY_PIECE = [
    (("rim",), ("fascia",), "side end", "fascia screw", "fascia"),
    (("stringer",), ("skirt",), "side", "fascia screw", "skirt"),
    (("post",), ("post base",), "bearing", "post base", "post base"),
    (("post base",), ("footing",), "bearing", "post base", "post base"),
    (("stringer",), ("rim", "stair header", "joist"), "bearing end side", "stringer connector", "stringer"),
    (("guard post",), ("rim", "ledger", "joist"), "end side", "guard-post bolt", "guard post"),
    (("guard post",), ("post blocking", "stringer"), "side", "guard-post bolt", "guard post"),
    (("handrail",), ("guard post", "post sleeve"), "end", "handrail bracket", "handrail"),
    (("foot block",), ("board", "border", "bottom rail"), "bearing", "foot-block screw", "foot block"),
    (("post cap",), ("guard post", "post sleeve"), "bearing", "post cap", "post cap"),
    (("post sleeve",), ("border", "tread"), "bearing", "post sleeve", "post sleeve"),
]
HELD = "both are held by their own ends or fasteners; they only touch here"
UNDER = "the trim stops under the surface's overhang; a screw through the board would show and split it"
MEET = "ends of trim that meet: each is screwed to what is behind it"
NOTHING = [
    (
        ("board",),
        ("ledger",),
        "bearing",
        "the last board lies along the ledger and is screwed to every joist that hangs on it",
    ),
    (("board",), ("riser",), "side", MEET),
    (("board", "border"), ("fascia", "riser", "skirt"), "bearing", UNDER),
    (("tread",), ("riser",), "bearing", "the tread is screwed to the stringers; the riser stands under its nosing"),
    (("tread",), ("riser",), "end side", MEET),
    (("tread",), ("skirt",), "bearing", "the skirt stops under the tread's overhang"),
    (("tread",), ("tread",), "end", "mitres of a bordered tread: each piece is screwed to a stringer or a block"),
    (("border",), ("border",), "end", "mitres and joints: each piece is screwed to the rim and blocks under it"),
    (
        ("board", "border"),
        ("stringer",),
        "bearing end",
        "the stringer's top meets the surface; boards are screwed to the rim beside it",
    ),
    (
        ("blocking", "border blocking", "post blocking"),
        ("beam",),
        "bearing",
        "blocks over a beam hang between the joists, which are tied to it",
    ),
    (("blocking",), ("border blocking", "post blocking", "joist"), "side", HELD),
    (("border blocking",), ("post blocking", "joist"), "side", HELD),
    (("rim",), ("stair header",), "bearing", "the header hangs on cleats that are screwed to both"),
    (("rim",), ("tread blocking", "riser"), "side", HELD),
    (("riser",), ("tread blocking",), "bearing side end", "the riser is screwed to the stringers"),
    (("riser",), ("pad", "joist"), "bearing", "the riser is screwed to the stringers and only stands there"),
    (("skirt",), ("pad",), "bearing", "the skirt is screwed to its stringer and only stands there"),
    (("beam",), ("beam",), "end", "beams meet over a post, in its cap"),
    (("beam",), ("knee brace",), "bearing", "the lag screw at a brace's upper end is counted with that at its post"),
    (("ledger",), ("ledger",), "end", "each is fastened to the house; the ledger fasteners are counted along both"),
    (("ledger",), ("fascia",), "end", MEET),
    (("stringer",), ("post",), "end", HELD),
    (("fascia",), ("fascia", "skirt", "riser", "stringer", "guard post", "tread"), "bearing end side", MEET),
    (("skirt",), ("riser", "guard post"), "bearing end side", MEET),
    (("riser",), ("guard post",), "end", MEET),
    (("handrail",), ("top rail",), "end", HELD),
    (("handrail",), ("handrail",), "end", "a return mitred to its rail, glued and pinned in the shop"),
]


def kind_of(c):
    return frozenset((c.a.role, c.b.role)), c.kind


def spread(rows):
    return {
        (frozenset((a, b)), kind): rest
        for first, second, kinds, *rest in rows
        for a in first
        for b in second
        for kind in kinds.split()
    }


PRESENT = {d: {kind_of(c) for c in demo_deck(d).contacts} for d in DEMOS}
EVERY = sorted(set.union(*PRESENT.values()), key=lambda k: (sorted(k[0]), k[1]))


@cache
def counts(demo, without=None):
    deck = demo_deck(demo)
    kept = [c for c in deck.contacts if kind_of(c) != without]
    return {h.item: h.places for h in fasteners(demo_measured(demo), kept, deck.parameters.surface.fastening, 16.0)}


def name(key):
    roles = sorted(key[0])
    return f"{roles[0]} on {roles[-1]}, {key[1]}"


@pytest.mark.parametrize("key", EVERY, ids=name)
def test_a_contact_is_counted_or_has_a_reason(key):
    counted, by_piece, nothing = spread(COUNTED), spread(BY_PIECE), spread(NOTHING)
    assert sum(key in x for x in (counted, by_piece, nothing)) == 1, f"{name(key)} is in no list, or in two"
    demos = [d for d in DEMOS if key in PRESENT[d]]
    if key in counted:
        items = counted[key][0].split("|")
        fewer = [sum(counts(d)[i] - counts(d, key).get(i, 0) for i in items if i in counts(d)) for d in demos]
        # not in every demo: beside another support, or on a cleat whose stringer is counted, a contact adds nothing
        assert min(fewer) >= 0 and max(fewer) > 0, f"without {name(key)} as many of {items}"
    elif key in by_piece:
        item, role = by_piece[key]
        assert role in key[0]
        for d in demos:
            pieces = [m for m in demo_measured(d) if m.role == role]
            assert counts(d)[item] >= (len({m.part.where for m in pieces}) if role == "handrail" else len(pieces))
    else:
        # nothing that is counted leans on such a contact (clips and hangers likewise)
        assert all(counts(d, key) == counts(d) for d in demos)


def test_no_row_of_the_lists_is_idle():
    assert not [
        rest
        for rows in (COUNTED, BY_PIECE, NOTHING)
        for row in rows
        if not set(spread([row])) & set(EVERY)
        for rest in row
    ]
