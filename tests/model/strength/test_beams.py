"""The beam solver against closed forms of the steel and wood handbooks' beam tables, and against an independent
library.

Formulas: "Beam Diagrams and Formulas" (AISC Steel Construction Manual, Table 3-23; AWC Design Aid 6), recalled. The
independent library is Pynite (three-dimensional frame elements, MIT licence), used by the tests alone.
"""

import numpy as np
import Pynite
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plumbcut.model.strength.beams import Beam, Load, PointLoad, Support

W, P, L, A, EI = 5.0, 700.0, 144.0, 36.0, 1.3e6 * 47.63


def extremes(solved):
    x = solved.grid(400)
    v, m, d = solved.at(x)
    return np.abs(v).max(), m.max(), m.min(), d.max(), d.min()


def test_simple_span_under_a_uniform_load():
    s = Beam(L, [0, L]).solve([Load(0, L, W)], EI)
    assert s.reactions == pytest.approx([W * L / 2] * 2)
    v, m, _, d, _ = extremes(s)
    assert (v, m, d) == pytest.approx((W * L / 2, W * L**2 / 8, 5 * W * L**4 / (384 * EI)))


def test_simple_span_under_a_point_load_anywhere():
    a, b = 40.0, L - 40.0
    s = Beam(L, [0, L]).solve([PointLoad(a, P)], EI)
    assert s.reactions == pytest.approx([P * b / L, P * a / L])
    assert s.at([a])[1][0] == pytest.approx(P * a * b / L)
    assert s.at([a])[2][0] == pytest.approx(P * a**2 * b**2 / (3 * EI * L))
    far = np.sqrt((L**2 - a**2) / 3)  # the deepest point lies in the longer part, measured from its own support
    assert extremes(s)[3] == pytest.approx(P * a * (L**2 - a**2) ** 1.5 / (9 * np.sqrt(3) * L * EI), rel=1e-5), far


def test_simple_span_under_a_triangle():
    s = Beam(L, [0, L]).solve([Load(0, L, 0, W)], EI)
    total = W * L / 2
    assert s.reactions == pytest.approx([total / 3, 2 * total / 3])
    _, m, _, d, _ = extremes(s)
    assert m == pytest.approx(2 * total * L / (9 * np.sqrt(3)), rel=1e-5)
    assert d == pytest.approx(0.01304 * total * L**3 / EI, rel=1e-3)


def test_overhang_under_a_uniform_load_over_all():
    s = Beam(L + A, [0, L]).solve([Load(0, L + A, W)], EI)
    r1, r2 = W * (L**2 - A**2) / (2 * L), W * (L + A) ** 2 / (2 * L)
    assert s.reactions == pytest.approx([r1, r2])
    _, m, low, _, _ = extremes(s)
    assert m == pytest.approx(W * (L + A) ** 2 * (L - A) ** 2 / (8 * L**2), rel=1e-5)
    assert low == pytest.approx(-W * A**2 / 2)
    assert s.at([L + A])[2][0] == pytest.approx(W * A * (4 * A**2 * L - L**3 + 3 * A**3) / (24 * EI))


def test_overhang_under_a_point_load_at_its_end():
    s = Beam(L + A, [0, L]).solve([PointLoad(L + A, P)], EI)
    assert s.reactions == pytest.approx([-P * A / L, P * (L + A) / L])
    assert s.at([L + A])[2][0] == pytest.approx(P * A**2 * (L + A) / (3 * EI))
    assert extremes(s)[4] == pytest.approx(-P * A * L**2 / (9 * np.sqrt(3) * EI), rel=1e-4)  # the span lifts


def test_two_equal_spans_under_a_uniform_load():
    s = Beam(2 * L, [0, L, 2 * L]).solve([Load(0, 2 * L, W)], EI)
    assert s.reactions == pytest.approx([3 * W * L / 8, 10 * W * L / 8, 3 * W * L / 8])
    _, m, low, d, _ = extremes(s)
    assert m == pytest.approx(9 * W * L**2 / 128, rel=1e-5)
    assert low == pytest.approx(-W * L**2 / 8)
    assert d == pytest.approx(W * L**4 / (185 * EI), rel=2e-3)  # the handbook's own rounding


