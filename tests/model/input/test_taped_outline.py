"""An outline from sides and diagonals, against outlines whose lengths are worked out here from their corners."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.deck import build
from plumbcut.model.input.taped_outline import MOST_OFF, laid_out
from plumbcut.model.parameter_file import prepare
from plumbcut.model.plan.taped_note import taped_notes
from plumbcut.shared.errors import DesignError, InputError

ELL = [(0, 0), (126, 0), (126, 52), (225, 52), (225, 150), (0, 150)]
INSIDE = [("A", "C"), ("C", "E"), ("C", "F")]  # these cover the L with triangles


def lengths(points, pairs):
    at = {chr(65 + n): q for n, q in enumerate(points)}
    sides = [math.dist(a, b) for a, b in zip(points, [*points[1:], points[0]])]
    return sides, [(a, b, math.dist(at[a], at[b])) for a, b in pairs]


def test_a_reflex_corner_comes_out_where_it_is():
    found = laid_out(*lengths(ELL, INSIDE))
    assert [v for q in found.points for v in q] == pytest.approx([v for q in ELL for v in q], abs=1e-4)
    assert abs(found.worst[1]) < 1e-4


@settings(max_examples=100, deadline=None)
@given(st.lists(st.floats(40, 200), min_size=4, max_size=9), st.floats(0, 6))
def test_any_outline_round_a_middle_comes_out_as_it_was(reaches, turn):
    n = len(reaches)
    ring = [
        (r * math.cos(turn + k * math.tau / n), r * math.sin(turn + k * math.tau / n)) for k, r in enumerate(reaches)
    ]
    # a fan from the first corner covers it where every triangle of the fan goes round the same way, well clear of flat
    for a, b in itertools.pairwise(ring[1:]):
        o = ring[0]
        if (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0]) < 900:
            return
    found = laid_out(*lengths(ring, [("A", chr(65 + k)) for k in range(2, n - 1)]))
    for i in range(n):
        for j in range(i):
            assert math.dist(found.points[i], found.points[j]) == pytest.approx(math.dist(ring[i], ring[j]), abs=1e-3)


def test_what_was_taped_more_than_it_takes_is_shared_out_and_told():
    """A rectangle with one diagonal 1/2 in too long of two: by symmetry each length gives way a little, none by all."""
    sides, diagonals = lengths([(0, 0), (200, 0), (200, 120), (0, 120)], [("A", "C"), ("B", "D")])
    a, b, long = diagonals[1]
    found = laid_out(sides, [diagonals[0], (a, b, long + 0.5)])
    key, off = found.worst
    assert key.startswith("outline.taped.diagonals") and 0 < abs(off) < 0.25
    squares = sum(o * o for _, o in found.off)
    assert squares < 0.5**2 / 2, "less than half of what leaving it all in one length would be"


@pytest.mark.parametrize(
    ("sides", "diagonals", "key", "told"),
    [
        ([200, 120, 200, 120], [], "outline.taped.diagonals", "4 sides need 1 diagonals inside"),
        ([200, 120, 200, 120], [("A", "E", 100)], "outline.taped.diagonals.0.1", "no corner 'E'"),
        ([200, 120, 200, 120], [("A", "B", 100)], "outline.taped.diagonals.0", "is no diagonal"),
        ([200, 120, 200, 120], [("A", "C", 400)], "outline.taped.diagonals.0", "do not meet"),
        ([200, 120, 200, 120], [("A", "C", 233.24), ("B", "D", 200)], "outline.taped.diagonals", "tape it again"),
    ],
)
def test_lengths_that_make_no_outline_are_refused_by_key(sides, diagonals, key, told):
    with pytest.raises(DesignError) as refused:
        laid_out(sides, diagonals)
    assert refused.value.key.startswith(key) and told in refused.value.reason


FILE = """[outline]
edges = ["front", "right", "back", "left"]
house = ["back"]
[outline.taped]
sides = ["16' 8", 120, 200, "10 ft"]
diagonals = [["A", "C", "19' 5-1/4"]{}]
[levels]
surface = 30
"""


def test_a_file_says_it_and_how_well_it_closes():
    p, layout = prepare("deck.toml", source=FILE.format("").encode())
    assert [e.name for e in layout.outline.edges if e.house] == ["back"]
    assert layout.outline.polygon.area == pytest.approx(200 * 120, rel=1e-4)
    assert "nothing taped checks another" in worded(next(iter(taped_notes(p))))
    p, layout = prepare("deck.toml", source=FILE.format(', ["B", "D", "19\' 5-3/4"]').encode())
    told = worded(next(iter(taped_notes(p))))
    assert "6 lengths as taped, 1 more than it takes" in told and "(outline.taped.diagonals." in told
    assert any(worded(n) == told for n in build(p, layout=layout).notes)


@pytest.mark.parametrize(
    ("was", "to", "told"),
    [
        ('["A", "C", "19\' 5-1/4"]', '["A", "C", "30 ft"]', "5: outline.taped.diagonals.0: the lengths of a triangle"),
        ("sides = ", "side = ", "outline.taped.side: unknown key"),
        ("[outline.taped]", "width = 100\n[outline.taped]", "outline.width: is given, and outline.taped too"),
        ('"10 ft"', '"ten"', "outline.taped.sides.3"),
    ],
)
def test_faults_have_their_line_and_key(was, to, told):
    text = FILE.format("")
    assert was in text
    with pytest.raises(InputError) as refused:
        prepare("deck.toml", source=text.replace(was, to).encode())
    assert told.removeprefix("5: ") in str(refused.value)


def test_a_slip_of_a_foot_is_found():
    """The length at fault is named where enough was taped to tell; where nothing checks a length, that is told."""
    pairs = [*INSIDE, ("A", "E"), ("B", "F"), ("A", "D"), ("B", "E"), ("D", "F")]
    sides, diagonals = lengths(ELL, pairs)
    assert not laid_out(sides, diagonals).unchecked
    for k in range(6):
        slipped = [s + 12 * (k == n) for n, s in enumerate(sides)]
        with pytest.raises(DesignError, match="too long for what the others make; tape it again") as refused:
            laid_out(slipped, diagonals)
        assert refused.value.key == f"outline.taped.sides.{k}" and MOST_OFF < 12
    alone = laid_out(*lengths(ELL, [*INSIDE, ("A", "E")])).unchecked
    assert {"outline.taped.sides.2", "outline.taped.sides.3"} <= set(alone)
    assert not {"outline.taped.sides.4", "outline.taped.diagonals.3"} & set(alone)
