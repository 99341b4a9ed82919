"""What holds the frame together: nails of a rim, the ledger's fasteners, bought connectors by what the file gives."""

from __future__ import annotations

from dataclasses import replace

import pytest
from plain_frame import frame, line_of, loads, verdict_of

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.deck import build
from plumbcut.model.input.connectors import Hardware
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.rules.checks import check_deck
from plumbcut.model.strength.nds import Lumber
from plumbcut.model.structure.ledger_checks import line_load
from plumbcut.model.structure.structure import analyse, analyse_parts

SP = Lumber()  # southern pine No.2, wet


def analysed(design=None, edition="IRC 2021", **given):
    parts, touching = frame()
    return analyse_parts(parts, touching, design or loads(), SP, edition, hardware=Hardware(**given))


def test_the_nails_of_a_rim_hold_what_the_yield_equations_give_three_of_them():
    """The front rim lies across joists past the beam and has no seat, guards stand on it. 101 lb a nail of 0.128 in,
    mode IV of NDS 12.3.1 by hand (D2 / 2.2 x root of 2 Fe Fyb / 6, Fe = 16600 G^1.84); x 0.7 wet, 0.67 in end grain."""
    fe = 16600 * 0.55**1.84
    z = 0.128**2 / 2.2 * (2 * fe * 100_000 / 6) ** 0.5 * 0.7 * 0.67
    seen = 0
    for r in analyse(deck_of()).of("rim"):
        for v in r.calculation:
            if v.check.startswith("nailing"):
                cd = 0.9 if v.combination == "D" else 1.0
                assert v.capacity == pytest.approx(3 * z * cd, rel=1e-3)
                assert v.result == ("met" if v.demand <= v.capacity else "not checked")
                seen += 1
    assert seen


def test_the_ledger_by_its_table_and_outside_it_by_the_yield_equations():
    """Joists of 8 ft and more at 40 psf: table R507.9.1.3(1) asks for lag screws 18 in apart or nearer (10 ft)."""
    [row] = analysed().of("ledger")[0].table
    assert row.check == "ledger fasteners" and row.result == "not checked"
    assert "hardware.ledger_spacing" in worded(row.why) and "by calculation" in worded(row.why)
    for spacing, result in ((18.0, "met"), (18.5, "not met")):
        [row] = analysed(ledger_fastener="lag screw", ledger_spacing=spacing).of("ledger")[0].table
        assert (row.check, row.result, row.limit) == ("ledger, lag screw", result, 18.0)
    assert "18 in on centre would do" in worded(row.why)
    # no table for 80 psf: a bolt of 1/2 in, wet, 0.7 x 252 lb (southern pine, 1-1/2 in into 1-1/2 in, from memory)
    heavy = analysed(loads(live=80), ledger_fastener="bolt", ledger_spacing=12).of("ledger")[0]
    v = verdict_of(heavy, "ledger, bolt")
    assert not heavy.table and v.capacity == pytest.approx(0.7 * 252, rel=0.01)
    line = next(f.value for f in heavy.facts if f.label == "line load")
    assert v.demand == pytest.approx(line) and v.result == "not met"
    near = float(worded(v.why).split(" in on")[0])
    again = verdict_of(
        analysed(loads(live=80), ledger_fastener="bolt", ledger_spacing=near).of("ledger")[0], "ledger, bolt"
    )
    assert again.result == "met"


def test_a_lag_screw_that_goes_into_too_little_wood_is_not_judged_outside_the_table():
    """4 D of a lag screw of 1/2 in (NDS, from memory) are more than a band joist of 1-1/2 in."""
    [row] = analysed(loads(live=80), ledger_fastener="lag screw", ledger_spacing=6).of("ledger")[0].table
    assert row.result == "not checked" and "bolt" in worded(row.why) and "lag" not in worded(row.why)


