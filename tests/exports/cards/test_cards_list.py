"""Every item of the list of sheets for the site, read back from the PDF of every demo and compared with the solids.

Figures are taken off the pieces here anew (boxes and vertices of the solids, the layout's outline, the order), not from
the cards' own rooms. pdfplumber reads the PDF: a reader that shares nothing with the writer.
"""

from __future__ import annotations

import math
import re
from functools import cache
from itertools import combinations

import numpy as np
import pdfplumber
import pytest
import shapely
from conftest import DEMOS, PARAMS, demo_deck, demo_measured

from plumbcut.exports.cards import KIND, SUBJECT, build_cards
from plumbcut.exports.cards.days import sheets_of
from plumbcut.exports.formats.pdf import write_pdf
from plumbcut.model.measuring.saw import sizes_of
from plumbcut.model.measuring.throat import throat
from plumbcut.model.order.takeoff import take_off
from plumbcut.shared.prices import Prices
from plumbcut.shared.units import feet_inches, inches

TEMPERATURE = 38.0
SURVEYED = "surveyed"
DECKS = [*DEMOS, SURVEYED]


@cache
def deck_of(name):
    if name != SURVEYED:
        return demo_deck(name)
    from plumbcut.model.deck import build_as_built
    from plumbcut.model.parameter_file import read

    return build_as_built(read(PARAMS.parent / "tests" / "surveyed.toml"))


@cache
def measured_of(name):
    from plumbcut.model.measuring.measure import measure_all

    return demo_measured(name) if name != SURVEYED else measure_all(deck_of(name).parts)


@cache
def order_of(name):
    return take_off(deck_of(name), measured_of(name), Prices()).order


@pytest.fixture(scope="session")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("site")


_READ: dict = {}


def site(folder, name, metric=False):
    """(strings of each page as (title, [string]), pages) of the site document, written and read back once."""
    if (name, metric) not in _READ:
        path = folder / f"{name}{'-mm' if metric else ''}.pdf"
        write_pdf(
            build_cards(
                deck_of(name), measured_of(name), temperature_f=TEMPERATURE, plan=order_of(name), metric=metric
            ),
            path,
            kind=KIND,
            subject=SUBJECT,
        )
        with pdfplumber.open(path) as pdf:
            pages = [strings(page) for page in pdf.pages]
            marks = [re.sub(r"^Z-\d+ ", "", m[1]) for m in pdf.doc.get_outlines()]
            sizes = [(float(p.width), float(p.height)) for p in pdf.pages]
            boxes = [
                [(c["x0"], c["top"], c["x1"], c["bottom"], c["text"], em(c)) for c in p.chars if c["text"].strip()]
                for p in pdf.pages
            ]
            _READ[name, metric] = list(zip(marks, pages)), sizes, boxes, dict(pdf.metadata)
    return _READ[name, metric]


def strings(page) -> list[str]:
    """The strings of a page as they were written, turned lettering too: runs of letters that follow one another."""
    out, last = [], None
    for c in page.chars:
        a, b, _, _, x, y = c["matrix"]
        u = np.array([a, b]) / math.hypot(a, b)
        here, size = np.array([x, y]), em(c)
        if (
            last is not None
            and np.allclose(u, last[0], atol=1e-3)
            and abs(size - last[2]) < 0.01
            and np.hypot(*(here - last[1])) < 0.35 * size
        ):
            out[-1] += c["text"]
        else:
            out.append(c["text"])
        last = u, here + u * c["adv"], size
    return out


def em(c) -> float:
    """Size of the face of one letter, upright or turned by a quarter: its box along and across."""
    a, b = c["matrix"][:2]
    return c["x1"] - c["x0"] if abs(b) > abs(a) else c["y1"] - c["y0"]


def read(folder, name, card):
    return [s for title, page in site(folder, name)[0] if card in title.split(", ") for s in page]


# ---- figures off the solids
# -----------------------------------------------------------------------------------------------


def pieces(name, *roles, stair=None):
    return [p for p in deck_of(name).parts if p.role in roles and p.stair is stair]


