"""The plan of a stair with landings: every landing's size and frame is dimensioned, every level and post length
lettered, against an own reading of the solids. Decks and sizes are invented."""

from __future__ import annotations

import itertools
import math
from functools import cache

import pytest
from shapely import LineString, Point, box, unary_union

from plumbcut.exports.drafting import drawing as d
from plumbcut.exports.drafting import furniture
from plumbcut.exports.drafting.dimensioning import dimension
from plumbcut.exports.sheets import build_drawing, cover, footing_plan
from plumbcut.exports.sheets.footing_plan import footing_rows
from plumbcut.exports.sheets.landings_drawn import seen_box, square_eye
from plumbcut.exports.sheets.stage import Stage
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.shared.units import feet_inches, inches

BEVEL = {
    "points": [[0, 0], [150, 0], [230, 80], [230, 170], [0, 170]],
    "edges": ["front", "bevel", "right", "back", "left"],
    "house": ["back"],
}
DECKS = {
    "turning twice": (
        {"width": 180, "depth": 156, "house": ["back"]},
        112,
        {
            "edge": "left",
            "at": 20,
            "landings": [
                {"after_risers": 5, "depth": 42, "turn": "left"},
                {"after_risers": 7, "depth": 42, "turn": "right"},
            ],
        },
    ),
    "askew": (BEVEL, 78, {"edge": "bevel", "width": 44, "landings": [{"after_risers": 5, "depth": 48}]}),
}


@cache
def made(name: str):
    outline, surface, stair = DECKS[name]
    return build(
        Parameters.model_validate(
            {"outline": outline, "levels": {"surface": surface}, "frame": {"joist": "2x10"}, "stair": [stair]}
        )
    )


@cache
def drawing_of(name: str) -> d.DrawingSet:
    return build_drawing(made(name), measure_all(made(name).parts), paper="ARCH B")


def plan_of(name: str, plan: str) -> d.View:
    return next(v for v in drawing_of(name).views() if v.name == plan)


def view(name: str, kind: str) -> d.View:
    return plan_of(name, f"stair 1 {kind}")


def landings(name: str, *roles: str) -> dict[str, list]:
    found: dict[str, list] = {}
    for p in made(name).parts:
        if p.stair == 0 and "landing" in p.where and p.role in roles:
            found.setdefault(p.where, []).append(p)
    return found


def sides(parts) -> tuple[float, float]:
    """The sides of the smallest rectangle round pieces in plan: of a landing, its own, however it is turned."""
    (ax, ay), (bx, by), (cx, cy) = unary_union([p.footprint for p in parts]).minimum_rotated_rectangle.exterior.coords[
        :3
    ]
    return math.hypot(bx - ax, by - ay), math.hypot(cx - bx, cy - by)


def lengths(drawn: d.View) -> list[float]:
    out = []
    for i in drawn.items:
        if isinstance(i, d.Dimension):
            u = (math.cos(math.radians(i.angle or 0)), math.sin(math.radians(i.angle or 0)))
            out.append(abs((i.b[0] - i.a[0]) * u[0] + (i.b[1] - i.a[1]) * u[1]))
    return out


def notes(drawn: d.View) -> list[str]:
    return [i.text for i in drawn.items if isinstance(i, d.Leader)]


@pytest.mark.parametrize("name", DECKS)
def test_every_landing_is_dimensioned_and_its_level_and_flights_told(name):
    drawn = view(name, "plan")
    words, found = notes(drawn), lengths(drawn)
    for boards in landings(name, "board").values():
        for side in sides(boards):
            assert any(abs(side - x) < 1e-3 for x in found)
        top = feet_inches(max(p.box[1, 2] for p in boards))
        assert any(f"T.O. +{top}" in w for w in words)
    risers = [w for w in words if "RISERS OF" in w]
    assert len(risers) == len(DECKS[name][2]["landings"]) + 1
    arrows = [i for i in drawn.items if isinstance(i, d.Arrow)]
    assert len(arrows) == len(risers)
    for a in arrows:  # square to the sheet, whichever way the stair lies
        (x0, y0), (x1, y1) = a.points
        assert min(abs(x1 - x0), abs(y1 - y0)) < 1e-6


