"""How a table is divided. That no part is left with a row or two alone is common practice, no source."""

from __future__ import annotations

import pytest

from plumbcut.exports.drafting.drawing import Table
from plumbcut.exports.drafting.tabling import ORPHAN, divide, table_size


def parts(count: int, first: float, whole: float, high: int = 1) -> list[tuple[float, Table]]:
    """Rows numbered in order, set on a column with `first` paper inches left and then on fresh ones of `whole`."""
    rows = [["\n".join([str(n)] * high)] for n in range(count)]
    room, put = [first], []

    def table(some, first):
        return Table((0.0, 0.0), "", ["N"], some, [1.0], "l")

    def set_(made, first):
        assert first == (not put)
        put.append((room[-1], made))

    divide(rows, table, lambda rest, first: (room[-1], room[-1] == whole), set_, lambda: room.append(whole))
    assert [r for _, t in put for r in t.rows] == rows
    return put


@pytest.mark.parametrize("count", range(1, 40))
@pytest.mark.parametrize("left", [0.2, 0.5, 1.0, 1.3, 2.0])
def test_every_row_is_set_once_within_its_room_and_none_stands_alone(count, left):
    put = parts(count, left, 2.0)
    assert all(table_size(t)[1] <= room for room, t in put)
    assert all(len(t.rows) >= min(ORPHAN, count) for _, t in put)


def test_a_row_higher_than_a_column_is_set_all_the_same():
    assert [len(t.rows) for _, t in parts(4, 0.5, 1.0, high=12)] == [1, 1, 1, 1]
