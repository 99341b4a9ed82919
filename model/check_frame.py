"""Frame rules: the table and the calculation of every member side by side, and what else a reviewer looks for in a frame.

Spans, overhangs, heights, bearings, gaps and notches are read off the solids and their contacts.
"""
from __future__ import annotations

import math
from collections import defaultdict

import numpy as np

from .check_result import CheckResult, Checking, places, quantity
from .contacts import Contact
from .measure import Measured
from .structure import Result, Structure

UNDER = ("joist", "ledger", "rim", "border blocking", "post blocking", "blocking", "beam")


def check_frame(c: Checking, structure: Structure) -> None:
    for note in structure.notes:
        c.skip("load path", "statics", "whole deck", note)
    _members(c, structure)
    _bearing(c)
    _notches(c)
    _footings(c)
    _ledger(c)
    _hangers(c)
    _restraint(c)
    _boards(c)
    _post_blocks(c)
    _clearance(c)


def _members(c: Checking, structure: Structure) -> None:
    """One row for each mark, route and check: the member with least room of those that share a mark."""
    groups: dict[tuple[str, str], list[Result]] = defaultdict(list)
    for r in structure.results:
        groups[r.kind, r.mark].append(r)
    for (kind, mark), members in groups.items():
        worst = max(members, key=lambda r: r.worst[0])
        table = {x.result for r in members for x in r.table} - {"not checked"}
        calculated = {x.result for r in members for x in r.calculation} - {"not checked"}
        differ = bool(table) and bool(calculated) and ("not met" in table) != ("not met" in calculated)
        says = f"{worst.governs} governs" + ("; the table and the calculation differ" if differ else "")
        ids = tuple(i for r in members for i in r.ids)
        place = f"{kind} {mark}, {worst.where}"
        for name in dict.fromkeys(p.check for r in members for p in r.table):
            rows = [p for r in members for p in r.table if p.check == name]
            p = _least_room(rows)
            bound = "at most" if p.at_most else "at least"
            why = "; ".join(t for t in (p.why, says if p.result != "not checked" else "") if t)
            c.results.append(CheckResult(f"{name} (table)", p.source or f"{c.edition}: no row", place, p.measured, p.limit, p.margin, p.unit, bound, p.result, why, ids))
        for name in dict.fromkeys(v.check for r in members for v in r.calculation):
            v = _least_room([v for r in members for v in r.calculation if v.check == name])
            source = "; ".join(dict.fromkeys(line.source for line in v.lines if line.source)) or "NDS, ASCE 7"
            margin = None if v.demand is None or v.capacity is None else v.capacity - v.demand
            why = "; ".join(t for t in (v.combination, v.why, says if v.result != "not checked" else "") if t)
            c.results.append(CheckResult(f"{name} (calculation)", source, place, v.demand, v.capacity, margin, v.unit, "at most", v.result, why, ids))


def _least_room(rows):
    order = {"not met": 2, "met": 1, "not checked": 0}
    return max(rows, key=lambda x: (order[x.result], x.ratio if x.ratio is not None else -1.0))


def _reach(contact: Contact, direction) -> float:
    """Length of a contact's box along a horizontal direction."""
    low, high = np.asarray(contact.low[:2]), np.asarray(contact.high[:2])
    return float(abs((high - low) @ np.abs(np.asarray(direction)[:2])))


def _bearing(c: Checking) -> None:
    """Length of bearing along each joist on beams, and of each beam on its posts."""
    row = c.row("bearing_on_wood_min")
    least: dict[tuple[str, str], tuple[float, Contact]] = {}
    for contact in c.deck.contacts:
        if contact.kind != "bearing":
            continue
        a, b = contact.a, contact.b
        if (a.role, b.role) not in (("joist", "beam"), ("rim", "beam"), ("beam", "post"), ("border blocking", "beam")):
            continue
        length = _reach(contact, c.by_id[a.id].axis)
        if length > c.by_id[a.id].thickness * 0.2:
            key = (a.mark, b.role)
            if key not in least or length < least[key][0]:
                least[key] = (length, contact)
    for (mark, role), (length, contact) in sorted(least.items()):
        if contact.a.role == "border blocking":
            continue
        c.add("bearing on wood", row, "at least", length, f"{mark} on {role} {contact.b.mark}", (contact.a.id, contact.b.id))


