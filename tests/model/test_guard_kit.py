"""Guards whose rails come as a kit: holes, ends, brackets, sleeves and the order, counted again from `measured.json`.

The sheets are invented. The figures of `COMMON` are common practice, no source: 1-9/16 in from the last hole to a level
rail's end, 2 in on stairs; sleeves sold 48 in long and cut to 40 in for a level 36 in rail; posts 38 to 39 in above the
surface.
"""

from __future__ import annotations

import json
import math
from collections import Counter
from functools import cache

import numpy as np
import pytest
from shapely.geometry import Polygon

from plumbcut.exports.cards import build_cards
from plumbcut.exports.drafting.drawing import DrawingSet
from plumbcut.exports.drafting.wording import worded
from plumbcut.exports.formats.measured_json import write_measured
from plumbcut.exports.sheets.hardware import CONNECTIONS, hardware_rows
from plumbcut.exports.sheets.stage import Stage
from plumbcut.model import parameter_file
from plumbcut.model.deck import build
from plumbcut.model.design.advised import checked_with_mends
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.clashes import clashes
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.order.takeoff import take_off
from plumbcut.model.pieces.guards import build_guards
from plumbcut.model.pieces.rails import level_bay, level_run
from plumbcut.model.plan.kit_cuts import first_hole, holes_of, kit_cut
from plumbcut.model.plan.layout import lay_out
from plumbcut.model.solid.part import Workshop
from plumbcut.shared.errors import InputError
from plumbcut.shared.prices import Prices

STAIRS = {"rail_lengths": [66, 90], "pitch": 5.25, "hole": 1.75, "least_end": 2.25}
KIT = {
    **{"rail_lengths": [70, 94], "pitch": 4.75, "hole": 1.25, "least_end": 1.875},
    **{"rail_width": 1.75, "rail_depth": 2.75, "bracket": 0.25, "top": 36.5, "bottom": 2.75, "post_height": 39.5},
    **{"sleeve_sold": 51, "sleeve_cut": 41.5, "foot_block_height": 3.25, "balusters_in_pack": 12, "rails_in_pack": 2},
    **{"brackets_in_pack": 4, "foot_blocks_in_pack": 3, "stairs": STAIRS},
}
COMMON = {
    **{"rail_lengths": [72, 96], "pitch": 4.5, "hole": 1.25, "least_end": 1.5625, "rail_width": 2, "rail_depth": 3},
    **{"top": 36, "bottom": 3, "post_height": 38.5, "sleeve_sold": 48, "sleeve_cut": 40, "foot_block_height": 3.5},
    "stairs": {"rail_lengths": [72, 96], "pitch": 5, "hole": 1.75, "least_end": 2},
}
ODD = {"points": [[30, 0], [150, 10], [190, 70], [180, 140], [0, 140], [0, 60]], "house": ["e4"]}
ELL = {"points": [[0, 0], [110, 0], [110, 60], [190, 60], [190, 140], [0, 140]], "house": ["e5"]}
STAIR = {"edge": "front", "at": 62, "width": 44}
DECKS = {
    "stair": ({"width": 207, "depth": 136}, KIT, [STAIR]),
    # with holes of 1.25 in one of its bays would be cut through one, see test_no_cut_goes_through_a_hole
    "odd": (ODD, {**KIT, "rail_lengths": [94, 142], "hole": 0.8}, []),
    "ell": (ELL, COMMON, [{"edge": "e1", "at": 40, "width": 38}]),
}
EVERY = pytest.mark.parametrize("name", DECKS)


def parameters(outline, kit, stairs, height=44, **guard) -> Parameters:
    sleeve = {"size": 4.25, "wall": 0.2}
    guard = {"kit": kit, "sleeve": sleeve, **guard}
    return Parameters.model_validate(
        {"outline": outline, "levels": {"surface": height}, "stair": stairs, "guard": guard}
    )


@cache
def deck(name):
    return build(parameters(*DECKS[name]))


@cache
def bought(name):
    return take_off(deck(name), measure_all(deck(name).parts), Prices())


