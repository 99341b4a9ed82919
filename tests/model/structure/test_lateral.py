"""Wind, braces and hold-downs against published numbers and statics.

Kz: ASCE 7-16 Table 26.10-1, from memory. The brace's force and the post's moment: `bracing_lateral.csv` of the
standards (derived there by statics). Decks and sizes are invented.
"""

from __future__ import annotations

import numpy as np
import Pynite
import pytest
from braced_deck import deck_of

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.design.advised import checked_with_mends
from plumbcut.model.measuring.braces_seen import braces_seen
from plumbcut.model.measuring.hold_downs import from_ends, tied_back
from plumbcut.model.solid.part import Workshop
from plumbcut.model.strength.beams import Beam
from plumbcut.model.strength.wind import exposure_factor, force_factor, velocity_pressure
from plumbcut.model.structure.braced_members import BEAM_BENT, BEAM_SHEARED, POST_BENT, along_beam, brace_loads
from plumbcut.model.structure.lateral import Wind, brace_force, braced_lines, couple, push, sway
from plumbcut.model.structure.structure import analyse
from plumbcut.shared.stock import lumber


@pytest.mark.parametrize(
    ("exposure", "by_height"),
    [
        ("B", {8: 0.57, 15: 0.57, 20: 0.62, 25: 0.66, 30: 0.70}),
        ("C", {8: 0.85, 15: 0.85, 20: 0.90, 25: 0.94, 30: 0.98}),
        ("D", {8: 1.03, 15: 1.03, 20: 1.08, 25: 1.12, 30: 1.16}),
    ],
)
def test_velocity_pressure_coefficients_of_the_table(exposure, by_height):
    """The table is rounded, at 25 ft from further than half a hundredth."""
    assert {z: exposure_factor(exposure, z) for z in by_height} == pytest.approx(by_height, abs=0.0085)


def test_pressure_grows_with_the_square_of_the_speed():
    assert velocity_pressure("C", 115, 12) == pytest.approx(0.00256 * 0.849 * 0.85 * 115**2, rel=1e-3)
    assert velocity_pressure("C", 230, 12) == pytest.approx(4 * velocity_pressure("C", 115, 12))


def test_open_guards_take_less_for_what_is_solid_of_them_than_sparse_ones():
    assert [force_factor(s).value for s in (0.05, 0.2, 0.5, 1.0)] == [2.0, 1.8, 1.6, 2.0]


def test_wind_on_one_board_by_hand():
    """A board 10 ft long and 11-1/4 in high, square to the wind, and edge on."""
    board = Workshop().box_along("rim", lumber("2x12"), (0, 0, 40), (120, 0, 40), (0, 0, 1), 11.25, 1.5)
    wind = Wind("B", 115.0)
    q = velocity_pressure("B", 115, 15)
    face, end = (push([board], np.array(w), wind, None).pounds for w in ([0.0, 1.0], [1.0, 0.0]))
    assert face == pytest.approx(0.6 * q * 0.85 * 2.0 * 120 * 11.25 / 144)
    assert end == pytest.approx(0.6 * q * 0.85 * 2.0 * 1.5 * 11.25 / 144)


def test_the_force_along_a_brace_and_what_it_bends_the_post_by():
    assert brace_force(200, 96, 24) == pytest.approx(1131, abs=0.5)
    assert 200 * (96 - 24) == 14400


def test_the_couple_of_two_hold_downs_balances_the_sway_about_the_ledger():
    area, deep, apart = 130.0, 120.0, 150.0
    each = couple(sway(area), deep / 2, apart)
    assert sway(area) == 12 * area and each * apart == pytest.approx(sway(area) * deep / 2)


def test_wind_on_a_braced_deck_reaches_brace_and_post():
    deck = deck_of(local={"wind_exposure": "C", "wind_speed_mph": 120})
    found = analyse(deck).of("knee brace")
    assert {r.ids[0] for r in found} == {p.id for p in deck.roles("knee brace")}
    u = deck.members[0].u
    wind = push(deck.parts, np.array([1.0, 0.0]), Wind("C", 120.0), deck.planes.grade)
    lines = {l.label: l.value for l in found[0].calculation[0].lines}
    depth = 146 + deck.parameters.surface.overhang + deck.parameters.trim.thickness  # surface, front to back
    ledger, beam = 146 - 0.75, deck.layout.runs[0].start[1]
    share = ((ledger + beam) / 2 + (depth - 146)) / depth
    assert lines["push at the post V"] == pytest.approx(wind.pounds * share / 2, rel=0.01)
    height, leg = (next(f.value for f in found[0].facts if f.label == n) for n in ("post", "leg"))
    assert lines["force along the brace"] == pytest.approx(brace_force(lines["push at the post V"], height, leg))
    bent = next(v for v in found[0].calculation if v.check.startswith("bending"))
    assert bent.demand == pytest.approx(lines["push at the post V"] * (height - leg) / (5.5**3 / 6), rel=1e-6)
    assert u is not None