@pytest.mark.parametrize("name", DECKS)
def test_the_frame_of_every_landing_is_dimensioned_and_named(name):
    drawn = view(name, "framing")
    words, found = " ".join(notes(drawn)), lengths(drawn)
    for frame in landings(name, "joist", "rim").values():
        for side in sides(frame):
            assert any(abs(side - x) < 1e-3 for x in found)
        assert all(p.mark in words for p in frame)
    long = {m.mark: m.length for m in measure_all(made(name).parts) if m.role == "post"}
    for posts in landings(name, "post").values():
        xs, ys = sides(posts)
        wide = posts[0].stock.width  # to the posts' middles
        for side in (xs - wide, ys - wide):
            assert any(abs(side - x) < 1e-3 for x in found)
        assert all(f"{p.mark} {feet_inches(long[p.mark])}" in words for p in posts)


@pytest.mark.parametrize(("paper", "metric"), [("ARCH B", False), ("letter", False), ("A3", True)])
@pytest.mark.parametrize("name", DECKS)
def test_all_stays_on_the_paper(name, paper, metric):
    """Titles and the line that tells of a turned plan among it."""
    drawing = build_drawing(made(name), measure_all(made(name).parts), paper=paper, metric=metric)
    for sheet in drawing.sheets:
        assert all("\n" not in p.note for p in sheet.viewports)  # an attribute of a DXF is one row
        if sheet.number.startswith("A-4"):
            room = box(*sheet.room).buffer(0.12)
            ports = [box(*furniture.port_box(p, metric)) for p in sheet.viewports]
            assert all(room.contains(p) for p in ports)
            assert all(a.intersection(b).area < 1e-6 for i, a in enumerate(ports) for b in ports[i + 1 :])


def test_a_landing_is_tied_to_the_edge_that_its_stair_leaves():
    """From the edge of the finished surface, 1-3/4 in past the frame, to the landing's near side."""
    drawn = view("turning twice", "plan")
    for boards in landings("turning twice", "board").values():
        assert any(abs(-1.75 - unary_union([p.footprint for p in boards]).bounds[2] - x) < 1e-3 for x in lengths(drawn))


def test_a_pad_askew_has_its_own_sides():
    plan = plan_of("askew", "footing plan")
    (pad,) = (p for p in made("askew").parts if p.role == "pad")
    (words,) = (w for w in notes(plan) if "CONCRETE PAD" in w)
    assert sorted(words.split("\n")[1].split(" x ")) == sorted(feet_inches(s) for s in sides([pad]))


def test_a_small_paper_gives_each_view_a_sheet():
    name = "turning twice"
    drawing = build_drawing(made(name), measure_all(made(name).parts), paper="letter")
    titles = {s.number: s.name for s in drawing.sheets}
    assert titles["A-401"] == "STAIR PLAN" and titles["A-402"] == "STAIR FRAMING"


def test_a_stair_is_drawn_no_smaller_than_is_read():
    """Where two views on one sheet would be, each has a sheet of its own."""
    for name in DECKS:
        numbers = [s.number for s in drawing_of(name).sheets if s.number.startswith("A-4")]
        scales = [view(name, kind).scale for kind in ("plan", "framing")]
        assert len(numbers) in (1, 2) and max(scales) <= 64.0, (name, scales)


def test_the_key_plan_shows_the_landings():
    key = plan_of("turning twice", "key plan")
    rings = [i.points for i in key.items if isinstance(i, d.Polyline) and i.closed]
    for boards in landings("turning twice", "board").values():
        x0, y0, x1, y1 = unary_union([p.footprint for p in boards]).bounds
        for corner in ((x0, y0), (x1, y0), (x1, y1), (x0, y1)):
            assert any(math.dist(corner, q) < 4.5 for ring in rings for q in ring)  # posts notch the corners