@cache
def pieces(name, folder) -> list[dict]:
    """The rows of `measured.json`, read back from the file."""
    path = folder / f"{name}.json"
    write_measured(measure_all(deck(name).parts), path)
    return json.loads(path.read_text())["pieces"]


@pytest.fixture(scope="module")
def rows(tmp_path_factory):
    folder = tmp_path_factory.mktemp("kit")
    return lambda name: pieces(name, folder)


def of(found, *roles) -> list[dict]:
    return [r for r in found if r["role"] in roles]


def sheet(name, rail: dict) -> dict:
    kit = DECKS[name][1]
    return kit["stairs"] if abs(rail["axis"][2]) > 0.05 else kit


def middle_length(rail: dict) -> float:
    """Of a rail cut on the slant in plan half way between its points; of one cut plumb both edges are as long."""
    sloped = abs(rail["axis"][2]) > 0.05
    return rail["long_point_in"] if sloped else (rail["long_point_in"] + rail["short_point_in"]) / 2


def by_hand(name, rail: dict) -> tuple[int, float]:
    """(holes, end) of a rail: one hole more as long as both ends keep the least, nearer at a slanting end."""
    kit, wide = sheet(name, rail), DECKS[name][1]["rail_width"]
    skew = max(math.tan(math.radians(max(abs(e["mitre_deg"]), abs(e["bevel_deg"])))) * wide / 2 for e in rail["ends"])
    least = kit["least_end"] + (0.0 if abs(rail["axis"][2]) > 0.05 else skew)
    long, holes = middle_length(rail), 0
    while holes * kit["pitch"] + 2 * least <= long + 1e-6:
        holes += 1
    return holes, (long - (holes - 1) * kit["pitch"]) / 2


def test_a_rail_too_short_for_a_bays_balusters_gives_way_to_one_that_serves():
    """A rail of 12 holes before one of 20: a bay of 14 balusters asks for a first hole below the rail's own."""
    assert first_hole([1.0 + k for k in range(12)], 14, 14, 0.5, 0.5) is None
    assert first_hole([1.0 + k for k in range(20)], 22, 14, 0.5, 0.5) == 0
    file = {
        "outline": {"width": 258, "depth": 136},
        "levels": {"surface": 38},
        "guard": {"post_spacing": 92, "kit": {**KIT, "rail_lengths": [69, 93]}},
    }
    del file["guard"]["kit"]["stairs"]
    deck = build(Parameters.model_validate(file))
    assert {p.role for p in deck.roles("top rail", "bottom rail")} == {"top rail", "bottom rail"}


@EVERY
def test_counts_of_the_order_by_hand(name, rows):
    found, kit = rows(name), DECKS[name][1]
    hardware = {h.item: h for h in bought(name).hardware}
    tops, rails = of(found, "top rail"), of(found, "top rail", "bottom rail")
    assert len(tops) >= 5 and len(rails) == 2 * len(tops)
    balusters = sum(by_hand(name, r)[0] for r in tops)
    assert hardware["kit baluster"].count == balusters == len(of(found, "baluster")) > 30
    long = Counter(round(r["length_in"], 3) for r in of(found, "baluster"))  # those of stairs are of another length
    assert sorted(s.count for s in hardware["kit baluster"].sized) == sorted(long.values())
    assert len(long) == (1 if name == "odd" else 2)
    packs = sum(math.ceil(n / kit.get("balusters_in_pack", 1)) for n in long.values())
    assert hardware["kit baluster"].packs == packs
    assert hardware["rail bracket"].count == 2 * len(rails)
    sloped = [r for r in rails if abs(r["axis"][2]) > 0.05]
    per = kit.get("brackets_in_pack", 1)
    packs = math.ceil(2 * len(sloped) / per) + math.ceil(2 * (len(rails) - len(sloped)) / per)
    assert hardware["rail bracket"].packs == packs
    assert len(of(found, "rail bracket")) == (2 * len(rails) if kit.get("bracket") else 0)
    assert hardware["kit foot block"].count == len(of(found, "foot block")) == len(tops)
    assert hardware["post sleeve"].count == len(of(found, "post sleeve")) == len(of(found, "guard post"))
    assert not {"baluster screw", "foot-block screw"} & set(hardware)
    assert not any(
        b.ids for line in bought(name).order.lines for b in line.bars if {"TR", "BR"} & {i[:2] for i in b.ids}
    )


