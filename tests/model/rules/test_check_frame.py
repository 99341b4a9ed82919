"""Every frame rule has a deck that breaks it; the rules of landings and handrails that need a changed solid as well.

Limits are rows of shared/data/limits.csv and the span tables. Sizes are chosen to lie on the wrong side of one of them.
"""

from __future__ import annotations

import copy
import re
import tomllib
from collections import Counter
from dataclasses import replace
from functools import cache

import pytest
from conftest import PARAMS, demo_checks, demo_deck, demo_measured

from plumbcut.exports.drafting.wording import source_text, worded
from plumbcut.model.deck import Deck, build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.carriers import carriers
from plumbcut.model.measuring.contacts import contacts
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.parameter_file import read
from plumbcut.model.rules.checks import OUTSIDE_THIS_PROGRAM, check_deck
from plumbcut.model.solid.part import Place, Workshop
from plumbcut.model.structure.structure import analyse
from plumbcut.shared.errors import InputError
from plumbcut.shared.stock import lumber


def parameters(demo="terrace", **changes) -> Parameters:
    """A demo's parameters with changes: stair__rise=9, frame__footing__size=10; `stair=[]` replaces a whole section."""
    data = copy.deepcopy(tomllib.loads((PARAMS / f"{demo}.toml").read_text()))
    for key, value in changes.items():
        if "__" not in key:
            data[key] = value
            continue
        *sections, name = key.split("__")
        at = data
        for section in sections:
            at = at.setdefault(section, {})
            at = at[0] if isinstance(at, list) else at
        at[name] = value
    return Parameters.model_validate(data)


def checked(demo="terrace", **changes):
    return check_deck(build(parameters(demo, **changes)))


def mutated(demo, change, again=False):
    """Results for a demo whose solids were changed: `change` gives a part, None to take it out, or the part itself.

    `again` finds anew who carries whom; otherwise the links stay, but for those to pieces that are gone.
    """
    deck = demo_deck(demo)
    parts = [q for p in deck.parts if (q := change(p)) is not None]
    left = {p.id for p in parts}
    if again:
        parts = [p.replaced(carried_by=by) for p, by in zip(parts, carriers(parts, contacts(parts)))]
    else:
        parts = [p.replaced(carried_by=tuple(i for i in p.carried_by if i in left)) for p in parts]
    return check_deck(Deck(deck.parameters, deck.levels, parts), measure_all(parts))


def moved(p, dx=0.0, dy=0.0, dz=0.0):
    return p.replaced(place=replace(p.place, origin=tuple(a + b for a, b in zip(p.place.origin, (dx, dy, dz)))))


def outcome(results, rule, place=""):
    return {r.result for r in results if r.rule == rule and place in worded(r.place)}


