"""What a builder wants of the frame (`[design]`), and what a place asks of it: tests by outcome on invented decks."""

from __future__ import annotations

import pytest
from shapely.geometry import box

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.design.advised import checked_with_mends
from plumbcut.model.design.costs import Costs, frame_depth
from plumbcut.model.design.designed import Designed, designed
from plumbcut.model.design.variants import nominal_feet, variants
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.plan.joist_spans import longest_span
from plumbcut.model.plan.layout import lay_out
from plumbcut.model.rules.check_no_post import NO_POST
from plumbcut.model.rules.checks import check_deck
from plumbcut.shared.errors import DesignError
from plumbcut.shared.prices import Prices
from plumbcut.shared.standards import joist_span

PLAIN = {"outline": {"width": 210, "depth": 141}, "levels": {"surface": 52}, "local": {"frost_depth": 30}}
ROUND_A_CORNER = {
    "outline": {
        "points": [[0, 0], [330, 0], [330, 290], [210, 290], [210, 150], [0, 150]],
        "house": ["e4", "e5"],
    },
    "levels": {"surface": 60},
}


DOOR = {"no_post": [{"edge": "back", "at": 54, "width": 36}]}


def made(file: dict, **tables) -> Designed:
    return designed(Parameters.model_validate(file | tables))


def refusal(file: dict, **tables) -> DesignError:
    with pytest.raises(DesignError) as refused:
        lay_out(Parameters.model_validate(file | tables))
    return refused.value


def test_no_post_stands_before_a_door():
    door = box(120, -1e4, 156, 1e4)  # 4'-6" to 7'-6" from the back edge's start, which is its right end
    plain = made(PLAIN)
    assert any(door.intersects(p.footprint) for p in plain.deck.roles("post"))
    kept = made(PLAIN, design=DOOR)
    assert not any(door.intersects(p.footprint) for p in kept.deck.roles("post"))
    assert not kept.faults
    rows = {result: [r for r in check_deck(d.deck, None, d.structure) if r.rule == NO_POST] for result, d in
            (("kept", kept), ("given", made(PLAIN, frame={"post_spacing": 40}, design=DOOR)))}  # fmt: skip
    assert [r.result for r in rows["kept"]] == ["met"]
    assert [r.result for r in rows["given"]] == ["not met"] and rows["given"][0].ids  # the file's own spacing: said


def test_joists_run_along_the_edge_that_is_named():
    along = made(PLAIN, design={"joists_along": "back"}).deck.layout.along
    assert [abs(v) for v in along] == pytest.approx([1, 0])
    assert [abs(v) for v in made(PLAIN, design={"joists_along": "left"}).deck.layout.along] == pytest.approx([0, 1])


@pytest.mark.parametrize(
    ("design", "key"),
    [
        ({"joists_along": "top"}, "design.joists_along"),
        ({"no_post": [{"edge": "top", "at": 0, "width": 36}]}, "design.no_post.0.edge"),
        ({"no_post": [{"edge": "back", "at": 200, "width": 36}]}, "design.no_post.0.width"),
    ],
)
def test_an_edge_that_there_is_not_is_refused_with_one_that_there_is(design, key):
    refused = refusal(PLAIN, design=design)
    assert refused.key == key and refused.values


def test_boards_along_the_joists_name_an_edge_that_would_do():
    boards = {"surface": {"direction": 0}}
    refused = refusal(PLAIN, design={"joists_along": "back"}, **boards)
    ((key, edge),) = refused.values
    assert key == "design.joists_along"
    assert abs(lay_out(Parameters.model_validate(PLAIN | boards | {"design": {"joists_along": edge}})).along[1]) == 1


def test_joists_are_not_given_both_ways():
    assert refusal(PLAIN, design={"joists_along": "back"}, frame={"joist_direction": "y"}).key == "design.joists_along"


def test_variants_are_the_least_of_what_they_are_named_by():
    found = {v.least: v for v in variants(Parameters.model_validate(ROUND_A_CORNER))}
    assert set(found) == {"cost", "footings", "depth"}
    assert all(not v.made.faults for v in found.values())
    assert found["footings"].footings <= min(v.footings for v in found.values())
    assert found["depth"].depth <= min(v.depth for v in found.values())
    plain = Costs()
    costs = {name: plain.of_deck(v.made.deck) for name, v in found.items()}
    assert costs["cost"] <= min(costs.values()) * 1.1
    assert found["depth"].depth == pytest.approx(frame_depth(found["depth"].made.deck.layout))


def test_board_feet_go_by_nominal_sizes():
    """A 2x8 has 2 times 8 over 12 board feet a running foot (the definition of a board foot)."""
    assert nominal_feet("2x8") == pytest.approx(16 / 12) and nominal_feet("6x6") == pytest.approx(3)
    assert nominal_feet("45x195 of the yard") == 0


