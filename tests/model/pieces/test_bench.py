"""Built-in benches: sizes as asked, nothing in two places, carried and loaded; read by arithmetic written out here."""

from __future__ import annotations

import itertools
import math
import tomllib

import numpy as np
import pytest
from conftest import PARAMS, demo_deck

from plumbcut.exports.page.preview import model_data
from plumbcut.exports.sheets import build_drawing
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.order.takeoff import take_off
from plumbcut.model.rules.checks import check_deck
from plumbcut.model.structure.load_path import follow
from plumbcut.shared.errors import DesignError

TERRACE = tomllib.loads((PARAMS / "terrace.toml").read_text())


def with_benches(*benches: dict):
    return build(Parameters.model_validate({**TERRACE, "bench": list(benches)}))


@pytest.fixture(scope="module")
def deck():
    return with_benches({"edge": "left"}, {"edge": "front"})


def test_seat_height_spacing_and_gaps(deck):
    """18 in seats: common practice, no source."""
    seats, frames = deck.roles("bench seat"), deck.roles("bench frame")
    assert {round(float(p.box[1, 2]) - deck.planes.surface_top, 6) for p in seats} == {18.0}
    for edge, axis in (("left", 1), ("front", 0)):
        across = sorted({round(float(p.box[:, axis].mean()), 6) for p in frames if p.edge == edge})
        steps = np.diff(across)
        assert len(across) >= 2 and steps.max() <= 16.0 + 1e-6 and np.ptp(steps) < 1e-6
        rows = sorted((p.box[:, 1 - axis].min(), p.box[:, 1 - axis].max()) for p in seats if p.edge == edge)
        gaps = [b[0] - a[1] for a, b in itertools.pairwise(rows) if b[0] > a[0] + 1]
        assert gaps and all(g == pytest.approx(0.25) for g in gaps)
    assert all(p.box[0, 2] == pytest.approx(deck.planes.surface_top) for p in frames if p.box[1, 2] - p.box[0, 2] > 4)


def test_nothing_of_it_is_in_two_places_or_in_the_air(deck):
    assert not deck.clashes
    assert not [r for r in check_deck(deck) if r.result == "not met"]
    assert all(p.carried_by for p in deck.parts if p.group == "built-ins")


def test_its_load_arrives_on_the_footings_and_the_ledger():
    """What a seat carries over its own plan area is neither lost nor doubled on its way down: with the bench in the
    middle of the front edge, far from the ledger, members and footings take it all (statics: the sum of reactions is
    the load)."""
    plain, seated = demo_deck("terrace"), with_benches({"edge": "front"})
    area = math.fsum(p.footprint.area for p in seated.roles("bench seat")) / 144

    def taken(deck) -> float:
        path = follow(deck.parts, deck.contacts)
        return sum(c.load.steady for c in path.on_footings()) + sum(
            l.area + sum(load.steady for _, load, _ in l.joists) for l in path.ledgers
        )

    assert taken(seated) - taken(plain) == pytest.approx(area, rel=1e-6)


def test_it_is_ordered_drawn_and_shown_without_a_word_in_exports(deck):
    measured = measure_all(deck.parts)
    marks = {p.mark for p in deck.parts if p.group == "built-ins"}
    taken = take_off(deck, measured)
    assert {c.mark for c in taken.cuts} >= marks
    assert {l.role for l in taken.lines} >= {"bench seat", "bench frame"}
    assert {p["role"] for p in model_data(deck, measured, ())["pieces"]} >= {"bench seat", "bench frame"}
    drawing = build_drawing(deck, measured, check_deck(deck, measured))
    views = {v.name: {i.mark for i in v.items} for v in drawing.views()}
    shown = [n for n, found in views.items() if any(m and m.split("-")[0] in marks for m in found)]
    assert any("elevation" in n for n in shown) and any("surface" in n for n in shown)


@pytest.mark.parametrize(
    "bench, key",
    [
        ({"edge": "nowhere"}, "bench.0.edge"),
        ({"edge": "front", "at": 50, "length": 60}, "bench.0.at"),
        ({"edge": "front", "length": 150}, "bench.0.length"),
        ({"edge": "left", "height": 10, "frame": "2x8"}, "bench.0.height"),
    ],
)
def test_no_room_is_said_with_its_key(bench, key):
    with pytest.raises(DesignError) as e:
        with_benches(bench)
    assert e.value.key == key


def test_two_benches_on_one_edge_do_not_lie_in_one_another():
    deck = with_benches({"edge": "front"}, {"edge": "front"})
    assert not deck.clashes and len({p.where for p in deck.roles("bench seat")}) == 2


def test_a_bench_ends_at_the_post_in_a_corner_of_slanted_edges():
    """A post in an obtuse corner reaches further in from either edge than those along it."""
    file = {
        "outline": {
            "points": [[0, 0], [200, 0], [200, 146], [62, 146], [0, 84]],
            "edges": ["front", "right", "back", "skew", "left"],
            "house": ["back"],
        },
        "levels": {"surface": 40},
        "guard": {"edges": ["front", "right", "skew", "left"]},
        "bench": [{"edge": "skew"}],
    }
    deck = build(Parameters.model_validate(file))
    assert deck.roles("bench seat") and not [c for c in deck.clashes if "bench" in f"{c.a.role} {c.b.role}"]