@pytest.mark.parametrize(
    "rule, changes",
    [
        ("joist span (table)", {"frame__joist": "2x6", "frame__beam_lines": [18], "stair": []}),
        ("bending, sagging (calculation)", {"loads__live_psf": 300}),
        (
            "deflection, span (calculation)",
            {"frame__joist": "2x6", "frame__beam_lines": [18], "loads__live_psf": 80, "stair": []},
        ),
        ("joist overhang, share of span (table)", {"frame__beam_lines": [50], "stair": []}),
        ("beam span (table)", {"frame__beam": "2x8", "frame__post_spacing": 160}),
        ("beam overhang (table)", {"frame__beam_overhang": 40}),
        (
            "compression (calculation)",
            {"frame__post": "4x4", "loads__live_psf": 400, "levels__surface": 130, "stair": []},
        ),
        (
            "post height (table)",
            {"frame__post": "4x4", "levels__surface": "16 ft", "local__edition": "IRC 2015", "stair": []},
        ),
        ("footing diameter (table)", {"frame__footing__size": 10}),
        ("soil bearing (calculation)", {"frame__footing__size": 10}),
        ("soil bearing (calculation)", {"loads__soil_bearing_psf": 0.5, "frame__footing__size": 20}),
        ("frost depth", {"local__frost_depth": 60, "frame__footing__depth": 42}),
        ("footing depth below grade", {"frame__footing__depth": 8}),
        ("ledger size", {"frame__joist": "2x6", "stair": []}),
        ("ledger depth", {"frame__ledger": "2x8", "stair": []}),
        ("board span", {"surface__material": "treated lumber", "frame__joist_spacing": 24}),
        ("board span", {"surface__material": "treated lumber", "surface__direction": 45, "frame__joist_spacing": 16}),
        ("blocking over beams", {"frame__blocking_at_beams": False, "frame__blocking_rows": 0}),
        ("treatment category", {"lumber__treatment": "UC3B"}),
        ("stringer span, cut", {"levels__surface": 64, "stair__carriers": "none"}),
        ("stringer stock", {"stair__stringer": "2x10"}),
        ("handrail grip, perimeter greatest", {"guard__handrail_size": 2.0}),
        ("handrail grip, across", {"guard__handrail_size": 2.0}),
        ("space behind the handrail", {"guard__handrail_clearance": 0.25}),
    ],
    ids=lambda v: v if isinstance(v, str) else "-".join(f"{k}" for k in v),
)
def test_a_broken_rule_is_not_met(rule, changes):
    assert outcome(demo_checks("terrace"), rule) <= {"met", "not checked"}
    assert "not met" in outcome(checked(**changes), rule)


@pytest.mark.parametrize(
    "rule, changes",
    [
        ("flight's rise between landings", {"stair__landings": [], "levels__surface": "13 ft"}),
        ("landing length", {"stair__landings": [{"after_risers": 8, "depth": 30, "turn": "straight"}]}),
        ("tread, bending", {"stair__width": 58, "stair__stringer_spacing": 60, "stair__at": 30}),
        ("tread, deflection", {"stair__width": 58, "stair__stringer_spacing": 60, "stair__at": 30}),
    ],
)
def test_a_broken_rule_of_the_tall_deck_is_not_met(rule, changes):
    assert outcome(demo_checks("hillside"), rule) == {"met"}
    assert "not met" in outcome(checked("hillside", **changes), rule)


# Faults in the solids alone ------------------------------------------------------------------------------------------


def test_a_landing_without_its_guard_is_seen():
    """A landing nearly 5 ft up whose level bays are taken away: the height is measured, and the gap."""
    bays = lambda p: None if p.role in ("top rail", "bottom rail", "baluster") and p.where.endswith("landing 1") else p
    failed = [r for r in mutated("hillside", bays) if r.rule == "guard needed" and r.result == "not met"]
    assert len(failed) == 2
    assert all("landing at the foot" in worded(r.place) and "no guard" in worded(r.why) for r in failed)


def test_one_missing_baluster_on_a_landing_is_seen():
    lost = next(p for p in demo_deck("hillside").parts if p.role == "baluster" and p.where.endswith("landing 1"))
    failed = [r for r in mutated("hillside", lambda p: None if p is lost else p) if r.result == "not met"]
    assert {r.rule for r in failed} == {"guard opening"} and 6 < failed[0].measured < 9.5


def test_a_post_moved_from_under_its_beam_bears_too_little():
    """The end post slides out along the beam until an inch of it is left under the beam's end."""
    beam = next(p for p in demo_deck("terrace").parts if p.role == "beam")
    end = min((p for p in demo_deck("terrace").parts if p.role == "post"), key=lambda p: p.box[0, 0])
    results = mutated("terrace", lambda p: moved(p, beam.box[0, 0] - end.box[1, 0] + 1.0) if p is end else p)
    row = next(r for r in results if r.rule == "bearing on wood" and r.result == "not met")
    assert row.measured == pytest.approx(1.0, abs=1e-6) and end.id in row.ids


