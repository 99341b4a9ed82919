"""Frame rules: the table and the calculation of every member side by side, and what else a reviewer looks for in a
frame.

Spans, overhangs, heights, bearings, splices and notches are read off the solids and their contacts. Ledgers and boards
have modules of their own.
"""

from __future__ import annotations

import math
from collections import defaultdict

import numpy as np

from ...shared.cited import Named
from ...shared.practice import practice
from ...shared.said import Words, decimal, said, together
from ...shared.standards import clause, use_categories
from ..measuring.measure import Measured
from ..measuring.member_seen import STUB
from ..solid.roles import in_group
from ..structure.members import Member
from ..structure.structure import Structure
from .check_boards import check_boards
from .check_bracing import check_bracing
from .check_cantilever import check_cantilever
from .check_ledger import check_ledger
from .check_members import check_members
from .check_notched_posts import check_notched_posts
from .check_result import Checking, places

BLOCK_WITHIN = practice("block beside a crossing")
HOLD_POSTS = frozenset(
    ("rim", "ledger", "post blocking", "border blocking", "joist", "stringer", "step frame", "blocking", "skirt", "pad")
)


def check_frame(c: Checking, structure: Structure) -> None:
    """All rules of the frame, its ledger and its boards."""
    for note in structure.notes:
        c.skip("load path", "statics", "whole deck", note)
    check_members(c, structure)
    _bearing(c, structure.path.members)
    _splices(c, structure.path.members)
    _notches(c, structure.path.members)
    check_notched_posts(c)
    check_bracing(c, structure.path.surface_sqft)
    check_depths(c)
    check_ledger(c, structure)
    _restraint(c, structure.path.members)
    check_boards(c, structure)
    _post_blocks(c)
    _clearance(c)
    check_cantilever(c)


def _bearing(c: Checking, members: list[Member]) -> None:
    """Length of bearing along each joist, rim and beam on what it rests on; what hangs on its end has a hanger
    instead."""
    row = c.row("bearing_on_wood_min")
    found: dict[tuple[str, str], list[tuple[float, str, tuple[str, ...]]]] = defaultdict(list)
    for m in members:
        for s in m.supports:
            if s.area > 0:
                found[m.first.mark, s.role].append(
                    (s.area / m.breadth, f"{m.first.mark} on {s.role} {c.by_id[s.on[0]].mark}", (m.key, *s.on))
                )
    for (_, role), rows in sorted(found.items()):
        c.worst("bearing on wood", row, "at least", rows, f"places on a {role}")
    for k in c.deck.contacts:  # each length of a spliced beam has a bearing of its own
        if k.kind == "bearing" and k.a.role == "beam" and k.b.role == "post":
            low, high = np.asarray(k.low[:2]), np.asarray(k.high[:2])
            length = float(abs((high - low) @ np.abs(c.by_id[k.a.id].axis[:2])))
            if (
                length < float(row.value) - 1e-6
                and min(abs(e - p) for e in _span(k.a) for p in _span(k.b, k.a)) < length + 0.01
            ):
                c.add(
                    "bearing on wood",
                    row,
                    "at least",
                    length,
                    f"end of {k.a.mark} on post {k.b.mark}",
                    (k.a.id, k.b.id),
                )


def _span(part, along=None) -> tuple[float, float]:
    s = part.vertices[:, :2] @ np.asarray((along or part).place.x[:2])
    return float(s.min()), float(s.max())


def _splices(c: Checking, members: list[Member]) -> None:
    """Every joint between two lengths of a beam or rim stands over a support."""
    for role in ("beam", "rim"):
        found = []
        for m in members:
            if m.role == role:
                found += [
                    (
                        min((abs(s.x - b) for s in m.supports), default=m.length),
                        said("{mark} at {at}", mark=f"{m.role} {m.first.mark}", at=decimal(b, 1)),
                        places(m.parts),
                    )
                    for b in m.breaks
                ]
        # a beam's ends need half the post each; a rim's joint needs a joist or beam beside it
        c.worst(
            f"{role} splices over supports",
            (
                "common practice, no source: a beam is spliced over a post alone"
                if role == "beam"
                else "common practice, no source: a rim is spliced where a joist or beam holds it"
            ),
            "at most",
            found,
            "splices",
            bound=STUB if role == "rim" else 1.5,
        )


