"""The same deck elsewhere has the same pieces: moved, and turned by a quarter, piece for piece. Mirrored, what does not
hang on where the joists begin: they are set out from the low end of the plan, so that an odd bay changes sides and with
it the blocks, the joints over them and what stands near them; at a corner within 3 degrees of square the longer way
round the outline decides which rim runs through."""

from __future__ import annotations

import collections

import decks
import moves
import pytest

from plumbcut.model.deck import Deck, build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all

MOVED = (0, 8, 15, 18, 23)  # 18: a strip of just half an inch beside a notch, kept here and cut off there
TURNED = (0, 4, 15, 23)
MIRRORED = (0, 1, 8, 15, 21)
ROUNDING = 1e-4
# counts and sums that are the same in a mirror, joists or not
IN_A_MIRROR = ("tread", "riser", "stringer", "skirt", "fascia", "ledger", "handrail")


def built(file: dict) -> Deck:
    return build(Parameters.model_validate(file))


def file_of(seed: int) -> dict:
    made = moves.told(decks.parameters(seed))
    made["surface"].pop("breakers", None)  # measured from an end of the plan
    return made


def rows(deck: Deck) -> list[tuple]:
    """What is counted, ordered and cut of every piece, whatever its place and mark."""
    return sorted(
        (m.role, m.stock.name, m.length, m.sizes.width, m.sizes.thickness, m.volume, m.surface)
        for m in measure_all(deck.parts)
    )


def same(a: list[tuple], b: list[tuple]) -> list:
    """Rows that have no counterpart within `ROUNDING` of a share."""
    left = list(b)
    alone = []
    for row in a:
        match = next(
            (
                q
                for q in left
                if q[:2] == row[:2] and all(abs(x - y) <= ROUNDING * max(1, y) for x, y in zip(row[2:], q[2:]))
            ),
            None,
        )
        if match is None:
            alone.append(row)
        else:
            left.remove(match)
    return alone + left


@pytest.mark.parametrize("seed", MOVED)
def test_a_deck_that_is_moved_has_the_same_pieces(seed):
    file = file_of(seed)
    assert same(rows(built(file)), rows(built(moves.moved(file, 1234.5, -777.25)))) == []


@pytest.mark.parametrize("seed", TURNED)
def test_a_deck_that_is_turned_by_a_quarter_has_the_same_pieces(seed):
    file = file_of(seed)
    assert same(rows(built(file)), rows(built(moves.turned(file)))) == []


@pytest.mark.parametrize("seed", MIRRORED)
def test_a_deck_in_a_mirror_has_the_same_stairs_edges_and_area(seed):
    file = file_of(seed)
    counts = []
    for deck in (built(file), built(moves.mirrored(file))):
        found: collections.Counter = collections.Counter()
        for m in measure_all(deck.parts):
            if m.role in IN_A_MIRROR:
                found[m.role, m.stock.name] += 1
            if m.group == "surface":
                found["area"] += m.top_area
        counts.append(found)
    area = [c.pop("area") for c in counts]
    assert counts[0] == counts[1]
    assert area[0] == pytest.approx(area[1], rel=2e-3)  # joints of boards take their gaps elsewhere


def test_a_mirror_twice_is_the_file_again():
    file = moves.told(decks.parameters(10))
    twice = moves.mirrored(moves.mirrored(file))
    by_edge = [dict(zip(f["outline"]["edges"], f["outline"]["points"])) for f in (file, twice)]
    assert by_edge[0] == by_edge[1]
    assert [s.get("at") for s in twice["stair"]] == pytest.approx([s.get("at") for s in file["stair"]])
