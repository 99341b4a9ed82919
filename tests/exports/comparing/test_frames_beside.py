"""Frames side by side in figures, against sums worked out here. The decks are invented."""

from __future__ import annotations

import pytest

from plumbcut.exports.comparing.frames_beside import frames_beside
from plumbcut.model.design.costs import frame_depth
from plumbcut.model.design.designed import designed
from plumbcut.model.input.parameters import Parameters
from plumbcut.shared.prices import Prices

PER_FOOT = {"2x8": 1.0, "2x10": 2.0, "2x12": 3.0, "4x4": 4.0, "6x6": 5.0}
PRICES = Prices(
    (
        *((name, "", None, "ft", price) for name, price in PER_FOOT.items()),
        ("post base", "", None, "each", 20.0),
        ("beam cap", "", None, "each", 30.0),
        ("concrete bag", "", None, "each", 6.0),
    )
)


@pytest.fixture(scope="module")
def two():
    file = {"outline": {"width": 173, "depth": 131}, "levels": {"surface": 46}}
    frames = {"plain": {}, "deeper": {"joist": "2x10", "beam": "2x12"}}
    return [(name, designed(Parameters.model_validate(file | {"frame": f}))) for name, f in frames.items()]


def told(lines) -> dict[str, list[str]]:
    return {
        line[: len("  timber, board feet")].strip(): line[len("  timber, board feet") :].split() for line in lines[1:]
    }


def test_each_frame_has_its_figures(two):
    lines = frames_beside(two, PRICES)
    assert lines[0].split() == ["plain", "deeper"]
    found = told([line.replace('" ', '"').replace(" 1/2", "-1/2") for line in lines])
    for k, (_, made) in enumerate(two):
        own = [p for p in made.deck.parts if p.group in ("frame", "blocking")]
        feet = sum(p.shape.polygon.area * p.shape.thickness for p in own) / 144
        assert float(found["timber, board feet"][k]) == pytest.approx(feet, abs=0.51)
        footings = made.deck.roles("footing")
        assert int(found["footings"][k]) == len(footings) == int(found["posts"][k])
        timber = sum(
            p.shape.polygon.area * p.shape.thickness / (p.stock.thickness * p.stock.width) / 12 * PER_FOOT[p.stock.name]
            for p in own
        )
        bags = sum(p.shape.polygon.area * p.shape.thickness for p in footings) / (0.6 * 1728)
        price = timber + 6 * bags + 50 * len(footings)
        assert float(found["price"][k].replace(",", "")) == pytest.approx(price, abs=0.01)


def test_the_depth_is_that_of_joists_and_beam(two):
    """2x8 on 2x10: 7-1/4 and 9-1/4; 2x10 on 2x12: 9-1/4 and 11-1/4."""
    assert [frame_depth(made.deck.layout) for _, made in two] == pytest.approx([16.5, 20.5])


def test_without_a_price_list_there_is_no_price(two):
    assert not any("price" in line for line in frames_beside(two, Prices()))
    assert "cu m" in frames_beside(two, Prices(), True)[3] and "419.1 mm" in frames_beside(two, Prices(), True)[4]