def test_a_splice_over_no_post_is_seen():
    """A 30 ft beam is spliced over posts; the post under a splice is taken out."""
    deck = build(parameters(outline={"width": "30 ft", "depth": "11 ft"}, stair=[]))
    results = check_deck(deck)
    assert outcome(results, "beam splices over supports") == {"met"}
    post = next(r for r in results if r.rule == "beam splices over supports")
    at = float(worded(post.place).split(" at ")[1].split()[0]) + min(p.box[0, 0] for p in deck.roles("beam"))
    under = min(deck.roles("post"), key=lambda p: abs(p.box[:, 0].mean() - at))
    parts = [p for p in deck.parts if p is not under]
    parts = [p.replaced(carried_by=tuple(i for i in p.carried_by if i != under.id)) for p in parts]
    results = check_deck(Deck(deck.parameters, deck.levels, parts), measure_all(parts))
    assert outcome(results, "beam splices over supports") == {"not met"}


@pytest.mark.parametrize(
    "at, depth, long, broken",
    [(60.0, 2.0, 4.0, {"notch depth", "notch length", "notch place"}), (20.0, 1.2, 2.5, set())],
)
def test_a_notch_in_a_joist_is_measured(at, depth, long, broken):
    """2x10 (9.25 in): a sixth is 1.54 in deep, a third 3.08 in long, and not in the middle third of the span."""
    joist = next(p for p in demo_deck("terrace").parts if p.role == "joist")
    shop, stock = Workshop(), joist.stock
    (x0, y0, z0), (x1, y1, z1) = joist.box
    ring = [
        (0, 0),
        (y1 - y0, 0),
        (y1 - y0, z1 - z0),
        (at + long, z1 - z0),
        (at + long, z1 - z0 - depth),
        (at, z1 - z0 - depth),
        (at, z1 - z0),
        (0, z1 - z0),
    ]
    notched = shop.prism("joist", stock, ring, x1 - x0, Place((x0, y0, z0), (0, 1, 0), (0, 0, 1)))
    assert notched.box == pytest.approx(joist.box)
    results = mutated("terrace", lambda p: p.replaced(shape=notched.shape, place=notched.place) if p is joist else p)
    found = [r for r in results if r.rule.startswith("notch") and joist.id in r.ids]
    assert len(found) == 3
    assert {r.rule for r in found if r.result == "not met"} == broken
    assert next(r for r in found if r.rule == "notch depth").measured == pytest.approx(depth / 9.25, abs=1e-6)


def test_untreated_joists_near_the_ground_are_seen():
    deck = build(parameters(levels__surface=26, stair=[]))
    plain = lambda p: p.replaced(stock=replace(p.stock, material="composite board")) if p.role == "joist" else p
    parts = [plain(p) for p in deck.parts]
    results = check_deck(Deck(deck.parameters, deck.levels, parts), measure_all(parts))
    assert outcome(check_deck(deck), "joist clearance to grade") == {"met"}
    assert outcome(results, "joist clearance to grade") == {"not met"}


@pytest.mark.parametrize(
    "points, house, said",
    [
        # a joist beside a clipped corner of the house stops short of the wall, nailed to a block across its end
        (
            [[0, 0], [250, 0], [250, 230], [140, 230], [140, 140], [100, 100], [0, 100]],
            ["e4", "e5", "e6"],
            "on a block",
        ),
        # joists cut along a slanted rim over more than a foot: the middle of the cut is off the end
        ([[0, 0], [190, 0], [244, 80], [60, 180], [0, 150]], ["e3"], "each ends on a rim"),
    ],
    ids=["a block across its end", "an end cut along the rim"],
)
def test_the_free_end_of_a_joist_is_held_by_a_rim_or_a_block(points, house, said):
    """Rim or full-depth blocking (IRC R507.6.2, from memory)."""
    deck = build(Parameters.model_validate({"outline": {"points": points, "house": house}, "levels": {"surface": 54}}))
    (row,) = [r for r in check_deck(deck) if r.rule == "rim at the cantilever"]
    assert row.result == "met" and said in worded(row.why)


