"""The path of the load from surface to soil, followed through the solids and their `carried_by` links.

Lines of framing (joists, and rims along them) take their part of the surface; their reactions go to what carries them:
ledgers, beams, rims across, and on to posts and footings. All in square feet that load a place (reactions to 1 psf).
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from ...shared.said import Words, decimal, said
from ..input.area_load import AreaLoad
from ..measuring.contacts import Contact
from ..measuring.member_seen import STUB, MemberSeen, axis, see_members
from ..measuring.notched_seat import NotchedSeat, notched_seats
from ..measuring.sway import held_posts
from ..plan.roof_snow import SnowStrip
from ..solid.faces import near_pairs
from ..solid.part import Part
from ..solid.roles import named
from .members import Brought, Member
from .seat_loads import FRAMING, Resting, by_lever, down, own_weights, resting, seat_loads
from .stair_loads import stair_loads
from .surface_loads import LedgerLoad, load_lines

_SHARED = 0.1  # square inches in plan: less is two footings side by side

FURTHEST = 6  # pieces one on another that a load is followed through


@dataclass
class Column:
    """A post with its footing and what it carries (measured). `post` is None where a beam bears on the footing's base
    itself; `beside` are further posts on the same footing, in a column summed for it. `seat` is the notch at the post's
    upper end in which the beam lies, None where it lies on top; `joined` are footings that run into this one; `held`:
    something keeps the post's upper end from swaying."""

    post: Part | None
    load: Brought = field(default_factory=Brought)
    bears: list[tuple[Member, float]] = field(default_factory=list)  # beam and contact area
    footing: Part | None = None
    trouble: Words = ""
    beside: tuple[Part, ...] = ()
    seat: NotchedSeat | None = None
    joined: tuple[Part, ...] = ()
    held: bool = True

    @property
    def bears_at(self) -> float:
        """Level of the top of the post, or of the shoulder on which the beam lies."""
        assert self.post is not None, "only a column with a post bears at one"
        return self.seat.shoulder if self.seat is not None else float(self.post.box[1, 2])

    @property
    def loaded(self) -> bool:
        return self.load != Brought()


@dataclass
class LoadPath:
    """All members with their loads; `notes` say what could not be followed."""

    members: list[Member]
    columns: list[Column]
    ledgers: list[LedgerLoad]
    surface_sqft: float
    notes: list[Words]
    bare: list[Column] = field(default_factory=list)  # footings on which members bear without a post

    def on(self, m: Member) -> list[Member]:
        """The lines of framing that bear on a member, in the order of `members`."""
        found = {k: None for p in m.parts for k in self._upon.get(p.id, ())}
        return [j for k in sorted(found) if (j := self.members[k]) is not m]

    @cached_property
    def _upon(self) -> dict[str, list[int]]:
        """By id of a piece: which members without trouble have a support on it."""
        found: dict[str, list[int]] = defaultdict(list)
        for k, m in enumerate(self.members):
            for s in () if m.trouble else m.supports:
                for on in s.on:
                    found[on].append(k)
        return found

    def on_footings(self) -> list[Column]:
        """One column for each loaded footing, with the loads of all posts and beams that stand on it summed; footings
        that run into one another are one."""
        columns = [c for c in [*self.columns, *self.bare] if c.footing is not None and (c.loaded or c.trouble)]
        footings = [c.footing for c in columns if c.footing is not None]
        box = np.array([f.box for f in footings]).reshape(-1, 2, 3)
        groups: dict[int, list[int]] = {}  # by the last column in each
        of: dict[int, int] = {}
        earlier: dict[int, list[int]] = defaultdict(list)
        for a, b in near_pairs(box[:, 0], box[:, 1]).tolist():
            if _one_footing(footings[a], footings[b]):
                earlier[b].append(a)
        for k in range(len(columns)):
            into = [groups.pop(g) for g in list(groups) if g in {of[a] for a in earlier[k]}] if earlier[k] else []
            groups[k] = [*itertools.chain(*into), k]
            of.update(dict.fromkeys(groups[k], k))
        return [_summed([columns[k] for k in g]) for g in groups.values()]


