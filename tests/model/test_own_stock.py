"""Decks of timber sizes that only their parameter file knows, with the values it gives for them.

The sizes are metric dressed ones; the values are invented but for their order of magnitude. What is expected comes from
arithmetic in the test: section modulus and inertia of a rectangle, the overhanging beam under uniform load.
"""

import math

import pytest
from own_stock import BEAM, JOIST, MM, PLAIN, deck_of, row

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.deck import build
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.order.takeoff import take_off
from plumbcut.model.parameter_file import read
from plumbcut.model.rules.checks import check_deck
from plumbcut.model.strength.nds import Lumber, bearing, bending, compression, modulus, shear
from plumbcut.model.structure.structure import analyse
from plumbcut.shared.stock import GivenValues, Stock, lengths_sold, lumber, weight
from plumbcut.shared.units import parse_density, parse_stress

PSI = 1e6 / 6894.757293168  # psi in a MPa: NIST SP 811 gives 6894.757 Pa in a psi


@pytest.fixture(scope="module")
def metric(tmp_path_factory):
    deck = deck_of(tmp_path_factory.mktemp("own"), JOIST, BEAM)
    return deck, measure_all(deck.parts), analyse(deck)


def field_joist(structure):
    """A joist with two even strips beside it and nothing at points."""
    return next(r for r in structure.of("joist") if not any(f.label == "point load" for f in r.facts))


def verdict_of(result, check):
    return next(v for v in result.calculation if v.check == check)


def test_sizes_and_beam_are_as_given(metric):
    """Joists, rims, ledger and blocking measure 45 x 195 mm, the beam is two plies of 45 x 220 mm."""
    deck, measured, structure = metric
    for m in measured:
        if m.role in ("joist", "rim", "ledger"):
            assert (m.stock.name, m.thickness, m.width) == ("45x195", pytest.approx(45 * MM), pytest.approx(195 * MM))
        if m.role == "beam":
            assert (m.stock.name, m.thickness, m.width) == ("45x220", pytest.approx(45 * MM), pytest.approx(220 * MM))
    assert {r.stock for r in structure.of("beam")} == {"2-45x220"}
    assert not deck.clashes
    top = deck.planes.frame_top
    assert deck.planes.frame_bottom == pytest.approx(top - 195 * MM)


def test_bending_of_a_joist_by_hand(metric):
    """fb = M / S with S = b d^2 / 6; dead load everywhere, live on the span between ledger and beam alone.

    A span L with an overhang a under dead load w: R = w L / 2 + l L / 2 - w a^2 / (2 L) at the ledger, and the greatest
    moment R^2 / (2 (w + l)) (statics)."""
    _, _, structure = metric
    joist = field_joist(structure)
    member = next(m for m in structure.path.members if m.key == joist.ids[0])
    strip = next(f.value for f in joist.facts if f.label == "line load") / 12 / 50  # sq ft an inch
    w, live = 10 * strip, 40 * strip
    xs = sorted(s.x for s in member.supports)
    low = min(l.start for l in member.steady)  # the front rim's strip lies on the overhang's end
    a, l = xs[0] - low, xs[1] - xs[0]
    r = (w + live) * l / 2 - w * a * a / (2 * l)
    s = 45 * MM * (195 * MM) ** 2 / 6
    v = verdict_of(joist, "bending, sagging")
    assert v.demand == pytest.approx(r * r / (2 * (w + live)) / s, rel=2e-3)
    lines = {x.label: x.value for x in v.lines}
    assert v.demand == pytest.approx(lines["moment M"] * 12 / s, rel=1e-9)
    assert lines["section modulus S"] == pytest.approx(s, rel=1e-9)


def test_the_allowable_is_the_value_given(metric):
    _, _, structure = metric
    joist = field_joist(structure)
    sag, shear_of = verdict_of(joist, "bending, sagging"), verdict_of(joist, "shear")
    assert sag.capacity == pytest.approx(8.0 * PSI, rel=1e-6)
    assert shear_of.capacity == pytest.approx(0.9 * PSI, rel=1e-6)
    assert verdict_of(joist, "bearing on beam").capacity == pytest.approx(2.4 * PSI, rel=1e-6)
    e = next(x.value for x in verdict_of(joist, "deflection, span").lines if x.label == "E'")
    assert e == pytest.approx(11e3 * PSI, rel=1e-6)
    source = next(worded(x.source) for x in sag.lines if x.label == "Fb'")
    assert "given by the builder for 45x195: EN 338 C24 / our engineer" in source
    assert "CF 1: none" in source and "does not name them: CD, CM, Ci, Cr" in source


