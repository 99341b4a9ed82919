"""Why the frame is as it is: what bound each key, and what the runner-up would have cost, held against decks that are
built with the runner-up in the file.

The decks are invented. Spans and tables are worked out here by hand.
"""

from __future__ import annotations

import pytest

from plumbcut.model.deck import build
from plumbcut.model.design.costs import Costs
from plumbcut.model.design.designed import designed
from plumbcut.model.design.estimate import estimated
from plumbcut.model.design.frame_cost import FrameCost
from plumbcut.model.design.next_values import NextValues
from plumbcut.model.design.reasons import LITTLE, reasons
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.structure.structure import analyse
from plumbcut.shared.prices import Prices
from plumbcut.shared.said import Said

DEEP = {"outline": {"width": 173, "depth": 131}, "levels": {"surface": 46}, "local": {"frost_depth": 30}}
PRICED = Prices(
    (
        ("2x8", "", None, "ft", 1.0),
        ("2x10", "", None, "ft", 2.0),
        ("4x4", "", None, "ft", 3.0),
        ("6x6", "", None, "ft", 5.0),
        ("post base", "", None, "each", 20.0),
        ("beam cap", "", None, "each", 30.0),
        ("concrete bag", "", None, "each", 6.0),
    )
)


def file(**frame) -> Parameters:
    return Parameters.model_validate(DEEP | ({"frame": frame} if frame else {}))


@pytest.fixture(scope="module")
def told():
    made = designed(file())
    return made, {r.key: r for r in reasons(made, PRICED)}


def sentence(words) -> str:
    if not isinstance(words, Said):
        return words
    return words.template.format_map({k: sentence(v) if isinstance(v, Said) else v for k, v in words.values})


def volume(deck) -> float:
    """Cubic inches of timber at joist level and under it, of the deck's own."""
    return sum(
        p.shape.polygon.area * p.shape.thickness
        for p in deck.parts
        if p.stair is None and p.group in ("frame", "blocking")
    )


def worst(deck, kinds, check) -> float:
    rows = [x for r in analyse(deck).results if r.kind in kinds for x in (*r.table, *r.calculation)]
    return max(x.ratio for x in rows if x.check == check and x.ratio is not None)


def test_the_joist_is_bound_by_its_span(told):
    """131 in less the ledger's 1-1/2, the cantilever's 12 and the beam's 3: 114-1/2 in clear, against 11'-10" for 2x8
    southern pine at 16 in (IRC 2021 Table R507.6, numbers from DCA 6 Table 2, from memory)."""
    _, why = told
    joist = why["joist"]
    assert (joist.value, joist.origin, joist.row.check) == ("2x8", "default", "joist span")
    assert joist.ratio == pytest.approx((131 - 1.5 - 12 - 3) / (11 * 12 + 10))
    assert joist.member.kind == "joist"


def test_every_key_says_who_gave_it(told):
    _, why = told
    assert {k for k, r in why.items() if r.origin == "worked out"} == {
        *("support", "joist_spacing", "beam_position", "post_spacing", "footing.size", "footing.depth", "knee_braces"),
    }
    given = {r.key: r.origin for r in reasons(designed(file(joist="2x10", footing={"depth": 40})))}
    assert {k for k, origin in given.items() if origin == "given"} == {"joist", "footing.depth"}


def test_the_frost_line_binds_the_depth(told):
    _, why = told
    assert why["footing.depth"].value == 30 and why["footing.depth"].ratio == pytest.approx(1.0)
    (deeper,) = (r for r in reasons(designed(file(footing={"depth": 40}))) if r.key == "footing.depth")
    assert deeper.ratio == pytest.approx(30 / 40)


@pytest.mark.parametrize(
    ("key", "value", "kinds"),
    [
        ("joist", "2x10", ("joist", "rim")),
        ("joist_spacing", 12.0, ("joist",)),
        ("beam", "2x8", ("beam",)),
        ("beam", "2x12", ("beam",)),
        ("beam_plies", 3, ("beam",)),
        ("post", "4x4", ("post", "beam", "joist", "rim")),
        ("footing.size", 22.0, ("footing",)),
    ],
)
def test_a_next_value_comes_out_as_if_it_were_built(told, key, value, kinds):
    """The ratio and the timber of the next value of what is sold, against the deck that has it."""
    made, why = told
    found = NextValues(made.deck, made.structure, FrameCost(made.deck)).beside(key)
    other = next(n for n in found if n is not None and n.value == value)
    frame = {"footing": {"size": value}} if key == "footing.size" else {key: value}
    kept = {k: why[k].value for k in ("post_spacing", "knee_braces")}  # all else as it is
    deck = build(file(**kept, **frame))
    assert other.ratio == pytest.approx(worst(deck, kinds, other.check), rel=0.05)
    more = volume(deck) - volume(made.deck)
    assert other.timber == pytest.approx(more, rel=0.08, abs=0.005 * volume(made.deck))


def test_a_post_more_comes_out_as_if_it_were_built(told):
    made, why = told
    other = why["post_spacing"].runner_up
    deck = build(file(post_spacing=other.value))
    posts = len(deck.roles("post")) - len(made.deck.roles("post"))
    assert other.posts == posts == 1
    assert other.ratio == pytest.approx(worst(deck, ("beam",), other.check), rel=0.03)


