"""Stringers against the published spans they were recomputed from, handbook beams and a second solver (Pynite)."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import Pynite
import pytest
import shapely
from plain_frame import line_of, loads, verdict_of

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.strength.beams import Load
from plumbcut.model.strength.nds import Lumber
from plumbcut.model.structure import cleat_checks, stringer_checks
from plumbcut.model.structure.stair_loads import stair_loads
from plumbcut.model.structure.structure import analyse

SP = Lumber()  # southern pine No.2, wet
E_WET = 1.4e6 * 0.9  # psi: NDS Supplement Table 4B, CM 0.9 (from memory)


def deck_with(surface, loads=None, **stair):
    given = {"outline": {"width": 260, "depth": 130}, "levels": {"surface": surface}, "loads": loads or {}}
    return build(Parameters.model_validate({**given, "stair": [{"edge": "front", "at": 60, "width": 36, **stair}]}))


def read(deck):
    return stringer_checks.stringers(deck.parts, deck.contacts)


def strips(s):
    return [l for l in s.loads if isinstance(l, Load)]


def like(s, length, strip, **sizes):
    """A stringer of another length under a strip of treads, both in inches, simply supported at its ends."""
    return replace(s, length=length, places=(0.0, length), loads=(Load(0.0, length, strip / 144),), **sizes)


@pytest.fixture(scope="module")
def stair():
    """Rises of 7-3/4 in, goings of 10 in, four stringers 11-1/2 in apart."""
    return deck_with(54.25, rise=7.75, going=10)


@pytest.fixture(scope="module")
def cut(stair):
    return read(stair)


@pytest.mark.parametrize(
    "feet, depth, strip",
    [(6.04, 5.124, 18.0), (13.26, 11.25, 18.0)],
    ids=["cut, throat of 7-3/4 over 10", "solid 2x12, two at 36 in"],
)
def test_the_published_spans_come_out_at_the_stress_they_were_recomputed_with(cut, feet, depth, strip):
    """DCA 6 figure: 6 ft 0 in and 13 ft 3 in; recomputed from 50 psf on 18 in and 625 psi, the weakest 2x12 (derived,
    from memory)."""
    s = like(cut[0], 12 * feet, strip, breadth=1.5, depth=depth)
    v = verdict_of_stringer(s, "bending, sagging")
    assert v.demand == pytest.approx(625, rel=0.003)
    assert line_of(v, "moment M").value == pytest.approx(75 * feet**2 / 8, rel=1e-6)  # w L2 / 8


def verdict_of_stringer(s, check, design=None):
    found = stringer_checks.check_stringer(s, SP, design or loads(), "DCA 6-2012")
    return next(v for v in found if v.check == check)


def test_a_stringer_has_the_section_of_its_throat_and_its_share_of_the_treads(stair, cut):
    """Notch of R T / sqrt(R2 + T2) square to the edge: 5.124 in of a 2x12 stay (derived). The strips add up to what the
    treads cover: 36 in, and 1-1/4 in beside on each side (skirts and overhang)."""
    assert len(cut) == 4 and all(s.cut for s in cut)
    for s in cut:
        assert (s.breadth, s.depth) == (1.5, pytest.approx(5.124, abs=0.002))
        assert s.cosine == pytest.approx(10 / np.hypot(10, 7.75), abs=1e-6)
    boxes = np.array([p.box for p in stair.parts if p.role == "tread"])
    deep = boxes[:, 1, 1].max() - boxes[:, 0, 1].min()
    assert 144 * sum(l.total for s in cut for l in s.loads) == pytest.approx(
        38.5 * deep, rel=0.02
    )  # less notches at posts
    assert {round(144 * l.w0, 2) for s in cut[1:-1] for l in strips(s)} == {11.5}  # four between 0.75 and 35.25 in


def sloping(s, psf, spans=()):
    """Greatest sagging and hogging moment, shear and deflection square to the slope of a sloping beam of `psf` on the
    stringer's unit loads on `spans` (all of them where none is named), by Pynite: held at the head, on rollers below.
    Point loads an inch apart stand for the treads."""
    model = Pynite.FEModel3D()
    model.add_material("wood", E_WET, E_WET, 0.3, 0.0)
    model.add_section("throat", s.breadth * s.depth, s.breadth * s.depth**3 / 12, s.breadth * s.depth**3 / 12, 1.0)
    tangent = np.tan(np.arccos(s.cosine))
    steps = np.unique(np.round([*np.arange(0, s.length, 1.0), s.length, *s.places], 6))
    for k, x in enumerate(steps):
        model.add_node(f"n{k}", x, -x * tangent, 0)
        if np.abs(np.array(s.places) - x).min() < 1e-6:
            model.def_support(f"n{k}", k == 0, True, True, True, False, False)
    loaded = [s.places[k : k + 2] for k in spans] or [(0.0, s.length)]
    for k, (a, b) in enumerate(itertools.pairwise(steps)):
        model.add_member(f"m{k}", f"n{k}", f"n{k + 1}", "wood", "throat")
        for l in strips(s):  # what stands over a support bends nothing
            low, high = max(a, l.start), min(b, l.end)
            if high > low and any(p - 1e-9 <= (a + b) / 2 <= q for p, q in loaded):
                model.add_member_pt_load(f"m{k}", "FY", -psf * l.w0 * (high - low), (b - a) / s.cosine / 2)
    model.analyze_linear()
    ends = [m for n in range(len(steps) - 1) for m in [model.members[f"m{n}"]]]
    moment = np.array([-m.moment("Mz", x) for m in ends for x in (1e-6, m.L() / 2, m.L() - 1e-6)])
    shear = np.array([m.shear("Fy", x) for m in ends for x in (1e-6, m.L() - 1e-6)])
    off = [n.DX["Combo 1"] * np.sin(np.arctan(tangent)) + n.DY["Combo 1"] * s.cosine for n in model.nodes.values()]
    return moment.max(), -moment.min(), np.abs(shear).max(), -min(off)


def test_a_sloping_beam_by_a_second_solver_agrees(cut):
    """One span: moment, shear at the support square to the slope, deflection square to it."""
    s = cut[1]
    sag, _, shear, _ = sloping(s, 50)
    assert line_of(verdict_of_stringer(s, "bending, sagging"), "moment M").value == pytest.approx(sag / 12, rel=0.01)
    assert line_of(verdict_of_stringer(s, "shear"), "shear V").value == pytest.approx(shear, rel=0.02)
    v = verdict_of_stringer(s, "deflection, span")
    assert v.demand == pytest.approx(sloping(s, 40)[3], rel=0.02)
    assert v.capacity == pytest.approx(s.length / s.cosine / 360)  # L/360 along the slope


def test_over_cross_pieces_a_stringer_hogs_by_the_second_solver():
    """Three spans alike; live load on the two beside one cross piece is the worst there (handbook: 0.117 w L2, and 0.1
    of the dead load)."""
    s = read(deck_with(120))[1]
    assert len(s.spans) == 3
    hog = sloping(s, 10)[1] + sloping(s, 40, (0, 1))[1]
    v = verdict_of_stringer(s, "bending, hogging")
    assert line_of(v, "moment M").value == pytest.approx(hog / 12, rel=0.02)
    w, l = strips(s)[0].w0, s.spans[0]
    assert line_of(v, "moment M").value * 12 == pytest.approx((0.117 * 40 + 0.1 * 10) * w * l**2, rel=0.04)
    assert verdict_of_stringer(s, "deflection, span").ratio < 0.2


def test_the_load_of_one_tread_is_more_than_any_table_asks_of_a_stringer(cut):
    """P L / 4 + w L2 / 8 (handbook) with 300 lb of Table R301.5 footnote c: met where one stringer holds it alone, left
    open where it does not, never "not met"."""
    s = like(cut[0], 60.0, 12.0)
    v = verdict_of_stringer(s, stringer_checks.CHECK_POINT)
    assert line_of(v, "moment M").value == pytest.approx(300 * 5 / 4 + 10 * 5**2 / 8, rel=1e-6)
    assert v.result == "met" and "more than the table asks" in worded(v.why)
    v = verdict_of_stringer(like(cut[0], 72.0, 12.0), stringer_checks.CHECK_POINT)
    assert v.ratio > 1 and v.result == "not checked" and "does not hold it" in worded(v.why)


def test_the_load_of_one_tread_shears_and_bends_a_stringer_as_in_handbooks(cut):
    """Beside a support all of P and half of the dead load, R cos along the slope; P L3 / (48 E I) on the sloping length
    under P cos (handbook)."""
    s = like(cut[0], 60.0, 12.0)
    v = verdict_of_stringer(s, stringer_checks.SHEAR_POINT)
    assert line_of(v, "shear V").value == pytest.approx((300 + 10 * 5 / 2) * s.cosine, rel=1e-4)
    assert v.demand == pytest.approx(1.5 * (300 + 25) * s.cosine / (s.breadth * s.depth), rel=1e-4)
    d = verdict_of_stringer(s, stringer_checks.SAG_POINT)
    inertia, long = s.breadth * s.depth**3 / 12, 60 / s.cosine
    assert d.demand == pytest.approx(300 * s.cosine * long**3 / (48 * E_WET * inertia), rel=1e-6)
    assert d.capacity == pytest.approx(long / 360) and d.combination == "D + one load"


def test_a_cleat_brings_its_tread_or_the_load_of_one_to_its_screws():
    """Two solid stringers: half of each tread on a cleat; 300 lb beside it (Table R301.5) and its dead load against
    two rows of three fasteners taken as 10d nails: 0.128 in, 1-1/2 in of wood either way, G 0.55, mode IV or IIIs by
    hand, CM 0.7."""
    deck = deck_with(104, stringer_kind="solid", stringer_spacing=36)
    treads = [p.footprint.area / 144 for p in deck.roles("tread")]
    found = [verdict_of(r, "fastening of a cleat") for r in analyse(deck).of("stringer")]
    assert len(found) == 2
    for v in found:
        area = max(treads) / 2 * round(len(treads) / len({round(p.box[1, 2], 2) for p in deck.roles("tread")}))
        assert v.demand == pytest.approx(300 + 10 * area, rel=0.02)
        fe, d, fyb = 16600 * 0.55**1.84, 0.128, 100_000
        kd = 2.2
        k3 = -1 + (4 + 2 * fyb * 3 * d**2 / (3 * fe * 1.5**2)) ** 0.5
        z = min(k3 * d * 1.5 * fe / (3 * kd), d**2 / kd * (2 * fe * fyb / 6) ** 0.5)
        assert v.capacity == pytest.approx(6 * z * 0.7, rel=1e-3) and v.result == "met"
    weak = Lumber("spruce-pine-fir", incised=True)
    treads = max(treads) / 2
    (v,) = cleat_checks.check_cleats(deck.roles("stringer")[0], treads + 6, weak, loads(), "DCA 6-2012")
    assert v.result == "not checked" and f"drive {int(np.ceil(v.demand / (v.capacity / 6)))}" in worded(v.why)


def test_a_stringer_bent_too_much_names_the_spacing_that_does():
    """Snow of 90 psf on cut stringers 24 in apart; as far apart as it says they are met, and on a cross piece too."""
    snow, wide = {"live_psf": 40, "ground_snow_psf": 90}, {"width": 48, "stringer_spacing": 24, "carriers": "none"}
    bent = [r for r in analyse(deck_with(60, snow, **wide)).of("stringer") if r.result == "not met"]
    assert bent
    v = max((verdict_of(r, "bending, sagging") for r in bent), key=lambda v: v.ratio)
    assert "(stair.stringer_spacing), or a cross piece" in worded(v.why)
    most = float(worded(v.why).split("at most ")[1].split(" in")[0])
    assert 4 < most < 23.25
    for change in ({"stringer_spacing": most}, {"carriers": "auto"}):
        made = analyse(deck_with(60, snow, **{**wide, **change})).of("stringer")
        assert {verdict_of(r, "bending, sagging").result for r in made} == {"met"}


def test_a_solid_stringer_has_its_whole_width():
    """A 2x12 between treads on cleats; its published span is measured with the stair's rules."""
    made = read(deck_with(104, stringer_kind="solid", stringer_spacing=36))
    assert [(s.cut, s.depth) for s in made] == [(False, pytest.approx(11.25))] * 2


