"""Everything at joist level: ledger, rims, joists, and the blocking that carries border, field ends, posts and joists'
sides.

All of it is full joist depth, so it is a partition of the plan: each kind claims its footprint in order (rims,
guard-post blocks, lengthwise members, joists, blocks across) and later kinds are cut to fit between what stands. A
block is kept only where both its ends meet a member.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np
import shapely
from shapely import STRtree
from shapely.affinity import translate
from shapely.geometry import MultiPolygon, Polygon

from ...shared.points import Vector
from ...shared.practice import practice
from ..plan.beam_run import BeamRun
from ..plan.edges import FAR, Edge, parallel
from ..plan.joist_plan import CROSSES, direction_of
from ..plan.joist_spans import spans
from ..plan.post_plan import CLEAT_THICKNESS
from ..plan.seats import post_square
from ..plan.splits import joints
from ..plan.spots import UNDER_JOINTS, Strip
from ..plan.stages import LevelPlan, Posted, Setting
from ..solid.part import Part, Workshop
from ..solid.roles import ROLES
from ..solid.union import united
from .claims import (
    BLOCKING,
    LEAST_FACE_MET,
    SHORTEST_BLOCK,
    TOUCHING,
    Claim,
    Claims,
    Footprints,
    is_block,
    length_along,
)
from .end_blocks import carry_loose_ends
from .joist_ends import blocks_at_posts, blocks_between, hold_joist_ends, run_on_to_hold
from .post_blocks import flush_on, post_blocks
from .span_blocks import shorten_long_spans
from .stair_header import header_cleats
from .support import beam_lengths

ROW_APART = 3.0  # inches: middles of spans less far apart get one row of blocks (our own)
LEAST_ACROSS = 0.5  # cosine: blocks over a beam within 30 degrees of the joists would be slivers; our own
SPLINTER = 1 / 3  # of a lengthwise member's thickness: less is a splinter beside what stands there already (our own)
CARRY_BLOCKS = ROLES["blocking"].carriers
BESIDE_A_CROSSING = practice("block beside a crossing")
LEAST_SHARE = 1.0  # inches of field ends that a block behind a post carries by itself; our own


def plan_members(layout: LevelPlan) -> list[Claim]:
    """All joist-level members of the deck, in plan."""
    claims = Claims()
    claims.posts = [p.polygon for p in layout.posts]
    claims.cleats = [c for plan in layout.stair_plans for c in header_cleats(layout, plan)]
    claims.claim(_rims(layout))
    claims.claim(
        [
            Claim("beam", piece, tuple(run.direction), run.where)
            for run in layout.runs
            if run.flush and run.edge is None
            for _, piece in beam_lengths(layout, run)
        ]
    )
    joists = [Claim("joist", piece, direction_of(layout, piece), "field") for _, piece in layout.joist_lines]
    joists += [Claim(b.role, b.polygon, b.direction, UNDER_JOINTS) for b in layout.field.beside_joists]
    blocks = post_blocks(layout, claims, joists)
    claims.claim(blocks)
    strips = sorted(layout.strips, key=lambda s: layout.distance_out(s.polygon.centroid.coords[0]))
    for strip in strips:
        if strip.lengthwise:
            pieces = _past_cleats(layout, claims, strip, _lengthwise(layout, claims, strip.polygon, strip.direction))
            claims.claim(
                [Claim("border blocking", g, strip.direction, f"under the {strip.purpose}", strip.edge) for g in pieces]
            )
    claims.claim(
        [
            Claim(j.role, g, j.direction, j.where)
            for j in joists
            for g in claims.free(j.polygon)
            if length_along(g, j.direction) > 6
        ]
    )
    blocks_at_posts(layout, claims)
    run_on_to_hold(layout, claims)
    hold_joist_ends(layout, claims)
    blocks_between(layout, claims)
    for strip in strips:
        if not strip.lengthwise:
            claims.claim(
                _between(
                    claims, strip.polygon, strip.direction, "border blocking", f"under the {strip.purpose}", strip.edge
                )
            )
    claims.claim(_behind_post_blocks(layout, claims))
    for run in layout.runs if layout.parameters.frame.blocking_at_beams else ():
        if not run.flush:
            claims.claim(_over_beam(layout, claims, run))
            claims.claim(_past_the_beam(layout, claims, run))
    claims.claim(_rows(layout, claims))
    claims.drop_loose("border blocking", layout.along)  # others were held when they were claimed
    carry_loose_ends(layout, claims)
    shorten_long_spans(layout, claims)
    return claims.members


def _lengthwise(layout: Setting, claims: Claims, shape: Polygon, direction: Vector) -> list[Polygon]:
    """What is free of a strip along the joists, without splinters."""
    return [
        g
        for g in claims.free(shape)
        if length_along(g, direction) >= SHORTEST_BLOCK
        and g.area >= SPLINTER * layout.joist.thickness * length_along(g, direction)
    ]


def _past_cleats(layout: Setting, claims: Claims, strip: Strip, pieces: list[Polygon]) -> list[Polygon]:
    """The pieces of a strip along the joists; those between the cleats of a stair's header, which hold no end, give way
    to one behind the cleats where that is held."""
    d = np.asarray(strip.direction)
    loose = [g for g in pieces if any(g.distance(c) < TOUCHING for c in claims.cleats) and not claims.held(g, d)]
    if not loose or strip.edge is None:
        return pieces
    aside = max(CLEAT_THICKNESS, layout.joist.thickness)  # clear of the rest of the strip too
    moved = translate(strip.polygon, *(layout.outline[strip.edge].inward * aside))
    near = shapely.union_all(loose).buffer(2 * CLEAT_THICKNESS)
    behind = [g for g in _lengthwise(layout, claims, moved, d) if claims.held(g, d) and g.intersects(near)]
    return [g for g in pieces if g not in loose] + behind if behind else pieces


def _rims(layout: LevelPlan) -> list[Claim]:
    members = []
    cuts: dict[str, list[float]] = {}
    whole: dict[str, list[Polygon]] = {}
    for edge, _, polygon in layout.rims:
        whole.setdefault(edge.name, []).append(polygon)
    for edge, _, polygon in layout.rims:
        role = "ledger" if layout.has_ledger(edge) else "rim"
        stock = layout.ledger if role == "ledger" else layout.joist
        longest = layout.parameters.longest(stock)
        pieces, cuts[edge.name] = _in_lengths(
            layout, edge, polygon, longest, cuts.get(edge.name, ()), MultiPolygon(whole[edge.name])
        )
        for piece in pieces:
            members.append(Claim(role, piece, tuple(edge.direction), f"{edge.name} edge", edge.name))
    return members


def _in_lengths(
    layout: LevelPlan, edge: Edge, polygon: Polygon, longest: float, beside: Sequence[float], plies: MultiPolygon
) -> tuple[list[Polygon], list[float]]:
    """A rim or ledger longer than the yard sells, and its joints: butted in the middle of a joist's end, away from the
    joints of the ply `beside` it; a rim that runs along the joists over a beam."""
    along = [edge.position(p)[0] for p in polygon.exterior.coords]
    low, high = min(along), max(along)
    if high - low <= longest + 1e-6:
        return [polygon], []
    posts = [q for run in layout.runs if run.flush and run.edge == edge.name for q in run.posts]
    if posts:  # a rim that is a beam is spliced over its posts
        ends = [edge.position(q)[0] for q in posts]
    elif layout.is_lengthwise(edge):
        # where a flush beam butts on it, half of that one's post is under it
        squares = [post_square(layout, r, q) for r in layout.runs if r.flush and r.edge is None for q in r.posts]
        over = [shape.intersection(polygon) for shape in [*(r.polygon for r in layout.runs), *squares]]
        ends = [edge.position(hit.centroid.coords[0])[0] for hit in over if hit.area > 0.5]
    else:
        ends = []
        for _, joist in layout.joist_lines:
            if joist.distance(plies) < TOUCHING:  # the outer plies' joints lie on the ends that meet the innermost
                s = [edge.position(p) for p in joist.exterior.coords]
                inner = min(abs(i) for _, i in s)
                there = [a for a, i in s if abs(i) < inner + 2]
                ends.append((min(there) + max(there)) / 2)
    if not layout.has_ledger(edge):
        ends = _with_others_beyond(layout, edge, polygon, ends)
    spacing, trim = layout.joist_spacing, layout.parameters.order.end_trim

    def cut_at(places: Sequence[float]) -> list[float]:
        turned = layout.ahead(edge.direction) < 0
        return joints(low, high, places, longest, trim=trim, beside=beside, apart=1.5 * spacing, backwards=turned)

    cuts = cut_at(ends)
    if max(b - a for a, b in itertools.pairwise([low, *cuts, high])) > longest:
        # nothing to butt on within a length: it is joined all the same, and the checks say what that joint is
        cuts = cut_at([*ends, *np.arange(low + spacing, high, spacing).tolist()])
    return [
        polygon.intersection(edge.rectangle(a, b, -99, 99)) for a, b in zip([low - 1, *cuts], [*cuts, high + 1])
    ], cuts


def _with_others_beyond(layout: LevelPlan, edge: Edge, rim: Polygon, ends: Sequence[float]) -> list[float]:
    """Those of the places that carry a rim which have others on both sides: a joint over the last one would leave an
    overhang that nothing holds down. A ledger, or a rim that is a beam, carries the end that meets it."""
    beams = {run.edge for run in layout.runs if run.flush}
    carriers = [q for e, _, q in layout.rims if e is not edge and (layout.has_ledger(e) or e.name in beams)]
    met = [q.intersection(rim.buffer(2 * TOUCHING)) for q in carriers if q.distance(rim) < TOUCHING]
    there = [*ends, *(edge.position(m.centroid.coords[0])[0] for m in met)]
    return [x for x in ends if min(there) + TOUCHING < x < max(there) - TOUCHING]


def _between(claims: Claims, strip, direction, role: str, where: str, edge: str | None = None) -> list[Claim]:
    """Blocks in a strip, cut to fit between what stands, each held at both ends."""
    pieces = [g for g in claims.free(strip) if is_block(g, direction)]
    return [Claim(role, g, tuple(direction), where, edge) for g in claims.all_held(pieces, direction)]


def _behind_post_blocks(layout: Posted, claims: Claims) -> list[Claim]:
    """Where the block behind a guard post stands in the line of the field ends and carries too little of them: one
    more."""
    t, gap = layout.joist.thickness, layout.parameters.surface.end_gap
    found: list[Claim] = []
    for spot in layout.posts:
        for e in (layout.outline[n] for n in spot.edges):
            if layout.is_lengthwise(e) or not flush_on(spot, e):
                continue
            s = [e.position(p) for p in spot.polygon.exterior.coords]
            inner = max(i for _, i in s) + t
            if 0 < inner - layout.field_inset[e.name] - gap < LEAST_SHARE:
                reach = layout.joist_spacing + 8
                strip = e.rectangle(
                    min(a for a, _ in s) - reach, max(a for a, _ in s) + reach, inner, inner + t
                ).intersection(layout.inner)
                # posts next to one another ask for the same
                strip = strip.difference(united([b.polygon for b in found]))
                blocks = _between(claims, strip, e.direction, "border blocking", "under the field ends", e.name)
                found += [b for b in blocks if b.polygon.distance(spot.polygon) < t + TOUCHING]
    return found


def _over_beam(layout: Setting, claims: Claims, run: BeamRun, past: float = 2.0) -> list[Claim]:
    """Blocks in the line of a beam, and `past` its ends."""
    d, t = run.direction, layout.joist.thickness
    if abs(float(d @ layout.across)) < LEAST_ACROSS:
        return []  # blocks so nearly along the joists would be slivers
    n = np.array([-d[1], d[0]]) * t / 2
    a, b = np.asarray(run.start) - d * past, np.asarray(run.end) + d * past
    strip = Polygon([a - n, b - n, b + n, a + n]).intersection(layout.inner)
    members = []
    for g in getattr(strip, "geoms", [strip]):
        members += _between(claims, g, d, "blocking", f"over the beam {run.where}", run.edge)
    return members


def _past_the_beam(layout: Setting, claims: Claims, run: BeamRun) -> list[Claim]:
    """Blocks in the bays past a beam's ends, for the joists on it that none beside them holds: the second of two side
    by side."""
    blocks = np.array([m.polygon for m in claims.members if m.role == "rim" or m.role in BLOCKING])
    blocks = blocks[shapely.intersects(blocks, run.polygon.buffer(BESIDE_A_CROSSING))]
    joists = np.array([m.polygon for m in claims.members if m.role == "joist"])
    across = joists[shapely.area(shapely.intersection(joists, run.polygon)) > CROSSES]
    loose = [q for q in across if not (shapely.distance(blocks, q) < TOUCHING).any()]
    if not loose:
        return []
    more = _over_beam(layout, claims, run, layout.joist_spacing + 2 * layout.joist.thickness)
    return [b for b in more if any(b.polygon.distance(q) < TOUCHING for q in loose)]


def _rows(layout: LevelPlan, claims: Claims) -> list[Claim]:
    """Rows of blocking at even parts of every clear span, staggered or in line."""
    f, t = layout.parameters.frame, layout.joist.thickness
    a, b = layout.across, layout.along
    first, way = layout.ahead(a), layout.ahead(b)
    marks: list[tuple[float, list[float]]] = []
    for v, piece in layout.joist_lines[::first]:
        for lo, hi in spans(layout, piece, layout.runs)[::way]:
            for k in range(1, f.blocking_rows + 1)[::way]:
                at = lo + (hi - lo) * k / (f.blocking_rows + 1)
                near = [
                    m for m in marks if abs(m[0] - at) < ROW_APART and abs(v - m[1][-1]) < 2.1 * layout.joist_spacing
                ]
                same = min(near, key=lambda m: round(abs(m[0] - at), 6), default=None)
                same[1].append(v) if same else marks.append((at, [v]))
    carry = Footprints([m.polygon for m in claims.members if m.role in CARRY_BLOCKS])
    members: list[Claim] = []
    for at, crossed in marks:
        across = sorted(crossed)
        v0, v1 = across[0] - layout.joist_spacing - 2, across[-1] + layout.joist_spacing + 2
        for number in range(2):
            shift = way * (t / 2 if number else -t / 2) if f.blocking_pattern == "staggered" else 0.0
            if f.blocking_pattern == "in line" and number:
                break
            band = Polygon(
                [
                    a * v0 + b * (at + shift - t / 2),
                    a * v1 + b * (at + shift - t / 2),
                    a * v1 + b * (at + shift + t / 2),
                    a * v0 + b * (at + shift + t / 2),
                ]
            )
            room = band.intersection(layout.inner)
            for g in getattr(room, "geoms", [room]):
                found = _nailed(claims, carry, _between(claims, g, a, "blocking", "between joists"))
                found = [m for m in found if _within(m.polygon, a, v0, v1)]
                if f.blocking_pattern == "staggered":
                    found = [m for m in found if _bay(layout, m, across, first) % 2 == number]
                members += _clear_of(found, members)
    return members


def _within(piece: Polygon, direction: Vector, low: float, high: float) -> bool:
    """Whether a piece ends by itself between two places: one cut off where its row ends is held by a corner alone."""
    at = np.asarray(piece.exterior.coords) @ np.asarray(direction)
    return bool(low + TOUCHING < at.min() and at.max() < high - TOUCHING)


def _nailed(claims: Claims, carry: Footprints, blocks: list[Claim]) -> list[Claim]:
    """The blocks between joists of which an end meets one of them or what else carries it: between other blocks and
    guard posts alone one would hold no joist upright, and nothing would carry it. All in one direction."""
    if not blocks:
        return []
    enough, little = carry.meets([b.polygon for b in blocks], blocks[0].direction)

    def looked_at(b: Claim) -> bool:
        near = carry.near(b.polygon)
        return any(claims.end_meets(b.polygon, b.direction, s, near) >= LEAST_FACE_MET for s in (1, -1))

    found = zip(blocks, enough.tolist(), little.tolist())
    return [b for b, sure, never in found if any(sure) or (not all(never) and looked_at(b))]


def _clear_of(found: list[Claim], standing: list[Claim]) -> list[Claim]:
    """Those of `found` that share no area with one that stands already."""
    tree = STRtree([o.polygon for o in standing])
    return [
        m
        for m in found
        if not any(m.polygon.intersection(tree.geometries[i]).area > 1e-6 for i in tree.query(m.polygon))
    ]


def _bay(layout: Setting, member: Claim, across: list[float], first: int) -> int:
    """The number of the bay that a block lies in, counted from the end that joists are set out from."""
    at = int(np.searchsorted(across, float(np.dot(member.polygon.centroid.coords[0], layout.across))))
    return at if first > 0 else len(across) - at


def build_frame(layout: LevelPlan, shop: Workshop) -> list[Part]:
    """Ledger, rims, joists and all blocking as parts."""
    p = layout.planes
    ledger = layout.ledger
    parts = []
    for m in plan_members(layout):
        stock, low = (ledger, p.frame_top - ledger.width) if m.role == "ledger" else (layout.joist, p.frame_bottom)
        along = m.role == "joist" or (m.role == "border blocking" and parallel(m.direction, layout.along))
        pieces = _overlength_along(layout, m) if along else [m.polygon]
        for piece in pieces:
            parts.append(shop.upright(m.role, stock, piece, low, p.frame_top, m.direction, where=m.where, edge=m.edge))
    return parts


def _overlength_along(layout: LevelPlan, m: Claim) -> list[Polygon]:
    """A joist, or what lies along the joists, longer than the yard sells is butted over a beam, each end on half."""
    longest = layout.parameters.longest(layout.joist)
    b = layout.along
    s = np.asarray(m.polygon.exterior.coords) @ b
    low, high = float(s.min()), float(s.max())
    if high - low <= longest + 1e-6:
        return [m.polygon]
    middles = []
    for run in layout.runs:
        hit = run.polygon.intersection(m.polygon)
        if hit.area > 1:
            middles.append(float(np.dot(hit.centroid.coords[0], b)))
    a, trim = layout.across, layout.parameters.order.end_trim
    # cut over the beam that its end hangs past, the piece beyond would rest on that beam alone
    past = _hung_past(low, sorted(middles)) + _hung_past(high, sorted(middles, reverse=True))
    cuts = joints(low, high, middles, longest, trim=trim, beside=past, backwards=layout.ahead(b) < 0)
    pieces = []
    for lo, hi in zip([low - 1, *cuts], [*cuts, high + 1]):
        band = Polygon([a * -FAR + b * lo, a * FAR + b * lo, a * FAR + b * hi, a * -FAR + b * hi])
        pieces.append(m.polygon.intersection(band))
    return pieces


def _hung_past(end: float, middles: Sequence[float]) -> list[float]:
    """The beam next to an end of a joist, of those under it in their order from there, where the joist hangs past it:
    by less than half of the span behind."""
    near = [abs(m - end) for m in middles[:2]]
    return [middles[0]] if len(near) > 1 and near[0] < (near[1] - near[0]) / 2 else []
