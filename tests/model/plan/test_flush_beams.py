"""Flush beams: joists hung on beams of their own depth, for decks too low for beams underneath."""

from __future__ import annotations

import pytest
from statics import comes_down_whole

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.bearing import hanging
from plumbcut.model.measuring.loose_ends import loose_stringers, tipping_headers, touching
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.order.takeoff import joist_span, take_off
from plumbcut.model.rules.checks import check_deck
from plumbcut.model.structure.structure import analyse


def deck_of(**sections):
    return build(Parameters.model_validate(sections))


HELD_BY = {"rim", "beam", "ledger", "post", "post base"}
LOW = {"outline": {"width": 210, "depth": 134}, "levels": {"surface": 12}}
WIDE = {
    "outline": {"width": 260, "depth": 246},
    "levels": {"surface": 13},
    "frame": {"support": "free-standing", "beam_plies": 3},
}
HEXAGON = {
    "outline": {
        "points": [[120, 0], [60, 103.92], [-60, 103.92], [-120, 0], [-60, -103.92], [60, -103.92]],
        "house": [],
    },
    "levels": {"surface": 14},
    "frame": {"support": "free-standing"},
}


@pytest.mark.parametrize("sections", [LOW, WIDE, HEXAGON], ids=["low", "wide", "hexagon"])
def test_a_deck_too_low_for_beams_underneath_has_flush_ones(sections):
    deck = deck_of(**sections)
    assert deck.layout.flush and any("flush" in str(n) for n in deck.notes)
    assert not deck.clashes and not hanging(deck.parts)
    by = {p.id: p for p in deck.parts}
    low = deck.planes.frame_bottom
    for p in deck.parts:
        if p.role in ("post", "post base"):
            assert p.box[1, 2] <= low + 1e-9
        if p.role == "beam":  # at joist level, between the rims
            assert p.box[:, 2].tolist() == pytest.approx([low, deck.planes.frame_top])
        if p.role == "joist":  # hung at both ends on what stands on posts or on the house
            held = [by[i].role for i in p.carried_by]  # or beside a post, on its top as well
            assert sum(r in ("rim", "beam", "ledger") for r in held) >= 2 and set(held) <= HELD_BY
    assert not [r for r in check_deck(deck) if r.result == "not met" and "solids" in str(r.source)]


def test_the_rim_beside_a_flush_beam_rests_on_its_post_by_the_least_bearing_or_not_at_all():
    """Three plies are 4.5 in, a 6x6 post 5.5 in: flush with the rim's face it would come out by 1 in behind, less than
    the 1-1/2 in on wood or metal of IRC R507.6.1."""
    deck = deck_of(outline={"width": 150, "depth": 100}, levels={"surface": 9}, frame={"rim_plies": 3})
    assert not [r for r in check_deck(deck) if r.result == "not met" and r.rule == "bearing on wood"]
    beside = {p.id for p in deck.parts if p.role == "rim" and p.edge in ("left", "right")}
    on = [c for c in deck.contacts if c.id_a in beside and c.kind == "bearing" and c.b.role == "post base"]
    assert len(on) == 6 and all(c.area == pytest.approx(1.5 * 1.5) for c in on)


def test_a_flush_beams_last_post_carries_the_rim_that_meets_it_out_of_square_too():
    """Its outer face goes out to the corner: the rim has 1-1/2 in on wood or metal there (IRC R507.6.1)."""
    outline = {"points": [[0, 30], [80, 0], [160, 30], [160, 115], [0, 115]], "house": ["e4"]}
    deck = deck_of(outline=outline, levels={"surface": 17}, frame={"rim_plies": 3, "beam_position": "flush"})
    assert not [r for r in check_deck(deck) if r.result == "not met"]
    last = [p for p in deck.parts if p.role == "post" and abs(p.box[:, 0].mean() - 80) > 70]
    assert len(last) == 2 and all(deck.layout.outline.polygon.buffer(1e-6).covers(p.footprint) for p in last)


@pytest.mark.parametrize(("width", "at"), [(36, 0), (120, 44), (200, 10)], ids=["at the corner", "wide", "whole"])
def test_a_post_stands_in_the_line_of_a_header_where_the_beam_finds_none_beside_it(width, at):
    """Beside these stairs a span of 144 in would be left, or an overhang of 47; the posts stand evenly as without a
    stair, and what is left of the header between them hangs at two places each (common practice, no source)."""
    outline = {"width": 222, "depth": 135}
    plain = deck_of(outline=outline, levels={"surface": 12})
    deck = deck_of(outline=outline, levels={"surface": 12}, stair=[{"edge": "front", "at": at, "width": width}])
    for one, other in ((p.layout.runs[0].posts for p in (plain, deck)),):
        assert [x for x, _ in one] == pytest.approx([x for x, _ in other])
    touching_ = touching(deck.contacts)
    assert (
        not deck.clashes and not tipping_headers(deck.parts, touching_) and not loose_stringers(deck.parts, touching_)
    )


def test_the_load_of_a_flush_deck_reaches_the_ground_and_the_house():
    comes_down_whole(deck_of(**LOW))