def test_prices_weigh_where_the_list_has_all():
    p = Parameters.model_validate(PLAIN)
    sizes = [(size, "treated lumber", None, "ft", price) for size, price in
             (("2x8", 1.0), ("2x10", 1.5), ("2x12", 4.0), ("6x6", 4.0))]  # fmt: skip
    parts = [(item, "", None, "each", 20.0) for item in ("concrete bag", "post base", "beam cap")]
    priced = Costs.of(p, Prices(tuple(sizes + parts)))
    assert priced.priced and priced.dearer["2x12"] == pytest.approx(4.0 / 11.25 / (1.0 / 7.25))
    assert not Costs.of(p, Prices(tuple(sizes))).priced  # no footing can be priced: nothing is
    assert Costs.of(p, Prices(tuple(sizes))) == Costs()


def test_prices_by_length_alone_weigh_as_those_by_the_foot():
    p = Parameters.model_validate(PLAIN)
    feet = {"2x8": 1.0, "2x10": 1.5, "2x12": 4.0, "6x6": 4.0}
    parts = [(item, "", None, "each", 20.0) for item in ("concrete bag", "post base", "beam cap")]
    by_foot = [(size, "treated lumber", None, "ft", price) for size, price in feet.items()]
    by_length = [(size, "treated lumber", 10.0, "each", 10 * price) for size, price in feet.items()]
    found = [Costs.of(p, Prices((*sizes, *parts))) for sizes in (by_foot, by_length)]
    assert found[0].priced and found[1].priced
    assert found[1].dearer == pytest.approx(found[0].dearer) and found[1].footing == pytest.approx(found[0].footing)


# what a place asks, and what of the frame has to answer it: the deck's own numbers before and after
PLACES = {
    "snow of 70 psf": {"loads": {"ground_snow_psf": 70}},
    "soil of 1,000 psf": {"loads": {"soil_bearing_psf": 1000}},
    "spruce": {"lumber": {"species": "spruce-pine-fir"}},
    "a guard of 42 in": {"guard": {"height": 42}},
    "a tub": {"area_load": [{"name": "tub", "psf": 100, "polygon": [[20, 20], [110, 20], [110, 100], [20, 100]]}]},
    "14 ft up": {"levels": {"surface": 168}},
    "no cantilever": {"frame": {"cantilever": 0}},
    "14 in up": {"levels": {"surface": 14}},
}


@pytest.mark.parametrize("place", PLACES)
def test_the_frame_answers_what_a_place_asks(place):
    plain, found = made(PLAIN), made(PLAIN | PLACES[place])
    assert not found.faults
    now, was = found.deck, plain.deck
    if place == "soil of 1,000 psf":
        assert now.layout.footing_size > was.layout.footing_size
    elif place == "snow of 70 psf":
        assert (len(now.roles("post")), now.layout.footing_size) != (len(was.roles("post")), was.layout.footing_size)
        assert now.layout.footing_size >= was.layout.footing_size
    elif place == "spruce":
        row = joist_span("spruce-pine-fir", now.layout.joist.name, now.layout.joist_spacing, "IRC 2021")
        assert longest_span(now.layout, now.layout.runs) <= row.value
    elif place == "a tub":
        most = max(len(now.roles(r)) / max(len(was.roles(r)), 1) for r in ("joist", "post", "beam"))
        assert most > 1 or now.layout.footing_size > was.layout.footing_size
    elif place == "14 ft up":
        assert len(now.roles("knee brace")) >= len(was.roles("knee brace")) > 0
    elif place == "no cantilever":
        assert now.parameters.frame.cantilever == 0 and "cantilever" not in now.chosen
    elif place == "14 in up":
        assert all(r.flush for r in now.layout.runs) or now.layout.beam.width < was.layout.beam.width
    else:
        assert max(p.box[1, 2] for p in now.roles("top rail")) > max(p.box[1, 2] for p in was.roles("top rail"))


@pytest.mark.parametrize(("house", "joist"), [([], "2x6"), (["back"], "2x8")])
def test_a_frame_stays_out_of_the_ground_where_shallower_joists_do_it(house: list, joist: str):
    """8 in high: 2x8 joists under 1 in boards would lie 1/4 in deep. A ledger is no less than a 2x8 (IRC R507.9.1.1):
    there the row says how much higher the surface would have to be."""
    file = {"outline": {"width": 190, "depth": 130, "house": house}, "levels": {"surface": 8}}
    made = designed(Parameters.model_validate(file))
    wood = [r for r in checked_with_mends(made.deck) if r.rule == "wood in the ground" and r.result == "not met"]
    assert made.deck.parameters.frame.joist == joist
    assert bool(wood) == bool(house) and all("levels.surface = 8.25" in worded(r.why) for r in wood)