def test_tables_say_nothing_and_the_calculation_decides(metric):
    deck, measured, structure = metric
    for r in structure.of("joist", "beam"):
        tables = [p for p in r.table if p.check in ("joist span", "joist overhang, table", "beam span")]
        assert tables and all(p.result == "not checked" and "no published row for 45x" in worded(p.why) for p in tables)
        assert r.result == "met" and {v.result for v in r.calculation} == {"met"}
    rows = check_deck(deck, measured)
    bent = [
        c for c in rows if c.rule == "bending, sagging (calculation)" and worded(c.place).startswith(("joist", "beam"))
    ]
    assert {c.result for c in bent} == {"met"} and all("given by the builder" in worded(c.source) for c in bent)
    spans = [c for c in rows if c.rule in ("joist span (table)", "beam span (table)")]
    assert {c.result for c in spans} == {"not checked"} and all("no published row" in worded(c.why) for c in spans)


def test_a_weaker_value_is_not_met(tmp_path):
    """The same deck of timber a sixth as strong in bending does not pass."""
    deck = deck_of(tmp_path, row("45x195", 45, 195, fb=1.3), BEAM)
    joist = field_joist(analyse(deck))
    v = verdict_of(joist, "bending, sagging")
    assert v.capacity == pytest.approx(1.3 * PSI, rel=1e-6) and v.result == "not met"


def test_the_order_holds_the_lengths_given(metric):
    deck, measured, _ = metric
    lines = {x.stock.name: x for x in take_off(deck, measured).order.lines}
    assert set(lines["45x195"].counts) <= {3900 * MM, 5100 * MM}
    assert set(lines["45x220"].counts) == {5100 * MM}
    assert lines["45x220"].counts[5100 * MM] == 3  # two plies of 4.9 m and a spare


def test_weight_by_the_density_given_or_the_default_said(tmp_path):
    """420 kg/m3 are 26.22 pcf (NIST SP 811: 16.01846 kg/m3 a pcf)."""
    light = deck_of(tmp_path, row("45x195", 45, 195, density='"420 kg/m3"'), BEAM)
    measured = measure_all(light.parts)
    joist = next(m for m in measured if m.role == "joist")
    beam = next(m for m in measured if m.role == "beam")
    assert weight(joist.stock, 1728.0) == pytest.approx(420 / 16.01846, rel=1e-6)
    assert weight(beam.stock, 1728.0) == weight(lumber("2x10"), 1728.0)
    notes = [str(n) for n in take_off(light, measured).notes]
    assert any("45x220" in n and "default" in n for n in notes) and not any("45x195" in n for n in notes)


def test_two_decks_in_one_process_do_not_mix(tmp_path):
    """The same name with other values and another size, built in turn."""
    slim = row("45x195", 40, 190, fb=5.0, lengths='["4.2 m"]', standard='"another"')
    first = deck_of(tmp_path, JOIST, BEAM, name="a")
    second = deck_of(tmp_path, slim, BEAM, name="b")
    again = deck_of(tmp_path, JOIST, BEAM, name="c")
    caps, widths, lengths = [], [], []
    for deck in (first, second, again):
        joist = field_joist(analyse(deck))
        caps.append(verdict_of(joist, "bending, sagging").capacity)
        widths.append(next(m for m in measure_all(deck.parts) if m.role == "joist").width)
        lengths.append(lengths_sold(deck.layout.joist))
    assert caps == [pytest.approx(x * PSI, rel=1e-6) for x in (8.0, 5.0, 8.0)]
    assert widths == [pytest.approx(x * MM) for x in (195, 190, 195)]
    assert lengths[0] == lengths[2] == pytest.approx((3900 * MM, 5100 * MM)) and lengths[1] == (4200 * MM,)
    with pytest.raises(Exception, match="known sizes"):
        deck_of(tmp_path, name="d")  # a file without the rows does not know the name


def test_a_mixed_deck_has_each_by_its_own_values(tmp_path):
    """2x10 joists by the published table and NDS factors, the beam by the values given."""
    structure = analyse(deck_of(tmp_path, BEAM, joist="2x10"))
    joist = field_joist(structure)
    assert next(p for p in joist.table if p.check == "joist span").result == "met"
    fb = bending(Lumber(), "2x10", "live (occupancy)", True).value
    assert verdict_of(joist, "bending, sagging").capacity == pytest.approx(fb)
    beam = structure.of("beam")[0]
    assert verdict_of(beam, "bending, sagging").capacity == pytest.approx(8.0 * PSI, rel=1e-6)
    assert next(p for p in beam.table if p.check == "beam span").result == "not checked"


