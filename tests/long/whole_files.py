"""Whole parameter files by lot, valid by the way they are made: nothing is drawn and thrown away.

`parameters` takes any `random.Random`: a seeded one for the long runs, Hypothesis's own (`strategies.randoms`) where
failures are to be shrunk. Heights are measured from the highest ground under the deck, stairs are placed where their
whole way down to the pad is clear of the deck and of one another. Inches.
"""

from __future__ import annotations

import itertools
import math
import random
from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon

from plumbcut.shared.stock import lumber, nominal_sizes

MOST_CORNERS = 24
LEAST_EDGE = 24.0  # inches of any edge but a chamfer: rims of several plies and a border fit in
LEAST_CHAMFER = 17.0
BESIDE = 14.0  # inches beside a stair that its posts, pad and guards may take
AT_CORNER = 12.0  # between a stair and a corner: a guard post stands there
PAD = 48.0  # beyond the last riser
AROUND = 12.0  # inches round the outline within which footings stand
OWN_STOCK = {
    "name": "45x195", "thickness": 45 / 25.4, "width": 195 / 25.4, "lengths": [144, 192, 216], "Fb": 1160, "Fv": 130,
    "Fc_perp": 174, "Fc": 1015, "E": 1_595_000, "Emin": 638_000, "standard": "invented values",
}  # fmt: skip

Points = list[tuple[float, float]]


def parameters(r: random.Random) -> dict:
    """One parameter file, as the dictionary that TOML would give."""
    outline, points = _outline(r)
    names = outline.get("edges") or [f"e{k + 1}" for k in range(len(points))]
    surface = _surface(r)
    height = r.choice([8, 9, 10, 12, 14, 16, 18, 20, 24, 27, 30, 30, 36, 44, 60, 84, 110, 168])
    slopes = r.choice([(0.0, 0.0), (0.0, 0.0), (0.0, 0.04), (0.0, -0.03), (0.05, 0.0), (-0.06, 0.02), (0.03, -0.08)])
    ground = Ground(slopes)
    highest = max(ground.at(p) for p in Polygon(points).buffer(AROUND, join_style="mitre").exterior.coords)
    levels = {"surface": round(height + highest, 2), "slope_x": slopes[0], "slope_y": slopes[1]}
    frame = _frame(r, bool(outline["house"]), height - surface["board_thickness"])
    _turn_boards(r, surface, _joists_lie(frame, outline, points))
    frame["joist_spacing"] = r.choice(_spacings(surface))
    _lay_breakers(r, surface, points)
    made = {
        "outline": outline,
        "levels": levels,
        "frame": frame,
        "surface": surface,
        "trim": _trim(r),
        "guard": _guard(r),
        "loads": r.choice([{}, {}, {"ground_snow_psf": 50}, {"live_psf": 60, "soil_bearing_psf": 2000}]),
    }
    if "45x195" in frame.values():
        made["lumber"] = {"stock": [OWN_STOCK]}
    elif r.random() < 0.3:
        made["lumber"] = {"species": r.choice(["hem-fir", "Douglas fir-larch", "redwood"])}
    made["stair"] = _Stairs(r, made, dict(zip(names, zip(points, points[1:] + points[:1]))), ground).placed()
    return made


@dataclass(frozen=True)
class Ground:
    """The plane of grade, nought at the plan's origin."""

    slopes: tuple[float, float]

    def at(self, point) -> float:
        return point[0] * self.slopes[0] + point[1] * self.slopes[1]


# ---------------------------------------------------------------------------------------------------- outlines