def joists_from_one_end(name):
    """On every ledger and rim that is square to the sheet: near face of each joist from the end of the run that joists
    are set out from, off boxes and contacts."""
    deck, out = deck_of(name), set()
    touching = {}
    for c in deck.contacts:
        for carrier, joist in ((c.a, c.b), (c.b, c.a)):
            if (
                carrier.role in ("ledger", "rim")
                and joist.role == "joist"
                and carrier.stair is None
                and abs(c.normal[2]) < 0.5
            ):
                touching.setdefault(carrier.id, []).append(joist)
    for carrier, joists in touching.items():
        box = deck.by_id[carrier].box
        k = int(np.argmax(np.ptp(box[:, :2], axis=0)))
        if not np.isclose(np.ptp(box[:, 1 - k]), 1.5):
            continue  # askew
        line = [
            p
            for p in deck.parts
            if p.role == deck.by_id[carrier].role
            and p.stair is None
            and np.allclose(p.box[:, 1 - k], box[:, 1 - k], atol=0.3)
        ]
        near = 0 if deck.layout.ahead(np.eye(2)[k]) > 0 else 1
        zero = (min, max)[near](p.box[near, k] for p in line)
        off = [abs(j.box[near, k] - zero) for j in joists if np.ptp(j.box[:, k]) < 2]
        out |= {feet_inches(s) for s in off if s > 0.1}
    return out


def corner_distances(name):
    """Between the outline's corners that see each other: sides and some diagonals."""
    ring = list(deck_of(name).layout.outline.polygon.exterior.coords)[:-1]
    return [feet_inches(math.dist(a, b)) for a, b in combinations(ring, 2)], len(ring)


def house_frame(name):
    """(edge, function from a plan point to its distance along and out from the house)."""
    deck = deck_of(name)
    edges = [e for e in deck.layout.outline.edges if e.house] or [deck.layout.outline.edges[-1]]
    edge = max(edges, key=lambda e: e.length)
    a, b = sorted((edge.start, edge.end))
    u = np.subtract(b, a) / math.dist(a, b)
    gap = 0.0 if pieces(name, "ledger") else deck.parameters.frame.house_gap
    return lambda p: (abs(float(np.subtract(p, a) @ u)), abs(float(np.subtract(p, a) @ (-u[1], u[0]))) + gap)


def guard_posts_from_corners(name):
    """Near face of every guard post from the corner of its own edge on the side that joists are set out from, off the
    vertices."""
    out = set()
    ring = shapely.union_all(
        [p.footprint.buffer(0.02, join_style="mitre") for p in pieces(name, "ledger", "rim", "joist")]
    )
    frame = shapely.get_coordinates(ring)
    for p in pieces(name, "guard post"):
        edge = deck_of(name).layout.outline[p.edge]
        a, b = (
            frame[np.argmin(np.hypot(*(frame - c).T))] if np.hypot(*(frame - c).T).min() < 0.6 else c
            for c in (np.asarray(edge.start), np.asarray(edge.end))
        )
        u = (b - a) / np.hypot(*(b - a))
        low = a if deck_of(name).layout.ahead(u) > 0 else b
        u = u if low is a else -u
        side = np.diff(np.asarray(p.footprint.exterior.coords), axis=0)
        if (np.abs(side @ (-u[1], u[0])) < 0.05).any():  # a post that lies square to its edge
            out.add(float(((p.vertices[:, :2] - low) @ u).min()))
    return out


def rows_of_blocks(name):
    """Near faces, from the house or along it; of rows that run askew where they begin and end."""
    at, out = house_frame(name), {0: set(), 1: set()}
    for p in pieces(name, "blocking", "border blocking"):
        if abs(p.place.x[1]) < 0.02 or abs(p.place.x[0]) < 0.02:  # square to the sheet
            k = 1 if abs(p.place.x[1]) < 0.02 else 0
            out[k].add(round(min(at(v[:2])[k] for v in p.vertices), 4))
    want = []
    for stations in map(sorted, out.values()):
        want += [
            s
            for n, s in enumerate(stations)
            if not (0 < n < len(stations) - 1 and s - stations[n - 1] < 0.5 and stations[n + 1] - s < 0.5)
        ]
    return want


def near(figures, found):
    """Figures of which none of the lengths named is within 1/16 in (rounding to paper's sixteenth either way)."""
    named = dict.fromkeys(found, 1)
    return [f for f in figures if not any(feet_inches(f + d) in named for d in (0.0, 1 / 32, -1 / 32, 1 / 64, -1 / 64))]


def within(figures, found):
    """As `near`, where a figure stands within a longer string."""
    whole = " | ".join(found)
    return [f for f in figures if not any(feet_inches(f + d) in whole for d in (0.0, 1 / 32, -1 / 32, 1 / 64, -1 / 64))]


# ---- the list
# -------------------------------------------------------------------------------------------------------------