def _one_footing(a: Part, b: Part) -> bool:
    """Whether two footings are the same, or share concrete."""
    if a is b:
        return True
    beside = min(a.box[1, 2], b.box[1, 2]) - max(a.box[0, 2], b.box[0, 2])
    return beside > 0 and a.footprint.intersection(b.footprint).area > _SHARED


def _summed(g: list[Column]) -> Column:
    footings = list({c.footing.id: c.footing for c in g if c.footing is not None}.values())
    return Column(
        next((c.post for c in g if c.post is not None), None),
        sum((c.load for c in g), Brought()),
        [b for c in g for b in c.bears],
        footings[0],
        next((c.trouble for c in g if c.trouble), ""),
        tuple(c.post for c in g if c.post is not None)[1:],
        joined=tuple(footings[1:]),
    )


def follow(
    parts: Sequence[Part],
    touching: Sequence[Contact],
    seen: Sequence[MemberSeen] | None = None,
    placed: Sequence[AreaLoad] = (),
    snow: Sequence[SnowStrip] = (),
) -> LoadPath:
    """The load path of all parts (their ids and `carried_by` set), from the surface down; `seen` are their members
    where those are read already, `placed` the loads beside the uniform ones, `snow` that from a roof above."""
    notes: list[Words] = []
    members = [Member.of(m) for m in (see_members(parts, touching) if seen is None else seen)]
    on = resting(parts, touching)
    flow = _Flow(members, parts, notes, on, notched_seats(touching))
    surface, on_blocks = load_lines(members, parts, flow.ledger_of, notes, placed, snow)
    for block, place, load in on_blocks:
        flow.bring((block.id,), place, load, None)
    for part, point, area in stair_loads(parts, touching):
        flow.bring((part.id,), point, Brought(area, area), None)
    for part, point, area in seat_loads(parts, on):
        flow.set_down(part, point, area)
    for part, point, pounds in own_weights(parts, on):
        flow.bring((part.id,), point, Brought(own=pounds), None)
    flow.run()
    return LoadPath(
        [m for m in members if m.steady or m.own or m.snowed or m.trouble],
        flow.columns,
        flow.ledgers,
        surface,
        notes,
        list(flow.bare.values()),
    )