def _notches(c: Checking, members: list[Member]) -> None:
    """Notches measured on members in bending; none is the usual answer."""
    inner, end, long, middle = (
        c.row(i)
        for i in ("notch_depth_ratio_max", "notch_end_depth_ratio_max", "notch_length_ratio_max", "notch_middle_third")
    )
    spans = {p.id: m for m in members for p in m.parts}
    notched = False
    for m in c.of("joist", "beam", "rim", "ledger"):
        for n in m.notches:
            if n.edge not in ("near", "far") or n.depth < 0.02:
                continue
            notched = True
            place = said("{mark} at {at}", mark=m.mark, at=decimal(n.start, 1))
            c.add(
                "notch depth",
                end if n.corner else inner,
                "at most",
                n.depth / m.width,
                place,
                (m.id,),
                unit="of the depth",
            )
            if n.corner:
                continue
            c.add("notch length", long, "at most", n.width / m.width, place, (m.id,))
            member = spans.get(m.id)
            if member is None or member.trouble:
                c.skip("notch place", middle, place, "its span is not known", (m.id,))
                continue
            thirds = [(a + (b - a) * middle.value, b - (b - a) * middle.value) for a, b in member.spans]
            clash = any(n.start < hi and n.start + n.width > lo for lo, hi in _from_either_end(thirds, member.length))
            c.state(
                "notch place",
                middle,
                not clash,
                place,
                "in the middle third of a span" if clash else "outside the middle third",
                (m.id,),
            )
    if not notched:
        c.state("notch depth", inner, True, "joists, beams, rims, ledger", "no notch was measured on any of them")


def _from_either_end(stretches, length: float):
    """Notches are measured from one end of the piece, spans from one end of the member: both ways are looked at."""
    return [*stretches, *((length - b, length - a) for a, b in stretches)]


def check_depths(c: Checking) -> None:
    """How deep footings lie below grade on their low sides, and below the frost line where the file gives one."""
    row, frost = c.row("footing_depth_below_grade_min"), c.local.frost_depth
    source = c.row("footing_frost_depth")
    for mark, group in _by_mark(c.of("footing")).items():
        depths = [
            (c.deck.planes.lowest_round(m.part.footprint) - float(m.box[0][2]), f"footing {mark}", places(group))
            for m in group
        ]
        c.worst("footing depth below grade", row, "at least", depths, "footings")
        if frost is not None:
            c.worst(
                "frost depth",
                source.citation,
                "at least",
                depths,
                "footings",
                bound=frost,
                local=frost,
            )
    if frost is None and c.of("footing"):
        c.skip("frost depth", source, "footings", "no frost depth given: set local.frost_depth")


def _by_mark(pieces) -> dict[str, list[Measured]]:
    groups: dict[str, list[Measured]] = defaultdict(list)
    for m in pieces:
        groups[m.mark].append(m)
    return groups


def _restraint(c: Checking, members: list[Member]) -> None:
    """Every joist over a beam is held upright there by a block beside it, or beside one nailed to its side."""
    row = clause("lateral restraint at supports", c.edition)
    source = together(row.citation, "joists held against rotation at supports", between=": ")
    blocks = {b.id: b for b in c.of(*in_group("blocking"), "rim")}
    touching: dict[str, set[str]] = defaultdict(set)
    doubled: dict[str, set[str]] = defaultdict(set)
    for k in c.deck.contacts:
        if k.kind == "side" and k.a.role == k.b.role == "joist":
            doubled[k.a.id].add(k.b.id)
            doubled[k.b.id].add(k.a.id)
        if k.kind != "bearing":
            touching[k.a.id].add(k.b.id)
            touching[k.b.id].add(k.a.id)
    loose = []
    over = [k for k in c.deck.contacts if k.kind == "bearing" and k.a.role == "joist" and k.b.role == "beam"]
    for k in over:
        sides = (blocks[b] for j in (k.a.id, *doubled[k.a.id]) for b in touching[j] if b in blocks)
        if not any(_near(b, k.point, BLOCK_WITHIN) for b in sides):
            loose.append(k.a.id)
    if over:
        c.state(
            "blocking over beams",
            source,
            not loose,
            "joists over beams",
            said(
                "{n} of {all} crossings have no block within {near}",
                n=len(loose),
                all=len(over),
                near=decimal(BLOCK_WITHIN, None),
            )
            if loose
            else f"all {len(over)} crossings have a block beside them",
            tuple(dict.fromkeys(loose)),
        )
    _free_ends(c, members, source)


def _free_ends(c: Checking, members: list[Member], source: Words) -> None:
    """Every joist that stands out past its beam ends on a rim, or on a block across its end between its neighbours."""
    held: dict[tuple[str, bool], list[tuple[float, float]]] = defaultdict(list)  # by joist, and whether a block does
    home = {m.key: m for m in members if m.role == "joist" and m.supports and any(m.free_ends)}
    for k in c.deck.contacts:
        for a, b in ((k.a, k.b), (k.b, k.a)):
            block = k.kind == "end" and a is k.a and b.role in in_group("blocking")
            if a.id in home and k.kind != "bearing" and (b.role in ("rim", "ledger") or block):
                m = home[a.id]
                # of an end cut along a rim on the skew the rim holds all, not its middle alone
                reach = math.dist(k.low[:2], k.high[:2]) / 2 * math.sqrt(max(0.0, 1 - float(m.u @ k.normal[:2]) ** 2))
                held[a.id, block].append((m.position(k.point), reach))
    free, blocked = [], 0
    for key, m in home.items():
        ends = [x for x, out in zip((0.0, m.length), m.free_ends) if out]
        by_rim, by_block = (
            [any(abs(p - x) <= STUB + reach for p, reach in held[key, block]) for x in ends] for block in (False, True)
        )
        if not all(r or b for r, b in zip(by_rim, by_block)):
            free.append(key)
        blocked += not all(by_rim)
    if home:
        c.state(
            "rim at the cantilever",
            source,
            not free,
            f"{len(home)} joists past a beam",
            f"the free end of {len(free)} touches no rim"
            if free
            else f"each ends on a rim{f', or {blocked} on a block' if blocked else ''}",
            tuple(free),
        )


