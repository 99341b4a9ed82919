"""Stairs of one step: from a deck to the ground, between landings; landings of concrete where a frame would stand in
the ground. The geometry by hand; limits by the rows of the rules."""

from functools import cache

import pytest

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.deck import Deck, build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.deck_seen import DeckSeen
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.order.fasteners import fasteners, in_rows
from plumbcut.model.rules.check_result import Checking
from plumbcut.model.rules.check_solids import check_solids
from plumbcut.model.rules.check_stairs import check_stairs

WOOD_OF_A_FLIGHT = ("stringer", "tread", "skirt", "tread blocking", "stair header")


@cache
def _deck(height: float, landings: str, slope: float, joist: str, risers: str, fascia: bool, handrail: str) -> Deck:
    stops = [dict(zip(("after_risers", "turn"), (int(t.split()[0]), t.split()[1]))) for t in landings.split(",") if t]
    stair = {"edge": "front", "landings": stops, "risers": risers, "handrail": handrail}
    return build(
        Parameters.model_validate(
            {
                "outline": {"width": 150, "depth": 100},
                "levels": {"surface": height, "slope_y": slope},
                "frame": {"joist": joist},
                "trim": {"fascia": fascia},
                "stair": [stair],
            }
        )
    )


def deck(height, landings="", slope=0.0, joist="2x8", risers="closed", fascia=True, handrail="auto") -> Deck:
    return _deck(height, landings, slope, joist, risers, fascia, handrail)


def seen(d: Deck) -> DeckSeen:
    return DeckSeen(measure_all(d.parts), lambda: d.members, d.planes.grade)


def checked(d: Deck) -> dict[str, list]:
    c = Checking(d, measure_all(d.parts))
    check_stairs(c)
    found: dict[str, list] = {}
    for r in c.results:
        found.setdefault(r.rule, []).append(r)
    return found


def faults(d: Deck) -> list[str]:
    c = Checking(d, measure_all(d.parts))
    check_solids(c)
    return [f"{r.rule} | {worded(r.place)} | {worded(r.why)}" for r in c.results if r.result == "not met"]


def test_one_step_off_a_deck_is_its_own_edge_and_a_pad():
    """7-1/2 in: one rise, no wood but the riser board, from the frame's top (6-1/2 in) down to the pad's (0)."""
    d = deck(7.5, joist="2x6")
    assert not d.roles(*WOOD_OF_A_FLIGHT) and not faults(d)
    (riser,), (pad,) = d.roles("riser"), d.roles("pad")
    assert riser.box[:, 2] == pytest.approx([0.0, 6.5]) and riser.carried_by
    assert pad.box[1, 2] == pytest.approx(0.0)
    # the pad lies before the trim board: an expansion joint of 1/2 in, common practice, no source
    assert pad.box[1, 1] == pytest.approx(riser.box[0, 1] - 0.5)
    (flight,) = seen(d).flights(0)
    assert flight.rises == pytest.approx([7.5]) and flight.name == "stair 1" and not flight.goings
    assert flight.sides[1] - flight.sides[0] == pytest.approx(42.0)


def test_the_one_riser_and_its_landings_are_checked():
    """IRC R311.7.5.1 (rise) and R311.7.6 (landings), by the rows; what is measured of treads is not there."""
    found = checked(deck(7.5, joist="2x6"))
    (rise,) = found["rise"]
    assert rise.measured == pytest.approx(7.5) and rise.result == "met"
    foot, top = found["landing length"]
    assert foot.measured == pytest.approx(40.0) and top.measured >= 72.0
    assert not {"going (run)", "rises alike", "goings alike", "stringer stock", "guard needed on a stair"} & set(found)
    (needed,) = found["handrail needed"]
    assert worded(needed.why) == "1 riser: none needed"


def test_a_step_too_high_is_drawn_and_not_met():
    """8-1/2 in asked for as one rise: drawn, and over the published 7-3/4 in."""
    d = build(
        Parameters.model_validate(
            {
                "outline": {"width": 150, "depth": 100},
                "levels": {"surface": 8.5},
                "frame": {"joist": "2x6"},
                "stair": [{"edge": "front", "rise": 9}],
            }
        )
    )
    (rise,) = checked(d)["rise"]
    assert rise.measured == pytest.approx(8.5) and rise.result == "not met"


@pytest.mark.parametrize("risers, fascia, board, clear", [("open", True, "fascia", 0.0), ("open", False, None, 1.0)])
def test_the_edge_closes_an_open_step(risers, fascia, board, clear):
    """The rim stands behind the edge: its bare 5-1/2 in leave one inch of 6-1/2 in open, its trim none."""
    d = deck(7.5, joist="2x6", risers=risers, fascia=fascia)
    assert [p.role for p in d.parts if p.stair == 0] == ["pad", *([board] if board else [])]
    (row,) = checked(d)["open riser"]
    assert row.measured == pytest.approx(clear, abs=1e-3) and not faults(d)


def test_one_step_gets_no_handrail_even_where_one_is_asked_for():
    assert not deck(7.5, joist="2x6", handrail="both").roles("handrail")