def test_more_on_one_lag_screw_than_any_row_of_the_table_puts_there_is_not_met():
    """18 ft of joist at 10 in, or 6 ft at 30 in: about 385 lb a lag screw, as the published rows imply."""
    heavy = analysed(loads(live=80), ledger_fastener="lag screw", ledger_spacing=30).of("ledger")[0]
    v = verdict_of(heavy, "ledger, lag screw")
    line = next(f.value for f in heavy.facts if f.label == "line load")
    assert v.demand == pytest.approx(line * 30 / 12) and v.result == "not met"
    assert v.capacity == pytest.approx(385, rel=0.05) and "bolt" in worded(v.why)


def deck_of(**hardware):
    given = {"outline": {"width": 150, "depth": 122}, "levels": {"surface": 40}, "hardware": hardware}
    return build(Parameters.model_validate(given))


def rows_of(deck, rule):
    return [r for r in check_deck(deck) if r.rule == rule]


def test_a_guard_pulls_at_the_ledgers_lag_screws():
    """200 lb on the front guard (Table R301.5) on one screw, its thread in 1-1/2 in of band: 437 lb an inch (NDS Table
    12.2A, G 0.55, seen) x 0.7 wet. Bolts go through, and side guards pull along the house."""
    deck = deck_of()
    [r] = analyse(deck).of("ledger")
    v = verdict_of(r, "pull of a guard")
    assert (v.demand, v.result) == (200, "met") and v.capacity == pytest.approx(437 * 1.5 * 0.7, rel=2e-3)
    front = next(p.id for p in deck.parts if p.role == "rim" and p.edge == "front")
    assert "at post" in worded(v.lines[0].formula)
    sides = replace(deck, parts=[p for p in deck.parts if not (p.role == "guard post" and front in p.carried_by)])
    bolted = replace(deck, parameters=deck.parameters.model_copy(update={"hardware": Hardware(ledger_fastener="bolt")}))
    for other in (sides, bolted):
        assert not [v for v in analyse(other).of("ledger")[0].calculation if v.check == "pull of a guard"]


def test_hangers_and_guard_posts_are_judged_by_the_makers_values():
    """A joist in 16 in of a 10 ft deck brings half its span to its hanger: 50 psf x 16 / 12 x 4.5 to 5 ft."""
    [row] = rows_of(deck_of(), "joist hangers")
    demand = float(worded(row.why).split(" takes ")[1].split(" lb")[0])
    assert 0.8 * 50 * 16 / 12 * 4.5 < demand < 50 * 16 / 12 * 5.2 and row.result == "not checked"
    for allowed, result in ((demand + 1, "met"), (demand - 1, "not met")):
        [row] = rows_of(deck_of(joist_hanger_lb=allowed, guard_post_lb=2000), "load on a joist hanger")
        assert (row.result, row.limit) == (result, allowed) and row.measured == pytest.approx(demand, abs=0.6)
    assert "hardware.joist_hanger_lb" in worded(row.why)
    [post] = rows_of(deck_of(guard_post_lb=3000), "guard post attachment")
    assert (post.result, post.limit) == ("met", 3000) and 1500 < post.measured < 3000
    [post] = rows_of(deck_of(guard_post_lb=1500), "guard post attachment")
    assert post.result == "not met" and "hardware.guard_post_lb" in worded(post.why)
    turned = rows_of(deck_of(guard_post_lb=2000), "turning by a guard (calculation)")
    assert turned and {(r.result, r.limit, r.unit) for r in turned} == {("met", 2000, "lb")}


def test_the_rim_that_asks_for_more_nails_names_their_number():
    stair = {"edge": "front", "at": 60, "width": 40}
    given = {"outline": {"width": 150, "depth": 122}, "levels": {"surface": 40}, "stair": [stair]}
    for r in analyse(build(Parameters.model_validate({**given, "loads": {"live_psf": 300}}))).of("rim"):
        for v in r.calculation:
            if v.check.startswith("nailing") and v.demand > v.capacity:
                count = int(worded(v.why).split("drive ")[1].split(",")[0])
                each = line_of(v, "Z' of one 10d nail").value
                assert (count - 1) * each < v.demand <= count * each and "or hang it on a hanger" in worded(v.why)
                return
    raise AssertionError("no rim asks for more nails")