def test_two_equal_spans_with_one_loaded():
    s = Beam(2 * L, [0, L, 2 * L]).solve([Load(0, L, W)], EI)
    assert s.reactions == pytest.approx([7 * W * L / 16, 5 * W * L / 8, -W * L / 16])
    assert extremes(s)[1] == pytest.approx(49 * W * L**2 / 512, rel=1e-5)


def test_three_equal_spans():
    s = Beam(3 * L, [0, L, 2 * L, 3 * L]).solve([Load(0, 3 * L, W)], EI)
    assert s.reactions == pytest.approx([0.4 * W * L, 1.1 * W * L, 1.1 * W * L, 0.4 * W * L])


def test_propped_cantilever_and_fixed_ends():
    s = Beam(L, [Support(0, fixed=True), Support(L)]).solve([Load(0, L, W)], EI)
    assert s.reactions == pytest.approx([5 * W * L / 8, 3 * W * L / 8])
    assert s.at([0])[1][0] == pytest.approx(-W * L**2 / 8)
    assert s.fixing[0] == pytest.approx(-W * L**2 / 8)  # the support's moment is the beam's there: it hogs
    assert extremes(s)[3] == pytest.approx(W * L**4 / (185 * EI), rel=2e-3)
    s = Beam(L, [Support(0, True), Support(L, True)]).solve([PointLoad(L / 2, P)], EI)
    assert s.at([0, L / 2])[1] == pytest.approx([-P * L / 8, P * L / 8])
    assert s.at([L], "left")[1] == pytest.approx([-P * L / 8])  # just inside the fixing
    assert extremes(s)[3] == pytest.approx(P * L**3 / (192 * EI))
    s = Beam(A, [Support(0, True)]).solve([Load(0, A, W)], EI)
    assert s.at([A])[2][0] == pytest.approx(W * A**4 / (8 * EI))


@pytest.mark.parametrize("length, supports", [(L, []), (L, [0]), (0, [0, 1]), (L, [0, L + 1]), (L, [0, 0, L])])
def test_a_beam_that_could_fall_or_is_none_is_refused(length, supports):
    with pytest.raises(ValueError):
        Beam(length, supports)


def test_a_load_off_the_beam_is_refused():
    with pytest.raises(ValueError, match="off the beam"):
        Beam(L, [0, L]).solve([PointLoad(L + 1, P)])


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.floats(20, 200), min_size=1, max_size=4),
    st.floats(0, 60),
    st.floats(0, 60),
    st.lists(
        st.tuples(st.floats(0, 1), st.floats(0, 1), st.floats(-20, 20), st.floats(-20, 20)), min_size=1, max_size=4
    ),
)
def test_forces_and_moments_balance(spans, left, right, loads):
    """Statics alone: the reactions balance the loads and their moments about the left end, and both ends are free of
    moment."""
    supports = left + np.cumsum([0, *spans])
    length = supports[-1] + right
    made = [Load(min(a, b) * length, max(a, b) * length, p, q) for a, b, p, q in loads if abs(a - b) > 1e-3]
    made += [PointLoad(a * length, p * 10) for a, _, p, _ in loads]
    s = Beam(length, supports).solve(made, EI)
    scale = sum(abs(m.p) if isinstance(m, PointLoad) else (abs(m.w0) + abs(m.w1)) * (m.end - m.start) for m in made) + 1
    about = 0.0
    for m in made:
        if isinstance(m, PointLoad):
            about += m.p * m.x
        else:
            run = m.end - m.start
            about += run * (m.w0 * (m.start + run / 3) + m.w1 * (m.start + 2 * run / 3)) / 2
    assert s.reactions.sum() == pytest.approx(sum(m.total for m in made), abs=1e-6 * scale)
    assert (s.reactions * supports).sum() == pytest.approx(about, abs=1e-6 * scale * length)
    assert s.at([0, length], "right")[1] == pytest.approx([0, 0], abs=1e-5 * scale * length)
    assert s.at(supports)[2] == pytest.approx(np.zeros(len(supports)), abs=1e-9 * scale * length**3 / EI)


