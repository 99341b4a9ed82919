"""Each kind of fault that the solids show, made on purpose on a deck that has none, gives its row and no other; none
are met."""

from __future__ import annotations

import dataclasses

import pytest
from conftest import demo_deck, demo_measured

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.deck import Deck, build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.rules import check_solids as rules
from plumbcut.model.rules.check_result import Checking
from plumbcut.model.rules.check_solids import check_solids
from plumbcut.model.solid.part import Workshop


def checked(deck, measured=None):
    c = Checking(deck, measured or measure_all(deck.parts))
    check_solids(c)
    return c.results


def tampered(change):
    """The rows not met of the terrace with each piece changed (None takes it out)."""
    deck = demo_deck("terrace")
    parts = [q for p in deck.parts if (q := change(p)) is not None]
    return [r for r in checked(Deck(deck.parameters, deck.levels, parts)) if r.result == "not met"]


def moved(part, dx=0.0, dy=0.0, dz=0.0):
    x, y, z = part.place.origin
    return part.replaced(place=dataclasses.replace(part.place, origin=(x + dx, y + dy, z + dz)))


def first(*roles, **about):
    return next(
        p for p in demo_deck("terrace").parts if p.role in roles and all(getattr(p, k) == v for k, v in about.items())
    )


def cut(part, by):
    """The piece with `by` inches sawn off its far end along local x."""
    low, high = (f(x for x, _ in part.shape.outline) for f in (min, max))
    ring = [(min(x, high - by), y) for x, y in part.shape.outline]
    assert low < high - by
    return (
        Workshop()
        .prism(part.role, part.stock, ring, part.shape.thickness, part.place, where=part.where, stair=part.stair)
        .replaced(mark=part.mark, id=part.id, carried_by=part.carried_by)
    )


def test_a_sound_deck_has_one_row_met_for_each_kind():
    results = checked(demo_deck("terrace"), demo_measured("terrace"))
    kinds = [kind for kind in rules.FAULT_KINDS if kind != rules.JOINT_BEARS]  # no board of it is joined
    assert [(r.rule, r.result) for r in results] == [(kind, "met") for kind in kinds]


def test_a_stair_run_into_the_deck_is_one_row():
    rows = [r for r in tampered(lambda p: moved(p, dy=12.0) if p.stair == 0 else p) if r.rule == rules.OVERLAP]
    (row,) = [r for r in rows if "stair 1 and the deck" in worded(r.place)]
    assert len(row.ids) > 2 * rules.RUN_INTO and "the greatest of" in worded(row.why)
    assert not [r for r in rows if r is not row]


def test_two_solids_in_one_place():
    baluster = first("baluster")
    rows = tampered(lambda p: moved(p, dz=0.5) if p is baluster else p)
    assert [r.rule for r in rows] == [rules.OVERLAP]
    # 1-1/2 in square and half an inch into the rail above it
    assert rows[0].measured == pytest.approx(1.5 * 1.5 * 0.5, abs=1e-6) and baluster.id in rows[0].ids


def test_a_piece_carried_by_nothing():
    cap = first("post cap")
    rows = tampered(lambda p: p.replaced(carried_by=()) if p is cap else p)
    assert [(r.rule, r.ids) for r in rows] == [(rules.CARRIED, (cap.id,))]


def test_pieces_that_carry_each_other_hang_in_the_air():
    a, b = [p for p in demo_deck("terrace").parts if p.role == "post cap"][:2]
    rows = tampered(lambda p: p.replaced(carried_by=(b.id if p is a else a.id,)) if p in (a, b) else p)
    assert {r.rule for r in rows} == {rules.CARRIED} and {i for r in rows for i in r.ids} == {a.id, b.id}


def test_a_board_end_without_support():
    boards = [p for p in demo_deck("terrace").parts if p.role == "board"]
    board = min(boards, key=lambda p: abs(p.box[0, 1] - 80.0))  # away from the blocks of the corner posts
    rows = tampered(lambda p: cut(p, 4.0) if p is board else p)
    assert [r.rule for r in rows] == [rules.BOARD_END] and rows[0].ids == (board.id,)


def test_a_tread_end_without_support():
    treads = [p for p in demo_deck("terrace").parts if p.role == "tread"]
    stringer = max((p for p in demo_deck("terrace").parts if p.role == "stringer"), key=lambda p: p.box[0, 0])
    rows = tampered(lambda p: None if p is stringer else p)
    assert {r.rule for r in rows} == {rules.TREAD_END, rules.CARRIED}  # its skirt and posts hang in the air too
    assert {i for r in rows if r.rule == rules.TREAD_END for i in r.ids} == {t.id for t in treads}