def test_the_footing_plan_shows_where_each_landing_stands():
    """Its frame's corners, in phantom lines."""
    plan = plan_of("turning twice", "footing plan")
    rings = [i for i in plan.items if isinstance(i, d.Polyline) and i.closed and i.layer == "A-FLOR-ABOV"]
    for frame in landings("turning twice", "joist", "rim").values():
        x0, y0, x1, y1 = unary_union([p.footprint for p in frame]).bounds
        assert any(
            {(round(x, 3), round(y, 3)) for x, y in r.points}
            >= {(round(x, 3), round(y, 3)) for x in (x0, x1) for y in (y0, y1)}
            for r in rings
        )


def test_no_two_footings_have_the_same_figures():
    """Left and right of the corner they are measured from are told apart."""
    deck = made("turning twice")
    stage = Stage(deck, measure_all(deck.parts), (), "ARCH B", False, d.DrawingSet())
    rows = {r[0]: (r[5], r[6]) for r in footing_rows(stage)}
    assert len(set(rows.values())) == len(rows) > 8
    for p in deck.parts:
        if p.role == "footing":
            (x0, y0, _), (x1, y1, _) = p.box
            x, y = (x0 + x1) / 2, 156 - (y0 + y1) / 2  # the house edge is 156 in up the sheet
            assert rows[p.id] == (("-" if x < 0 else "") + feet_inches(abs(x)), feet_inches(y))


BACK = ({"width": 207, "depth": 161}, 120, {"edge": "front", "landings": [{"after_risers": 8, "turn": "back"}]})


def test_what_comes_back_under_the_deck_is_dashed_and_its_pad_dimensioned(monkeypatch):
    """A stair that turns back ends under the deck: its foot is hidden there, but drawn, with the pad's size and top."""
    monkeypatch.setitem(DECKS, "back", BACK)
    drawn = view("back", "plan")
    (pad,) = (p for p in made("back").parts if p.role == "pad")
    hidden = [i for i in drawn.items if i.mark == pad.id and i.layer.endswith("HDLN")]
    at = [q for i in hidden for q in ((i.a, i.b) if isinstance(i, d.Line) else i.points)]
    (x0, y0, _), (x1, y1, _) = pad.box
    assert min(x for x, _ in at) == pytest.approx(x0) and max(y for _, y in at) == pytest.approx(y1)
    for side in (x1 - x0, y1 - y0):
        assert any(abs(side - x) < 1e-3 for x in lengths(drawn))
    (words,) = (w for w in notes(drawn) if "PAD AT THE FOOT" in w)
    assert f"{feet_inches(x1 - x0)} x {feet_inches(y1 - y0)}" in words


def test_landings_apart_are_tied_to_one_another():
    """The second lies beyond a flight of two risers: the gap between their boards, along the edge that is left."""
    boards = [unary_union([p.footprint for p in b]).bounds for b in landings("turning twice", "board").values()]
    upper, lower = sorted(boards, key=lambda b: -b[3])
    assert any(abs(upper[1] - lower[3] - x) < 1e-3 for x in lengths(view("turning twice", "plan")))


@pytest.mark.parametrize("plan", ["footing plan", "framing plan"])
@pytest.mark.parametrize("name", DECKS)
def test_the_frames_of_landings_are_set_out_on_the_plans_of_the_deck(name, plan):
    """Their sizes, and of those square to the deck how far they lie off the corner or the side from which that plan is
    dimensioned (the deck is 156 in deep, its left edge at 0; the stair leaves from there)."""
    found = lengths(plan_of(name, plan))
    for frame in landings(name, "joist", "rim").values():
        for side in sides(frame):
            assert any(abs(side - x) < 1e-3 for x in found), side
        if name == "turning twice":
            _, _, x1, y1 = unary_union([p.footprint for p in frame]).bounds
            ways = (-x1, 156 - y1) if plan == "footing plan" else (-x1,)
            assert all(any(abs(way - x) < 1e-3 for x in found) for way in ways)