@EVERY
def test_rails_bought_give_every_rail_at_its_holes(name, rows):
    """Every cut is read again: within the rail sold, clear of the next by a kerf, from hole to hole."""
    found, cutting = {r["id"]: r for r in rows(name)}, bought(name).kit
    assert not cutting.unserved
    cut = Counter(p.seen.rail.id for b in cutting.bars for p in b.pieces)
    assert cut == Counter(r["id"] for r in of(rows(name), "top rail", "bottom rail"))
    for bar in cutting.bars:
        kit, at = DECKS[name][1]["stairs" if bar.sloped else "pitch"], -1.0
        kit = kit if bar.sloped else DECKS[name][1]
        assert bar.length in kit["rail_lengths"]
        count = int((bar.length - 2 * kit["least_end"]) / kit["pitch"] + 1e-9) + 1
        first = (bar.length - (count - 1) * kit["pitch"]) / 2
        for p in bar.pieces:
            rail = found[p.seen.rail.id]
            holes, end = by_hand(name, rail)
            tips = (rail["length_in"] - middle_length(rail)) / 2
            tips = 0.0 if bar.sloped else max(tips, 0.0)
            assert p.last - p.first + 1 == holes and p.first >= 0 and p.last < count
            assert p.start <= first + p.first * kit["pitch"] - end + 1e-6
            assert p.end >= first + p.last * kit["pitch"] + end - 1e-6
            assert p.end - p.start == pytest.approx(middle_length(rail) + 2 * tips, abs=0.01)
            assert p.start >= at - 1e-6 and p.end <= bar.length + 1e-6
            at = p.end + 0.125
    long = sum(middle_length(r) for r in of(rows(name), "top rail", "bottom rail"))
    assert cutting.used == pytest.approx(long, abs=0.01) and cutting.bought >= long
    sold = {h.item: h for h in bought(name).hardware}["kit rail"]
    assert sold.count == len(cutting.bars)
    waste = [worded(n) for n in bought(name).notes if worded(n).startswith("kit rails")]
    assert len(waste) == 1 + any(b.sloped for b in cutting.bars) and all("waste" in n for n in waste)


@EVERY
def test_ends_are_alike_and_balusters_stand_in_the_holes(name):
    """Off the vertices of the solids: from each end of a rail to the middle of the nearest baluster."""
    for b in measured_bays(name):
        way = b.top.axis[:2] / np.hypot(*b.top.axis[:2])
        stretch = 1 / abs(float(np.hypot(*b.top.axis[:2])))
        s = b.top.part.vertices[:, :2] @ way
        mid = (s.min() + s.max()) / 2
        ends = [s[s < mid], s[s > mid]]
        low, high = ((e.min() + e.max()) / 2 for e in ends)
        at = sorted(float((v := m.part.vertices[:, :2] @ way).min() + v.max()) / 2 for m in b.balusters)
        kit = DECKS[name][1]["stairs"] if b.slope > 1 else DECKS[name][1]
        assert (at[0] - low) == pytest.approx(high - at[-1], abs=1e-6), b.where
        assert (at[0] - low) * stretch >= kit["least_end"] - 1e-6
        assert (at[0] - low) * stretch < kit["least_end"] + kit["pitch"] / 2 + 1.0
        assert np.diff(at) * stretch == pytest.approx(kit["pitch"], abs=1e-6)


def measured_bays(name):
    from plumbcut.model.measuring.bay_seen import see_bays

    return see_bays(measure_all(deck(name).parts))


@EVERY
def test_every_row_of_the_sheet_is_checked_on_the_solids(name):
    made = checked_with_mends(deck(name))
    sheet_rows = [r for r in made if r.source == "maker's sheet, given by the builder"]
    assert {"rail end from its last hole", "baluster off its hole", "rail cut from a length sold", "sleeve length"} <= {
        r.rule for r in sheet_rows
    }
    assert all(r.result == "met" for r in sheet_rows), [(r.rule, r.place) for r in sheet_rows if r.result != "met"]
    assert all(r.result == "met" for r in made if r.rule in ("guard opening", "stair guard opening", "guard height"))
    strength = [r for r in made if r.rule.startswith(("bending", "shear")) and "a kit's rails" in worded(r.why)]
    assert all(r.result == "not checked" for r in strength)
    assert not clashes(deck(name).parts)