def test_the_nails_between_plies_pass_on_what_hangs_on_the_face_of_one():
    """Joists hung on a flush beam of two plies: half of their load passes, on 1-1/2 nails a foot (pairs 16 in apart,
    IRC R507.5, from memory). A drop beam under its joists passes nothing."""
    given = {"outline": {"width": 150, "depth": 122}, "levels": {"surface": 40}}
    flush = {"frame": {"beam_position": "flush", "beam_plies": 2}}
    s = analyse(build(Parameters.model_validate({**given, **flush})))
    found = [(r, v) for r in s.of("rim") for v in r.calculation if v.check == "nailing of plies"]
    assert found
    for _, v in found:
        each = line_of(v, "Z' of one 10d nail").value
        assert each == pytest.approx(101 * 0.7, rel=0.01) and v.capacity == pytest.approx(1.5 * each)
        joist = next(m for m in s.path.members if m.role == "joist")
        reaction = max(50 * joist.reactions.on(k).steady for k in range(2))
        assert v.demand == pytest.approx(reaction / (16 / 12) / 2, rel=0.15)
    drop = analyse(build(Parameters.model_validate(given)))
    assert not [v for r in drop.of("beam", "rim") for v in r.calculation if v.check == "nailing of plies"]


def test_what_comes_to_a_ledger_close_together_is_taken_where_most_of_it_is():
    """By hand: 8 lb and 329 lb, 2.4 in apart, come down 0.06 in before the second; with 300 lb 10.2 in before that and
    one more joist 16 in before, (8 + 329) x 12 / 10.14 lb a foot at the end."""
    middle = (8 * 247.8 + 329 * 250.2) / 337
    found = line_load([224.0, 240.0, 247.8, 250.2], [300.0, 300.0, 8.0, 329.0])
    assert found == pytest.approx(12 * 337 / (middle - 240)) == pytest.approx(398.7, abs=0.5)


def test_a_trifle_on_a_ledger_that_carries_less_than_its_table_spreads_asks_for_no_fastener():
    """A ledger along the joists, on which a rim and what stands on it bring a few pounds at one place: no foot of it
    has as much as the table's load, 50 psf on half of the joists that would bring what it has."""
    given = {
        "outline": {
            "points": [[0, 0], [251, 0], [251, 142], [133, 142], [133, 229], [0, 229]],
            "house": ["e3", "e4"],
        },
        "levels": {"surface": 57},
        "frame": {"joist": "2x10"},
    }
    along = next(r for r in analyse(build(Parameters.model_validate(given))).of("ledger") if r.where == "e4 edge")
    assert next(f.value for f in along.facts if f.label == "line load") < 50
    assert not [v for v in along.calculation if v.check == "load at one place"]


def test_a_ledger_on_which_no_joist_hangs_is_told_of_all_the_same():
    """A beam 4 in from the wall holds every joist there: what comes to the ledger is a rim under a side stair alone,
    and no span says how many fasteners that is worth."""
    deck = build(
        Parameters.model_validate(
            {
                "outline": {"width": 234, "depth": 196, "house": ["back"]},
                "levels": {"surface": 80},
                "frame": {"joist": "2x10", "beam": "2x8", "beam_lines": [9.0, 100.0, 192.0]},
                "stair": [{"edge": "left", "width": 44}],
            }
        )
    )
    (ledger,) = analyse(deck).of("ledger")
    (found,) = [v for v in ledger.calculation if v.check == "load at one place"]
    assert found.result == "not checked" and "come together at one place" in worded(found.why)
    assert not any("fasteners" in line.label for line in found.lines)