def test_a_stringer_of_any_length_ends_on_its_supports():
    """An end a ten-millionth of an inch past the last bits that are kept is no support off the beam."""
    deck = deck_with(60, going=10.1234567)
    assert [r.result for r in analyse(deck).of("stringer")]
    for s in read(deck):
        assert s.places[0] == 0.0 and s.places[-1] == s.length


@pytest.fixture(scope="module")
def mitred():
    """Five steps that go on round a right-angled corner, 36 in up, with four jack stringers on each side of the hip."""
    points = [[0, 0], [174, 0], [174, 138], [0, 138]]
    sides = [{"edge": "front", "width": 174, "wrap": True, "rise": 7.5}, {"edge": "right", "width": 138, "rise": 7.5}]
    outline = {"points": points, "edges": ["front", "right", "back", "left"], "house": ["back"]}
    return build(Parameters.model_validate({"outline": outline, "levels": {"surface": 36}, "stair": sides}))


def spots(deck, stair, per_inch=4):
    """(n, 2) the middles of squares of the treads of a stair, seen from above; gaps between their boards bear load."""
    boards = [p.footprint.buffer(0.25, join_style="mitre") for p in deck.roles("tread") if p.stair == stair]
    treads = shapely.union_all(boards).buffer(-0.25, join_style="mitre")
    x0, y0, x1, y1 = treads.bounds
    x, y = (np.arange(a + 0.5 / per_inch, b, 1 / per_inch) for a, b in ((x0, x1), (y0, y1)))
    found = np.stack(np.meshgrid(x, y), -1).reshape(-1, 2)
    return found[shapely.contains_xy(treads, found[:, 0], found[:, 1])]