class _Flow:
    """Hands reactions on, always finishing what is carried before what carries it."""

    def __init__(
        self,
        members: list[Member],
        parts: Sequence[Part],
        notes: list[Words],
        on: Resting,
        seats: Mapping[str, NotchedSeat],
    ):
        self.members, self.notes, self.on = members, notes, on
        self.by_id = {p.id: p for p in parts}
        self.home = {p.id: m for m in members for p in m.parts}
        held = held_posts(parts)
        self.column = {p.id: Column(p, seat=seats.get(p.id), held=p.id in held) for p in parts if p.role == "post"}
        self.ledger_of: dict[str, LedgerLoad] = {p.id: LedgerLoad((p,)) for p in parts if p.role == "ledger"}
        self.bare: dict[str, Column] = {}
        for post, c in self.column.items():
            c.footing = self._below(self.by_id[post])
            if c.footing is None:
                c.trouble = f"post {post} stands on no footing"

    @property
    def columns(self) -> list[Column]:
        return list(self.column.values())

    @property
    def ledgers(self) -> list[LedgerLoad]:
        return [l for l in self.ledger_of.values() if l.joists or l.area]

    def _below(self, post: Part) -> Part | None:
        seen, ask = set(), list(post.carried_by)
        while ask:
            p = self.by_id[ask.pop()]
            if p.role in named("concrete"):
                return p
            if p.id not in seen:
                seen.add(p.id)
                ask += p.carried_by
        return None

    def set_down(self, part: Part, point, area: float) -> None:
        """The load of a seat, on the piece under its feet: a footing is loaded by it, and a pad that no rule sizes for
        it is said."""
        if part.role in named("concrete") and part.role != "footing":
            self.notes.append(f"what stands on {part.role} {part.id} is in no footing's load")
        self.bring((part.id,), point, Brought(area, area), None)

    def run(self) -> None:
        waiting = {id(m): 0 for m in self.members}
        below = {}
        for m in self.members:
            onto = {id(h): h for s in m.supports for k in s.on if (h := self.home.get(k)) is not None and h is not m}
            below[id(m)] = list(onto.values())
            for h in below[id(m)]:
                waiting[id(h)] += 1
        ready = [m for m in self.members if not waiting[id(m)]]
        done = set()
        while ready:
            m = ready.pop()
            done.add(id(m))
            self._hand_on(m)
            for h in below[id(m)]:
                waiting[id(h)] -= 1
                if not waiting[id(h)]:
                    ready.append(h)
        for m in self.members:
            if id(m) not in done and (m.steady or m.area):
                m.trouble = f"{m.role} {m.key} and what carries it carry each other: the load cannot be followed"
                self.notes.append(m.trouble)

    def _hand_on(self, m: Member) -> None:
        if not (m.steady or m.own or m.snowed):
            return
        if len(m.supports) < 2:
            on = "nothing" if not m.supports else f"{m.supports[0].role} {m.supports[0].on[0]} alone"
            self._fault(m, f"{m.role} {m.key} rests on {on}")
            for s in m.supports:  # what it carries is not lost on the pieces below
                total = Brought(*(sum(l.total for l in x) for x in m.each_load))
                self.bring(s.on, s.point, total, m, s.area, shares=s.shares)
            return
        xs = sorted(s.x for s in m.supports)
        for b in m.breaks:
            near = min(xs, key=lambda x: abs(x - b))
            if abs(near - b) > STUB:
                name = f"{m.role} {m.key}"
                self._fault(
                    m, said("{name} is spliced {at} from its end, over no support", name=name, at=decimal(b, 1))
                )
            elif near in (xs[0], xs[-1]):
                self._fault(m, f"{m.role} {m.key} is spliced over its end support with an overhang beyond")
        for k, s in enumerate(m.supports):
            self.bring(s.on, s.point, m.reactions.on(k), m, s.area, shares=s.shares)

    def _fault(self, m: Member, what: Words) -> None:
        m.trouble, m.falls = what, True
        self.notes.append(what)

    def bring(
        self,
        on: tuple[str, ...],
        point,
        load: Brought,
        by: Member | None,
        area: float = 0.0,
        depth: int = 0,
        shares: tuple[float, ...] = (),
    ) -> None:
        """Hands a reaction to the pieces that take it, by the `shares` of the support or, where it has none, in equal
        parts (plies of one beam take it together)."""
        taken: dict[int, float] = defaultdict(float)
        first: dict[int, str] = {}
        for k, share in zip(on, shares or (1.0,) * len(on)):
            whose = id(self.home.get(k, self.by_id[k]))
            taken[whose] = taken[whose] + share if shares else 1.0
            first.setdefault(whose, k)
        whole = sum(taken.values())
        for whose, k in first.items():
            part = taken[whose] / whole
            if (h := self.home.get(k)) is not None:
                h.take(h.position(point), load * part)
            else:
                self._to_piece(self.by_id[k], point, load * part, by, area * part, depth)

    def _to_piece(self, part: Part, point, load: Brought, by: Member | None, area: float, depth: int) -> None:
        if part.id in self.column or part.role == "footing":
            c = self.column.get(part.id) or self.bare.setdefault(part.id, Column(None, footing=part))
            c.load += load
            if by is not None:
                c.bears.append((by, area))
        elif part.id in self.ledger_of:
            self.ledger_of[part.id].joists.append((float(np.dot(point, axis(part))), load, by))
        elif part.role in named("concrete"):
            return  # a stair's foot on its own pad
        elif depth < FURTHEST and part.carried_by:
            if part.role in FRAMING:
                if on := self.on.get(part.id):  # a block or a header: between what holds it
                    for below, at, share in by_lever(part, point, on, self.on):
                        self.bring((below.id,), at, load * share, by, area * share, depth + 1)
                else:
                    self.bring(part.carried_by, point, load, by, area, depth + 1)
                return
            for below, where, share in down(part, point, 1.0, self.on):  # a board takes it to the joists beside it
                # what ends on no framing has nowhere else to go: it is said, not followed round once more
                self.bring((below.id,), where, load * share, by, area, depth + 1 if below.role in FRAMING else FURTHEST)
        else:
            self.notes.append(f"the load on {part.role} {part.id} could not be followed further")
