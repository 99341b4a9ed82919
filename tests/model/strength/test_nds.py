"""The timber calculation against published tables and a worked course problem.

1. Every DCA 6-2012 Table 2 joist span and overhang (seen) and every Wisconsin App. B Table 3A/3B beam span (seen) is
   recalculated from reference values with the assumptions printed under the tables. What does not agree is named below
   with the reason; anything else fails. The differences are printed (`pytest -s`).
2. Missouri S&T Problem 4.30 (seen): the adjusted values of a hem-fir roof joist.
"""

import math
from collections import Counter
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.input.lumber_grade import LumberGrade
from plumbcut.model.strength.nds import Lumber, NoValue, bearing, bending, compression, modulus, shear, tension
from plumbcut.model.strength.spans import Longest, longest_beam_span, longest_joist_overhang, longest_joist_span
from plumbcut.shared.errors import InputError
from plumbcut.shared.standards import inches_from_table, table

LIVE = "live (occupancy)"


def wet(species, incised=False):
    return Lumber(species, "No.2", True, incised)


INCISED = [wet(s, True) for s in ("Douglas fir-larch", "hem-fir", "spruce-pine-fir")]
# redwood and cedar take preservative nowhere; which of the other two the table takes as incised is not printed: red
# pine
# incised and ponderosa pine not is the reading that fits
SOFT = [wet("redwood"), wet("western cedars"), wet("ponderosa pine"), wet("red pine", True)]
JOIST_GROUPS = {"southern pine": [wet("southern pine")], "incised": INCISED, "redwood and cedar": SOFT}
BEAM_GROUPS = {"southern pine": [wet("southern pine")], "all but southern pine and redwood": INCISED + SOFT[1:]}


def weakest(found):
    return min(found, key=lambda f: f.value)


def seen(name, table_name):
    rows = [
        r for r in table(name) if r["table"].startswith(table_name) and r["how"] == "seen" and r["doubtful"] != "yes"
    ]
    assert rows
    return rows


def report(title, differences):
    print(f"\n{title}: " + ", ".join(f"{k:+d} in: {n} rows" for k, n in sorted(Counter(differences).items())))


# Bending rows of this group are printed an inch longer than 775 psi (Spruce-Pine-Fir South, in which red pine is
# graded),
# incised, gives; 780 psi would give all of them. The tool's own figure is the shorter one.
RED_PINE_ROWS = {("2x10", "16"), ("2x12", "12"), ("2x12", "16"), ("2x12", "24")}


def test_every_joist_span_of_the_table_is_reproduced_to_the_inch():
    differences, unexplained = [], []
    for r in seen("joist_spans", "DCA 6-2012"):
        found = weakest([longest_joist_span(l, r["size"], float(r["spacing_in"])) for l in JOIST_GROUPS[r["group"]]])
        off = round(found.value) - int(inches_from_table(r["span_ft_in"]))
        differences.append(off)
        named = (
            r["group"] == "redwood and cedar"
            and (r["size"], r["spacing_in"]) in RED_PINE_ROWS
            and found.governs == "bending"
        )
        if off and not (named and off == -1):
            unexplained.append((r["group"], r["size"], r["spacing_in"], r["span_ft_in"], found))
    report("joist spans", differences)
    assert len(differences) == 36 and not unexplained, unexplained


def test_every_joist_overhang_of_the_table_is_reproduced_to_the_inch():
    """The rule found: L/180 under 220 lb at the end, reckoned from the beam's inner face, printed from its outer face 3
    in on."""
    differences, unexplained = [], []
    for r in seen("joist_overhangs", "DCA 6-2012"):
        found = []
        for l in JOIST_GROUPS[r["group"]]:
            span = longest_joist_span(l, r["size"], float(r["spacing_in"])).value
            found.append(longest_joist_overhang(l, r["size"], span))
        found = weakest(found)
        off = round(found.value) - int(inches_from_table(r["overhang_ft_in"]))
        differences.append(off)
        if off:
            unexplained.append((r["group"], r["size"], r["spacing_in"], r["overhang_ft_in"], found))
    report("joist overhangs", differences)
    assert len(differences) == 35 and not unexplained, unexplained