def least_away(deck, stair, places):
    """By the id of each stringer, jack and hip ply of the front flight (down is -y): which of the places are nearest to
    it across the flight, of those that it runs past; jacks are drawn on up to the mitre."""
    parts = [p for p in deck.roles("stringer", "jack stringer", "hip stringer") if p.stair == stair]
    away = np.full((len(parts), len(places)), np.inf)
    for k, p in enumerate(parts):
        x, y = p.plan_middle
        if p.role == "hip stringer":  # 45 degrees: as far across as along, through its middle
            away[k] = np.abs(places[:, 0] - (x + (y - places[:, 1])))
        else:
            runs = np.ones(len(places), bool) if p.role == "stringer" else places[:, 1] <= 174 - x
            away[k] = np.where(runs, np.abs(places[:, 0] - x), np.inf)
    nearest = away.argmin(axis=0)
    return {p.id: places[nearest == k] for k, p in enumerate(parts)}


def in_pynite(length, loads):
    """Greatest moment and both reactions of a simple beam under (place, pounds), its nodes at most half an inch
    apart."""
    model = Pynite.FEModel3D()
    model.add_material("wood", 1e6, 1e6, 0.3, 0.0)
    model.add_section("any", 1, 1, 1, 1)
    steps = np.linspace(0, length, 2 * int(length) + 3)
    for k, x in enumerate(steps):
        model.add_node(f"n{k}", x, 0, 0)
    model.def_support("n0", True, True, True, True, False, False)
    model.def_support(f"n{len(steps) - 1}", False, True, True, True, False, False)
    for k, (a, b) in enumerate(itertools.pairwise(steps)):
        model.add_member(f"m{k}", f"n{k}", f"n{k + 1}", "wood", "any")
        inside = [(min(max(x, 0.0), length), p) for x, p in loads if a <= min(max(x, 0.0), length - 1e-9) < b]
        if inside:
            total = sum(p for _, p in inside)
            model.add_member_pt_load(f"m{k}", "FY", -total, sum((x - a) * p for x, p in inside) / total)
    model.analyze_linear()
    moment = max(abs(model.members[f"m{k}"].moment("Mz", 0)) for k in range(1, len(steps) - 1))
    return moment, *(model.nodes[n].RxnFY["Combo 1"] for n in ("n0", f"n{len(steps) - 1}"))


