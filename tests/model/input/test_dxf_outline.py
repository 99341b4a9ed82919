"""An outline out of a drawing: drawings are written here, in each unit, and the corners are those that were drawn."""

from __future__ import annotations

import ezdxf
import pytest

from plumbcut.model.parameter_file import prepare
from plumbcut.shared.errors import InputError

# an L in inches, as it should come out: its first corner is the drawing's first
ELL = [(0, 0), (126, 0), (126, 52), (225, 52), (225, 150), (0, 150)]
CODES = {"in": 1, "ft": 2, "mm": 4, "cm": 5, "m": 6}  # $INSUNITS, DXF reference
INCH = {"in": 1.0, "ft": 1 / 12, "mm": 25.4, "cm": 2.54, "m": 0.0254}


class Survey:
    """A drawing beside a parameter file."""

    def __init__(self, folder, unit="in", version="R2010", away=(0.0, 0.0)):
        self.folder, self.unit, self.away = folder, unit, away
        self.drawing = ezdxf.new(version)
        self.drawing.header["$INSUNITS"] = CODES.get(unit, 0)
        self.space = self.drawing.modelspace()

    def at(self, points):
        k = INCH.get(self.unit, 1.0)
        return [((x + self.away[0]) * k, (y + self.away[1]) * k) for x, y in points]

    def ring(self, points, layer="DECK", closed=True):
        self.space.add_lwpolyline(self.at(points), close=closed, dxfattribs={"layer": layer})

    def lines(self, points, layer="DECK"):
        for a, b in zip(points[::2], points[1::2]):
            self.space.add_line(*self.at([a, b]), dxfattribs={"layer": layer})

    def outline(self, keys='layer = "DECK"', more=""):
        self.drawing.saveas(self.folder / "survey.dxf")
        text = f'[outline]\ndxf = "survey.dxf"\n{keys}\n[levels]\nsurface = 40\n{more}'
        return prepare(self.folder / "deck.toml", source=text.encode())

    def refused(self, keys='layer = "DECK"', more="") -> str:
        with pytest.raises(InputError) as refused:
            self.outline(keys, more)
        return str(refused.value)


def corners(found):
    return [tuple(round(v, 4) for v in e.start) for e in found[1].outline.edges]


@pytest.mark.parametrize("unit", CODES)
@pytest.mark.parametrize("version", ["R12", "R2000", "R2018"])
def test_its_units_are_honoured_and_it_is_moved_to_the_origin(tmp_path, unit, version):
    survey = Survey(tmp_path, unit, version, away=(50_000.0, -7_000.0))
    if version == "R12":
        survey.space.add_polyline2d(survey.at(ELL), close=True, dxfattribs={"layer": "DECK"})
        survey.drawing.header["$INSUNITS"] = CODES[unit]
        found = survey.outline(f'layer = "DECK"\ndxf_units = "{unit}"')
    else:
        survey.ring(ELL)
        found = survey.outline()
    assert corners(found) == ELL


def test_drawn_the_other_way_round_it_comes_counter_clockwise_from_the_same_corner(tmp_path):
    survey = Survey(tmp_path)
    survey.ring([ELL[0], *reversed(ELL[1:])])
    assert corners(survey.outline()) == ELL


def test_lines_in_any_order_are_joined_and_small_gaps_closed(tmp_path):
    survey = Survey(tmp_path)
    edges = list(zip(ELL, [*ELL[1:], ELL[0]]))
    for n in (3, 0, 5, 2, 4, 1):
        (a, b) = edges[n][:: 1 if n % 2 else -1]
        survey.lines([a, (b[0] + 0.1, b[1])])
    found = corners(survey.outline())
    assert len(found) == 6
    for x, y in ELL:
        assert min(abs(x - p) + abs(y - q) for p, q in found) < 0.3