def _outline(r: random.Random) -> tuple[dict, Points]:
    """The table `outline` and its corners: rectangles, steps in front and at the house, chamfers, slanted edges, rings
    of any number of sides; turned by quarters, now and then by less, and moved."""
    kind = r.choice(["rectangle", "steps", "steps", "steps", "ring"])
    if kind == "rectangle":
        w, d = r.randint(70, r.choice([130, 260])), r.randint(56, r.choice([100, 160]))
        house = r.choice([["back"], ["back"], ["back", "left"], ["back", "right"], ["left"], []])
        return {"width": w, "depth": d, "house": house, "edges": ["front", "right", "back", "left"]}, [
            (0.0, 0.0), (w, 0.0), (w, d), (0.0, d),
        ]  # fmt: skip
    corners, house = _ring(r) if kind == "ring" else _steps(r)
    turn = math.radians(r.choice([0, 0, 0, 90, 180, 270, 0, 90, 180, r.randint(1, 359)]))
    move = r.choice([(0, 0), (0, 0), (r.randint(-400, 400), r.randint(-400, 400))])
    c, s = math.cos(turn), math.sin(turn)
    points = [(round(x * c - y * s + move[0], 3) + 0.0, round(x * s + y * c + move[1], 3) + 0.0) for x, y in corners]
    return {"points": [list(p) for p in points], "house": [f"e{k + 1}" for k in sorted(house)]}, points


def _ring(r: random.Random) -> tuple[Points, set[int]]:
    """A convex outline of equal angles, stretched; the house at no edge, one, or two neighbours."""
    n, big = r.randint(5, 12), r.randint(60, 105)
    wide = r.uniform(1.0, 1.5)
    corners = [(big * wide * math.cos(2 * math.pi * k / n), big * math.sin(2 * math.pi * k / n)) for k in range(n)]
    k = r.randrange(n)
    return corners, r.choice([set(), {k}, {k, (k + 1) % n}])


def _steps(r: random.Random) -> tuple[Points, set[int]]:
    """An outline of square steps in front and at the back, some corners clipped, outer corners slanted."""
    columns = r.choice([1, 1, 1, 2, 2, 2, 2, 3, 3, r.randint(3, 10)])
    wide = {1: (90, 190), 2: (44, 100)}.get(columns, (38, 60))
    widths = [r.randint(*wide) for _ in range(columns)]
    front = _profile(r, columns, 0, 60)
    jog = columns > 1 and r.random() < 0.25
    split = r.randint(1, columns - 1) if jog else columns
    depth = max(front) + r.randint(52, 100)
    back = [depth] * split + [depth + r.choice([-26, 26, 40])] * (columns - split)
    x = [0, *itertools.accumulate(widths)]
    lower = [(x[k + end], front[k]) for k in range(columns) for end in (0, 1)]
    upper = [(x[k + end], back[k]) for k in range(columns) for end in (0, 1)]
    lower, upper = _plain(lower), _plain(upper)
    if r.random() < 0.3:
        side = r.choice([0, -1])
        px, py = lower[side]
        lower[side] = (px + r.randint(-20, 10) * (1 if side == 0 else -1), py + r.randint(-20, 14))
    corners = lower + upper[::-1]
    n = len(corners)
    at_back = set(range(len(lower), n - 1))
    house = r.choice([at_back, at_back, at_back | {n - 1}, at_back | {len(lower) - 1}, {max(at_back)}, set()])
    return _clipped(r, corners, house)


def _profile(r: random.Random, columns: int, low: int, high: int) -> list[int]:
    """A level for each column, each at least `LEAST_EDGE` from the one before."""
    step = int(LEAST_EDGE)
    found = [r.randint(low, high)]
    while len(found) < columns:
        before = found[-1]
        free = [v for v in range(low, high + 1, 2) if abs(v - before) >= step]
        found.append(r.choice(free))
    return found


def _plain(line: Points) -> Points:
    """The line without the corners at which it goes straight on."""
    return [
        p for k, p in enumerate(line) if not 0 < k < len(line) - 1 or not (line[k - 1][1] == p[1] == line[k + 1][1])
    ]