def test_a_joist_that_stops_short():
    joist = max((p for p in demo_deck("terrace").parts if p.role == "joist"), key=lambda p: p.shape.polygon.area)
    rows = tampered(lambda p: cut(p, 3.0) if p is joist else p)
    assert rules.MEMBER_END in {r.rule for r in rows}
    assert any(joist.id in r.ids for r in rows if r.rule == rules.MEMBER_END)


def test_a_rail_that_stops_short_of_its_post():
    rail = first("bottom rail", stair=None)
    (row,) = [r for r in tampered(lambda p: cut(p, 0.5) if p is rail else p) if r.rule == rules.RAIL_END]
    # 1-1/2 by 3-1/2 in, of which half has to bear
    assert row.ids == (rail.id,) and row.measured == 0 and row.limit == pytest.approx(1.5 * 3.5 / 2)
    aside = moved(rail, *(2.0 * x for x in rail.place.y[:2]))  # half an inch of it is left on the 3-1/2 in post
    (row, *_) = [r for r in tampered(lambda p: aside if p is rail else p) if r.rule == rules.RAIL_END]
    assert row.measured == pytest.approx(3.5 * 0.5) and set(row.ids) > {rail.id}


def test_a_joist_that_meets_its_neighbours_along_a_line():
    joist = max((p for p in demo_deck("terrace").parts if p.role == "joist"), key=lambda p: p.shape.polygon.area)
    rows = tampered(lambda p: moved(p, dz=-9.25) if p is joist else p)
    assert any(r.rule == rules.LINE and joist.id in r.ids for r in rows)


def test_a_bay_wider_than_the_spacing():
    deck = demo_deck("terrace")
    frame = deck.parameters.frame.model_copy(update={"joist_spacing": 15.0})
    results = checked(Deck(deck.parameters.model_copy(update={"frame": frame}), deck.levels, deck.parts))
    rows = [r for r in results if r.result == "not met"]
    assert {r.rule for r in rows} == {rules.BOARD_SPAN}
    assert all(r.measured == pytest.approx(14.5, abs=0.01) for r in rows)  # 16 in on centre less 1-1/2 in


@pytest.mark.parametrize(("spacing", "result"), [(8, "met"), (16, "not met")])
def test_boards_that_lean_further_than_rows_are_published_to(spacing, result):
    """At 53 degrees over joists given as 8 in apart they span 6.5 / cos(53) = 10.8 in, and lumber of their thickness,
    12 in apart at 45 degrees (IRC R507.7), 10.5 / cos(45) = 14.8 in; over joists given as 16 in apart 24.1 in."""
    file = {"outline": {"width": 150, "depth": 112}, "levels": {"surface": 20}, "frame": {"joist_spacing": spacing}}
    surface = {"material": "pvc board", "board_thickness": 1.0, "direction": 53}
    rows = [
        r for r in checked(build(Parameters.model_validate({**file, "surface": surface}))) if r.rule == rules.BOARD_SPAN
    ]
    assert {r.result for r in rows} == {result}


def test_treads_wider_than_their_stringers():
    deck = demo_deck("terrace")
    stair = [deck.parameters.stair[0].model_copy(update={"stringer_spacing": 8.0})]
    results = checked(Deck(deck.parameters.model_copy(update={"stair": stair}), deck.levels, deck.parts))
    assert {r.rule for r in results if r.result == "not met"} == {rules.TREAD_SPAN}


def test_a_base_half_off_its_footing():
    footing = first("footing")
    rows = tampered(lambda p: moved(p, dx=footing.shape.circle) if p is footing else p)
    assert rules.FOOTING in {r.rule for r in rows} and {r.rule for r in rows} <= {rules.FOOTING, rules.OVERLAP}


def test_wood_in_the_ground():
    deck = demo_deck("terrace")
    planes = dataclasses.replace(deck.layout.planes, slope_y=-0.05)  # the ground rises towards the foot of the stair
    layout = dataclasses.replace(deck.layout, planes=planes)
    results = checked(Deck(deck.parameters, (layout,), deck.parts))
    rows = [r for r in results if r.result == "not met"]
    assert {r.rule for r in rows} == {rules.GROUND}
    stringers = [i for r in rows for i in r.ids if i.startswith("S") and not i.startswith("SK")]
    assert len(stringers) == sum(p.role == "stringer" for p in deck.parts)


def test_a_post_base_in_the_ground():
    """Half an inch under level grade, with its concrete and nothing else."""
    sunk = first("post base")
    rows = tampered(lambda p: moved(p, dz=-sunk.box[0, 2] - 0.5) if p is sunk else p)
    (row,) = [r for r in rows if r.rule == rules.BASE_IN_GROUND]
    assert row.ids == (sunk.id,) and row.measured == pytest.approx(0.5)
    assert rules.GROUND not in {r.rule for r in rows}