def calculated_beam(row) -> Longest:
    labels = row["beam"].split("|")
    name = labels[-1]
    plies, size = (int(name[0]), name[2:]) if "-" in name else (1, name)
    about = {}
    if len(labels) > 1:
        about = {"repetitive": 1.0, "breadth": 2.5}  # one row for two beams: the solid 3x is the weaker
    elif plies == 2:
        # the two-ply rows fit a repetitive factor of 1.10 (as of mechanically laminated members); the NDS has none for
        # two,
        # so the tool's own calculation takes 1.0 and comes out 5 percent shorter
        about = {"repetitive": 1.10}
    return weakest(
        [longest_beam_span(l, size, plies, float(row["joist_span_ft"]), **about) for l in BEAM_GROUPS[row["group"]]]
    )


NAMED_BEAMS = {
    # printed with the size factors of 2 in lumber (1.1, 1.0) where 4 in lumber has 1.2 and 1.1: shorter, safer
    "4x10": {"6", "8", "10"},
    "4x12": {"6", "8", "10", "12", "14", "16", "18"},
    # deflection rows: printed 4 in shorter than L/360 under live load alone; live load and half the dead load would fit
    "3-2x6": {"6"},
}


def test_every_beam_span_of_the_table_is_reproduced_within_three_inches():
    differences, unexplained = [], []
    for r in seen("beam_spans", "Wisconsin"):
        found = calculated_beam(r)
        off = round(found.value) - int(inches_from_table(r["span_ft_in"]))
        named = r["joist_span_ft"] in NAMED_BEAMS.get(r["beam"], ())
        differences.append(off)
        if abs(off) > 3 and not named:
            unexplained.append((r["group"], r["beam"], r["joist_span_ft"], r["span_ft_in"], found))
    report("beam spans", differences)
    for r in seen("beam_spans", "Wisconsin"):
        if r["beam"] in ("4x10", "4x12", "3-2x6") and r["joist_span_ft"] in NAMED_BEAMS[r["beam"]]:
            print(
                f"  named: {r['beam']} {r['joist_span_ft']} ft, printed {r['span_ft_in']}, calculated"
                f" {calculated_beam(r)}"
            )
    assert len(differences) == 140 and not unexplained, unexplained
    assert sum(abs(d) <= 1 for d in differences) >= 120


def test_named_beam_rows_fit_their_reasons():
    """4 in beams with the size factors of 2 in lumber agree within 2 in; the stiffness rows with 45 psf instead of
    40."""
    for r in seen("beam_spans", "Wisconsin"):
        if r["beam"] in ("4x10", "4x12"):
            ratio = {"4x10": 1.1 / 1.2, "4x12": 1.0 / 1.1}[r["beam"]]
            assert calculated_beam(r).value * math.sqrt(ratio) == pytest.approx(
                inches_from_table(r["span_ft_in"]), abs=2
            )
        if r["beam"] == "3-2x6" and r["joist_span_ft"] == "6":
            assert calculated_beam(r).governs == "deflection"
            assert calculated_beam(r).value * (40 / 45) ** (1 / 3) == pytest.approx(
                inches_from_table(r["span_ft_in"]), abs=1
            )


def test_course_problem_of_a_hem_fir_roof_joist():
    """Missouri S&T Problem 4.30 (seen): No.2 hem-fir 2x10 at 16 in, dead and snow, dry."""
    hf = Lumber("hem-fir", "No.2", wet=False)
    assert bending(hf, "2x10", "snow", True).value == pytest.approx(1237, abs=0.6)
    assert tension(hf, "2x10", "snow").value == pytest.approx(664, abs=0.5)
    assert shear(hf, "2x10", "snow").value == pytest.approx(173, abs=0.6)
    assert bearing(hf, "2x10", 6, 0).value == pytest.approx(405)
    assert compression(hf, "2x10", "snow", 0).value == pytest.approx(1495, abs=0.5)
    assert modulus(hf, "2x10").value == 1.3e6 and modulus(hf, "2x10", "Emin").value == 470_000


