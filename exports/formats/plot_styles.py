"""What lies beside a DXF: the table by which its colours plot black in their weights, and the face of its lettering."""

from __future__ import annotations

import io
import shutil
import struct
import zlib
from pathlib import Path

from ezdxf.addons import acadctb

from ..drafting import style
from ..drafting.layers import LAYERS

CTB = "plumbcut.ctb"
_BLACK = (0, 0, 0)
_HEAD = b"PIAFILEVERSION_2.0,CTBVER1,compress\r\npmzlibcodec"


def pens() -> dict[int, float]:
    """Weight in mm of each colour of the layers that plot.

    Raises ValueError where one colour has two weights: by its colour no program could tell them apart.
    """
    found: dict[int, float] = {}
    for layer in LAYERS.values():
        if layer.plot and found.setdefault(layer.colour, layer.weight) != layer.weight:
            raise ValueError(f"layer {layer.name}: colour {layer.colour} is of weight {found[layer.colour]} elsewhere")
    return found


def write_plot_styles(path: Path) -> None:
    """Colours of the layers black in their weights, every other colour black in its entity's own."""
    weights = pens()
    table = acadctb.ColorDependentPlotStyles("Every colour plots black; the layers' colours in their weights")
    steps = [round(weight, 2) for weight in acadctb.DEFAULT_LINE_WEIGHTS]
    for entry in table:
        entry.color = _BLACK
        weight = weights.get(entry.aci)
        if weight is not None:
            entry.lineweight = steps.index(round(weight, 2))
    text = io.StringIO()
    table.write_content(text)
    path.write_bytes(_packed(text.getvalue().encode("ascii") + b"\0"))


def _packed(content: bytes) -> bytes:
    """The table as programs read it: checksum and sizes in four bytes each. ezdxf's own writer takes this machine's
    long, of eight on most, and then cannot read its file back."""
    body = zlib.compress(content)
    return _HEAD + struct.pack("<LLL", zlib.adler32(body), len(content), len(body)) + body


def write_beside(folder: Path) -> None:
    """The plot styles and the face with its licence into `folder`, where programs look that read a DXF there."""
    write_plot_styles(folder / CTB)
    face = style.font_path()
    shutil.copyfile(face, folder / style.FONT_DXF)
    shutil.copyfile(face.with_name(style.FONT_LICENCE), folder / style.FONT_LICENCE)