def _notches(c: Checking) -> None:
    """Notches measured on members in bending; none is the usual answer."""
    inner, end = c.row("notch_depth_ratio_max"), c.row("notch_end_depth_ratio_max")
    notched = False
    for m in c.of("joist", "beam", "rim", "ledger"):
        for n in m.notches:
            if n.edge not in ("near", "far") or n.depth < 0.02:
                continue
            notched = True
            row = end if n.corner else inner
            c.add("notch depth", row, "at most", n.depth / m.width, f"{m.mark} at {n.start:.1f} in", (m.id,), unit="of the depth")
    if not notched:
        c.state("notch depth", inner, True, "joists, beams, rims, ledger", "no notch was measured on any of them")


def _footings(c: Checking) -> None:
    row, frost = c.row("footing_depth_below_grade_min"), c.local.frost_depth
    for mark, group in _by_mark(c.of("footing")).items():
        depths = [(c.deck.planes.grade(*m.box.mean(axis=0)[:2]) - float(m.box[0][2]), m) for m in group]
        depth, shallow = min(depths, key=lambda d: d[0])
        c.add("footing depth below grade", row, "at least", depth, f"footing {mark}", places(group))
        if frost is not None:
            if depth >= frost - 1e-6:
                c.state("frost depth", f"{c.edition} R403.1.4.1 (from memory); local value {quantity(frost, 'in')} used", True, f"footing {mark}", f"underside {depth:.2f} in below grade", places(group))
            else:
                c.state("frost depth", f"{c.edition} R403.1.4.1 (from memory); local value {quantity(frost, 'in')} used", False, f"footing {mark}", f"underside {depth:.2f} in below grade", (shallow.id,))
    if frost is None and c.of("footing"):
        c.skip("frost depth", f"{c.edition} R403.1.4.1 (from memory)", "footings", "no frost depth given: set local.frost_depth")


def _by_mark(pieces) -> dict[str, list[Measured]]:
    groups: dict[str, list[Measured]] = defaultdict(list)
    for m in pieces:
        groups[m.mark].append(m)
    return groups


def _ledger(c: Checking) -> None:
    ledgers = c.of("ledger")
    if not ledgers:
        return
    size = c.row("ledger_min_size")
    nominal = ledgers[0].stock.name
    depth_wanted = int(str(size.value).split("x")[1])
    c.state("ledger size", size, int(nominal.split("x")[1]) >= depth_wanted, f"ledger {ledgers[0].mark}", f"{nominal}, at least {size.value}", places(ledgers))
    top, bottom = c.row("ledger_top_edge_min"), c.row("ledger_bottom_edge_min")
    rows = c.row("ledger_row_spacing_min")
    room = ledgers[0].width - float(top.value) - float(bottom.value)
    c.add("ledger fastener rows", rows, "at least", room, f"ledger {ledgers[0].mark}", places(ledgers),
          why=f"room between edge distances of {float(top.value):g} in at the top and {float(bottom.value):g} in at the bottom, for two staggered rows")
    for m in ledgers:
        behind = [j for j in c.of("joist") if m.id in j.carried_by and abs(float(j.box[1][2] - m.box[1][2])) > 1e-3]
        if behind:
            c.state("joists flush with the ledger's top", "common practice, no source", False, f"ledger {m.mark}", "a joist stands above or below its ledger", places(behind))
    c.skip("lateral load connection", f"{c.edition} R507.9.2 (from memory)", "ledger",
           "hold-downs are shown and noted on the drawings; their number and capacity against the site's loads are not calculated", places(ledgers))