def test_heights_above_the_surface_and_the_bracket_s_room(rows):
    found, surface = rows("stair"), 44.0
    level = [r for r in of(found, "top rail", "bottom rail") if abs(r["axis"][2]) < 0.05]
    assert {round(r["box_high_in"][2] - surface, 6) for r in level if r["role"] == "top rail"} == {36.5}
    assert {round(r["box_low_in"][2] - surface, 6) for r in level if r["role"] == "bottom rail"} == {2.75}
    posts = [r for r in of(found, "guard post") if "edge" in r["where"]]
    assert {round(r["box_high_in"][2] - surface, 6) for r in posts} == {39.5}
    sleeves = [r for r in of(found, "post sleeve") if "edge" in r["where"]]
    assert {round(r["length_in"], 6) for r in sleeves} == {41.5}
    front = [r["box_high_in"][0] for r in sleeves if r["box_low_in"][1] < 10]
    rail = min(
        (r for r in level if r["role"] == "top rail" and r["where"] == "front edge"), key=lambda r: r["box_low_in"][0]
    )
    assert any(rail["box_low_in"][0] - x == pytest.approx(0.25, abs=1e-5) for x in front)


@pytest.mark.parametrize("name", ["stair", "ell"])
def test_a_lower_sleeve_ends_as_far_over_the_rail_as_the_upper_one(name):
    """Plumb over the rail's upper edge at both posts of each bay of a flight, off the solids: its edge is carried on
    through the bracket to the sleeve's face."""
    sleeves = [p for p in deck(name).parts if p.role == "post sleeve"]
    bays = [b for b in measured_bays(name) if b.slope > 1]
    for b in bays:
        v, way = b.top.part.vertices, b.top.axis[:2] / np.hypot(*b.top.axis[:2])
        s, fall = v[:, :2] @ way, float(b.top.axis[2] / np.hypot(*b.top.axis[:2]))
        over = []
        for end, out in ((s.min(), -1), (s.max(), 1)):
            corner = max(v[np.abs(s - end) < 1e-6], key=lambda c: c[2])
            near = min(sleeves, key=lambda p: float(np.hypot(*(p.vertices[:, :2].mean(axis=0) - corner[:2]))))
            face = near.vertices[:, :2] @ way
            gap = (float(face.min()) - end) if out > 0 else end - float(face.max())
            assert gap == pytest.approx(DECKS[name][1].get("bracket", 0), abs=1e-5)
            over.append(near.vertices[:, 2].max() - (corner[2] + out * gap * fall))
        assert over[0] == pytest.approx(over[1], abs=1e-5) and over[0] > 0, b.where
    assert len(bays) >= 2


@pytest.mark.parametrize("turn, high", [("left", 54), ("left", 70), ("back", 70)])
def test_sleeves_of_a_second_flight_come_out_of_one_as_sold(turn, high):
    """Of a stair that turns, 48 in sold: the post at the corner is high by the flight that comes down to it, the foot
    of the next flight is not for that. Cut to no less than what clears the rail, by its cap's edge."""
    stair = {"edge": "front", "at": 62, "width": 44, "landings": [{"after_risers": 4, "turn": turn}]}
    made = build(parameters({"width": 307, "depth": 136}, COMMON, [stair], high))
    row = next(r for r in checked_with_mends(made) if r.rule == "sleeve length")
    assert row.result == "met" and row.measured <= 48
    guards = ("guard post", "post sleeve", "post cap", "top rail", "bottom rail", "baluster", "tread")
    assert not clashes([p for p in made.parts if p.role in guards])


