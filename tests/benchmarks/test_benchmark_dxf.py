"""How long a DXF takes beside the plain way: the same lines and letters as objects of ezdxf, in one run.

Run alone with `pytest tests/benchmarks/test_benchmark_dxf.py -n 0 --benchmark-only`; the two tests make the ratio. CPU
time is measured, and none is asserted: a machine's speed is no fact about the program.
"""

import io
import time

import ezdxf
import pytest
from ezdxf.enums import TextEntityAlignment

from plumbcut.exports.formats.dxf_tags import Pen

COUNT = 5000  # lines, and as many letters


def _written(draw) -> int:
    """How many characters a document has in which `draw` drew."""
    doc = ezdxf.new("R2018")
    draw(doc.modelspace())
    out = io.StringIO()
    doc.write(out)
    return len(out.getvalue())


def _by_ezdxf(space) -> None:
    for n in range(COUNT):
        space.add_line((n, 0.5), (n, 8.25), {"layer": "0"})
        text = space.add_text("J1-01", height=0.1, rotation=0.0, dxfattribs={"layer": "0", "style": "S"})
        text.set_placement((n, 9.0), align=TextEntityAlignment.CENTER)


def _by_tags(space) -> None:
    pen = Pen(space)
    for n in range(COUNT):
        pen.line((n, 0.5), (n, 8.25), "0")
        pen.text((n, 9.0), "J1-01", 0.1, 0.0, 1, "S", "0")


@pytest.mark.benchmark(group="a DXF of 5,000 lines and letters", timer=time.process_time)
@pytest.mark.parametrize("draw", [_by_ezdxf, _by_tags], ids=["objects of ezdxf", "tags"])
def test_dxf_written(benchmark, draw):
    longest = benchmark.pedantic(_written, (draw,), rounds=3, warmup_rounds=1)
    assert abs(longest - _written(_by_tags)) < 100  # but for dates