def _near(m: Measured, point, reach: float) -> bool:
    p = np.asarray(point)
    return bool((p[:2] > m.box[0][:2] - reach).all() and (p[:2] < m.box[1][:2] + reach).all())


def _post_blocks(c: Checking) -> None:
    """Every guard post of the frame touches a rim, and one more member touches the post, or that rim right behind
    it."""
    source = together(clause("guard post details").citation, "post held by rim and blocking", between=": ")
    touching: dict[str, set[str]] = defaultdict(set)
    on_rim: dict[str, list[str]] = defaultdict(list)
    for k in c.deck.contacts:
        for a, b in ((k.a, k.b), (k.b, k.a)):
            if a.role == "guard post" and b.role in HOLD_POSTS and k.area > 1:
                touching[a.id].add(b.id)
                if b.role == "rim":
                    on_rim[b.id].append(a.id)
    behind: dict[str, list[tuple[str, float]]] = {rim: [(post, 2.0) for post in on] for rim, on in on_rim.items()}
    for k in c.deck.contacts:  # of plies side by side what backs the inner one backs the outer one
        if k.a.role == k.b.role == "rim" and k.area > 2 * k.a.stock.thickness * k.a.stock.width:
            for outer, inner in ((k.a, k.b), (k.b, k.a)):
                on = [(post, 2.0 + inner.stock.thickness) for post in on_rim.get(outer.id, ())]
                behind.setdefault(inner.id, []).extend(on)
    for k in c.deck.contacts:  # a post bolted to a rim's outer face is held where a member backs the rim behind it
        for rim, other in ((k.a, k.b), (k.b, k.a)):
            if rim.role == "rim" and other.role in HOLD_POSTS:
                for post, reach in behind.get(rim.id, ()):
                    if _near(c.by_id[post], k.point, reach):
                        touching[post].add(other.id)
    frame_posts = [
        m
        for m in c.of("guard post")
        if m.part.stair is None or any(c.by_id[i].role in ("rim", "ledger") for i in touching[m.id])
    ]
    weak = [m.id for m in frame_posts if len(touching[m.id]) < 2]
    if frame_posts:
        c.state(
            "guard-post blocking",
            source,
            not weak,
            f"{len(frame_posts)} posts in the frame",
            (
                "each is held by two members or more"
                if not weak
                else f"{len(weak)} posts are held by fewer than two members"
            ),
            tuple(weak),
        )


def _clearance(c: Checking) -> None:
    """Least height of joists and beams above grade, against what untreated wood would need; and the treatment
    category."""
    p = c.deck.parameters.lumber
    for role, item in (
        ("joist", "joist_untreated_ground_clearance_min"),
        ("beam", "beam_untreated_ground_clearance_min"),
    ):
        pieces = c.of(role)
        if not pieces:
            continue
        row = c.row(item)
        low, m = min(
            ((float(x.box[0][2]) - max(c.deck.planes.grade(*q[:2]) for q in x.part.vertices), x) for x in pieces),
            key=lambda t: t[0],
        )
        if _treated(m):
            c.state(
                f"{role} clearance to grade",
                row,
                True,
                f"{role} {m.mark}",
                said(
                    "{low} above grade, of preservative-treated stock ({treatment}): the least height is for untreated"
                    " wood",
                    low=decimal(low),
                    treatment=p.treatment,
                ),
                (m.id,),
            )
        else:
            c.add(f"{role} clearance to grade", row, "at least", low, f"{role} {m.mark}", (m.id,))
    near, asked = c.row("ground_contact_treatment_within"), c.named("ground_contact_use_category_min")
    if c.lacks("treatment category", "pieces near grade", near, asked) or not isinstance(asked, Named):
        return
    close = [
        m
        for m in c.measured
        if m.stock.material == "treated lumber"
        and m.part.group in ("frame", "blocking", "stairs")
        and float(m.box[0][2]) - max(c.deck.planes.grade(*q[:2]) for q in m.part.vertices) < float(near.value)
    ]
    if close:
        ranks = use_categories()
        least = asked.name
        ok = p.treatment in ranks and ranks.index(p.treatment) >= ranks.index(least)
        c.state(
            "treatment category",
            near,
            ok,
            said("{n} pieces within {near} of grade", n=len(close), near=decimal(float(near.value), None)),
            f"stock is {p.treatment or 'untreated'}; ground contact asks for {least} or more",
            places(close),
        )


def _treated(m: Measured) -> bool:
    return m.stock.material == "treated lumber"