def test_posts_of_the_files_own(tmp_path):
    """Fc' = Fc x CP with CP by NDS 3.7.1 worked here from Emin and le/d, both as given."""
    text = PLAIN.replace('beam = "{beam}"', 'beam = "{beam}"\npost = "95x95"').replace("70 cm", "2.6 m")
    path = tmp_path / "posts.toml"
    path.write_text(text.format(joist="45x195", beam="45x220") + JOIST + BEAM + row("95x95", 95, 95))
    deck = build(read(path))
    post = analyse(deck).of("post")[0]
    part = deck.by_id[post.ids[0]]
    slender = (part.box[1, 2] - part.box[0, 2]) / (95 * MM)
    ratio = 0.822 * 4.4e3 * PSI / slender**2 / (7 * PSI)
    cp = (1 + ratio) / 1.6 - math.sqrt(((1 + ratio) / 1.6) ** 2 - ratio / 0.8)
    assert verdict_of(post, "compression").capacity == pytest.approx(7 * PSI * cp, rel=1e-6)
    assert post.table[0].result == "not checked" and "95x95" in worded(post.table[0].why)


# Values by themselves ------------------------------------------------------------------------------------------------


def given(factors=(), name="2x9", thickness=1.75, width=7.5) -> Stock:
    """A name that would read as nominal inches, to catch any look at it."""
    psi = (("Fb", 1000.0), ("Fv", 100.0), ("Fc_perp", 300.0), ("Fc", 900.0), ("E", 1.5e6), ("Emin", 0.6e6))
    return Stock(name, thickness, width, "treated lumber", GivenValues(psi, "a standard", tuple(factors), (144.0,)))


@pytest.mark.parametrize("species", ["southern pine", "hem-fir"])
@pytest.mark.parametrize("name", ["2x9", "45x195", "4x12", "6x6"])
def test_no_factor_unless_the_row_names_it(species, name):
    """Wet, incised, repetitive, permanent load: the value stays what it is, whatever the name reads like."""
    wood, stock = Lumber(species, "No.2", True, True), given(name=name)
    assert bending(wood, stock, "permanent", True).value == 1000
    assert shear(wood, stock, "snow").value == 100
    assert bearing(wood, stock, 1.5, 12.0).value == 300
    assert (modulus(wood, stock).value, modulus(wood, stock, "Emin").value) == (1.5e6, 0.6e6)
    assert compression(wood, stock, "permanent", 0.0).value == 900


def test_each_factor_that_the_row_names():
    """By NDS: CD 0.9 permanent, CM 0.85 and 0.97, Ci 0.8, Cr 1.15, Cb (1.5 + 0.375) / 1.5 (2.3.2, Supplement 4A,
    4.3.8, 4.3.9, 3.10.4; from memory but for CD, Ci and Cr)."""
    wood = Lumber("hem-fir", "No.2", True, True)
    for factors, value in (
        (("CD",), 900),
        (("CM",), 850),
        (("Ci",), 800),
        (("Cr",), 1150),
        (("CD", "CM", "Ci", "Cr"), 1000 * 0.9 * 0.85 * 0.8 * 1.15),
    ):
        assert bending(wood, given(factors), "permanent", True).value == pytest.approx(value)
    assert shear(wood, given(("CM",)), "permanent").value == pytest.approx(97)
    assert bearing(wood, given(("Cb",)), 1.5, 12.0).value == pytest.approx(300 * 1.25)
    dry = Lumber("hem-fir", "No.2", False, False)
    assert bending(dry, given(("CM", "Ci")), "snow", False).value == 1000
    thick = given(("CM", "Cr"), thickness=4.75)  # a timber by its dressed size: CM 1.0, no repetitive members
    assert bending(wood, thick, "snow", True).value == 1000


def test_long_free_edges_are_reckoned_with_all_the_same():
    """CL by NDS 3.3.3 worked here: le = 1.63 lu + 3 d, RB^2 = le d / b^2."""
    lu, d, b = 96.0, 7.5, 1.75
    rb2 = (1.63 * lu + 3 * d) * d / b**2
    ratio = 1.2 * 0.6e6 / rb2 / 1000
    cl = (1 + ratio) / 1.9 - math.sqrt(((1 + ratio) / 1.9) ** 2 - ratio / 0.95)
    found = bending(Lumber(), given(), "live (occupancy)", False, b, d, lu)
    assert found.value == pytest.approx(1000 * cl) and cl < 0.95


def test_units_of_stress_and_density():
    """NIST SP 811: 1 psi = 6894.757 Pa, 1 lb/ft3 = 16.01846 kg/m3."""
    assert parse_stress("8.0 MPa") == pytest.approx(8e6 / 6894.757, rel=1e-6) == parse_stress("8 N/mm2")
    assert parse_stress("11 GPa") == pytest.approx(11e9 / 6894.757, rel=1e-6)
    assert parse_stress("1,160 psi") == parse_stress(1160) == parse_stress("1.16e3") == 1160
    assert parse_density("420 kg/m3") == pytest.approx(420 / 16.01846, rel=1e-6)
    assert parse_density(26) == parse_density("26 pcf") == 26
    for text in ("8 bar", "MPa", "8,0,x MPa", "-8 MPa", "", True, "inf", "8 MPa 3"):
        with pytest.raises(ValueError, match="wanted a stress like"):
            parse_stress(text)