def _hangers(c: Checking) -> None:
    """Joist ends that hang: an end against a ledger or rim with nothing under it. Hangers themselves are no solids."""
    hung: dict[str, set[str]] = defaultdict(set)
    bears = {k.a.id for k in c.deck.contacts if k.kind == "bearing" and k.a.role == "joist" and k.b.role in ("beam", "post")}
    for k in c.deck.contacts:
        if k.kind == "end" and k.a.role == "joist" and k.b.role == "ledger":
            hung["ledger"].add(k.a.id)
        if k.kind == "end" and k.a.role == "joist" and k.b.role == "rim" and k.a.id not in bears:
            hung["rim"].add(k.a.id)
    for carrier, ids in sorted(hung.items()):
        c.skip("joist hangers", f"{c.edition} R507.6.1 (from memory)", f"{len(ids)} joist ends on the {carrier}",
               "hangers are counted in the order and noted on the drawings; they are no solids, so their fit is not measured", tuple(sorted(ids)))


def _restraint(c: Checking) -> None:
    """Every joist over a beam is held upright there by blocks on both sides (or on one, at the end of a row)."""
    source = f"{c.edition} R507.6.2 (from memory): joists held against rotation at supports"
    blocks = c.of("blocking", "border blocking", "post blocking", "rim")
    touching: dict[str, set[str]] = defaultdict(set)
    for k in c.deck.contacts:
        if k.kind != "bearing":
            touching[k.a.id].add(k.b.id)
            touching[k.b.id].add(k.a.id)
    loose = []
    over = [k for k in c.deck.contacts if k.kind == "bearing" and k.a.role == "joist" and k.b.role == "beam"]
    for k in over:
        sides = [b for b in blocks if b.id in touching[k.a.id] and _near(b, k.point, 9.0)]
        if not sides:
            loose.append(k.a.id)
    if over:
        c.state("blocking over beams", source, not loose, "joists over beams", f"{len(loose)} of {len(over)} crossings have no block within 9 in" if loose else f"all {len(over)} crossings have a block beside them", tuple(dict.fromkeys(loose)))
    ends = [m for m in c.of("joist") if any(k.a.id == m.id for k in over)]
    free = [m.id for m in ends if not any(c.by_id[i].role in ("rim", "ledger") for i in touching[m.id] if i in c.by_id)]
    if ends:
        c.state("rim or blocking at the cantilever", source, not free, "joist ends", "every joist that passes a beam ends on a rim or ledger" if not free else "a joist's end is free", tuple(free))


def _near(m: Measured, point, reach: float) -> bool:
    p = np.asarray(point)
    return bool((p[:2] > m.box[0][:2] - reach).all() and (p[:2] < m.box[1][:2] + reach).all())


def _boards(c: Checking) -> None:
    """Spacing of what each field board rests on, measured along the board and square to the joists."""
    spacing: dict[bool, tuple[float, Measured]] = {}
    rests: dict[str, list[Contact]] = defaultdict(list)
    for k in c.deck.contacts:
        if k.kind == "bearing" and k.a.role == "board" and k.b.role in UNDER and k.a.stair is None:
            rests[k.a.id].append(k)
    for i, contacts in rests.items():
        board = c.by_id[i]
        u = board.axis[:2]
        at = sorted(float(np.dot(k.point[:2], u)) for k in contacts)
        joist = next((k.b for k in contacts if k.b.role == "joist"), None)
        if joist is None:
            continue
        j = c.by_id[joist.id].axis[:2]
        square = abs(float(u @ j)) < 0.05
        slant = math.sqrt(max(1e-9, 1 - float(u @ j) ** 2))
        gap = max((b - a for a, b in zip(at, at[1:])), default=0.0) * slant  # square to the joists
        if square not in spacing or gap > spacing[square][0]:
            spacing[square] = (gap, board)
    for square, (gap, board) in spacing.items():
        shape, run = ("square", "square to the joists") if square else ("diagonal", "at an angle")
        place = f"{board.mark}, boards {run}"
        if board.stock.material != "treated lumber":
            c.skip("board span", f"{c.edition} R507.2.2 (from memory): label to ASTM D7032", place,
                   f"greatest spacing of bearings {gap:.3f} in: compare with the span rating printed for the board", (board.id,))
            continue
        kind = "2x" if board.thickness > 1.25 else "5/4"
        c.add("board span", c.row(f"decking_{kind}_joist_spacing_max_{shape}"), "at most", gap, place, (board.id,))
    treads = c.of("tread")
    if treads:
        c.skip("tread span", f"{c.edition} R507 (from memory); composite treads: ASTM D7032 label", f"{len(treads)} tread pieces",
               "compare the measured stringer spacing with what is printed for the tread", places(treads[:1]))


