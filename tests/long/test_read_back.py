"""Whole decks drawn by lot, written and read back by other readers: STEP through cadquery, DXF through ezdxf, GLB by
its specification."""

from __future__ import annotations

from pathlib import Path

import cadquery as cq
import decks
import ezdxf
import numpy as np
import pytest
from read_back import pieces

from plumbcut.exports.drafting.drawing import Dimension
from plumbcut.exports.formats.dxf import write_dxf
from plumbcut.exports.formats.solids import write_glb, write_step
from plumbcut.exports.sheets import build_drawing
from plumbcut.model.deck import Deck, build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.rules.checks import check_deck
from plumbcut.model.structure.structure import analyse

SEEDS = (0, 23)
MM = 25.4  # cadquery reads a STEP file in millimetres
CHORDS = 3e-3  # share of a round piece's volume that its chords take off
ROUNDING = 2e-5  # inches: places of a GLB are single floats in metres


@pytest.fixture(scope="module", params=SEEDS)
def deck(request) -> Deck:
    return build(Parameters.model_validate(decks.parameters(request.param)))


def _leaves(assembly: cq.Assembly, at: cq.Location):
    at = at * assembly.loc
    if assembly.obj is not None:
        shape = assembly.obj.val() if isinstance(assembly.obj, cq.Workplane) else assembly.obj
        yield assembly.name, shape.moved(at)
    for child in assembly.children:
        yield from _leaves(child, at)


def test_step_holds_every_piece_at_its_place_with_its_volume(deck, tmp_path):
    path = tmp_path / "model.step"
    write_step(deck, path)
    found = dict(_leaves(cq.Assembly.load(str(path)), cq.Location()))
    assert len(found) == len(deck.parts) and set(found) == {p.id for p in deck.parts}
    for part in deck.parts:
        shape = found[part.id]
        assert shape.Volume() / MM**3 == pytest.approx(part.shape.solid.Volume(), rel=1e-6), part.id
        middle = np.array(shape.Center().toTuple()) / MM
        assert middle == pytest.approx(part.solid.Center().toTuple(), abs=1e-4), part.id


def test_glb_holds_every_piece_at_its_place_as_a_closed_solid_of_its_volume(deck, tmp_path):
    path = tmp_path / "model.glb"
    write_glb(deck, path)
    found = {p.id: p for p in pieces(path)}
    assert len(found) == len(deck.parts) and set(found) == {p.id for p in deck.parts}
    for part in deck.parts:
        piece = found[part.id]
        assert piece.solid.volume() == pytest.approx(part.shape.solid.Volume(), rel=CHORDS), part.id
        assert np.abs(piece.box - part.box).max() < ROUNDING, part.id
        assert (piece.about["role"], piece.about["mark"]) == (part.role, part.mark)


def test_dxf_holds_every_sheet_and_its_auditor_finds_nothing(deck, tmp_path):
    measured = measure_all(deck.parts)
    drawing = build_drawing(deck, measured, check_deck(deck, measured, analyse(deck)))
    path: Path = tmp_path / "permit.dxf"
    write_dxf(drawing, path)
    document = ezdxf.readfile(path)
    auditor = document.audit()
    assert auditor.errors == [] and auditor.fixes == []
    assert len(document.layouts) - 1 == len(drawing.sheets)  # all but the model space
    for sheet in drawing.sheets:
        ports = [v for v in document.layout(f"{sheet.number} {sheet.name}").query("VIEWPORT") if v.dxf.id != 1]
        assert len(ports) == len(sheet.viewports)
    wanted = sum(isinstance(item, Dimension) for item in drawing.items())
    assert sum(len(layout.query("DIMENSION")) for layout in document.layouts) == wanted > 20