@pytest.mark.parametrize(
    "species, incised, size, spacing, stress, feet, governs",
    [
        # the standards notes, worked out from NDS values; each span is printed in DCA 6-2012 Table 2 (seen)
        (
            "southern pine",
            False,
            "2x8",
            16,
            1063.75,
            11.82,
            "bending",
        ),  # example 2: 925 x 1.15, M = 1164.8 ft lb; 11-10
        ("southern pine", False, "2x8", 24, 1063.75, 9.65, "bending"),  # example 2 at 24 in: 9-8
        ("southern pine", False, "2x8", 12, 1063.75, 13.05, "deflection"),  # example 3: L/360 of 40 plf; 13-1
        ("hem-fir", True, "2x8", 16, 938.4, 11.10, "bending"),  # example 4: 850 x 1.2 x 1.15 x 0.8; 11-1
        ("Douglas fir-larch", True, "2x6", 16, 914.94, 8.32, "bending"),  # example 5: CM 0.85 as 1170 > 1150; 8-4
    ],
)
def test_worked_examples_of_joist_spans(species, incised, size, spacing, stress, feet, governs):
    lumber = wet(species, incised)
    assert bending(lumber, size, LIVE, True).value == pytest.approx(stress, abs=0.01)
    found = longest_joist_span(lumber, size, spacing)
    assert found.value / 12 == pytest.approx(feet, abs=0.006) and governs in found.governs


def test_the_wet_service_rule_depends_on_the_sized_value():
    """Douglas fir 2x6: 900 x 1.3 = 1170 > 1150 psi takes 0.85; 2x8: 1080 takes 1.0 (NDS Supplement Table 4A
    footnote)."""
    df = wet("Douglas fir-larch", True)
    named = lambda size: {f.symbol: f.value for f in bending(df, size, LIVE, True).factors}
    assert named("2x6")["CM"] == 0.85 and named("2x8")["CM"] == 1.0
    assert bending(df, "2x6", LIVE, True).value == pytest.approx(900 * 1.3 * 0.85 * 1.15 * 0.8)  # 914.9, by hand
    assert list(named("2x6")) == ["CD", "CM", "Ct", "CL", "CF", "Cfu", "Ci", "Cr"]  # NDS Table 4.3.1's own order


def test_column_stability_by_the_code_s_equation():
    """NDS 3.7.1 worked by hand for a southern pine 6x6 post 10 ft high: le/d = 120/5.5 = 21.82, Emin 440,000, Fc
    525."""
    value = compression(wet("southern pine"), "6x6", LIVE, 120 / 5.5)
    fce = 0.822 * 440_000 / (120 / 5.5) ** 2
    a = (1 + fce / 525) / 1.6
    assert fce == pytest.approx(759.8, abs=0.2)
    assert value.value == pytest.approx(525 * (a - math.sqrt(a * a - fce / 525 / 0.8)), rel=1e-9)
    assert 0.79 < value.factors[-1].value < 0.81 and value.factors[-1].symbol == "CP"
    with pytest.raises(NoValue, match="over 50"):
        compression(wet("southern pine"), "4x4", LIVE, 51)


def test_beam_stability_by_the_code_s_equation():
    """NDS 3.3.3 worked by hand: southern pine 2x10, compression edge free over 36 in: lu/d = 3.89, le = 2.06 x 36."""
    fb = bending(wet("southern pine"), "2x10", LIVE, True, 1.5, 9.25, 36.0)
    rb = math.sqrt(2.06 * 36 * 9.25 / 1.5**2)
    ratio = 1.2 * 510_000 * 0.9 / rb**2 / (800 * 1.15)
    a = (1 + ratio) / 1.9
    cl = next(f for f in fb.factors if f.symbol == "CL")
    assert cl.value == pytest.approx(a - math.sqrt(a * a - ratio / 0.95)) and 0.9 < cl.value < 1
    with pytest.raises(NoValue, match="RB"):
        bending(wet("southern pine"), "2x12", LIVE, True, 1.5, 11.25, 40 * 12)