def _clipped(r: random.Random, corners: Points, house: set[int]) -> tuple[Points, set[int]]:
    """Some corners between free edges cut off, as long as there are no more than `MOST_CORNERS`."""
    n, share = len(corners), r.choice([0.0, 0.0, 0.25, 0.6])
    room = [math.dist(corners[k], corners[(k + 1) % n]) for k in range(n)]
    made: Points = []
    named: set[int] = set()
    left = MOST_CORNERS - n
    for k, corner in enumerate(corners):
        before = (k - 1) % n
        most = min((room[before] if k else room[n - 1]) - LEAST_EDGE, room[k] - LEAST_EDGE)
        least = LEAST_CHAMFER / math.sqrt(2)
        if left > 0 and not {k, before} & house and most >= least and r.random() < share:
            cut = round(r.uniform(least, min(most, 45.0)), 2)
            for other in (corners[before], corners[(k + 1) % n]):
                part = cut / math.dist(corner, other)
                made.append((corner[0] + (other[0] - corner[0]) * part, corner[1] + (other[1] - corner[1]) * part))
            room[before] -= cut
            room[k] -= cut
            left -= 1
        else:
            made.append(corner)
        if k in house:
            named.add(len(made) - 1)
    return made, named


# ---------------------------------------------------------------------------------------------------- the rest


def _frame(r: random.Random, house: bool, room: float) -> dict:
    """`room`: from the highest ground up to the boards' underside."""
    sizes = [s for s in nominal_sizes() if s.split("x")[0] in ("2", "4") and 5 < lumber(s).width <= 11.5]
    base, above = (1.0, 2.0) if room > 12 else (0.5, 0.0)
    fit = [s for s in sizes if lumber(s).width <= room - base - above] or ["2x6"]
    joist = r.choice(fit if r.random() < 0.2 else [s for s in fit if s.startswith("2")])
    frame: dict = {
        "support": r.choice(["ledger", "ledger", "free-standing"]) if house else "free-standing",
        "joist": "45x195" if room > 18 and r.random() < 0.08 else joist,
        "joist_direction": r.choice(["auto", "auto", "auto", "x", "y"]),
        "rim_plies": r.choice([1, 1, 2]),
        "beam_plies": r.choice([2, 2, 3, 1, 4]),
        "post_base": base,
        "blocking_rows": r.choice([1, 1, 0, 2]),
        "blocking_pattern": r.choice(["staggered", "in line"]),
        "footing": {"shape": r.choice(["round", "round", "square"]), "above_grade": above},
    }
    if r.random() < 0.4:
        frame["cantilever"] = r.choice([0, 6, 18, 24])
    if r.random() < 0.2:
        frame["post_spacing"] = r.choice([48, 72, 96])
    if r.random() < 0.2:
        frame["beam_overhang"] = r.choice([0, 4, 10])
    if room > 30 and r.random() < 0.3:
        frame["beam"] = r.choice(["2x8", "2x12", "4x10", "6x8"])
        if not frame["beam"].startswith("2"):
            frame["beam_plies"] = 1
    elif r.random() < 0.15:
        frame["beam_position"] = "flush"
    # a post carries all plies: one thinner than the beam leaves some of them in the air
    thick = 1.5 if joist == "45x195" else lumber(joist).thickness
    wide = max(lumber(frame.get("beam", "2x10")).thickness, thick) * frame["beam_plies"]
    frame["post"] = r.choice([s for s in ("4x4", "6x6", "6x6", "8x8") if lumber(s).width > wide - 0.75] or ["8x8"])
    if house and frame["support"] == "free-standing":
        frame["house_gap"] = r.choice([0, 0, 1, 6])
    return frame


def _surface(r: random.Random) -> dict:
    material = r.choice(["composite board", "treated lumber", "pvc board"])
    surface: dict = {
        "material": material,
        "board_thickness": r.choice([1.0, 1.5]) if material == "treated lumber" else 1.0,
        "board_width": r.choice([5.5, 5.5, 3.5]),
        "board_length": r.choice([192, 96, 240]),
        "border": {"courses": r.choice([1, 0, 2, 3]), "at_house": r.random() < 0.2},
        "fastening": r.choice(["hidden", "face"]),
        "overhang": r.choice([1.0, 0.5, 1.25]),  # with the fascia no board stands out past 2 in
    }
    return surface