def frame_joists(name, found):
    want = joists_from_one_end(name)
    assert name == SURVEYED or len(want) > 4
    return [w for w in want if w not in found]


def frame_posts(name, found):
    want = guard_posts_from_corners(name)
    assert want
    return near(want, found)


def frame_blocks(name, found):
    want = rows_of_blocks(name)
    assert len(want) >= 3
    missing = within(want, found)
    whole = " ".join(found)
    marks = {p.mark for p in pieces(name, "blocking", "border blocking", "post blocking")}
    return missing + [m for m in marks if not re.search(rf"\b\d+ x {m}\b", whole)]


def squaring(name, found):
    every, corners = corner_distances(name)
    lengths = [f for f in found if f in every]
    # a frame of n corners needs its n sides and n - 3 diagonals to be rigid (a triangulation's count)
    return [] if len(lengths) >= 2 * corners - 3 else [f"{len(lengths)} of {2 * corners - 3}"]


def centres(name, found):
    at, want = house_frame(name), []
    for p in deck_of(name).parts:
        if p.role == "footing":
            want += at((p.box[0, :2] + p.box[1, :2]) / 2)
    return near(want, found)


def beams(name, found):
    want = {p.mark for p in pieces(name, "beam")}
    whole = " ".join(found)
    return [m for m in want if not re.search(rf"\b{m}\b", whole)]


def board_runs(name, found):
    """Position of every run from the outermost edge of the surface, its width where ripped, marks of its boards."""
    boards = [p for p in pieces(name, "board") if p.where.startswith("run ")]
    numbers = {}
    for p in boards:
        numbers.setdefault(int(p.where.split()[1]), []).append(p)
    along = np.asarray(boards[0].place.x[:2])
    across = np.array([-along[1], along[0]])
    if (
        np.mean(numbers[max(numbers)][0].vertices[:, :2], axis=0) - np.mean(numbers[1][0].vertices[:, :2], axis=0)
    ) @ across < 0:
        across = -across
    edge = min(float((p.vertices[:, :2] @ across).min()) for p in pieces(name, "board", "border", "breaker"))
    missing, width = [], deck_of(name).parameters.surface.board_width
    for n, run in numbers.items():
        lo = min(float((p.vertices[:, :2] @ across).min()) for p in run)
        hi = max(float((p.vertices[:, :2] @ across).max()) for p in run)
        missing += near([lo - edge], found)
        if width - (hi - lo) > 1 / 16 and not any(s.endswith("RIP") and s.startswith(inches(hi - lo)) for s in found):
            missing.append(f"rip of run {n}")
        if str(n) not in found:
            missing.append(f"number {n}")
    whole = " ".join(found)
    gap = deck_of(name).parameters.surface.edge_gap
    if f"GAP BETWEEN RUNS {inches(gap)}" not in whole:
        missing.append("gap")
    return missing + [p.mark for p in boards if not re.search(rf"\b{p.mark}\b", whole)]


def border_points(name, found):
    want = [
        v
        for m in measured_of(name)
        if m.role in ("border", "breaker") and m.part.stair is None
        for v in (m.long_point, m.short_point)
    ]
    assert want
    return near(want, found)


def notches(name, found):
    """Start, end and depth of every notch of every board."""
    whole, missing = " ".join(found), []
    for m in measured_of(name):
        if m.role in ("board", "border", "breaker", "tread") and m.notches:
            if not re.search(rf"\b{m.mark}  x \d", whole):
                missing.append(m.mark)
            missing += [m.mark for n in m.notches if inches(n.depth) not in whole]
    return missing


def stringers(name, found):
    """Rise and run on the square, slope, throat and length of every stringer, off the treads' boxes and the solid."""
    whole, missing = " | ".join(found), []
    for m in measured_of(name):
        if m.role != "stringer":
            continue
        flight = m.part.where.rsplit(" stringer", 1)[0]
        tops = sorted(
            {
                round(float(p.box[1, 2]), 4)
                for p in deck_of(name).parts
                if p.role == "tread" and p.where.startswith(flight + " tread")
            }
        )
        rise = float(np.median(np.diff(tops)))
        slope = math.atan2(abs(m.axis[2]), math.hypot(*m.axis[:2]))
        run = rise / math.tan(slope)
        words = [
            f"{inches(rise)} / {inches(run)}",
            f"{math.degrees(slope):.1f}°",
            feet_inches(m.length),
            inches(behind.width if (behind := throat(m.part)) else m.width),
            inches(math.hypot(rise, run)),
        ]
        missing += [w for w in words if w not in whole]
        if not re.search(rf"\b{m.mark}  x \d", whole):
            missing.append(m.mark)
    for word in ("TOP PLUMB CUT", "LEVEL CUT", "DROP", "THROAT"):
        if word not in whole:
            missing.append(word)
    return missing


