"""Cards, templates and screws of steps that go on round a corner, against an own reading of the solids. The deck is
invented."""

from __future__ import annotations

import math
from collections import Counter

import pytest
import shapely

from plumbcut.exports.cards import build_cards
from plumbcut.exports.cards.set_out import set_out
from plumbcut.exports.cards.templates import write_templates
from plumbcut.exports.drafting.drawing import Dimension, Table, Text
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.loose_ends import STRINGERS
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.order.fasteners import fasteners


@pytest.fixture(scope="module")
def deck():
    return build(
        Parameters.model_validate(
            {
                "outline": {"width": 130, "depth": 110},
                "levels": {"surface": 20},
                "frame": {"joist": "2x8"},
                "stair": [{"edge": "front", "width": 130, "wrap": True}, {"edge": "right", "width": 110}],
            }
        )
    )


def test_each_hip_and_each_sloping_jack_has_a_card(deck):
    """A jack under one tread alone is a square block: it stands in the flight's table, and needs no card."""
    words = [i.text for s in build_cards(deck, measure_all(deck.parts)).sheets for i in s.items if isinstance(i, Text)]
    for role in ("hip stringer", "jack stringer"):
        count = Counter(p.mark for p in deck.roles(role))
        for mark, number in count.items():
            sloping = abs(next(p for p in deck.parts if p.mark == mark).place.x[2]) > 0.05
            found = [w for w in words if w.startswith(f"{mark}  x {number}   {role.upper()} 2x12, STAIR 1 LEFT MITRE")]
            assert bool(found) == sloping
    assert any("HIP STRINGER" in w for w in words) and any("JACK STRINGER" in w for w in words)


def test_the_square_is_set_to_the_hips_own_going(deck):
    """10-1/2 in times the root of two along the mitre, 10-1/2 in for a jack, though the first seat is shorter."""
    found = {m.role: set_out(m) for m in measure_all(deck.parts) if m.role in STRINGERS and abs(m.axis[2]) > 0.05}
    assert found["hip stringer"].run == pytest.approx(10.5 * math.sqrt(2))
    assert found["jack stringer"].run == pytest.approx(10.5) == found["stringer"].run
    assert all(out.rise == pytest.approx(20 / 3) for out in found.values())


def test_a_jack_without_a_lower_edge_has_no_throat(deck):
    """Of a jack under two treads the plumb and the level cut leave a single corner at the stock's lower edge: nothing
    lies square under its notch. The hip and the stringers tell theirs as they are measured."""
    drawing = build_cards(deck, measure_all(deck.parts))
    told = {}
    for view in (v for v in drawing.views() if v.name.startswith("stringer ")):
        mark = view.name.removeprefix("stringer ").upper()
        told[mark] = [abs(i.b[1] - i.a[1]) for i in view.items if isinstance(i, Dimension) and "THROAT" in i.prefix]
    tables = [t for s in drawing.sheets for t in s.items if isinstance(t, Table)]
    sets = [t for t in tables if any(row[0] == "LENGTH, TIP TO TIP" for row in t.rows)]
    assert len(sets) == len(told) > sum(any(row[0].startswith("THROAT") for row in t.rows) for t in sets)
    for m in (m for m in measure_all(deck.parts) if m.role in STRINGERS and m.mark in told):
        out = set_out(m)
        (u, v), wood = out.inner[0], shapely.Polygon(out.outline).buffer(0.01)
        if wood.covers(shapely.LineString([(u, v), (u, 0.0)])):
            assert told[m.mark] == [pytest.approx(out.throat, abs=1 / 32)]
        else:
            assert m.role == "jack stringer" and told[m.mark] == []
    assert [] in told.values()


def test_templates_of_the_hip_and_its_blocks(deck, tmp_path):
    names = {p.name for p in write_templates(deck, tmp_path)}
    wanted = ("hip stringer", "jack stringer", "hip block", "jack block")
    assert {f"{p.mark.lower()}-{p.role.replace(' ', '-')}.dxf" for p in deck.roles(*wanted)} <= names


def test_screws_at_each_face_of_the_blocks(deck):
    """Four at each face that lies against a rim, a header or a stringer; common practice, no source."""
    blocks, others = ("hip block", "jack block"), ("hip stringer", "jack stringer", "rim", "stair header", "post")
    faces = sum(
        {deck.by_id[c.id_a].role, deck.by_id[c.id_b].role} & set(blocks) != set()
        and {deck.by_id[c.id_a].role, deck.by_id[c.id_b].role} & set(others) != set()
        for c in deck.contacts
    )
    [screws] = [h for h in fasteners(measure_all(deck.parts), deck.contacts) if h.item == "hip block screw"]
    assert faces >= 8 and screws.count == 4 * faces