def test_an_estimated_frame_is_the_runner_up_where_there_is_one(told):
    made, why = told
    frames = estimated(made.deck.layout, set(), Costs())
    first = next(e for e in frames if "beam_plies" in e.keys)
    other = why["beam_plies"].runner_up
    assert other.value == first.keys["beam_plies"] and set(other.beside) == set(first.keys) - {"beam_plies"}
    assert other.timber == pytest.approx(first.adds)
    footings = [s for s in made.deck.layout.footings if any(t.stair is None for t in s.stands)]
    assert other.posts == first.posts - len(footings)


def test_a_price_is_that_of_the_lengths(told):
    """Posts of 6x6 at 5 a foot against 4x4 at 3: by their own lengths."""
    made, why = told
    post = why["post"]
    feet = sum(p.box[1, 2] - p.box[0, 2] for p in made.deck.roles("post")) / 12
    assert post.runner_up.value == "4x4" and post.runner_up.price == pytest.approx(feet * (3 - 5))
    (bare,) = (r for r in reasons(made) if r.key == "post")
    assert bare.runner_up.price is None


def test_a_footing_more_is_priced_with_its_post(told):
    made, why = told
    posts = made.deck.roles("post")
    concrete = sum(p.shape.polygon.area * p.shape.thickness for p in made.deck.roles("footing"))
    feet = sum(p.box[1, 2] - p.box[0, 2] for p in posts) / 12
    each = 20 + 30 + 6 * concrete / len(posts) / (0.6 * 1728) + 5 * feet / len(posts)
    assert why["post_spacing"].runner_up.price == pytest.approx(each, rel=1e-3)


def test_what_is_used_to_little_is_explained(told):
    _, why = told
    post = why["post"]
    assert post.ratio < LITTLE and "4x4" in str(post.why) and "used to" in sentence(post.why)
    sized = ("joist", "joist_spacing", "beam", "beam_plies", "post_spacing", "post", "rim_plies", "footing.size")
    for key in sized:
        explained = "used to" in sentence(why[key].why)
        assert explained == (why[key].ratio < LITTLE), key


def test_what_was_built_and_not_met_is_no_runner_up():
    """Joists of 2x8 would be over their span 16 in apart where they reach 157 in: they were built so first."""
    made = designed(
        Parameters.model_validate(
            {"outline": {"width": 173, "depth": 160}, "levels": {"surface": 46}, "frame": {"beam_lines": [8.0]}}
        )
    )
    changed = {c.key: c for c in made.chosen}
    assert changed
    for r in reasons(made):
        if r.key in changed:
            assert r.origin == "chosen" and sentence(r.why).startswith(sentence(changed[r.key].why))
            assert r.runner_up is None or r.runner_up.value != changed[r.key].instead


def test_a_landing_has_its_own_keys():
    made = designed(
        Parameters.model_validate(
            {
                "outline": {"width": 190, "depth": 131},
                "levels": {"surface": 92},
                "stair": [{"edge": "front", "landings": [{"after_risers": 6}]}],
            }
        )
    )
    why = {r.key: r for r in reasons(made)}
    plies = why["stair.0.landings.0.rim_plies"]
    assert plies.member.where == "stair 1 landing 1" and plies.member.kind == "rim"
    assert all(r.member is None or r.member.where != "stair 1 landing 1" for r in why.values() if "stair" not in r.key)


def test_over_flush_beams_the_rims_are_the_beams():
    """A flush beam at a free edge is the rim itself, of the joists' stock; no joist goes past it."""
    made = designed(file(beam_position="flush"))
    why = {r.key: r for r in reasons(made)}
    assert (why["beam"].value, why["beam"].member.kind) == ("2x8", "rim") and why["beam"].row.check == "beam span"
    assert why["rim_plies"].member.where != why["beam"].member.where
    assert why["cantilever"].row is None and why["cantilever"].runner_up is None
    front = next(r for r in made.structure.results if r.where == "front edge" and r.kind == "rim")
    longest = max(f.value for f in front.facts if f.label == "span")
    assert why["post_spacing"].value == pytest.approx(longest)


def test_the_house_decides_what_carries_its_side():
    veneer = Parameters.model_validate(DEEP | {"house": {"wall": "veneer"}})
    why = {r.key: r for r in reasons(designed(veneer))}
    assert (why["support"].value, why["support"].origin) == ("free-standing", "worked out")
    assert "veneer" in sentence(why["support"].why)


def test_lines_that_the_file_gives_are_judged_by_spans_and_overhangs():
    """Beams 20 in and 90 in from the front: short joists between, and what reaches past them bounds their place."""
    made = designed(file(beam_lines=[20, 90], support="ledger"))
    lines = next(r for r in reasons(made) if r.key == "beam_lines")
    assert lines.value == (20.0, 90.0) and lines.origin == "given"
    worst_share = max(
        row.ratio for r in made.structure.results if r.kind == "joist" for row in r.table if "share" in row.check
    )
    assert lines.ratio == pytest.approx(worst_share)