@pytest.mark.parametrize("name", DECKS)
def test_the_guard_posts_of_a_landing_are_set_out_from_its_frame(name):
    """Along each side that has some the sum of the steps before it is where a post stands; how far those at corners
    stand from them, one note says."""
    dims = [i for i in view(name, "framing").items if isinstance(i, d.Dimension)]
    posts = [p for p in made(name).parts if p.role == "guard post" and p.stair == 0]
    told, corners = 0, set()
    for frame in landings(name, "joist", "rim").values():
        outer = unary_union([p.footprint for p in frame]).minimum_rotated_rectangle
        (ax, ay), (bx, by), (cx, cy) = outer.exterior.coords[:3]
        top = max(p.box[1, 2] for p in frame)
        for post in posts:
            x, y = post.plan_middle
            if not 0 < outer.distance(post.footprint.centroid) < 8 or not post.box[0, 2] < top < post.box[1, 2]:
                continue
            for (px, py), (qx, qy) in (((ax, ay), (bx, by)), ((bx, by), (cx, cy))):
                long = math.hypot(qx - px, qy - py)
                way = ((qx - px) / long, (qy - py) / long)
                along = (x - px) * way[0] + (y - py) * way[1]
                off = abs((x - px) * way[1] - (y - py) * way[0])
                if 0 < along < long and off > 1e-6 and not outer.contains(post.footprint.centroid):
                    if min(along, long - along) < 3:
                        corners.add(inches(min(along, long - along)))
                        continue
                    ends = [min(abs(along - s), abs(long - along - s)) for s in reached(dims)]
                    assert min(ends) < 1e-2, (post.id, along)
                    told += 1
    (off,) = corners
    assert told and any(f"CENTRE {off} FROM THE CORNER" in w for w in notes(view(name, "framing")))


def reached(dims) -> set[float]:
    """Every distance between two ticks of one string."""
    strings: dict[tuple, set[float]] = {}
    for i in dims:
        u = (round(math.cos(math.radians(i.angle)), 6), round(math.sin(math.radians(i.angle)), 6))
        line = (i.angle, round(i.at[0] * -u[1] + i.at[1] * u[0], 2))
        strings.setdefault(line, set()).update(round(p[0] * u[0] + p[1] * u[1], 4) for p in (i.a, i.b))
    return {abs(a - b) for some in strings.values() for a, b in itertools.combinations(some, 2)}


def test_the_run_of_two_risers_is_said_once():
    """The middle flight has one going: its total run and no string beside it."""
    dims = [i for i in plan_of("turning twice", "section along flight 2").items if isinstance(i, d.Dimension)]
    (run,) = (i for i in dims if i.angle == 0.0 and abs(abs(i.b[0] - i.a[0]) - 10.5) < 1e-3)
    assert "TOTAL RUN" in run.suffix


def test_footings_that_step_by_an_inch_share_a_string():
    """Posts of the landing at 0, 40 and 80 in, of carriers an inch inside them: one string, and a note for the rest."""
    rows = {10.0: [(0.0, 10.0), (40.0, 10.0), (80.0, 10.0)], 50.0: [(1.0, 50.0), (79.0, 50.0)], 90.0: [(5.0, 90.0)]}
    strings = footing_plan._shared(rows, 0, -20.0, 48.0)
    assert sorted(sorted(x for x, _ in string) for string in strings) == [[0.0, 40.0, 80.0], [5.0]]


def test_the_frame_of_a_landing_is_tied_to_the_deck():
    found = lengths(view("turning twice", "framing"))
    for frame in landings("turning twice", "joist", "rim").values():  # the deck's left edge is at 0
        assert any(abs(-unary_union([p.footprint for p in frame]).bounds[2] - x) < 1e-3 for x in found)


def test_a_landing_that_turns_back_tells_its_depth_where_one_arrives(monkeypatch):
    """Its boards go on beside the last tread, down whose riser one comes."""
    monkeypatch.setitem(DECKS, "back", BACK)
    flights = [p for p in made("back").parts if p.role == "riser" and "flight 1" in p.where]
    lowest = min(flights, key=lambda p: p.box[0, 2])
    (boards,) = landings("back", "board", "border").values()
    deep = lowest.box[0, 1] - unary_union([p.footprint for p in boards]).bounds[1]
    (words,) = (w for w in notes(view("back", "plan")) if "LANDING 1" in w)
    assert f"{feet_inches(deep)} DEEP FROM THE LOWEST RISER OF FLIGHT 1" in words