def test_without_a_stated_wind_no_brace_is_calculated():
    assert not analyse(deck_of()).of("knee brace")


@pytest.mark.parametrize(("given", "count", "result"), [(1500, 2, "met"), (800, 4, "met"), (600, 4, "not met")])
def test_hold_downs_two_large_or_four_small(given, count, result):
    deck = deck_of(hardware={"hold_down_lb": given})
    tied = tied_back(deck.parts, deck.contacts, count)
    assert len(tied) == count and from_ends(tied, deck.parts, deck.contacts)[0] <= 24
    rows = {r.rule: r for r in checked_with_mends(deck)}
    assert rows["lateral load connection"].result == result
    assert len(rows["lateral load connection"].ids) == count and rows["hold-downs near the ends"].result == "met"


def test_a_wind_that_asks_more_than_the_published_hold_down_decides():
    deck = deck_of(hardware={"hold_down_lb": 1500}, local={"wind_exposure": "D", "wind_speed_mph": 250})
    found = next(r for r in checked_with_mends(deck) if r.rule == "lateral load connection")
    assert found.result == "not met" and found.limit > 1500 and "hardware.hold_down_lb" in str(found.why)


@pytest.mark.parametrize("spacing", [12, 16, 19.2, 24])
def test_the_outermost_are_within_24_in_of_the_ends_whatever_the_spacing(spacing):
    deck = deck_of(frame={"joist_spacing": spacing})
    assert from_ends(tied_back(deck.parts, deck.contacts, 2), deck.parts, deck.contacts)[0] <= 24


def test_a_ledger_along_the_joists_ties_none_back():
    """An L round a corner of the house, its first house edge along the joists of the wing beside it."""
    corners = [[0, 0], [230, 0], [230, 150], [110, 150], [110, 80], [0, 80]]
    edges = ["front", "right", "back", "side", "inner", "left"]
    deck = deck_of(outline={"points": corners, "edges": edges, "house": ["side", "inner"]})
    tied = tied_back(deck.parts, deck.contacts, 2)
    assert len(tied) == 2 and from_ends(tied, deck.parts, deck.contacts)[0] <= 24


def test_joists_askew_to_their_ledger_are_tied_back_where_they_meet_it():
    """A wall askew to the joists: those nearest 12 in from either end of the ledger, by where they end at it."""
    corners = [[0, 0], [230, 0], [230, 170], [0, 110]]
    edges = ["front", "right", "back", "left"]
    deck = deck_of(
        outline={"points": corners, "edges": edges, "house": ["back"]},
        frame={"joist_direction": "y", "beam_lines": [30, 84]},
    )
    (ledger,) = deck.roles("ledger")
    u = np.array([230.0, 60.0]) / np.hypot(230, 60)
    low, high = (float(f(ledger.vertices[:, :2] @ u)) for f in (np.min, np.max))

    def met_at(joist):
        """The middle of the end at the wall: of the vertices in plan that lie furthest along the joist."""
        top = joist.vertices[joist.vertices[:, 1] > joist.vertices[:, 1].max() - 1.0]
        return float(np.mean(top[:, :2] @ u))

    hung = {k.a.id for k in deck.contacts if k.kind == "end" and k.a.role == "joist" and k.b.id == ledger.id}
    at = {i: met_at(deck.by_id[i]) for i in hung}
    wanted = {min(at, key=lambda i: abs(at[i] - end)) for end in (low + 12, high - 12)}
    assert len(wanted) == 2
    tied = tied_back(deck.parts, deck.contacts, 2)
    assert {p.id for p in tied} == wanted
    far, apart = from_ends(tied, deck.parts, deck.contacts)
    first, last = sorted(at[i] for i in wanted)
    assert far == pytest.approx(max(first - low, high - last), abs=0.5) and apart == pytest.approx(
        last - first, abs=0.5
    )


def test_what_a_brace_asks_of_its_ends_and_lifts_the_beam_by_is_told():
    """At 45 degrees the brace's upward part is V H / leg, what it takes across (statics)."""
    wind = {"wind_exposure": "C", "wind_speed_mph": 120}
    for given, result in ((None, "not checked"), (200, "not met"), (9000, "met")):
        hardware = {} if given is None else {"uplift_lb": given}
        found = analyse(deck_of(local=wind, hardware=hardware)).of("knee brace")[0]
        by_name = {v.check: v for v in found.calculation}
        pulled, lifted = by_name["fastening of the brace"], by_name["uplift by the brace"]
        assert pulled.demand == pytest.approx(lifted.demand * 2**0.5) and pulled.result == "not checked"
        assert lifted.result == result


def test_the_sway_of_people_is_the_greater_of_both_ways():
    """A wide shallow deck: away from the house 12 psf over two hold-downs is more than the couple along it."""
    corners = [[0, 0], [300, 0], [300, 90], [0, 90]]
    edges = ["front", "right", "back", "left"]
    deck = deck_of(outline={"points": corners, "edges": edges, "house": ["back"]})
    found = next(r for r in checked_with_mends(deck) if r.rule == "lateral load connection")
    area = analyse(deck).path.surface_sqft
    assert f"{12 * area / 2:,.0f} lb each" in worded(found.why)