def test_bearing_area_factor():
    """NDS 3.10.4: (lb + 0.375)/lb away from the end, 1.0 at it; the printed series 1.25 at 1.5 in and 1.10 at 4 in
    (Table 3.10.4)."""
    sp = wet("southern pine")
    assert bearing(sp, "2x8", 1.5, 12).factors[-1].value == pytest.approx(1.25)
    assert bearing(sp, "2x8", 4.0, 12).factors[-1].value == pytest.approx(1.10, abs=0.01)
    # the whole table from memory: 1/2, 1, 1-1/2, 2, 3, 4, 6 in; below its first row the factor rises no further
    printed = {0.18: 1.75, 0.5: 1.75, 1.0: 1.38, 1.5: 1.25, 2.0: 1.19, 3.0: 1.13, 4.0: 1.10, 6.0: 1.00}
    for length, cb in printed.items():
        assert bearing(sp, "2x8", length, 12).factors[-1].value == pytest.approx(cb, abs=0.007)
    assert bearing(sp, "2x8", 1.5, 0).factors[-1].value == 1.0
    assert bearing(sp, "2x8", 1.5, 0).value == pytest.approx(565 * 0.67)


@pytest.mark.parametrize(
    "ask",
    [
        lambda: bending(Lumber("southern pine"), "6x12", LIVE, False),
        lambda: bending(Lumber("redwood"), "6x6", LIVE, False),
        lambda: bending(Lumber("hem-fir"), "2x14", LIVE, False),
    ],
)
def test_a_size_without_a_value_is_said_to_have_none(ask):
    with pytest.raises(NoValue):
        ask()


def test_unknown_species_and_grade_are_refused_by_name():
    with pytest.raises(InputError, match="known species"):
        Lumber("balsa")
    with pytest.raises(InputError, match="'No.7'.*No.2"):
        bending(Lumber("hem-fir", "No.7"), "2x8", LIVE, True)


@given(
    st.sampled_from(["2x6", "2x8", "2x10", "2x12"]),
    st.floats(8, 24),
    st.floats(0.1, 10),
    st.floats(20, 100),
    st.floats(1, 50),
)
def test_heavier_or_wider_never_spans_farther(size, spacing, more, live, extra):
    l = wet("southern pine")
    base = longest_joist_span(l, size, spacing, live).value
    assert longest_joist_span(l, size, spacing + more, live).value <= base
    assert longest_joist_span(l, size, spacing, live + extra).value <= base
    assert longest_joist_span(wet("southern pine", True), size, spacing, live).value <= base


def test_lumber_is_incised_where_the_span_tables_take_it_so():
    """DCA 6-2012 commentary: spans of Douglas fir-larch, hem-fir and spruce-pine-fir are for incised lumber. A hem-fir
    2x8 at 16 in by default is then the printed one, 11-1; unless the file says that it is not incised."""
    incised = {s: LumberGrade(species=s).is_incised for s in get_args(LumberGrade.model_fields["species"].annotation)}
    assert [s for s, yes in incised.items() if yes] == ["Douglas fir-larch", "hem-fir", "spruce-pine-fir"]
    assert Lumber.of(LumberGrade(species="hem-fir")) == wet("hem-fir", True)
    assert Lumber.of(LumberGrade(species="hem-fir", incised=False)) == wet("hem-fir", False)
    assert Lumber.of(LumberGrade(incised=True)) == wet("southern pine", True)
    printed = next(
        inches_from_table(r["span_ft_in"])
        for r in seen("joist_spans", "DCA 6-2012")
        if (r["group"], r["size"], r["spacing_in"]) == ("incised", "2x8", "16")
    )
    spans = [longest_joist_span(Lumber.of(LumberGrade(species=s)), "2x8", 16.0).value for s in incised if incised[s]]
    assert round(min(spans)) == printed


def test_two_inch_sticks_go_by_the_row_for_two_to_four_inches_wide():
    """NDS Supplement Table 4A (from memory): Douglas fir-larch No.2 900 psi x CF 1.5, wet 0.85; 4B prints 1,100 psi."""
    fir = bending(Lumber("Douglas fir-larch", incised=False), "2x2", "live (occupancy)", False)
    assert fir.value == pytest.approx(900 * 1.5 * 0.85)
    pine = bending(Lumber("southern pine"), "2x2", "live (occupancy)", False)
    assert pine.value == pytest.approx(1100) and "2 in to 4 in wide" in worded(pine.reference.citation)
    assert "wide" not in worded(bending(Lumber("southern pine"), "2x4", "live (occupancy)", False).reference.citation)