def test_the_riser_of_one_step_is_screwed_to_the_rim():
    """In rows as the fascia is, which is left out: without the riser no such screw is bought."""
    kinds = deck(7.5, joist="2x6"), deck(7.5, joist="2x6", risers="open", fascia=False)
    counts = []
    for d in kinds:
        bought = {h.rule.item: h.places for h in fasteners(measure_all(d.parts), d.contacts)}
        fascia = sum(in_rows("fascia screw", m.length) for m in measure_all(d.parts) if m.role == "fascia")
        counts.append(bought.get("fascia screw", 0) - fascia)
    assert counts[0] > 0 and counts[1] == 0


@pytest.mark.parametrize("turn", ["straight", "left", "right"])
def test_a_landing_one_step_above_grade_is_concrete(turn):
    """60 in in 8 rises, a landing after 7: its frame of 7-1/4 in would stand 3/4 in in the ground."""
    d = deck(60, f"7 {turn}")
    assert [f.risers for f in d.layout.stair_plans[0].flights] == [7, 1]
    landing = next(p for p in d.roles("pad") if p.where == "stair 1 landing 1")
    assert landing.box[:, 2] == pytest.approx([0.0, 7.5])  # from grade up to the landing's level
    assert not [p for p in d.roles("post", "joist", "rim") if p.stair == 0]
    feet = [p for p in d.roles("stringer") if landing.id in p.carried_by]
    assert len(feet) == len(d.roles("stringer")) > 0
    assert [f.rises for f in seen(d).flights(0)] == [pytest.approx([7.5] * 7), pytest.approx([7.5])]
    assert not faults(d)
    assert any("a concrete pad" in worded(n) for n in d.notes)


@pytest.mark.parametrize("stops", ["3 straight,4 straight", "3 straight,4 left", "3 left,4 straight", "3 left,4 right"])
def test_a_landing_one_step_above_another(stops):
    """The upper landing's rim is the riser: the lower one's frame begins at it, and guards share the post there."""
    d = deck(60, stops)
    assert [f.risers for f in d.layout.stair_plans[0].flights] == [3, 1, 4]
    flights = seen(d).flights(0)
    assert [len(f.rises) for f in flights] == [3, 1, 4]
    assert [f.top.level for f in flights[1:]] == pytest.approx([f.foot for f in flights[:-1]])
    assert not faults(d)


def test_a_landing_one_step_below_the_deck():
    d = deck(60, "1 straight")
    assert [f.risers for f in d.layout.stair_plans[0].flights] == [1, 7]
    assert [f.name for f in seen(d).flights(0)] == ["stair 1 flight 1", "stair 1 flight 2"]
    assert not faults(d)


@pytest.mark.parametrize("turn", ["straight", "left"])
def test_a_stair_down_a_slope_goes_on_from_a_landing_of_concrete(turn):
    """A flight reaches the ground on a steep slope and goes on: its stringers hang on a header that lies against the
    concrete, and none of that lies in the steps or rails beyond."""
    d = deck(36, f"5 {turn}", slope=0.25)
    landing = next(p for p in d.roles("pad") if p.where == "stair 1 landing 1")
    lower = [p for p in d.roles("stringer") if "flight 2" in p.where]
    assert lower
    headers = {p.id for p in d.roles("stair header") if landing.id in p.carried_by}
    assert headers and all(headers & set(p.carried_by) for p in lower)
    assert landing.box[0, 2] <= min(p.box[0, 2] for p in lower) + 24 and not d.clashes
    assert not [t for t in faults(d) if not t.startswith("wood in the ground")]


def test_a_landing_where_the_stair_ends_is_its_pad():
    """60 in is eight rises: a landing after the eighth lies at grade."""
    d = deck(60, "8 straight")
    plan = d.layout.stair_plans[0]
    assert [f.risers for f in plan.flights] == [8] and not plan.landings
    assert any("it is the pad at its foot" in worded(n) for n in d.notes)


def test_a_guarded_stair_whose_first_flight_is_one_step_is_checked():
    """A flight of one riser has a single nosing and no pitch: its width is read beside that level."""
    stair = {"edge": "front", "landings": [{"after_risers": 1}]}
    outline = {"width": 138, "depth": 112, "house": ["back"]}
    deck = build(Parameters.model_validate({"outline": outline, "levels": {"surface": 62}, "stair": [stair]}))
    rows = checked(deck)["stair width"]
    assert len(rows) == 2 and {r.result for r in rows} == {"met"}


def test_the_lip_of_a_landing_on_the_ground_does_not_end_the_landing_below_it():
    """From a landing of concrete one steps to its side: the concrete goes on 6 in (stair.pad.side) beside the step, and
    the pad stepped onto, 40 in long, is cut round it."""
    d = build(
        Parameters.model_validate(
            {
                "outline": {"width": 207, "depth": 161},
                "levels": {"surface": 71},
                "stair": [{"edge": "left", "landings": [{"after_risers": 9, "depth": 39, "turn": "left"}]}],
            }
        )
    )
    upper, lower = sorted(d.roles("pad"), key=lambda p: -p.box[1, 2])
    assert lower.box[1, 1] - upper.box[0, 1] == pytest.approx(5.5)  # 6 in less the joint
    foot = [r for r in checked(d)["landing length"] if str(r.place).endswith("at the foot")][-1]
    assert foot.result == "met" and foot.measured == pytest.approx(40.0)