def test_a_continuous_beam_agrees_with_an_independent_frame_library():
    """Three uneven spans with both ends overhanging, partial, varying and point loads, against Pynite."""
    length, supports = 400.0, [30.0, 130.0, 270.0, 355.0]
    loads = [Load(0, 400, 3.0), Load(60, 210, 2.0, 7.5), PointLoad(0, 220), PointLoad(320, 900), PointLoad(400, 150)]
    solved = Beam(length, supports).solve(loads, EI)
    model = Pynite.FEModel3D()
    model.add_material("wood", EI, EI, 0.3, 0.0)
    model.add_section("unit", 1e6, 1.0, 1.0, 1.0)
    model.add_node("a", 0, 0, 0)
    model.add_node("z", length, 0, 0)
    for i, x in enumerate(supports):
        model.add_node(f"s{i}", x, 0, 0)
    model.add_member("beam", "a", "z", "wood", "unit")
    for i in range(4):
        model.def_support(f"s{i}", i == 0, True, True, i == 0, False, False)
    for load in loads:
        if isinstance(load, PointLoad):
            model.add_member_pt_load("beam", "Fy", -load.p, load.x)
        else:
            model.add_member_dist_load("beam", "Fy", -load.w0, -load.last, load.start, load.end)
    model.analyze_linear() if hasattr(model, "analyze_linear") else model.analyze()
    member = model.members["beam"]
    theirs = [model.nodes[f"s{i}"].RxnFY["Combo 1"] for i in range(4)]
    assert solved.reactions == pytest.approx(theirs, rel=1e-6)
    for x in (15.0, 77.0, 131.0, 200.0, 300.0, 340.0, 380.0):
        v, m, d = (float(a[0]) for a in solved.at([x]))
        assert abs(member.shear("Fy", x)) == pytest.approx(abs(v), rel=1e-4, abs=1e-3)
        assert abs(member.moment("Mz", x)) == pytest.approx(abs(m), rel=1e-4, abs=1e-2)
        assert -member.deflection("dy", x) == pytest.approx(d, rel=1e-4, abs=1e-7)


def test_what_is_carried_from_step_to_step_is_the_sum_of_all_steps():
    """Macaulay's method by its letter: every step's <x - a>^n / n!, summed at every place."""
    draw = np.random.default_rng(5)
    beam = Beam(120.0, [0.0, 40.0, 41.0, 110.0])
    loads: list = [PointLoad(float(x), float(p)) for x, p in zip(draw.uniform(0, 120, 40), draw.uniform(-20, 90, 40))]
    loads += [Load(float(min(q)), float(max(q)), 2.0, -1.0) for q in draw.uniform(0, 120, (40, 2))]
    loads.append(PointLoad(40.0, 55.0))  # where a support is too
    solved = beam.solve(loads)
    x, terms = solved.grid(), solved.terms
    d = x[:, None] / 120.0 - terms.x
    step, one = (d >= 0).astype(float), np.maximum(d, 0.0)
    shear = step @ terms.force + one @ terms.w + one**2 / 2 @ terms.slope
    moment = step @ terms.moment + one @ terms.force + one**2 / 2 @ terms.w + one**3 / 6 @ terms.slope
    jumps = (d == 0) @ terms.force
    left, right, found, _ = solved.both_sides(x)
    assert right == pytest.approx(shear, abs=1e-9 * abs(shear).max())
    assert left == pytest.approx(shear - jumps, abs=1e-9 * abs(shear).max()) and abs(jumps).max() > 50
    assert found == pytest.approx(moment * 120.0, abs=1e-9 * abs(moment).max() * 120.0)