def test_a_hip_stringer_carries_its_triangle_and_its_jacks_by_a_second_solver(mitred):
    """Treads cut into squares of a quarter inch, each on what is nearest to it across the flight; jacks first, their
    upper ends on the hip. Moment under 50 psf, and what the hip brings to the corner."""
    shares = least_away(mitred, 0, spots(mitred, 0))
    by_id = {p.id: p for p in mitred.parts}
    each = 50 / 144 / 16
    hip = next(p for p in mitred.roles("hip stringer") if p.stair == 0)
    root, brought, found = np.sqrt(0.5), [], {s.part.id: s for s in read(mitred)}
    for jack in (p for p in mitred.roles("jack stringer") if p.stair == 0):
        y1, y0 = jack.box[1, 1], jack.box[0, 1]
        moment, upper, _ = in_pynite(y1 - y0, [(y1 - y, each) for _, y in shares[jack.id]])
        v = verdict_of_stringer(found[jack.id], "bending, sagging")
        if moment > 200:  # of the shorter ones the squares are too coarse
            assert line_of(v, "moment M").value == pytest.approx(moment / 12, rel=0.02)
        block = next(by_id[i] for i in jack.carried_by if by_id[i].role == "jack block")
        brought.append((block.plan_middle, upper))
    start = float((hip.vertices[:, :2] @ [root, -root]).min())
    loads = [(float(q @ [root, -root]) - start, each) for q in shares[hip.id]]
    loads += [(float(np.dot(q, [root, -root])) - start, p) for q, p in brought]
    length = float(np.ptp(hip.vertices[:, :2] @ [root, -root]))
    moment, corner, _ = in_pynite(length, loads)
    v = verdict_of_stringer(found[hip.id], "bending, sagging")
    assert len(brought) == 4 and line_of(v, "moment M").value == pytest.approx(moment / 12, rel=0.02)
    [block] = mitred.roles("hip block")
    at = sum(
        a for _, q, a in stair_loads(mitred.parts, mitred.contacts) if np.subtract(block.plan_middle, q).any() == 0
    )
    assert 50 * at / 2 == pytest.approx(corner, rel=0.02)


