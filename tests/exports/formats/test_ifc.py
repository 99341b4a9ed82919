"""The IFC file against other readers: ifcopenshell's own validation, its geometry kernel and its quantity set
templates."""

from __future__ import annotations

from collections import Counter

import ifcopenshell
import ifcopenshell.geom
import numpy as np
import pytest
from conftest import demo_deck, demo_measured

from plumbcut.exports.formats import ifc as writer
from plumbcut.shared.errors import MissingLibrary
from plumbcut.shared.stock import weight

INCH = 0.0254  # metres, by definition
PRODUCTS = {  # role: IFC4 class and predefined type, as the standard's tables have them
    "footing": ("IfcFooting", "CAISSON_FOUNDATION"),
    "post": ("IfcColumn", "COLUMN"),
    "beam": ("IfcBeam", "BEAM"),
    "joist": ("IfcBeam", "JOIST"),
    "board": ("IfcCovering", "FLOORING"),
    "stringer": ("IfcMember", "STRINGER"),
    "pad": ("IfcSlab", "LANDING"),
    "ledger": ("IfcBeam", "USERDEFINED"),
}


@pytest.fixture(scope="module", params=["terrace", "hillside"])
def case(request, tmp_path_factory):
    deck, measured = demo_deck(request.param), demo_measured(request.param)
    assert len(deck.parameters.stair) == 1, "the checks below are written for one stair"
    path = tmp_path_factory.mktemp("ifc") / "model.ifc"
    writer.write_ifc(deck, measured, path)
    return deck, measured, path, ifcopenshell.open(str(path))


def complaints(file) -> list:
    from ifcopenshell import validate

    log = validate.json_logger()
    validate.validate(file, log, express_rules=True)
    return log.statements


def test_it_passes_the_readers_own_validation_with_every_rule_of_the_schema(case):
    assert complaints(case[3]) == []


def test_the_validation_would_find_a_fault(tmp_path):
    """A rule of the schema itself, CorrectPredefinedType: what is USERDEFINED must say what it is."""
    writer.write_ifc(demo_deck("terrace"), demo_measured("terrace"), tmp_path / "model.ifc")
    spoilt = ifcopenshell.open(str(tmp_path / "model.ifc"))
    next(b for b in spoilt.by_type("IfcBeam") if b.PredefinedType == "USERDEFINED").ObjectType = None
    found = complaints(spoilt)
    assert len(found) == 1 and "CorrectPredefinedType" in str(found[0])


def test_another_kernel_measures_the_same_volumes_in_the_same_places(case):
    from ifcopenshell import geom
    from ifcopenshell.util import shape as of

    _, measured, _, file = case
    settings = geom.settings()
    settings.set("use-world-coords", True)
    settings.set("mesher-linear-deflection", 0.00002)
    settings.set("mesher-angular-deflection", 0.02)
    elements = {m.id: m for m in measured}
    names = {p.GlobalId: p.Name.split()[-1] for p in file.by_type("IfcElement") if p.Representation}
    seen = set()
    every = geom.iterator(settings, file, 1)
    assert every.initialize()
    while True:
        made = every.get()
        m = elements[names[made.guid]]
        seen.add(m.id)
        corners = np.array(of.get_vertices(made.geometry))
        round_piece = m.part.shape.circle is not None
        assert of.get_volume(made.geometry) / INCH**3 == pytest.approx(m.volume, rel=2e-3 if round_piece else 1e-9), (
            m.id
        )
        assert np.allclose(
            np.array([corners.min(axis=0), corners.max(axis=0)]) / INCH, m.box, atol=0.02 if round_piece else 1e-5
        ), m.id
        if not every.next():
            break
    assert seen == set(elements)


def test_every_piece_has_its_class_mark_material_and_measured_quantities(case):
    from ifcopenshell.util import element, unit

    _, measured, _, file = case
    scale = {u: unit.calculate_unit_scale(file, f"{u}UNIT") for u in ("LENGTH", "AREA", "VOLUME", "MASS")}
    assert scale == pytest.approx(
        {"LENGTH": INCH, "AREA": 0.3048**2, "VOLUME": 0.3048**3, "MASS": 453.59237}
    )  # grams: SI's unit of mass in IFC
    products = {p.Name.split()[-1]: p for p in file.by_type("IfcElement") if p.Representation}
    assert len(products) == len(measured)
    for m in measured:
        p = products[m.id]
        assert p.Tag == m.mark == element.get_type(p).Tag
        assert element.get_material(p).Name == m.stock.material
        if m.role in PRODUCTS:
            assert (p.is_a(), p.PredefinedType) == PRODUCTS[m.role], m.id
        sets = element.get_psets(p, qtos_only=True)
        quantities = {k: v for s in sets.values() for k, v in s.items()}
        # back to cubic metres and grams, to compare with our inches and pounds by the definitions of both
        assert quantities["NetVolume"] * scale["VOLUME"] == pytest.approx(m.volume * INCH**3)
        assert quantities["NetWeight"] * scale["MASS"] == pytest.approx(weight(m.stock, m.volume) * 453.59237)
        if p.is_a() in ("IfcBeam", "IfcColumn", "IfcMember"):
            assert quantities["Length"] == pytest.approx(m.length)