def test_a_sleeve_longer_than_sold_says_what_length_would_do():
    stair = {"edge": "front", "at": 62, "width": 44, "landings": [{"after_risers": 4, "turn": "left"}]}
    short = {**COMMON, "sleeve_sold": 40}
    row = next(
        r
        for r in checked_with_mends(build(parameters({"width": 307, "depth": 136}, short, [stair], 54)))
        if r.rule == "sleeve length"
    )
    assert row.result == "not met"
    told = float(worded(row.why).split("guard.kit.sleeve_sold = ")[1].split(" ")[0])
    mended = build(parameters({"width": 307, "depth": 136}, {**short, "sleeve_sold": told}, [stair], 54))
    assert next(r for r in checked_with_mends(mended) if r.rule == "sleeve length").result == "met"


# --- the arithmetic of a rail --------------------------------------------------------------------------------------


def rails(**changed):
    return parameters({"width": 207, "depth": 136}, {**COMMON, **changed}, []).guard.kit


def test_a_rail_by_hand():
    """60 in between posts at 4-1/2 in with at least 1-9/16 in: 13 holes over 54 in, 3 in at both ends; and 71 in of a
    72 in rail has 16 holes and 1-3/4 in, where 69 in has 15 and 3 in, which a 72 in rail with its first hole at
    2-1/4 in does not give: the hole before would have to be cut away to 6-3/4 in, and 3-3/4 + 69 is past its end."""
    kit = rails(rail_lengths=[72])
    assert (kit_cut(60, kit).holes, kit_cut(60, kit).end) == (13, 3.0)
    assert (kit_cut(71, kit).holes, kit_cut(71, kit).end) == (16, 1.75)
    assert (kit_cut(69, kit).holes, kit_cut(69, kit).end) == (15, 3.0)
    holes = holes_of(72, kit)
    assert holes[0] == 2.25 and len(holes) == 16
    assert first_hole(holes, 72, 16, 1.75, 1.75) == 0
    assert first_hole(holes, 72, 15, 3.0, 3.0) is None
    assert first_hole(holes_of(96, kit), 96, 15, 3.0, 3.0) is not None
    assert kit_cut(3, kit).holes == 0  # no room for one hole


def test_a_second_rail_out_of_one_begins_at_a_further_hole():
    """Of a 96 in rail, holes from 3 in on: 9 holes with 2 in beyond reach from 1 to 41; the next of the same, a kerf
    on, cannot begin at hole 10, 43.5 - 2 = 41.5, which it can: 41.125 <= 41.5; with 2-1/4 in beyond it cannot."""
    kit = rails(rail_lengths=[96], first_hole=3.0)
    holes = holes_of(96, kit)
    assert holes[:2] == [3.0, 7.5] and holes[9] == 43.5
    assert first_hole(holes, 96, 9, 2.0, 2.0, since=41.0 + 0.125) == 9
    assert first_hole(holes, 96, 9, 2.25, 2.25, since=41.25 + 0.125) == 10


def test_no_cut_goes_through_a_hole():
    """Holes of 1-1/4 in at 4-3/4 in: an end 4-1/8 in past its last hole just misses the next one, 4.2 in cuts into it.
    Off the deck: its slanted edge's rail ends 4.1 in past its last hole on the middle line and further beside it."""
    kit = rails(**{k: KIT[k] for k in ("pitch", "hole", "least_end")}, rail_lengths=[94])
    holes, half = holes_of(94, kit), (0.625, 0.625)
    assert first_hole(holes, 94, 12, 4.125, 4.125, keep=half) == 1
    assert first_hole(holes, 94, 12, 4.2, 4.2, keep=half) is None
    assert first_hole(holes, 94, 12, 4.2, 4.2) is not None
    made = build(parameters(ODD, {**KIT, "rail_lengths": [94, 142]}, []))
    unmet = [r for r in checked_with_mends(made) if r.rule == "rail cut from a length sold" and r.result == "not met"]
    assert [r.place for r in unmet] == ["e6 edge"] and "clear of other holes" in worded(unmet[0].why)
    taken = take_off(made, measure_all(made.parts), Prices())
    assert {s.rail.id for s in taken.kit.unserved} == set(unmet[0].ids)