def test_an_open_line_says_by_how_much_and_where(tmp_path):
    survey = Survey(tmp_path)
    survey.ring([*ELL, (0, 3)], closed=False)
    told = survey.refused()
    assert "outline.layer" in told and "open by 3 in" in told and "at most 0.25 in is closed" in told


def test_the_only_closed_line_needs_no_layer_and_of_several_one_is_named(tmp_path):
    survey = Survey(tmp_path)
    survey.ring(ELL)
    survey.lines([(0, 0), (9, 9)], "NOTES")
    assert corners(survey.outline("")) == ELL
    survey.ring([(0, 0), (900, 0), (900, 900)], "LOT")
    assert "2 closed lines in the drawing, on layers DECK, LOT: name one" in survey.refused("")
    assert corners(survey.outline('layer = "deck"')) == ELL, "layers are told apart without their capitals"


def test_the_house_line_and_the_lot_likewise(tmp_path):
    survey = Survey(tmp_path, "ft", away=(1000, 2000))
    survey.ring(ELL)
    survey.lines([(-60, 150), (400, 150)], "HOUSE")
    survey.ring([(-200, -300), (500, -300), (500, 400), (-200, 400)], "LOT")
    p, layout = survey.outline('layer = "DECK"\nhouse_layer = "HOUSE"\nlot_layer = "LOT"')
    assert [e.name for e in layout.outline.edges if e.house] == ["e5"]
    assert [tuple(round(v, 3) for v in q) for q in p.site.lot] == [(-200, -300), (500, -300), (500, 400), (-200, 400)]
    survey.lines([(0, 500), (9, 500)], "FAR")
    assert "outline.house_layer: no edge of the outline lies along" in survey.refused(
        'layer = "DECK"\nhouse_layer = "FAR"'
    )


@pytest.mark.parametrize("kind", ["arc", "bulge", "circle", "spline"])
def test_curves_are_refused_in_a_clear_word(tmp_path, kind):
    survey = Survey(tmp_path)
    if kind == "bulge":
        survey.space.add_lwpolyline(
            [(0, 0, 0.5), (90, 0, 0), (90, 90, 0)], "xyb", close=True, dxfattribs={"layer": "DECK"}
        )
    else:
        survey.ring(ELL)
        at = {"layer": "DECK"}
        if kind == "arc":
            survey.space.add_arc((0, 0), 10, 0, 90, dxfattribs=at)
        elif kind == "circle":
            survey.space.add_circle((0, 0), 10, dxfattribs=at)
        else:
            survey.space.add_spline([(0, 0), (10, 10), (20, 0)], dxfattribs=at)
    told = survey.refused()
    assert "outline.dxf" in told and "has a curve" in told and "straight edges" in told


def test_what_cannot_be_used_is_one_line_by_key(tmp_path):
    survey = Survey(tmp_path, "none")
    survey.ring(ELL)
    assert "outline.dxf_units: survey.dxf does not say its units" in survey.refused()
    assert corners(survey.outline('layer = "DECK"\ndxf_units = "in"')) == ELL
    assert "no line on layer ROOF; layers with something on them: DECK" in survey.refused(
        'layer = "ROOF"\ndxf_units = "in"'
    )
    assert "outline.width" in survey.refused("width = 100\ndepth = 100")
    (tmp_path / "survey.dxf").write_text("no drawing\n")
    for keys, told in [
        ('dxf = "survey.dxf"', "outline.dxf: survey.dxf is no DXF drawing that can be read"),
        ('dxf = "other.dxf"', "outline.dxf: no file other.dxf"),
        ('dxf = "../survey.dxf"', "lies outside the folder"),
        ('layer = "DECK"\nwidth = 90\ndepth = 90', "outline.layer: is for a drawing"),
        ("dxf = 7", "outline.dxf"),
    ]:
        with pytest.raises(InputError) as refused:
            prepare(tmp_path / "deck.toml", source=f"[outline]\n{keys}\n[levels]\nsurface = 40\n".encode())
        assert told in str(refused.value)
