"""Loads that stand on boards, followed to the members below."""

from __future__ import annotations

import math

import pytest
from conftest import demo_deck

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.structure import load_path
from plumbcut.shared.stock import weight


def joist_loads(path) -> dict[str, float]:
    return {m.first.id: math.fsum(l.total for l in m.steady) for m in path.members if m.role == "joist"}


def test_a_load_on_a_board_goes_to_the_joists_on_either_side_of_it(monkeypatch):
    """The lever rule: a quarter of the way from one joist to the next, three quarters go to the near one, and none to
    the eight others on which the board lies too."""
    deck = demo_deck("terrace")
    plain = load_path.follow(deck.parts, deck.contacts)
    joists = sorted(deck.roles("joist"), key=lambda p: p.box[0, 0])
    near, far = joists[3], joists[4]
    x0, x1 = near.box[:, 0].mean(), far.box[:, 0].mean()
    middle = deck.layout.outline.polygon.centroid.y
    board = min(deck.roles("board"), key=lambda p: (abs(p.box[:, 1].mean() - middle), -p.shape.thickness))
    assert {near.id, far.id} < set(board.carried_by) and len(board.carried_by) > 6
    point = (x0 + (x1 - x0) / 4, board.box[:, 1].mean())
    stairs = load_path.stair_loads
    monkeypatch.setattr(load_path, "stair_loads", lambda *a: [*stairs(*a), (board, point, 8.0)])
    loaded = joist_loads(load_path.follow(deck.parts, deck.contacts))
    more = {i: total - joist_loads(plain)[i] for i, total in loaded.items()}
    assert more[near.id] == pytest.approx(6.0, abs=0.2) and more[far.id] == pytest.approx(2.0, abs=0.2)
    assert math.fsum(more.values()) == pytest.approx(8.0)
    assert all(abs(v) < 1e-9 for i, v in more.items() if i not in (near.id, far.id))


def test_the_weight_of_the_guards_reaches_the_posts_and_the_ledger():
    """Statics: pounds in are pounds out. A deck without a stair: every piece of its guards, volume
    by density, comes down on its posts and ledgers, and no joist's share of the surface changes."""
    given = {"outline": {"width": 210, "depth": 130, "house": ["back"]}, "levels": {"surface": 44}}
    deck = build(Parameters.model_validate(given))
    path = load_path.follow(deck.parts, deck.contacts)
    guards = [m for m in measure_all(deck.parts) if m.part.group == "guards"]
    weighed = math.fsum(weight(m.part.stock, m.volume) for m in guards)
    columns, hung = [c.load for c in path.columns], [load for l in path.ledgers for _, load, _ in l.joists]
    assert len(guards) > 50 and weighed > 200
    assert math.fsum(b.own for b in (*columns, *hung)) == pytest.approx(weighed, rel=0.005)
    area = math.fsum(b.steady for b in (*columns, *hung)) + math.fsum(l.area for l in path.ledgers)
    assert area == pytest.approx(path.surface_sqft, rel=1e-6)
    bare = build(Parameters.model_validate({**given, "guard": {"edges": []}}))
    for c, d in zip(path.columns, load_path.follow(bare.parts, bare.contacts).columns):
        assert c.load.steady == pytest.approx(d.load.steady) and c.load.own > 5 and not d.load.own