@pytest.mark.parametrize("plan", ["surface plan", "key plan"])
def test_a_pad_under_the_deck_is_dashed(monkeypatch, plan):
    """Its sides in whole lines, not seen in the gaps between boards."""
    monkeypatch.setitem(DECKS, "back", BACK)
    deck = made("back")
    drawn = plan_of("back", plan)
    (pad,) = (p for p in deck.parts if p.role == "pad")
    mine = [i for i in drawn.items if i.mark == pad.id and isinstance(i, (d.Line, d.Polyline))]
    paths = [(i, [i.a, i.b] if isinstance(i, d.Line) else i.points) for i in mine]
    far, side = float(pad.box[1, 1]), float(pad.box[1, 0])
    under = [(i, path) for i, path in paths if max(y for _, y in path) > far - 1e-3]
    assert under and all(i.layer.endswith("HDLN") for i, _ in under)
    whole = [(p, q) for _, path in under for p, q in itertools.pairwise(path) if p[0] == pytest.approx(side, abs=1e-3)]
    long = max(abs(p[1] - q[1]) for p, q in whole)
    # as far as the overhang; the key plan has no boards, which divide a side where it comes out from under them
    assert long == pytest.approx(far + 1.75 if plan == "surface plan" else far - pad.box[0, 1], abs=0.01)


def test_the_cover_tells_the_whole_stair_and_each_flight():
    deck = made("turning twice")
    told = dict(cover.scope_rows(Stage(deck, measure_all(deck.parts), (), "ARCH B", False, d.DrawingSet())))
    risers = sum(int(told[f"STAIR FLIGHT {n}"].split()[0]) for n in (1, 2, 3))
    assert told["WHOLE STAIR"].startswith(f"{risers} RISERS, ") and told["WHOLE STAIR"].endswith("IN 3 FLIGHTS")
    assert "9'-4\" TOTAL RISE" in told["WHOLE STAIR"]  # 112 in
    assert told["HEIGHT OF SURFACE ABOVE GRADE"] == "9'-4\""


def test_no_line_of_a_string_crosses_a_stair():
    """Of the strings square to the deck on the surface plan: their extension lines begin past the stair, which leaves
    the bevel and turns before the deck's right side."""
    drawn = plan_of("askew", "surface plan")
    stair = unary_union([p.footprint for p in made("askew").parts if p.stair == 0 and p.role in ("tread", "board")])
    lines = [
        line
        for i in drawn.items
        if isinstance(i, d.Dimension) and i.angle in (0.0, 90.0)
        for line in dimension(i, drawn.scale, False).extensions
    ]
    assert lines and not any(LineString(line).intersects(stair.buffer(-0.1)) for line in lines)


def test_the_note_of_a_pad_points_at_bare_concrete():
    """Not at a guard post, nor at a tread, that stands on it."""
    outline = {
        "points": [[0, 0], [160, 0], [214, 54], [214, 170], [0, 170]],
        "edges": ["front", "corner", "right", "back", "left"],
        "house": ["back"],
    }
    stair = {"edge": "corner", "landings": [{"after_risers": 4, "turn": "right"}]}
    deck = build(Parameters.model_validate({"outline": outline, "levels": {"surface": 64}, "stair": [stair]}))
    rows = measure_all(deck.parts)
    view = next(v for v in build_drawing(deck, rows, paper="ARCH B").views() if v.name == "stair 1 plan")
    (note,) = (i for i in view.items if type(i) is d.Leader and "PAD AT THE FOOT" in i.text)
    eye = square_eye(Stage(deck, rows, (), "ARCH B", False, d.DrawingSet()), 0)
    over = [seen_box(eye, [p]) for p in deck.parts if p.role in ("guard post", "tread", "board", "border", "top rail")]
    assert box(*seen_box(eye, deck.roles("pad"))).contains(Point(note.tip))
    assert not [b for b in over if box(*b).contains(Point(note.tip))]