def test_a_block_beside_one_of_two_joists_side_by_side_holds_both():
    """The outer one lies an inch from the wall's ledger: no block has room there, and it is nailed to the other's side
    (common practice, no source)."""
    points = [[0, 0], [280, 0], [280, 100], [115, 100], [115, 250], [0, 250]]
    sections = {"outline": {"points": points, "house": ["e3", "e4"]}, "levels": {"surface": 30}}
    deck = build(
        Parameters.model_validate({**sections, "frame": {"joist": "4x8"}, "surface": {"border": {"courses": 0}}})
    )
    assert outcome(check_deck(deck), "blocking over beams") == {"met"}
    parts = [p for p in deck.parts if p.where != "over the beam between the supports"]
    without = check_deck(Deck(deck.parameters, deck.levels, parts), measure_all(parts))
    assert outcome(without, "blocking over beams") == {"not met"}


def test_missing_pieces_are_seen():
    gone = lambda test: lambda p: None if test(p) else p
    assert "not met" in outcome(
        mutated("terrace", gone(lambda p: p.role == "rim" and p.edge == "front"), again=True), "rim at the cantilever"
    )
    assert "not met" in outcome(
        mutated("terrace", gone(lambda p: p.role in ("post blocking", "border blocking", "blocking"))),
        "guard-post blocking",
    )
    stringer = sorted((p for p in demo_deck("terrace").parts if p.role == "stringer"), key=lambda p: p.box[0, 0])
    ends = {s.id for s in stringer[1:]}
    assert "not met" in outcome(
        mutated("terrace", gone(lambda p: p.id in ends), again=True), "treads borne at both ends"
    )
    returns = {
        p.id
        for p in demo_deck("terrace").parts
        if p.role == "handrail" and abs(p.box[1, 0] - p.box[0, 0]) > 2 * 1.5 - 0.1
    }
    assert returns
    assert "not met" in outcome(mutated("terrace", gone(lambda p: p.id in returns)), "handrail ends returned")
    apart = lambda p: moved(p, dx=0.25) if p.role == "handrail" else p  # a quarter of an inch from its posts
    assert "not met" in outcome(mutated("terrace", apart), "handrail ends returned")


def test_a_handrail_that_stops_short_is_seen():
    down = lambda p: moved(p, dy=-14.0, dz=0.0) if p.role == "handrail" else p
    assert "not met" in outcome(mutated("terrace", down), "handrail runs the whole flight")


@pytest.mark.parametrize("clear, result", [(80.0, "met"), (79.9, "not met")])
def test_headroom_under_something_is_measured_from_the_line_of_nosings(clear, result):
    deck = demo_deck("terrace")
    tread = max(deck.roles("tread"), key=lambda p: p.box[1, 2])
    front = min(p.box[0, 1] for p in deck.roles("tread") if p.box[1, 2] == tread.box[1, 2])
    beam = Workshop().upright(
        "beam",
        lumber("2x8"),
        [(40, front - 0.5), (120, front - 0.5), (120, front), (40, front)],
        tread.box[1, 2] + clear,
        tread.box[1, 2] + clear + 7,
        (1, 0),
    )
    parts = [*deck.parts, beam.replaced(mark="BMX", id="BMX-01")]
    rows = [
        r for r in check_deck(Deck(deck.parameters, deck.levels, parts), measure_all(parts)) if r.rule == "headroom"
    ]
    assert [r.result for r in rows] == [result]
    assert rows[0].measured == pytest.approx(clear, abs=0.5)
    assert outcome(demo_checks("terrace"), "headroom") == {"not checked"}, "nothing above: the house is not modelled"


# Two routes, editions, local values, what is not checked --------------------------------------------------------------


