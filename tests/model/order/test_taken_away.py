"""A whole demo with one kind of connection, or all pieces of one kind, taken away: what held it goes from the order,
the nails of its connectors with it, and no line names a piece that is not there."""

from __future__ import annotations

import re
from functools import cache

import pytest
from conftest import DEMOS, demo_deck, demo_measured

from plumbcut.model.order.fasteners import fasteners
from plumbcut.model.order.hardware_rules import rules
from plumbcut.shared.standards import table

NAILED = {}  # connector: {what it is fastened with: how many}, for stock as deep as the demos'
for row in table("nails"):
    if row["depth_in"] == "9.25" or ("hanger" not in row["connector"] and not row["depth_in"]):
        NAILED.setdefault(row["connector"], {})[row["item"]] = int(row["into_carrier"]) + int(row["into_carried"])

# the demos' joists and rims are 2x10, their posts 6x6: (roles that touch, kind of contact), what is none any more
CONNECTIONS = [
    ((("joist", "rim"), ("ledger", "beam", "rim"), "end"), ("joist hanger", "doubled joist hanger")),
    ((("border blocking",), None, "end"), ("angle pair",)),
    ((("joist", "rim"), ("beam",), "bearing"), ("beam tie",)),
    ((("beam", "rim"), ("post",), "bearing"), ("beam cap",)),
    ((("beam", "rim", "joist"), ("beam", "rim", "joist"), "side"), ("ply nail",)),
    ((("knee brace",), ("post", "beam"), None), ("brace lag screw",)),
    ((("stringer", "guard post"), ("pad",), None), ("pad anchor",)),
    ((("top rail", "bottom rail"), ("guard post", "post sleeve"), None), ("rail bracket",)),
    ((("baluster",), ("top rail", "bottom rail"), None), ("baluster screw",)),
    ((("tread", "riser"), ("stringer", "tread blocking", "hip stringer", "step frame"), None), ("tread screw",)),
    ((("board", "border", "breaker"), None, "bearing"), ("deck screw", "hidden clip", "start clip")),
]


def counted(demo, keep=lambda c: True, piece=lambda m: True):
    deck, measured = demo_deck(demo), demo_measured(demo)
    if all(piece(m) for m in measured):
        return fasteners(measured, [c for c in deck.contacts if keep(c)], deck.parameters.surface.fastening, 16.0)
    kept = [m for m in measured if piece(m)]
    at = {m.id: k for k, m in enumerate(kept)}
    between = [
        type(c)(at[c.a.id], at[c.b.id], c.a, c.b, c.kind, c.area, c.normal, c.point, c.low, c.high)
        for c in deck.contacts
        if c.a.id in at and c.b.id in at
    ]
    return fasteners(kept, between, deck.parameters.surface.fastening, 16.0)


@cache
def whole(demo):
    return {h.item: h.count for h in counted(demo)}


def of_kind(c, kind):
    first, second, how = kind
    pairs = ((c.a.role, c.b.role), (c.b.role, c.a.role))
    return (how is None or c.kind == how) and any(a in first and (second is None or b in second) for a, b in pairs)


@pytest.mark.parametrize(("kind", "items"), CONNECTIONS, ids=lambda x: x[0] if isinstance(x[0], str) else "")
def test_without_a_connection_its_hardware_and_nails_are_gone(kind, items):
    demos = [d for d in DEMOS if any(i in whole(d) for i in items)]
    assert demos
    for demo in demos:
        left = {h.item: h.count for h in counted(demo, keep=lambda c: not of_kind(c, kind))}
        assert not set(items) & set(left)
        nails = {}
        for item in items:
            for nail, each in NAILED.get(item, {}).items():
                nails[nail] = nails.get(nail, 0) + whole(demo).get(item, 0) * each
        for nail, n in nails.items():
            assert whole(demo)[nail] - left.get(nail, 0) == n
        # nothing is needed more, but for risers: on no stringer they are screwed to the frame as fascia is
        more = {i for i, n in left.items() if n > whole(demo).get(i, 0)}
        assert more <= ({"fascia screw", "touch-up"} if items == ("tread screw",) else set())


@pytest.mark.parametrize("demo", DEMOS)
def test_pieces_of_a_kind_taken_away_take_what_served_them(demo):
    measured = demo_measured(demo)
    marks = {}
    for m in measured:
        marks.setdefault(m.role, set()).add(m.mark)
    everything = counted(demo)
    for role in marks:
        left = counted(demo, piece=lambda m: m.role != role)
        shared = set().union(*(v for k, v in marks.items() if k != role))
        for h in left:
            for s in h.sized:
                named = {x for run in s.serves for x in expanded(run)}
                assert not named & (marks[role] - shared), (role, h.item)
        # what served nothing but these pieces is not bought any more
        only = {
            h.item
            for h in everything
            if {x for s in h.sized for run in s.serves for x in expanded(run)} <= marks[role] - shared
        }
        assert not only & {h.item for h in left}, role


def expanded(run):
    first, _, last = run.partition(" to ")
    letter = first.rstrip("0123456789")
    numbers = range(int(first[len(letter) :]), int((last or first)[len(letter) :]) + 1)
    return [f"{letter}{n}" for n in numbers]


def test_every_connector_that_takes_nails_is_taken_away_above():
    # one to a piece, whatever it touches; straps: no demo takes any (tests/long/test_short_stretches)
    by_piece = {"post base", "stringer connector", "strap tie"}
    assert set(NAILED) <= {i for _, items in CONNECTIONS for i in items} | by_piece
    assert set(NAILED) <= set(rules()) and all(re.match("[a-z]", x) for x in NAILED)