def _joists_lie(frame: dict, outline: dict, points: Points) -> float:
    """Degrees of the joists from the x axis: as the file says, else square to the first house edge as the schema tells
    it."""
    if frame["joist_direction"] != "auto":
        return 0.0 if frame["joist_direction"] == "x" else 90.0
    names = outline.get("edges") or [f"e{k + 1}" for k in range(len(points))]
    first = next((k for k, n in enumerate(names) if n in outline["house"]), None)
    if first is None:
        return 90.0
    (ax, ay), (bx, by) = points[first], points[(first + 1) % len(points)]
    return math.degrees(math.atan2(by - ay, bx - ax)) + 90


def _turn_boards(r: random.Random, surface: dict, joists: float) -> None:
    """Boards at any angle but along the joists, where they would rest on none."""
    if r.random() < 0.35:
        off = r.choice([45, -45, 30, -30, 0, r.randint(-60, 60)])
        surface["direction"] = round((joists + 90 + off + 90) % 180 - 90, 3)


def _spacings(surface: dict) -> list[float]:
    """Of joists, as far apart as decking of lumber may have them (IRC 2021 R507.7, from memory); other boards as far as
    the file says."""
    if surface["material"] != "treated lumber":
        return [16, 16, 12, 8, 19.2, 24]
    thin, square = surface["board_thickness"] < 1.5, "direction" not in surface
    return [16, 12, 8] if thin and square else [12, 8] if thin else [16, 24, 12] if square else [16, 12]


def _lay_breakers(r: random.Random, surface: dict, points: Points) -> None:
    """One or two, clear of the ends of the plan and of each other."""
    long = min(np.ptp([p[0] for p in points]), np.ptp([p[1] for p in points]))
    if r.random() < 0.25 and long > 100:
        surface["breakers"] = [round(long * r.uniform(0.35, 0.65), 1)]
        if long > 200:
            surface["breakers"] = [round(long * 0.3, 1), round(long * r.uniform(0.6, 0.7), 1)]


def _trim(r: random.Random) -> dict:
    return r.choice([{}, {}, {"fascia": False}, {"thickness": 0.5, "length": 192, "material": "pvc board"}])


def _guard(r: random.Random) -> dict:
    return r.choice(
        [
            {},
            {},
            {"edges": []},
            {"edges": []},
            {"baluster": 3.5},
            {"baluster": 3.5, "post": "6x6"},
            {"height": 42, "post_spacing": 60},
            {"sleeve": {"size": 4.5, "length": 44}, "post_above": 3},
            {"bottom_rail": "2x6", "post_above": 0, "cap": False},
        ]
    )


# ---------------------------------------------------------------------------------------------------- stairs