def test_quantity_sets_and_their_names_are_the_standards_own(case):
    from ifcopenshell.util.pset import PsetQto

    known = PsetQto("IFC4")
    for q in case[3].by_type("IfcElementQuantity"):
        if not q.Name.startswith("Plumbcut_"):
            template = known.get_by_name(q.Name)
            assert template, q.Name
            assert {x.Name for x in q.Quantities} <= {t.Name for t in template.HasPropertyTemplates}, q.Name


def test_stairs_hold_flights_and_flights_their_pieces(case):
    from ifcopenshell.util import element

    deck, measured, _, file = case
    for stair in file.by_type("IfcStair"):
        flights = [p for p in element.get_parts(stair) if p.is_a("IfcStairFlight")]
        pieces = Counter(element.get_type(p).is_a() for f in flights for p in element.get_parts(f))
        number = int(stair.Name.split()[-1]) - 1
        assert sum(pieces.values()) == sum(m.group == "stairs" and m.part.stair == number for m in measured)
        # what is climbed, added up from the flights, is the rise from the pad (or ground) to the surface
        climbed = sum(f.NumberOfRisers * f.RiserHeight for f in flights)
        pad = next(m for m in measured if m.role == "pad" and m.part.stair == number)
        assert climbed == pytest.approx(deck.planes.surface_top - pad.box[1][2], abs=1e-4)
        assert all(f.TreadLength == pytest.approx(deck.parameters.stair[number].going, abs=1e-4) for f in flights)
        assert all(f.NumberOfTreads == f.NumberOfRisers - 1 for f in flights)
    landings = [p for p in file.by_type("IfcSlab") if not p.Representation]
    turned = bool(deck.parameters.stair[0].landings)  # the one landing of the demos turns the stair by a quarter
    assert file.by_type("IfcStair")[0].PredefinedType == ("QUARTER_TURN_STAIR" if turned else "STRAIGHT_RUN_STAIR")
    assert len(landings) == turned and all(element.get_parts(p) for p in landings)


def test_every_piece_is_found_from_the_storey_and_carriers_are_told(case):
    from ifcopenshell.util import element

    _, measured, _, file = case
    storey = file.by_type("IfcBuildingStorey")[0]
    inside = {
        p.Name.split()[-1] for p in element.get_decomposition(storey) if p.is_a("IfcElement") and p.Representation
    }
    assert inside == {m.id for m in measured}
    told = {
        (c.RelatedElement.Name.split()[-1], c.RelatingElement.Name.split()[-1])
        for c in file.by_type("IfcRelConnectsElements")
    }
    assert told == {(m.id, c) for m in measured for c in m.carried_by}
    railings = file.by_type("IfcRailing")
    assert {r.PredefinedType for r in railings} == {"BALUSTRADE", "HANDRAIL"}


def test_the_same_deck_gives_the_same_bytes_and_identifiers_are_one_of_a_kind(case, tmp_path):
    deck, measured, path, file = case
    again = tmp_path / "model.ifc"
    writer.write_ifc(deck, measured, again)
    assert again.read_bytes() == path.read_bytes()
    ids = [e.GlobalId for e in file.by_type("IfcRoot")]
    assert len(ids) == len(set(ids))
    assert file.header.file_name.time_stamp == writer.NO_DATE, "no date of issue is given in the demos"


def test_cautions_go_with_the_file(case):
    assert "authority having jurisdiction" in case[3].by_type("IfcProject")[0].Description


def test_without_the_library_it_says_how_to_get_it(monkeypatch, tmp_path):
    monkeypatch.setattr(writer, "available", lambda: False)
    with pytest.raises(MissingLibrary, match="pip install ifcopenshell"):
        writer.write_ifc(demo_deck("terrace"), demo_measured("terrace"), tmp_path / "m.ifc")
    assert list(tmp_path.iterdir()) == []