@EVERY
def test_every_cut_of_the_order_leaves_the_holes_beyond_it_whole(name):
    for bar in bought(name).kit.bars:
        rails_of = DECKS[name][1]["stairs"] if bar.sloped else DECKS[name][1]
        half = rails_of["hole"] / 2
        first = (bar.length - 2 * rails_of["least_end"]) % rails_of["pitch"] / 2 + rails_of["least_end"]
        for piece in bar.pieces:
            for at in (piece.start, piece.end):
                beside = max(piece.seen.tips) * (1 - rails_of["hole"] / 1.75)
                off = [abs(first + k * rails_of["pitch"] - at) for k in range(40)]
                near = min(x for x, k in zip(off, range(40)) if first + k * rails_of["pitch"] < bar.length - half)
                assert near >= half - beside - 1e-6 or at in (0.0, bar.length), (name, piece.seen.rail.id, at, near)


def test_nothing_goes_where_no_hole_has_room_and_nothing_is_wanted():
    """Between posts 3 in apart a rail of 2-1/2 in between brackets has no hole 1-7/8 in from both ends; at 6 in one."""
    p = parameters(*DECKS["stair"])
    square = [Polygon([(x, 0), (x + 3.5, 0), (x + 3.5, 3.5), (x, 3.5)]) for x in (0, 6.5, 9.5)]
    near, far = (level_run(square[0], other, (0, 1.75), (1, 0)) for other in square[1:])
    assert near is not None and near.clear == 3 and level_bay(Workshop(), p.guard, near, 0.0, p.stock) == []
    assert far is not None
    assert [q.role for q in level_bay(Workshop(), p.guard, far, 0.0, p.stock)].count("baluster") == 1


@pytest.mark.parametrize("height, post, high", [(14, "4x4", 39.5), (14, "6x6", 39.5), (21.68, "6x6", 36.5)])
def test_a_short_flight_has_its_kit_clear_of_posts_and_caps(height, post, high):
    """Two risers: a block at mid-bay would stand in a post. Three, with posts no higher than the rail: the edge of the
    lower post's cap would meet it."""
    stair = {"edge": "front", "at": 62, "width": 44, "guards": "both", "going": 10, "rise": 7}
    kit = {k: v for k, v in KIT.items() if "sleeve" not in k} | {"post_height": high}
    guard = {"kit": kit, "post": post}
    given = {"outline": {"width": 207, "depth": 136}, "levels": {"surface": height}, "stair": [stair], "guard": guard}
    parts = build_guards(lay_out(Parameters.model_validate(given)), Workshop())
    assert {"top rail", "rail bracket", "post cap"} <= {p.role for p in parts if p.stair is not None}
    assert not clashes(parts)


# --- what cannot be served, and refusals -----------------------------------------------------------------------------


def test_a_bay_that_no_rail_serves_names_the_spacing_that_does():
    outline, kit, stairs = DECKS["stair"]
    short = {**kit, "rail_lengths": [58], "stairs": {**STAIRS, "rail_lengths": [58]}}
    made = build(parameters(outline, short, stairs))
    unmet = [r for r in checked_with_mends(made) if r.rule == "rail cut from a length sold" and r.result == "not met"]
    assert {r.place for r in unmet} == {"left edge", "right edge", "stair 1"}
    told = {worded(r.why).split("guard.post_spacing = ")[1].split(" ")[0] for r in unmet}
    assert len(told) == 1
    taken = take_off(made, measure_all(made.parts), Prices())
    assert {s.rail.id for s in taken.kit.unserved} == {i for r in unmet for i in r.ids}
    assert sum("comes out of no rail" in worded(n) for n in taken.notes) == len(taken.kit.unserved)
    mended = build(parameters(outline, short, stairs, post_spacing=float(told.pop())))
    rows = [r for r in checked_with_mends(mended) if r.rule in ("rail cut from a length sold", "guard opening")]
    assert rows and all(r.result == "met" for r in rows)


