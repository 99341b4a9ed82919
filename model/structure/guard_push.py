"""The load on the top of a guard (Table R301.5), where it turns the rim or joist that a guard post is bolted to."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from ...shared.cited import Missing
from ...shared.said import decimal, number, put_in, said
from ...shared.standards import limit_or_missing
from ..measuring.member_seen import PARALLEL, axis
from ..solid.part import Part
from .members import Member
from .verdicts import NOT_CHECKED, CalcLine, Verdict, unchecked

CHECK = "turning by a guard"


def guard_tops(parts: Sequence[Part]) -> dict[str, list[tuple[Part, float]]]:
    """By the id of the piece that holds it: each guard post, with the level of the top of its guard (of the rails on
    it; the post's own where there is none)."""
    rails: dict[str, float] = {}
    for p in parts:
        if p.role == "top rail" and abs(p.place.x[2]) < 1e-6:  # a stair's rail slopes past its posts
            for post in p.carried_by:
                rails[post] = max(rails.get(post, float(p.box[1, 2])), float(p.box[1, 2]))
    found: dict[str, list[tuple[Part, float]]] = {}
    for p in parts:
        if p.role == "guard post":
            for k in p.carried_by:
                found.setdefault(k, []).append((p, rails.get(p.id, float(p.box[1, 2]))))
    return found


def guards_square_to(
    parts: Sequence[Part], tops: Mapping[str, Sequence[tuple[Part, float]]], along: np.ndarray
) -> list[Part]:
    """The guard posts of the deck that, pushed outwards, pull at what runs `along`: those on rims parallel to it."""
    rims = [p for p in parts if p.role == "rim" and p.stair is None and abs(float(axis(p) @ along)) > PARALLEL]
    return [post for rim in rims for post, _ in tops.get(rim.id, ())]


def guard_turning(m: Member, tops: Mapping[str, Sequence[tuple[Part, float]]], edition: str) -> list[Verdict]:
    """The moment that the guard's load brings to a member about its middle, and the pull at its edges that balances it:
    a demand, as what resists it (blocks, a hold-down) has no capacity here."""
    posts = [
        (post, top - (part.box[0, 2] + part.box[1, 2]) / 2) for part in m.parts for post, top in tops.get(part.id, ())
    ]
    if not posts:
        return []
    load, hold = (
        limit_or_missing(i, edition) for i in ("guard_handrail_concentrated_load", "guard_post_holddown_capacity_min")
    )
    if isinstance(load, Missing):
        return [unchecked(CHECK, load.why)]
    post, lever = max(posts, key=lambda p: p[1])
    moment = float(load.value * lever)
    pull = moment / m.depth
    pulled = said("M / d = 12 x {m} ft lb / {d}", m=put_in(moment / 12), d=decimal(m.depth, figures=4))
    placed = said(f"top of the guard at post {post.id} to the middle of the member")
    times = said("P x lever = {p} lb x {lever} / 12", p=number(load.value), lever=decimal(lever, figures=4))
    lines = (
        CalcLine("load on the guard P", load.value, "lb", "outwards, at the top of the guard", load.citation),
        CalcLine("lever", lever, "in", placed, "measured"),
        CalcLine("turning moment M", moment / 12, "ft lb", times),
        CalcLine("pull at its edges", pull, "lb", pulled, "" if isinstance(hold, Missing) else hold.citation),
    )
    why = said("blocks or a hold-down at its edges take {pull} lb", pull=number(pull, 0, grouped=True))
    if not isinstance(hold, Missing):
        why = said(
            "{why}; the published detail has a hold-down of {hold} lb",
            why=why,
            hold=number(hold.value, 0, grouped=True),
        )
    turned = said("the push on the guard, {lever} over its middle, turns it: {why}", lever=decimal(lever, 1), why=why)
    return [Verdict(CHECK, moment / 12, None, "ft lb", "load on the guard", NOT_CHECKED, lines, turned)]