def test_hangers_and_ledger_table_follow_the_joists_that_hang_at_both_ends():
    deck = deck_of(**LOW)
    measured = measure_all(deck.parts)
    joists = [p for p in deck.parts if p.role == "joist"]
    places = {h.item: h.places for h in take_off(deck, measured).hardware}
    # both ends of every joist, and the end of each ply of the side rims on the ledger
    sides = [p for p in deck.parts if p.role == "rim" and p.edge in ("left", "right")]
    doubled = sum(p.where == "under butt joints" for p in joists)  # one hanger takes both joists' ends
    assert doubled and places["doubled joist hanger"] == 2 * doubled
    assert places["joist hanger"] == 2 * (len(joists) - 2 * doubled) + len(sides)
    # 134 in less the ledger and two plies of 1-1/2 in
    assert joist_span(deck) == pytest.approx(134 - 1.5 - 3.0)


def test_what_the_file_asks_for_is_kept():
    high = {"outline": {"width": 210, "depth": 134}, "levels": {"surface": 40}}
    assert not deck_of(**high).layout.flush
    assert deck_of(**high, frame={"beam_position": "flush"}).layout.flush
    low = deck_of(**LOW, frame={"beam_position": "under"})  # in the ground, which a check says
    assert not low.layout.flush and min(p.box[0, 2] for p in low.roles("beam")) < 0 and not low.clashes


def test_a_flush_rim_longer_than_is_sold_is_spliced_over_its_posts():
    deck = deck_of(
        outline={"width": 420, "depth": 118}, levels={"surface": 30}, frame={"beam_position": "flush", "rim_plies": 1}
    )
    posts = [p for p in deck.parts if p.role == "post"]
    rims = sorted((p for p in deck.parts if p.role == "rim" and p.edge == "front"), key=lambda p: p.box[0, 0])
    assert len(rims) >= 4
    ends = [x for p in rims for x in p.box[:, 0] if 1 < x < 419]
    for x in ends:
        assert any(q.box[0, 0] + 1 < x < q.box[1, 0] - 1 for q in posts), x


def test_side_rims_rest_with_the_beam_between_and_no_post_stands_in_a_stairs_header():
    """The post under a middle beam's end carries the rim along the joists as well, which would span the whole depth."""
    deck = deck_of(
        outline={"width": 260, "depth": 246},
        levels={"surface": 20},
        frame={"support": "free-standing", "beam_position": "flush"},
        stair=[{"edge": "front", "width": 60}],
    )
    assert not deck.clashes
    by = {p.id: p for p in deck.parts}
    sides = [p for p in deck.parts if p.role == "rim" and p.edge in ("left", "right")]
    middles = [p for p in deck.parts if p.role == "post" and 60 < p.box[:, 1].mean() < 180]
    touched = [r for r in sides if any(by[i] in middles for i in r.carried_by)]
    assert len(touched) >= 2 and {r.edge for r in touched} == {"left", "right"}


@pytest.mark.parametrize(
    "points, joists, edges",
    [
        # the rim that runs on past the reflex corner lies across the beam's way
        (
            [[0, 0], [58, 0], [58, 60], [177, 60], [177, 195], [0, 195]],
            {"joist_spacing": 24, "beam_plies": 3},
            ["e6", "e4"],
        ),
        # a footing as high as the header that hangs below the rim
        ([[0, 0], [173, 0], [173, 55], [330, 55], [330, 100], [0, 100]], {"joist_spacing": 16}, ["e1"]),
    ],
    ids=["running on", "under a header"],
)
def test_nothing_stands_in_the_way_of_a_low_stepped_deck(points, joists, edges):
    deck = deck_of(
        outline={"points": points, "house": ["e5"]},
        levels={"surface": 14, "slope_y": 0.04},
        frame=joists,
        stair=[{"edge": e, "width": 48} for e in edges],
    )
    assert deck.layout.flush
    frame = {"beam", "rim", "joist", "post base", "footing", "stair header", "stringer"}
    assert not [c for c in deck.clashes if {c.a.role, c.b.role} <= frame]
    assert not [p.id for p in deck.parts if p.role in ("joist", "beam", "rim") and not p.carried_by]


def test_side_rims_hang_on_a_beam_that_overhangs_its_post_as_the_joists_do():
    """With the posts a foot in from the corners the side rims lie on none: their ends take hangers at the beam too, and
    the load goes on through its overhang."""
    deck = deck_of(**LOW, frame={"beam_overhang": 12})
    measured = measure_all(deck.parts)
    by = {p.id: p for p in deck.parts}
    sides = [p for p in deck.parts if p.role == "rim" and p.edge in ("left", "right")]
    inner = [p for p in sides if any(by[k].role == "ledger" for k in p.carried_by)]
    assert inner and all({by[k].edge for k in p.carried_by if by[k].role == "rim"} == {"front"} for p in inner)
    joists = [p for p in deck.parts if p.role == "joist"]
    doubled = sum(p.where == "under butt joints" for p in joists)
    places = {h.item: h.places for h in take_off(deck, measured).hardware}
    assert places["joist hanger"] == 2 * (len(joists) - 2 * doubled) + 2 * len(sides)
    comes_down_whole(deck)
    assert [m.trouble for m in analyse(deck).path.members if m.trouble] == []