def guard_bays(name, found):
    """Clear opening between posts of level bays, balusters, rails' lengths, slope of stair rails."""
    whole, missing = " | ".join(found), []
    rails = [m for m in measured_of(name) if m.role in ("top rail", "bottom rail")]
    assert rails
    for m in rails:
        if not re.search(rf"\b{m.mark} {re.escape(feet_inches(m.long_point))}", whole):
            missing.append(f"{m.mark} {feet_inches(m.long_point)}")
        if (
            abs(m.axis[2]) > 0.01
            and f"{math.degrees(math.atan2(abs(m.axis[2]), math.hypot(*m.axis[:2]))):.1f}°" not in whole
        ):
            missing.append(f"slope of {m.mark}")
    for m in measured_of(name):
        if (
            m.role in ("guard post", "post sleeve", "handrail")
            and feet_inches(m.long_point) not in whole
            and inches(m.long_point) not in whole
        ):
            missing.append(f"{m.mark} {feet_inches(m.long_point)}")
        if m.role == "baluster" and not re.search(rf"\b{m.mark} {re.escape(feet_inches(m.long_point))}", whole):
            missing.append(m.mark)
    return missing


def baluster_spaces(name, found):
    """Of level bays along an axis of the sheet: from the post's face to each baluster's near face, off the boxes."""
    missing, seen = [], 0
    for rail in pieces(name, "top rail"):
        k = int(np.argmax(np.ptp(rail.box[:, :2], axis=0)))
        if np.ptp(rail.box[:, 1 - k]) > 6 or np.ptp(rail.box[:, 2]) > 6:
            continue
        mine = [
            p
            for p in pieces(name, "baluster")
            if rail.box[0, k] < p.box[0, k] < rail.box[1, k]
            and abs(p.box[:, 1 - k].mean() - rail.box[:, 1 - k].mean()) < 1
        ]
        starts = sorted(p.box[0, k] - rail.box[0, k] for p in mine)
        ends = sorted(p.box[1, k] - rail.box[0, k] for p in mine)
        spaces = [starts[0], *(b - a for a, b in zip(ends, starts[1:])), np.ptp(rail.box[:, k]) - ends[-1]]
        if np.ptp(rail.box[:, 1 - k]) < 3.6:  # not mitred askew
            missing += near(starts, found)
            missing += [s for s in (spaces[0], spaces[-1]) if inches(s) not in found]
            seen += 1
    assert seen
    return missing


def foot_blocks(name, found):
    """Near and far face of every foot block from the post, off the boxes of rail and block."""
    want = []
    for b in pieces(name, "foot block"):
        rails = [
            r
            for r in pieces(name, "bottom rail")
            if shapely.intersects(r.footprint.buffer(0.5), b.footprint) and r.box[0, 2] <= b.box[1, 2] + 0.1
        ]
        k = int(np.argmax(np.ptp(rails[0].box[:, :2], axis=0)))
        want += [b.box[0, k] - rails[0].box[0, k], b.box[1, k] - rails[0].box[0, k]]
    return within(want, found)


def saw(name, found):
    """Every length bought, with its pieces; how many of each length."""
    whole, missing = " ".join(found), []
    for line in order_of(name).lines:
        for bar in line.bars:
            missing += [m for m in bar.marks if not re.search(rf"\b{m}\b", whole)]
            if bar.offcut >= 1 / 32 and f"OFFCUT {feet_inches(bar.offcut)}" not in whole:
                missing.append(f"offcut {feet_inches(bar.offcut)}")
    marks = {m for line in order_of(name).lines for bar in line.bars for x in bar.marks for m in x.split("/")}
    for m in {r.mark: r for r in measured_of(name)}.values():
        rip = sizes_of(m.part).rip
        if (
            m.mark in marks
            and rip is not None
            and not re.search(rf"\b{m.mark}\b[^+]* RIP [^O]*{re.escape(inches(rip))}", whole)
        ):
            missing.append(f"rip of {m.mark}")
    if any(bar.whole_mark for line in order_of(name).lines for bar in line.bars) and "BEST LENGTH: " not in whole:
        missing.append("best lengths")
    bought = sum(len(line.bars) for line in order_of(name).lines)
    drawn = sum(int(s.split(" x ")[0]) for s in found if re.fullmatch(r"\d+ x \d+'-.*", s))
    return missing + ([] if drawn == bought else [f"{drawn} of {bought} lengths"])