FILE = """[outline]
width = 207
depth = 136
[levels]
surface = 44
[[stair]]
edge = "front"
at = 62
width = 44
[guard]
{guard}
[guard.kit]
rail_lengths = [70, 94]
pitch = 4.75
hole = 1.25
least_end = 1.875
rail_width = 1.75
rail_depth = 2.75
top = 36.5
bottom = 2.75
{kit}
"""
FOR_STAIRS = "[guard.kit.stairs]\nrail_lengths = [70]\npitch = 5.25\nhole = 1.75\nleast_end = 2.25"


@pytest.mark.parametrize(
    "guard, kit, told",
    [
        ("", "", "guard.kit.stairs: is missing, and stair 1 has guards"),
        ("height = 36", FOR_STAIRS, "height of 36 in and kit.top say two things; leave it out, or guard.height = 36.5"),
        ('top_rail = "2x4"', FOR_STAIRS, "top_rail is of rails cut from lumber"),
        ("baluster = 1.5", FOR_STAIRS, "guard.baluster = 1.25 would do"),
        ("", "post_height = 30\n" + FOR_STAIRS, "kit.post_height of 30 in is under kit.top of 36.5 in"),
        ("", "sleeve_cut = 38\npost_height = 39.5\n" + FOR_STAIRS, "ends under kit.post_height"),
        ("sleeve = {length = 42}", "sleeve_cut = 41\n" + FOR_STAIRS, "guard.sleeve.length = 41 would do"),
        ("", FOR_STAIRS.replace("5.25", "1.5"), "hole of 1.75 in is not less than the pitch"),
        ('post = "2x2"', FOR_STAIRS, "guard.kit.rail_width"),
        ("", "first_hole = 0.5\n" + FOR_STAIRS, "first_hole = 0.625 would do"),
    ],
)
def test_a_kit_that_contradicts_itself_or_the_file_is_refused(guard, kit, told, tmp_path):
    path = tmp_path / "deck.toml"
    path.write_text(FILE.format(guard=guard, kit=kit))
    with pytest.raises(InputError) as refused:
        parameter_file.read(path)
    line = str(refused.value)
    assert told in line and "\n" not in line and line.startswith(f"{path}:"), line


def test_the_card_says_where_to_cut_from_which_hole_in_either_unit():
    """Of the deck with a stair: 5'-0" of level rail between two posts' brackets, 12 holes at 4-3/4 in, 3-7/8 in at both
    ends: 98 mm."""
    for metric, words in (
        (False, 'CUT 3 7/8" BEFORE HOLE 1 AND 3 7/8" PAST HOLE 12'),
        (True, "CUT 98 MM BEFORE HOLE 1"),
    ):
        cards = build_cards(deck("stair"), measure_all(deck("stair").parts), plan=bought("stair").order, metric=metric)
        text = [t for s in cards.sheets if s.name == "GUARDS" for i in s.items if (t := getattr(i, "text", None))]
        assert any(words in t for t in text), [t for t in text if "HOLE" in t]
        assert not metric or not any('"' in t for t in text if "HOLE" in t)
        rail = next(t for t in text if "BEFORE HOLE 1 " in t)
        assert "BR1" in rail and "TR1" in rail  # top and bottom rail from the same holes


def test_the_schedule_of_hardware_counts_what_the_order_has():
    """Of the kit, and of what the maker of the boards asks for."""
    outline, kit, stairs = DECKS["stair"]
    maker = {"border": {"screws": 3, "apart": 14}, "steps": {"screws": 3}, "clip": {"pack": 140}}
    given = {"outline": outline, "levels": {"surface": 44}, "stair": stairs, "guard": {"kit": kit}, "maker": maker}
    made = build(Parameters.model_validate(given))
    rows_of = measure_all(made.parts)
    ordered = {h.item: f"{h.count:g}" for h in take_off(made, rows_of, Prices()).hardware}
    stage = Stage(made, rows_of, (), "letter", False, DrawingSet())
    told = {row[0]: row[2] for row in hardware_rows(stage)}
    for item, connection in CONNECTIONS:
        if item in ordered and item not in ("ledger fastener", "guard-post bolt"):
            assert told[connection] == ordered[item], item
    assert told["BALUSTER IN THE HOLES OF ITS RAILS"] == ordered["kit baluster"]
    assert "BALUSTER TO RAIL" not in told