def test_a_hip_stringer_is_as_deep_as_its_throat_on_its_own_run(mitred):
    """Goings of 10-1/2 in are 10.5 / sin 45 = 14.849 in along the mitre: W - R T / sqrt(R^2 + T^2) of a 2x12, rises of
    7.2 in; deflection and the load of one tread are told of it as of other stringers."""
    rise, going = 36 / 5, 10.5 / np.sin(np.radians(45))
    hips = [s for s in read(mitred) if s.part.role == "hip stringer"]
    assert len(hips) == 2
    for s in hips:
        assert s.depth == pytest.approx(11.25 - rise * going / np.hypot(rise, going), abs=1e-4)
        assert s.cosine == pytest.approx(going / np.hypot(rise, going), abs=1e-6)
        told = {v.check for v in stringer_checks.check_stringer(s, SP, loads(), "DCA 6-2012")}
        points = {stringer_checks.CHECK_POINT, stringer_checks.SHEAR_POINT, stringer_checks.SAG_POINT}
        assert told == {"bending, sagging", "shear", "deflection, span"} | points
    rows = [
        r
        for r in analyse(mitred).of("stringer", "hip stringer", "jack stringer")
        if "hip" in r.where or "jack" in r.where
    ]
    assert len(rows) == 2 + 8 and {r.result for r in rows} == {"met"}


def test_a_triangle_of_treads_on_a_mitre_by_the_handbook(mitred):
    """w L2 / (9 root 3) for a load that grows from nothing (handbook); a third of it at the narrow end."""
    s = next(s for s in read(mitred) if s.part.role == "hip stringer")
    alone = replace(s, length=60.0, places=(0.0, 60.0), loads=(Load(0.0, 60.0, 0.0, 12 / 144),))
    v = verdict_of_stringer(alone, "bending, sagging")
    assert line_of(v, "moment M").value == pytest.approx(50 * 1 * 5**2 / (9 * np.sqrt(3)), rel=1e-3)
    assert alone.patterns.steady_reactions == pytest.approx([60 / 12 / 6, 60 / 12 / 3])


def test_a_hip_bent_too_much_says_what_would_do(mitred):
    """Snow of 400 psf: on the hip steps that end square, on its jacks a nearer spacing."""
    s = next(s for s in read(mitred) if s.part.role == "hip stringer")
    v = verdict_of_stringer(s, "bending, sagging", loads(snow=400))
    assert v.result == "not met" and "stair.wrap = false" in worded(v.why)