def _post_blocks(c: Checking) -> None:
    """Every guard post of the frame touches a rim, and one more member touches the post, or that rim right behind it."""
    source = "DCA 6-2012 guard post details (from memory): post held by rim and blocking"
    touching: dict[str, set[str]] = defaultdict(set)
    roles = ("rim", "ledger", "post blocking", "border blocking", "joist", "stringer", "blocking", "skirt", "pad")
    for k in c.deck.contacts:
        for a, b in ((k.a, k.b), (k.b, k.a)):
            if a.role == "guard post" and b.role in roles and k.area > 1:
                touching[a.id].add(b.id)
    for k in c.deck.contacts:  # a post bolted to a rim's outer face is held where a member backs the rim behind it
        for rim, other in ((k.a, k.b), (k.b, k.a)):
            if rim.role == "rim" and other.role in roles:
                for m in c.of("guard post"):
                    if rim.id in touching[m.id] and _near(m, k.point, 2.0):
                        touching[m.id].add(other.id)
    frame_posts = [m for m in c.of("guard post") if m.part.stair is None or any(c.by_id[i].role in ("rim", "ledger") for i in touching[m.id])]
    weak = [m.id for m in frame_posts if len(touching[m.id]) < 2]
    if frame_posts:
        c.state("guard-post blocking", source, not weak, f"{len(frame_posts)} posts in the frame",
                "each is held by two members or more" if not weak else f"{len(weak)} posts are held by fewer than two members", tuple(weak))


def _clearance(c: Checking) -> None:
    """Least height of joists and beams above grade, against what untreated wood would need; and the treatment category."""
    p = c.deck.parameters.lumber
    for role, item in (("joist", "joist_untreated_ground_clearance_min"), ("beam", "beam_untreated_ground_clearance_min")):
        pieces = c.of(role)
        if not pieces:
            continue
        row = c.row(item)
        low, m = min(((float(x.box[0][2]) - max(c.deck.planes.grade(*q[:2]) for q in x.part.vertices), x) for x in pieces), key=lambda t: t[0])
        if _treated(m):
            c.state(f"{role} clearance to grade", row, True, f"{role} {m.mark}", f"{low:.2f} in above grade, of preservative-treated stock ({p.treatment}): the least height is for untreated wood", (m.id,))
        else:
            c.add(f"{role} clearance to grade", row, "at least", low, f"{role} {m.mark}", (m.id,))
    near = c.row("ground_contact_treatment_within")
    low = [m for m in c.measured if m.stock.material == "treated lumber" and m.part.group in ("frame", "blocking", "stairs")
           and float(m.box[0][2]) - max(c.deck.planes.grade(*q[:2]) for q in m.part.vertices) < float(near.value)]
    if low:
        ok = p.treatment.upper() >= "UC4A" and p.treatment.upper().startswith("UC")
        c.state("treatment category", near, ok, f"{len(low)} pieces within {float(near.value):g} in of grade", f"stock is {p.treatment}; ground contact asks for UC4A or more", places(low))


def _treated(m: Measured) -> bool:
    return m.stock.material == "treated lumber"