def gaps(name, found):
    """Handbook arithmetic anew: coefficient x length x difference, for the longest board of each role; both
    extremes."""
    p, whole, missing = deck_of(name).parameters.gaps, " ".join(found), []
    from plumbcut.shared.stock import material

    for role in ("board", "border", "fascia", "tread"):
        rows = [m for m in measured_of(name) if m.role == role]
        if not rows:
            continue
        m = max(rows, key=lambda r: r.length)
        # the file's own coefficients are taken before those of the materials data
        other = role == "fascia" and (
            p.trim_coefficient is not None
            or deck_of(name).parameters.trim.material != deck_of(name).parameters.surface.material
        )
        own = p.trim_coefficient if other else p.coefficient
        k = (own if own is not None else material(m.stock.material).thermal_per_degF) * m.length
        found_rows = [float(x) for x in re.findall(r"\((-?\d+\.\d+)\)", whole)]
        # gap set less summer's growth, and gap set with winter's shrinking: both lettered, whatever gap is set
        pairs = [(g, g - k * (p.summer_f - TEMPERATURE), g + k * (TEMPERATURE - p.winter_f)) for g in found_rows]
        if not any(
            any(abs(s - x) < 0.001 for x in found_rows) and any(abs(w - x) < 0.001 for x in found_rows)
            for _, s, w in pairs
        ):
            missing.append(role)
    for word in ("IN SUMMER", "IN WINTER", "STATE"):
        if word not in whole:
            missing.append(word)
    return missing


def inspection(name, found):
    """By stage, with values: footing sizes and depths, spans, rises, guard height, all off the solids."""
    whole, missing = " ".join(found), []
    for stage in ("BEFORE CONCRETE", "FRAMING, BEFORE THE SURFACE", "FINAL"):
        if stage not in found:
            missing.append(stage)
    at = house_frame(name)
    footings = [p for p in deck_of(name).parts if p.role == "footing"]
    for p in footings:
        a, o = at((p.box[0, :2] + p.box[1, :2]) / 2)
        if f"{feet_inches(a)} / {feet_inches(o)}" not in whole:
            missing.append(p.id)
    if not any(s.startswith(f"{len(footings)}, ") for s in found):
        missing.append("number of footings")
    posts = [p for p in deck_of(name).parts if p.role == "post"]
    if posts and feet_inches(max(np.ptp(p.box[:, 2]) for p in posts)) not in whole:
        missing.append("posts' length")
    top = max(p.box[1, 2] for p in pieces(name, "board", "border"))
    heights = sorted({round(float(p.box[1, 2] - top), 3) for p in pieces(name, "top rail") if np.ptp(p.box[:, 2]) < 6})
    if not any(feet_inches(h) in found for h in heights):
        missing.append("guard height")
    if not re.search(r"\d x [67] \d*/?\d*", whole):
        missing.append("rises")
    if any(s.strip() in ("SEE SHEET", "SEE CARD") for s in found):
        missing.append("a value that sends one elsewhere")
    return missing


LIST = [
    ("FRAME MARKS", "joists on ledger and rim", frame_joists),
    ("FRAME MARKS", "guard posts", frame_posts),
    ("BLOCKING", "blocking rows", frame_blocks),
    ("SQUARING", "sides and diagonals", squaring),
    ("POSTS AND FOOTINGS", "centres from the house", centres),
    ("POSTS AND FOOTINGS", "beams", beams),
    ("BOARD LAYOUT", "runs, gaps, rip", board_runs),
    ("BOARD LAYOUT", "border's points", border_points),
    ("NOTCH CARDS", "notches", notches),
    ("STRINGERS", "set-out", stringers),
    ("GUARDS", "rails, posts, sleeves, balusters", guard_bays),
    ("GUARDS", "spaces", baluster_spaces),
    ("GUARDS", "foot blocks", foot_blocks),
    ("SAW CARD", "lengths and offcuts", saw),
    ("GAP CARD", "gaps", gaps),
    ("INSPECTION CARD", "stages and values", inspection),
]


@pytest.mark.parametrize("name", DECKS)
@pytest.mark.parametrize("card,item,missing", LIST, ids=[f"{c.lower()}: {i}" for c, i, _ in LIST])
def test_the_list(folder, name, card, item, missing):
    found = read(folder, name, card)
    assert found, f"no {card}"
    assert not missing(name, found)