def _frame(deck, length, xs, depth, line):
    """Greatest moments of a beam in a frame by Pynite: posts pinned at their feet and under the beam, braces pinned at
    both ends, the beam's axis half its depth over them, pushed along its axis; wind alone."""
    model = Pynite.FEModel3D()
    model.add_material("wood", 1.3e6, 0.5e6, 0.3, 0.0)
    for name, b, d in (("beam", 3.0, depth), ("post", 5.5, 5.5), ("rigid", 40.0, 40.0)):
        model.add_section(name, b * d, b * d**3 / 12, b * d**3 / 12, b * d**3)
    brace, height = line.braces[0], line.height(line.braces[0])
    ends = {along_beam(line.m, b): line.m.position(b.posts[0].plan_middle) for b in line.braces}
    at = sorted({0.0, length, *xs, *(x for x, _ in ends)})
    for k, x in enumerate(at):
        model.add_node(f"b{k}", x, height + depth / 2, 0)
        alone = x in xs and all(abs(x - post) > 0.1 for post in ends.values())  # on a post without braces
        model.def_support(f"b{k}", False, alone, True, True, True, False)
    for k in range(len(at) - 1):
        model.add_member(f"b{k}", f"b{k}", f"b{k + 1}", "wood", "beam")

    def under(x):  # a stiff stub down to the beam's underside
        k = at.index(x)
        model.add_node(f"u{k}", x, height, 0)
        model.def_support(f"u{k}", False, False, True, True, True, False)
        model.add_member(f"s{k}", f"b{k}", f"u{k}", "wood", "rigid")
        return f"u{k}"

    for n, ((x, _), post) in enumerate(ends.items()):
        model.add_node(f"f{n}", post, 0, 0)
        model.def_support(f"f{n}", True, True, True, True, True, False)
        model.add_node(f"j{n}", post, height - brace.leg, 0)
        model.def_support(f"j{n}", False, False, True, True, True, False)
        model.add_member(f"p{n}", f"f{n}", f"j{n}", "wood", "post")
        model.add_member(f"t{n}", f"j{n}", under(post), "wood", "post")
        model.def_releases(f"t{n}", Rzj=True)
        model.add_member(f"k{n}", f"j{n}", under(x), "wood", "post")
        model.def_releases(f"k{n}", Rzi=True, Rzj=True)
    model.add_node_load(f"b{len(at) // 2}", "FX", line.each * len(line.braces))
    model.analyze_linear()
    every = [model.members[f"b{k}"].moment("Mz", x) for k in range(len(at) - 1)
             for x in (1e-6, model.members[f"b{k}"].L() - 1e-6)]  # fmt: skip
    return max(map(abs, every))


def test_what_braces_bend_a_beam_by_is_that_of_a_frame_by_a_second_solver():
    """The isolated beam under the braces' pounds and couples against the whole frame: posts, braces and beam."""
    deck = deck_of()
    found = analyse(deck)
    (line,) = braced_lines(deck.parts, deck.contacts, found.path.members, Wind("C", 120.0), deck.planes.grade)
    m = line.m
    on = brace_loads(m, [(b, line.across(b)) for b in line.braces], line.each)
    xs = sorted(s.x for s in m.supports)
    alone = Beam(m.length, xs).solve(on.loads(m, 1.0, turning=True))
    mine = abs(alone.at(alone.grid())[1]).max()
    assert len(line.braces) == 2 and mine == pytest.approx(_frame(deck, m.length, xs, m.depth, line), rel=0.03)


def test_a_beam_and_a_post_are_held_with_wind_beside_what_they_carry():
    """Without load the combination is the wind's alone; with it no less than dead load and wind at 1.6 times."""
    deck = deck_of(local={"wind_exposure": "C", "wind_speed_mph": 120})
    found = analyse(deck)
    beam = next(r for r in found.of("beam") if any(v.check == BEAM_BENT for v in r.calculation))
    by = {v.check: v for v in beam.calculation}
    plain = max(by[c].ratio for c in ("bending, sagging", "bending, hogging"))
    assert 0.75 * plain / 1.6 < by[BEAM_BENT].ratio < by[BEAM_BENT].demand
    assert by[BEAM_SHEARED].ratio > 0.75 * by["shear"].ratio / 1.6
    for r in found.of("knee brace"):
        told = {v.check: v for v in r.calculation}
        assert told[POST_BENT].demand > told["bending by the brace"].ratio * 0.75
        (brace,) = (b for b in braces_seen(deck.parts, deck.contacts) if b.part.id == r.ids[0])
        post = next(p for p in found.of("post") if p.ids[0] == brace.posts[0].id)
        p = next(l.value for l in told[POST_BENT].lines if l.label == "axial load P")
        assert p > 10 * next(f.value for f in post.facts if f.label == "tributary area")