def test_where_table_and_calculation_differ_both_are_told_and_which_governs():
    """A quarter of the back span is exceeded, and yet nothing is overstressed: the table governs and says so."""
    rows = [r for r in checked(frame__beam_lines=[50], stair=[]) if worded(r.place).startswith("joist")]
    share = next(r for r in rows if r.rule == "joist overhang, share of span (table)" and r.result == "not met")
    same = [r for r in rows if r.ids == share.ids]
    assert {r.result for r in same if r.rule.endswith("(calculation)")} <= {
        "met",
        "not checked",
    }  # uplift at the ledger is not
    assert "tightest check of it: table: joist overhang, share of span; the table and the calculation differ" in worded(
        share.why
    )
    bending = next(r for r in same if r.rule == "bending, sagging (calculation)")
    assert "the table and the calculation differ" in worded(bending.why)


@cache
def with_local(demo, **local):
    deck = demo_deck(demo)
    about = deck.parameters.local.model_copy(update=local)
    return check_deck(
        Deck(deck.parameters.model_copy(update={"local": about}), deck.levels, deck.parts), demo_measured(demo)
    )


@pytest.mark.parametrize("edition", ["IRC 2015", "IRC 2018", "IRC 2021"])
def test_every_edition_runs_on_every_demo(demo, edition):
    results = with_local(demo, edition=edition)
    assert not [r for r in results if r.result == "not met"]
    tables = [worded(r.source) for r in results if r.rule.endswith("(table)") and r.result == "met"]
    assert any(edition in t for t in tables)
    assert any(r.rule == "edition in force" and edition in worded(r.why) for r in results)
    assert {r.limit for r in results if r.rule == "flight's rise between landings"} == {
        147.0 if edition == "IRC 2015" else 151.0
    }


def test_local_values_are_used_where_tighter_and_said():
    results = with_local(
        "terrace", guard_height=42.0, stair_width=48.0, tread_depth=11.0, frost_depth=50.0, guard_post_load_lb=300.0
    )
    for rule, limit in (("guard height", 42.0), ("stair width", 48.0), ("going (run)", 11.0), ("frost depth", 50.0)):
        rows = [r for r in results if r.rule == rule]
        assert (
            rows
            and {r.limit for r in rows} == {limit}
            and all("local value" in source_text(r) and "used" in source_text(r) for r in rows)
        ), rule
        assert {r.result for r in rows} == {"not met"}, rule
    load = next(r for r in results if r.rule == "guard post attachment")
    assert "local value 300 lb used" in source_text(load) and "300 lb at the top" in worded(load.why)
    loose = next(r for r in with_local("terrace", guard_post_load_lb=100.0) if r.rule == "guard post attachment")
    assert "looser and was not used" in source_text(loose) and "200 lb at the top" in worded(loose.why)


def test_heavier_snow_never_turns_not_met_into_met():
    """The same solids under more and more snow: no rule comes right again, and past 40 psf the tables say they end
    there."""
    deck, order = demo_deck("terrace"), {"met": 0, "not checked": 1, "not met": 2}
    before = None
    for snow in (0.0, 20.0, 40.0, 50.0, 90.0, 250.0):
        loads = deck.parameters.loads.model_copy(update={"ground_snow_psf": snow})
        results = check_deck(
            Deck(deck.parameters.model_copy(update={"loads": loads}), deck.levels, deck.parts), demo_measured("terrace")
        )
        now = {}
        for r in results:
            key = r.rule, worded(r.place).split(",")[0]
            now[key] = max(now.get(key, "met"), r.result, key=order.get)
        for key, result in (before or {}).items():
            assert not (result == "not met" and now[key] == "met"), (snow, key)
        if snow > 40:
            assert {r.result for r in results if r.rule == "joist span (table)"} == {"not checked"}
            assert any("outside the table" in worded(r.why) for r in results if r.rule == "joist span (table)")
        before = now
    assert any(r.result == "not met" and "dead + snow load" in worded(r.why) for r in results), (
        "250 psf of snow is too much for this frame"
    )


