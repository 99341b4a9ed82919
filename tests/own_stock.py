"""Decks of timber sizes that only their parameter file knows: metric dressed ones, with invented values of the usual
order of magnitude."""

from __future__ import annotations

from pathlib import Path

from plumbcut.model.deck import build
from plumbcut.model.parameter_file import read

MM = 1 / 25.4
PLAIN = """
[outline]
width = "4.9 m"
depth = "3.1 m"
[levels]
surface = "70 cm"
[frame]
joist = "{joist}"
beam = "{beam}"
[guard]
edges = []
"""


def row(name: str, thickness: float, width: float, fb: float = 8.0, **other) -> str:
    """A row of the file: sizes in mm, stresses in MPa."""
    keys = {
        "name": f'"{name}"',
        "thickness": f'"{thickness} mm"',
        "width": f'"{width} mm"',
        "lengths": '["3.9 m", "5.1 m"]',
        "Fb": f'"{fb} MPa"',
        "Fv": '"0.9 MPa"',
        "Fc_perp": '"2.4 MPa"',
        "Fc": '"7 MPa"',
        "E": '"11 GPa"',
        "Emin": '"4.4 GPa"',
        "standard": '"EN 338 C24 / our engineer"',
        **other,
    }
    return "[[lumber.stock]]\n" + "".join(f"{k} = {v}\n" for k, v in keys.items() if v)


JOIST, BEAM = row("45x195", 45, 195), row("45x220", 45, 220, lengths='["5.1 m"]')


def deck_of(tmp_path: Path, *rows: str, joist: str = "45x195", beam: str = "45x220", name: str = "deck"):
    path = tmp_path / f"{name}.toml"
    path.write_text(PLAIN.format(joist=joist, beam=beam) + "\n".join(rows))
    return build(read(path))