@pytest.mark.parametrize("name", DECKS)
@pytest.mark.parametrize("metric", [False, True], ids=["letter", "A4"])
def test_every_page_is_printable(folder, name, metric):
    """On letter and A4: nothing outside the page, no letters on letters, none smaller than 3 mm but in the title block,
    cautions on."""
    pages, sizes, boxes, meta = site(folder, name, metric)
    for (title, page), (width, height), chars in zip(pages, sizes, boxes):
        assert (width, height) == pytest.approx((297 / 25.4 * 72, 210 / 25.4 * 72) if metric else (792, 612), abs=0.01)
        assert all(
            x0 > 0.375 * 72 - 1 and y0 > 0.375 * 72 - 1 and x1 < width - 0.375 * 72 + 1 and y1 < height - 0.375 * 72 + 1
            for x0, y0, x1, y1, *_ in chars
        ), title
        over = [c for c in chars if c[3] < height - (0.375 + 1.5) * 72]
        cap = 1493 / 2048  # of the face's em, so that `size` becomes the height of a capital
        assert min(c[5] for c in over) * cap >= 0.12 * 72 - 0.05, (title, min(over, key=lambda c: c[5]))
        # the inner half of each letter's box: letters of one word touch, letters of two texts must not
        inner = [
            shapely.box(x0 + (x1 - x0) * 0.3, y0 + (y1 - y0) * 0.3, x1 - (x1 - x0) * 0.3, y1 - (y1 - y0) * 0.3)
            for x0, y0, x1, y1, *_ in chars
        ]
        a, b = shapely.STRtree(inner).query(inner, predicate="intersects")
        assert not [(chars[i][4], chars[j][4]) for i, j in zip(a, b) if i < j], title
        text = " ".join(page)
        assert "NOT A SUBSTITUTE" in text and "VERIFY ALL DIMENSIONS" in text and "CALL BEFORE DIGGING" in text
    assert meta["Title"].endswith(": Site cards") and "permit" not in " ".join(map(str, meta.values())).lower()
    assert meta["Subject"] == SUBJECT


@pytest.mark.parametrize("name", DECKS)
def test_no_figure_stands_on_a_line(name):
    """Letters in pictures against the lines of the same picture: running figures, numbers of runs, marks, rows."""
    from plumbcut.exports.drafting import style
    from plumbcut.exports.drafting.draft import strokes
    from plumbcut.exports.drafting.drawing import Hatch, Text
    from plumbcut.exports.drafting.standing import corners_of

    for sheet in build_cards(deck_of(name), measured_of(name), temperature_f=TEMPERATURE).sheets:
        for port in sheet.viewports:
            k = port.view.scale
            drawn = [s for i in port.view.items for s in strokes(i, k)]
            lines = shapely.STRtree(
                [shapely.LineString(corners_of(s)) for s in drawn if not isinstance(s, (Text, Hatch))]
            )
            for t in (s for s in drawn if isinstance(s, Text) and s.text):
                long, high = style.text_width(t.text, t.height) * k, t.height * k * 0.9
                left = {"left": 0.0, "centre": -long / 2, "right": -long}[t.align]
                low = {"bottom": 0.0, "middle": -high / 2, "top": -high}[t.level]
                quad = shapely.affinity.translate(
                    shapely.affinity.rotate(shapely.box(left, low, left + long, low + high), t.rotation, origin=(0, 0)),
                    *t.at,
                )
                assert not len(lines.query(quad, predicate="intersects")), (sheet.number, port.view.name, t.text)


def test_cards_go_on_the_paper_of_the_office():
    from plumbcut.exports.cards import card_paper

    assert [card_paper(p, False) for p in ("ARCH B", "ARCH D", "ANSI B", "letter", "A1", "A3")] == ["letter"] * 4 + [
        "A4"
    ] * 2
    assert card_paper("ARCH B", True) == "A4" and card_paper("letter", True) == "letter"


def test_without_a_temperature_the_extremes_are_still_told():
    drawing = build_cards(demo_deck("terrace"), demo_measured("terrace"))
    from plumbcut.exports.drafting.draft import text_quads

    words = " ".join(t.text for s in sheets_of(drawing, "GAP CARD") for _, t in text_quads(s.items, 1.0))
    assert "LEAST IN SUMMER" in words and "MOST IN WINTER" in words and "OPENS BEYOND THE LIMIT IN WINTER" in words