def test_units_make_no_difference_to_any_check():
    """The same deck in feet and inches and in millimetres: the same results, every one."""
    feet = {
        "outline": {"width": "12 ft", "depth": "10 ft"},
        "levels": {"surface": "38 in"},
        "stair": [{"edge": "front", "width": "42 in"}],
        "local": {"frost_depth": "3 ft"},
    }
    metric = {
        "outline": {"width": "3657.6 mm", "depth": "3.048 m"},
        "levels": {"surface": "965.2 mm"},
        "stair": [{"edge": "front", "width": "106.68 cm"}],
        "local": {"frost_depth": "914.4 mm"},
    }
    a, b = (check_deck(build(Parameters.model_validate(data))) for data in (feet, metric))
    assert len(a) == len(b) > 80
    for x, y in zip(a, b):
        assert (x.rule, x.source, x.result, x.ids) == (y.rule, y.source, y.result, y.ids)
        assert (x.measured is None) == (y.measured is None)
        if x.measured is not None:
            assert x.measured == pytest.approx(y.measured, rel=1e-6, abs=1e-5)


def test_more_span_never_raises_a_margin():
    """Deeper decks with the same frame: the share of every limit that is left only shrinks."""
    rules = (
        "joist span (table)",
        "bending, sagging (calculation)",
        "shear (calculation)",
        "deflection, span (calculation)",
    )
    last = {}
    for depth in (100, 120, 140, 165):
        results = checked(outline__depth=depth, stair=[])
        for rule in rules:
            margin = min(r.margin / r.limit for r in results if r.rule == rule and worded(r.place).startswith("joist"))
            assert margin <= last.get(rule, 1e9) + 1e-9, (rule, depth)
            last[rule] = margin


def test_a_doubtful_row_decides_nothing():
    row = next(r for r in demo_checks("hillside") if r.rule == "joist overhang, table (table)")
    assert "DOUBTFUL" in worded(row.source) and row.result == "not checked" and row.margin is not None


def test_what_is_left_open_for_one_reason_is_said_once(demo):
    """The row that asks most bears the pieces of all; one that is past a value in doubt stays apart from those within
    it."""
    rows = [r for r in demo_checks(demo) if r.result == "not checked" and r.ids and r.rule.endswith(")")]
    told = Counter((r.rule, re.sub(r"[0-9.,]+|;.*", "", worded(r.why))) for r in rows)
    assert rows and max(told.values()) == 1
    structure = analyse(demo_deck(demo))
    turned = [r for r in structure.of("rim") if any(v.check == "turning by a guard" for v in r.calculation)]
    row = next((r for r in rows if r.rule.startswith("turning by a guard")), None)
    assert row is None or set(row.ids) == {i for r in turned for i in r.ids}
    assert (row is None) == (not turned)
    if row:
        most = max(v.demand for r in turned for v in r.calculation if v.check == "turning by a guard")
        assert row.measured == pytest.approx(most)
    if demo == "wraparound":
        overhangs = [worded(r.why) for r in rows if r.rule == "joist overhang, table (table)"]
        assert [w.split()[0] for w in overhangs] == ["within", "over"]


def test_what_is_not_checked_is_listed(demo):
    results = demo_checks(demo)
    for rule, why in OUTSIDE_THIS_PROGRAM:
        assert [(r.result, worded(r.why)) for r in results if r.rule == rule] == [("not checked", why)]
    assert all(r.why for r in results if r.result == "not checked")
    assert all(r.source for r in results)


def test_results_stay_readable(demo):
    """One row for each rule and mark, flight or edge: never a row for every piece."""
    keys = [(r.rule, r.place) for r in demo_checks(demo)]
    assert len(keys) == len(set(keys))
    assert len(keys) < 0.65 * len(demo_deck(demo).parts) and len(keys) < 300


# What cannot stand ----------------------------------------------------------------------------------------------------


