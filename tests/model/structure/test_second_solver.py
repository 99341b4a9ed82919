"""Members against a second solver, Pynite's frame elements (MIT licence, used by the tests alone).

It is given what `plain_frame` is made of: lengths, places of posts and splices, and joists' loads by
statics; nothing of the model's own reading goes into it.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import Pynite
import pytest
from conftest import demo_deck
from plain_frame import analysed, line_of, loads, verdict_of

from plumbcut.model.structure.column_checks import post_length
from plumbcut.model.structure.stair_loads import stair_loads
from plumbcut.model.structure.structure import analyse

E_I = 1.26e6 * 3.0 * 9.25**3 / 12  # lb in2: two 2x10, southern pine No.2, wet (NDS Supplement Table 4B, CM 0.9)


def frame_beam(length, supports, hinges, points):
    """A ply of a beam, hinged where it is spliced; `points`: (x, pounds down). Reactions, then shear and moment of
    each of its spans and overhangs at 1 in steps: {support: lb}, [(x, shear, moment)]."""
    model = Pynite.FEModel3D()
    model.add_material("wood", E_I, E_I, 0.3, 0.0)
    model.add_section("unit", 1e6, 1.0, 1.0, 1.0)
    places = sorted({0.0, length, *supports})
    for k, x in enumerate(places):
        model.add_node(f"n{k}", x, 0, 0)
        if x in supports:
            model.def_support(f"n{k}", True, True, True, True, False, False)
    for k, (a, b) in enumerate(itertools.pairwise(places)):
        model.add_member(f"m{k}", f"n{k}", f"n{k + 1}", "wood", "unit")
        if a in hinges:
            model.def_releases(f"m{k}", Rzi=True)
        for x, p in points:
            if a <= x < b or (b == length == x):
                model.add_member_pt_load(f"m{k}", "Fy", -p, x - a)
    model.analyze_linear()
    reactions = {x: model.nodes[f"n{k}"].RxnFY["Combo 1"] for k, x in enumerate(places) if x in supports}
    found = []
    for k, (a, b) in enumerate(itertools.pairwise(places)):
        m = model.members[f"m{k}"]
        inside = np.linspace(a, b, int(b - a) * 2 + 1)
        inside[0], inside[-1] = a + 1e-6, b - 1e-6
        found += [(x, m.shear("Fy", x - a), -m.moment("Mz", x - a)) for x in inside]  # ours sags positive
    return reactions, np.array(found)


def patterned(length, supports, hinges, dead, *live):
    """The worst of all patterns: ({support: most}, {support: least}, greatest shear, hogging, sagging), in pounds and
    inches; each live load of each span and overhang is added where it makes a response worse."""
    segments = list(itertools.pairwise([0.0, *supports, length + 1e-9]))
    everywhere, moments = frame_beam(length, supports, hinges, dead)
    most, least = dict(everywhere), dict(everywhere)
    high, low = moments[:, 1:].copy(), moments[:, 1:].copy()
    for (a, b), some in itertools.product(segments, live):
        r, m = frame_beam(length, supports, hinges, [(x, p) for x, p in some if a <= x < b])
        for x in supports:
            most[x] += max(r[x], 0.0)
            least[x] += min(r[x], 0.0)
        high, low = high + np.maximum(m[:, 1:], 0), low + np.minimum(m[:, 1:], 0)
    shear = max(np.abs(high[:, 0]).max(), np.abs(low[:, 0]).max())
    return most, least, shear, max(high[:, 1].max(), 0), -min(low[:, 1].min(), 0)


def joists_on_the_beam(width, depth=120.0, cantilever=15.0, spacing=16.0, last=None):
    """(place, square feet) that each joist of the frame brings to its beam: a strip on two supports with an overhang,
    w (a + l)2 / 2 l (handbook)."""
    a, l = cantilever + 1.5, depth - 1.5 - (cantilever + 1.5)
    lines = np.arange(0.0, width - 1.5 + 1e-6, spacing) + 0.75
    edges = [0.0, *((lines[1:] + lines[:-1]) / 2), width]
    return [(x, (right - left) * (a + l) ** 2 / (2 * l) / 144) for x, left, right in zip(lines, edges, edges[1:])]


def test_plies_spliced_over_different_posts_are_each_a_beam_of_their_own():
    """Three spans, each ply butted over another of the inner posts: both carry half, and each hogs over the post that
    it runs across. Both plies hinged at both would hide that."""
    width, posts, splices = 193.5, (12.0, 68.0, 124.0, 181.5), (68.0, 124.0)
    s = analysed(width=width, posts=posts, splice=splices)
    beam = s.governing("beam")
    brought = joists_on_the_beam(width)
    found = [
        patterned(width, posts, (h,), [(x, 5 * q) for x, q in brought], [(x, 20 * q) for x, q in brought])
        for h in splices
    ]
    section = 1.5 * 9.25**2 / 6  # one ply
    for check, k in (("bending, hogging", 4), ("bending, sagging", 3)):
        theirs = max(f[k] for f in found) / section
        assert verdict_of(beam, check).demand == pytest.approx(theirs, rel=0.005)
    shear = verdict_of(beam, "shear")
    assert shear.demand == pytest.approx(1.5 * max(f[2] for f in found) / (1.5 * 9.25), rel=0.005)
    assert line_of(shear, "shear V").value == pytest.approx(max(f[2] for f in found), rel=0.005)
    # a post takes what both plies bring it: no greatest of one ply is added to a least of the other
    for post in s.of("post"):
        x = next(p for p in posts if post.ids[0] == f"P-{posts.index(p) + 1:02d}")
        area = next(f.value for f in post.facts if f.label == "tributary area")
        both = [frame_beam(width, posts, (h,), [(x, q / 2) for x, q in brought])[0][x] for h in splices]
        assert area == pytest.approx(sum(both), rel=0.005)
    whole = verdict_of(analysed(width=width, posts=posts).governing("beam"), "bending, hogging").demand
    assert verdict_of(beam, "bending, hogging").demand > 1.05 * whole  # over one inner post alone, and not over both


def test_a_rim_across_joist_ends_has_no_seat_but_nails_with_a_load():
    """Where the stair's stringers hang on the front rim, its nails carry them to the joists' ends: the rim on its
    joists as a beam on rigid supports."""
    deck = demo_deck("terrace")
    s = analyse(deck)
    rim = next(r for r in s.of("rim") if any("nailing" in v.check for v in r.calculation))
    v = verdict_of(rim, "nailing on joist")
    assert v.result == "not checked" and v.demand > v.capacity  # three nails do not do
    assert not any("seat" in str(x.lines) for x in rim.calculation)
    piece = next(p for p in deck.parts if p.id == rim.ids[0])
    joists = sorted(float(p.box[:, 0].mean()) for p in deck.parts if p.id in piece.carried_by)  # and the rims beside
    start, length = float(piece.box[0, 0]), float(np.ptp(piece.box[:, 0]))
    heads = [(point[0] - start, area) for part, point, area in stair_loads(deck.parts, deck.contacts)]
    assert len(heads) >= 2 and len(joists) == len(piece.carried_by) > 5
    given = deck.parameters.loads
    dead, live = ([(x, psf * a) for x, a in heads] for psf in (given.dead_psf, given.live_psf))
    most = patterned(length, [x - start for x in joists], (), dead, live)[0]
    assert v.demand == pytest.approx(max(most.values()), rel=0.02)


def test_live_load_on_one_span_lifts_beam_posts_and_footings():
    """Joists over two equal spans, of which the far one is loaded: handbook, 3 w L / 8 on the near end under all load,
    7 w L / 16 at most and -w L / 16 at least. The least reaches the beam, its posts and their footings."""
    width, posts, span = 145.5, (24.0, 121.5), 58.125
    about = {"width": width, "posts": posts, "cantilever": 1.5, "depth": 120.0, "apart": span - 1.5, "joist": "2x6"}
    dead, live = 1.0, 60.0
    s = analysed(about, design=loads(live=live, dead=dead))
    lines = np.arange(0.0, width - 1.5 + 1e-6, 16.0) + 0.75
    edges = [0.0, *((lines[1:] + lines[:-1]) / 2), width]
    strips = [(x, (b - a) * span / 144) for x, a, b in zip(lines, edges, edges[1:])]
    stub = [(x, (b - a) * 2.25 / 144) for x, a, b in zip(lines, edges, edges[1:])]  # past the beam's middle
    pressing = [(x, live * (7 / 16 * q + t)) for (x, q), (_, t) in zip(strips, stub)]
    standing = [(x, dead * (3 / 8 * q + t)) for (x, q), (_, t) in zip(strips, stub)]
    lifting = [(x, -live * q / 16) for x, q in strips]
    most, least, *_ = patterned(width, posts, (), standing, pressing, lifting)
    front = [c for c in s.path.columns if c.post.box[0, 1] < 10]
    assert len(front) == 2
    for c, x in zip(sorted(front, key=lambda c: c.post.box[0, 0]), posts):
        post, footing = (next(r for r in s.results if r.ids == (i,)) for i in (c.post.id, c.footing.id))
        up = verdict_of(post, "uplift")
        assert up.demand == pytest.approx(-least[x], rel=0.01) and up.result == "not checked"
        down = verdict_of(post, "compression")
        own = 5.5**2 * post_length(c) / 1728 * 37.33  # lb, wet southern pine
        assert line_of(down, "axial load P").value == pytest.approx(most[x] + own, rel=0.01)
        held = verdict_of(footing, "uplift")
        assert held.demand == pytest.approx(-least[x], rel=0.01) and held.result == "met"
        assert held.capacity == pytest.approx(math.pi * 100 * 42 / 1728 * 150 + own, rel=0.01)
    beam = next(r for r in s.of("beam") if any("uplift" in v.check for v in r.calculation))
    assert verdict_of(beam, "uplift at post").demand == pytest.approx(-min(least.values()), rel=0.01)


def column(held: bool):
    """A post of 8 ft on a pinned foot under 1,000 lb, its upper end free or kept in place, pushed by a pound."""
    model = Pynite.FEModel3D()
    model.add_material("wood", 1.1e6, 1.1e6, 0.3, 0.0)
    model.add_section("6x6", 30.25, 76.3, 76.3, 152.0)
    model.add_node("foot", 0, 0, 0)
    model.add_node("head", 0, 96, 0)
    model.add_member("post", "foot", "head", "wood", "6x6")
    model.def_support("foot", True, True, True, False, True, False)
    model.def_support("head", held, False, True, False, False, False)
    model.add_node_load("head", "FY", -1000.0)
    model.add_node_load("head", "FX", 1.0)
    model.analyze_linear(check_stability=True)
    return model


def test_a_post_that_nothing_holds_is_a_mechanism_and_wants_a_brace():
    """Statics: pinned at both ends a post stands only where its head is kept in place. A ledger does that for the deck
    it carries; free-standing, no effective length serves (NDS Appendix G has none): a brace is needed."""
    assert column(held=True).nodes["foot"].RxnFY["Combo 1"] == pytest.approx(1000.0)
    with pytest.raises(Exception, match=r"(?i)unstable|singular"):
        column(held=False)
    for name, held in (("terrace", True), ("wraparound", True), ("hillside", False)):
        posts = analyse(demo_deck(name)).of("post")
        assert len(posts) > 2
        for r in posts:
            v = verdict_of(r, "compression")
            assert v.demand > 0 and line_of(v, "axial load P").value > 0
            assert (v.result, v.capacity is None) == (("met", False) if held else ("not checked", True))
            assert held or str(v.why).startswith("brace needed")