@dataclass
class _Stairs:
    """Stairs one after another, each where its whole way down is clear."""

    r: random.Random
    file: dict
    edges: dict[str, tuple]
    ground: Ground

    def placed(self) -> list[dict]:
        r, house = self.r, self.file["outline"]["house"]
        deck = Polygon([a for a, _ in self.edges.values()])
        free = [n for n in self.edges if n not in house]
        r.shuffle(free)
        wanted, stairs, taken = r.choice([0, 0, 1, 1, 1, 1, 2, 2, 3, 4]), [], []
        for name in [*free, *free]:
            if len(stairs) >= wanted:
                break
            found = self._on(name, [*taken, deck])
            if found is not None:
                stairs.append(found[0])
                taken.append(found[1])
        return stairs

    def _on(self, name: str, taken: list[Polygon]) -> tuple[dict, Polygon] | None:
        """A stair on this edge and the plan it takes up, where there is room for one."""
        r, (a, b) = self.r, self.edges[name]
        long = math.dist(a, b)
        widths = [w for w in (36, 42, 48, 60, 96) if w + 2 * AT_CORNER <= long]
        if not widths:
            return None
        stair: dict = {"edge": name, "width": r.choice(widths), **self._steps()}
        start = (long - stair["width"]) / 2
        if r.random() < 0.4:
            start = stair["at"] = round(r.uniform(AT_CORNER, long - stair["width"] - AT_CORNER), 1)
        for ways in self._ways(stair):
            plan = self._way_down(a, b, start, {**stair, **ways})
            if plan is not None and not any(plan.intersects(t) for t in taken):
                return {**stair, **ways}, plan
        return None

    def _steps(self) -> dict:
        r = self.r
        kind = r.choice([{}, {}, {}, {"tread": "bordered"}, {"risers": "open"}, {"stringer_kind": "solid"}])
        more = r.choice([{}, {}, {"skirts": False}, {"guards": "both", "handrail": "both"}, {"handrail": "left"}])
        return {"rise": r.choice([7.5, 7, 7.75, 6.5]), "going": r.choice([10.5, 10, 11]), **kind, **more}

    def _ways(self, stair: dict) -> list[dict]:
        """Ways down, the last one straight: landings as drawn by lot, then fewer of them."""
        r, surface = self.r, self.file["levels"]["surface"]
        most = int(surface / stair["rise"]) - 3
        landings: list[dict] = []
        after = 0
        for _ in range(r.choice([0, 1, 1, 2, 3, 4])):
            after += r.randint(2, 8)
            if after > most:
                break
            turn = r.choice(["left", "right", "straight"])
            landings.append({"after_risers": after, "turn": turn, "depth": r.choice([36, 42, 48])})
        return [{"landings": landings[:n]} if n else {} for n in range(len(landings), -1, -1)]

    def _way_down(self, a, b, start: float, stair: dict) -> Polygon | None:
        """The plan of a stair with its pad and what stands beside it; None where it does not come down in two risers or
        more, or a landing would stand in the ground."""
        along = np.subtract(b, a) / math.dist(a, b)
        out = np.array([along[1], -along[0]])
        origin = np.asarray(a) + along * start
        for risers in range(2, 60):
            last = [s["after_risers"] for s in stair.get("landings", [])]
            if last and last[-1] + 2 > risers:
                continue
            rects = self._flights(origin, out, risers, stair)
            foot = rects[-1]
            total = self.file["levels"]["surface"] - max(self.ground.at(p) for p in foot.exterior.coords)
            if total <= stair["rise"] + 0.5:
                return None
            if total / risers <= stair["rise"]:
                clear = self._landings_clear(rects, total / risers, stair)
                return _joined(rects) if clear else None
        return None

    def _landings_clear(self, rects: list[Polygon], rise: float, stair: dict) -> bool:
        f, board = self.file["frame"], self.file["surface"]["board_thickness"]
        joist = OWN_STOCK["width"] if f["joist"] == "45x195" else lumber(f["joist"]).width
        below = board + joist + f["post_base"] + f["footing"]["above_grade"] + 2.0
        return all(
            self.file["levels"]["surface"] - s["after_risers"] * rise - below
            > max(map(self.ground.at, at.exterior.coords))
            for s, at in zip(stair.get("landings", []), rects[1::2])
        )

    def _flights(self, origin, out, risers: int, stair: dict) -> list[Polygon]:
        """Flight, landing, flight, ...: what each takes up, with `BESIDE` on its sides and `PAD` beyond the last."""
        width, found = stair["width"], []
        stops = stair.get("landings", [])
        counts = np.diff([0, *[s["after_risers"] for s in stops], risers]).tolist()
        lead = 3.0
        for k, count in enumerate(counts):
            across = np.array([-out[1], out[0]])

            def rectangle(x0, x1, side=BESIDE):
                corners = [(x0, -side), (x1, -side), (x1, width + side), (x0, width + side)]
                return Polygon([origin + out * x + across * s for x, s in corners])

            run = lead + (count - 1) * stair["going"]
            if k == len(stops):
                found.append(rectangle(0.5 if k == 0 else BESIDE, run + stair["going"] + PAD))
                break
            found.append(rectangle(0.5 if k == 0 else BESIDE, run))
            stop = stops[k]
            deep = stop["depth"] if stop["turn"] == "straight" else max(stop["depth"], width)
            found.append(rectangle(run, run + deep + lead))
            front = run + deep
            if stop["turn"] == "straight":
                origin = origin + out * front
            elif stop["turn"] == "left":
                origin, out = origin + out * front + across * width, across
            else:
                origin, out = origin + out * (front - width), -across
        return found


def _joined(rects: list[Polygon]) -> Polygon:
    from shapely import union_all

    return union_all(rects)