def test_a_frame_that_cannot_stand_is_reported_and_not_a_crash():
    no_posts = mutated("terrace", lambda p: None if p.role == "post" else p)
    assert any(r.result == "not met" and "rests on nothing" in worded(r.why) for r in no_posts)
    hung = mutated("terrace", lambda p: None if p.role in ("beam", "post", "ledger") else p, again=True)
    assert any(
        r.result == "not met" and worded(r.place).startswith(("joist", "rim")) and "rests on" in worded(r.why)
        for r in hung
    )
    assert any(r.rule == "load path" and r.result == "not checked" for r in hung)
    no_footing = mutated("terrace", lambda p: None if p.role == "footing" else p)
    assert any(r.result == "not met" and "stands on no footing" in worded(r.why) for r in no_footing)


@pytest.mark.parametrize(
    "section, key, value, words",
    [
        ("lumber", "species", '"oak"', 'got "oak"; wanted one of'),
        ("lumber", "grade", '"No.9"', 'got "No.9"; wanted one of'),
        ("local", "edition", '"IRC 1999"', 'got "IRC 1999"; wanted one of "IRC 2015"'),
        ("loads", "soil_bearing_psf", "0", "got 0; wanted more than 0"),
    ],
)
def test_names_and_loads_that_no_table_has_are_refused_with_their_line(tmp_path, section, key, value, words):
    path = tmp_path / "deck.toml"
    path.write_text(f"[outline]\nwidth = 192\ndepth = 144\n[levels]\nsurface = 40\n[{section}]\n{key} = {value}\n")
    with pytest.raises(InputError) as e:
        read(path)
    (fault,) = e.value.faults
    assert (fault.line, fault.key) == (7, f"{section}.{key}") and words in fault.message


# Speed ----------------------------------------------------------------------------------------------------------------


def test_time_grows_no_faster_than_the_deck():
    """Three times as wide and deep (about nine times the pieces): a ratio in one run, with room for a busy machine."""
    import time

    def seconds(deck):
        measured = measure_all(deck.parts)
        best = 1e9
        for _ in range(2):
            start = time.process_time()
            check_deck(deck, measured)
            best = min(best, time.process_time() - start)
        return best

    small = build(parameters(stair=[]))
    large = build(parameters(outline__width="43 ft", outline__depth="34 ft", stair=[]))
    pieces = len(large.parts) / len(small.parts)
    assert pieces > 3
    assert seconds(large) < 2.5 * pieces * seconds(small)


def test_a_stairs_point_loads_count_in_the_span_table_as_a_longer_joist():
    """The tables are for evenly spread loads (their own title): of joists under a stair's blocks the row says which
    span under an even load bends them as much."""
    rules = ("joist span (table)", "joist overhang, share of span (table)")
    rows = [r for r in demo_checks("terrace") if r.rule in rules and "joist J" in worded(r.place)]
    assert {r.result for r in rows} == {"met"} and any("times as much" in worded(r.why) for r in rows)


@pytest.mark.parametrize(("frost", "depth"), [(None, 42.0), ("4' 6\"", 54.0), (36, 36.0), (0, 12.0)])
def test_footings_go_down_to_the_frost_line_where_no_depth_is_given(frost, depth):
    """The published least of 12 in holds where the ground does not freeze (IRC R403.1.4, a row from memory); on a slope
    from the low side on."""
    data = {"outline": {"width": 150, "depth": 110}, "levels": {"surface": 40, "slope_x": "1 in 20"}}
    data["local"] = {} if frost is None else {"frost_depth": frost}
    deck = build(Parameters.model_validate(data))
    for p in deck.roles("footing"):
        (x0, y0, bottom), (_, y1, _) = p.box.tolist()
        assert deck.planes.grade(x0, (y0 + y1) / 2) - bottom == pytest.approx(depth)  # grade rises with x
    found = [c for c in check_deck(deck, measure_all(deck.parts)) if c.rule == "frost depth"]
    assert [c.result for c in found] == ["not checked" if frost is None else "met"] * len(found) and found
