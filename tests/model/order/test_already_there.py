"""A frame that stands, as surveyed, is neither bought nor cut again. The survey is invented (`tests/surveyed.toml`)."""

from __future__ import annotations

from collections import Counter
from functools import cache

from conftest import PARAMS

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.deck import build, build_as_built
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.order.already_there import standing
from plumbcut.model.order.takeoff import take_off
from plumbcut.model.parameter_file import read

FRAME = {"ledger", "rim", "joist", "beam", "post", "footing"}


@cache
def taken():
    deck = build_as_built(read(PARAMS.parent / "tests" / "surveyed.toml"))
    rows = measure_all(deck.parts)
    return deck, rows, take_off(deck, rows)


def test_only_what_is_new_is_on_the_order_and_the_cut_list():
    deck, rows, t = taken()
    old = {m.mark for m in rows if m.role in FRAME and m.part.stair is None}
    bought = Counter(m for line in t.order.lines for b in line.bars for mark in b.marks for m in mark.split("/"))
    assert old and not old & set(bought) and not old & {c.mark for c in t.cuts}
    # all else that is sawn is bought, each piece once: counted on the solids
    stands = standing(deck)
    for role in ("board", "border", "stringer", "tread", "blocking", "border blocking", "top rail"):
        marks = Counter(m.mark for m in rows if m.role == role and m.id not in stands)
        assert {k: bought[k] for k in marks} == marks
    assert any("stand as surveyed" in worded(n) for n in t.notes)


def test_guard_posts_that_were_measured_stand_and_the_others_do_not():
    deck, rows, _ = taken()
    posts = [m for m in rows if m.role == "guard post" and m.part.stair is None]
    stand = [m for m in posts if m.id in standing(deck)]
    assert len(stand) == len(deck.parameters.survey.post) == 1 and len(posts) > 1


def test_hardware_of_what_stands_is_there():
    _, rows, t = taken()
    counted = {h.item: h.count for h in t.hardware}
    assert not {"ledger fastener", "joist hanger", "post base", "hold-down"} & set(counted)
    assert counted["hidden clip"] > 0 and sum(m.role == "joist" for m in rows) > 5


def test_the_design_itself_is_ordered_whole():
    """Without the survey the same deck asks for its frame."""
    deck = build(read(PARAMS.parent / "tests" / "surveyed.toml"))
    assert standing(deck) == frozenset()
    t = take_off(deck, measure_all(deck.parts))
    assert {"joist hanger", "post base"} <= {h.item for h in t.hardware}
