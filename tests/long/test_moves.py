"""The same deck elsewhere has the same pieces, order and hardware: moved, turned by a quarter, in a mirror."""

from __future__ import annotations

import decks
import moves
import pytest

from plumbcut.model.deck import Deck, build
from plumbcut.model.design.designed import designed
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.order.takeoff import take_off

MOVED = (0, 8)
TURNED = (4, 15, 27, 29)
MIRRORED = (0, 1, 8, 21, 41, 43)
ROUNDING = 1e-4


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


def bought(deck: Deck) -> tuple[dict[tuple, float], dict[str, int]]:
    """(inches bought of each stock, places of each kind of hardware)."""
    found = take_off(deck, measure_all(deck.parts))
    return {(x.stock.name, x.edge): round(x.bought, 3) for x in found.order.lines}, {
        h.item: h.places for h in found.hardware
    }


@pytest.mark.parametrize("seed", MOVED)
def test_a_deck_that_is_moved_has_the_same_pieces(seed):
    file = file_of(seed)
    assert same(rows(built(file)), rows(built(moves.moved(file, 1234.5, -777.25)))) == []


@pytest.mark.parametrize("seed", TURNED)
def test_a_deck_that_is_turned_by_a_quarter_has_the_same_pieces(seed):
    file = file_of(seed)
    assert same(rows(built(file)), rows(built(moves.turned(file)))) == []


@pytest.mark.parametrize("seed", MIRRORED)
def test_a_deck_in_a_mirror_has_the_same_pieces(seed):
    """But for knee braces where beams meet askew: their post stands square to the beam that ends there as the outline
    is walked, which is the other one in a mirror."""
    file = file_of(seed)
    decks_seen = built(file), built(moves.mirrored(file))
    askew = any(any(r.mitred) for d in decks_seen for r in d.layout.runs)
    left, right = ([r for r in rows(d) if not (askew and r[0] == "knee brace")] for d in decks_seen)
    assert same(left, right) == []


@pytest.mark.parametrize("how", [moves.turned, moves.mirrored])
def test_a_deck_elsewhere_is_bought_alike(how):
    file = file_of(11)
    file["frame"]["knee_braces"] = False  # at an askew mitre they follow the post, which is another's in a mirror
    assert bought(built(file)) == bought(built(how(file)))


def test_a_mirror_twice_is_the_file_again():
    file = moves.told(decks.parameters(10))
    twice = moves.mirrored(moves.mirrored(file))
    by_edge = [dict(zip(f["outline"]["edges"], f["outline"]["points"])) for f in (file, twice)]
    assert by_edge[0] == by_edge[1]
    assert [s.get("at") for s in twice["stair"]] == pytest.approx([s.get("at") for s in file["stair"]])


def test_an_island_that_designs_itself_has_the_same_pieces_in_a_mirror():
    """Two edges alike seen, arms of about one length: beams and whole boards go by where things are set out."""
    plus = [(72, 0), (171, 0), (171, 60), (244, 60), (244, 163), (171, 163)]
    plus += [(171, 221), (72, 221), (72, 163), (0, 163), (0, 60), (72, 60)]
    file = {
        "outline": {"points": plus, "edges": [f"e{k + 1}" for k in range(len(plus))], "house": []},
        "levels": {"surface": 25.0, "slope_y": 0.02},
        "frame": {"joist_direction": "x"},
        "surface": {"direction": 90},
        "stair": [{"edge": "e1", "width": 72, "handrail": "both", "at": 13.5}],
    }
    one, other = (designed(Parameters.model_validate(f)).deck for f in (file, moves.mirrored(file)))
    assert same(rows(one), rows(other)) == []
