"""A member judged with another size than it was built of: on the same supports, under the same loads, by the same table
and calculation. Nothing is built for it, so its own weight stays as it was, and what is told of it is an estimate.

Inches; factors of load have no unit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from ...shared.stock import Stock
from ..deck import Deck
from ..strength.beams import AnyLoad
from ..structure.column_checks import check_post
from ..structure.load_path import Column
from ..structure.member_checks import check_member
from ..structure.member_rows import joists_ft, member_rows
from ..structure.members import Member
from ..structure.prescribed import SHARES, Prescribed, post_rows
from ..structure.structure import MemberResult, Structure
from ..structure.verdicts import NOT_CHECKED, Verdict
from .mends import Unmet

# members of a kind that are judged again, those with least room, by calculation and by table, of these alike ones once:
# our own
JUDGED_AGAIN, TABLED_AGAIN = 6, 12


@dataclass(frozen=True)
class Resized:
    """The members of a deck, to be judged with other sizes."""

    deck: Deck
    structure: Structure

    @cached_property
    def _members(self) -> dict[str, Member]:
        return {m.key: m for m in self.structure.path.members}

    @cached_property
    def _columns(self) -> dict[str, Column]:
        return {c.post.id: c for c in self.structure.path.columns if c.post is not None}

    def worst(
        self, results: Sequence[MemberResult], stock: Stock | None = None, plies: int = 0, load: float = 1.0
    ) -> tuple[MemberResult, Unmet] | None:
        """The row with least room among these members were they of `stock`, of so many `plies` more, under `load` times
        what comes to them; None where no row judges them. Shares of a length are left out: no size tells on them. A
        row that is not checked goes before all others where its table judged the member that was built."""
        found: list[tuple[MemberResult, Unmet]] = []
        least = sorted(results, key=lambda r: -r.worst[0])
        for r in least[:JUDGED_AGAIN]:
            found += [(r, row) for row in self._calculated(r, stock, plies, load) if row.check not in SHARES]
        for r in list({self._case(r): r for r in least}.values())[:TABLED_AGAIN]:
            judged = {row.check for row in r.table if row.result != NOT_CHECKED}
            for row in self._tabled(r, stock, plies, load):
                if row.result == NOT_CHECKED and row.check in judged:
                    return r, row
                if row.check not in SHARES:
                    found.append((r, row))
        judges = (f for f in found if f[1].ratio is not None and f[1].result != NOT_CHECKED)
        return max(judges, key=lambda f: f[1].ratio or 0.0, default=None)

    def _case(self, r: MemberResult) -> tuple[object, ...]:
        """What tells a member from others by its table: joists alike are read once."""
        m = self._members.get(r.ids[0])
        rows = [(row.check, round(row.measured or 0.0, 1), round(row.limit or 0.0, 1), row.result) for row in r.table]
        return r.kind, r.stock, m and (m.plies, round(m.strip, 1)), *rows

    def _column(self, result: MemberResult, stock: Stock | None) -> Column | None:
        """A post with its load, of another stock; None where the beam lies in a notch."""
        c = self._columns.get(result.ids[0])
        if c is None or c.post is None or c.seat is not None:
            return None
        return replace(c, post=c.post.replaced(stock=stock or c.post.stock))

    def _member(self, result: MemberResult, stock: Stock | None, plies: int, load: float) -> Member | None:
        m = self._members.get(result.ids[0])
        return None if m is None or m.trouble else resized(m, stock or m.first.stock, m.plies + plies, load)

    def _tabled(self, result: MemberResult, stock: Stock | None, plies: int, load: float) -> Sequence[Prescribed]:
        s = self.structure
        if result.kind == "post":
            c = self._column(result, stock)
            return post_rows(c, joists_ft(c, s.path, {}), s.lumber, s.loads, s.edition) if c else ()
        m = self._member(result, stock, plies, load)
        return member_rows(m, s.path, s.lumber, s.loads, s.edition) if m else ()

    def _calculated(self, result: MemberResult, stock: Stock | None, plies: int, load: float) -> Sequence[Verdict]:
        s = self.structure
        if result.kind == "post":
            c = self._column(result, stock)
            return check_post(c, s.lumber, s.loads) if c else ()
        m = self._member(result, stock, plies, load)
        standing = bool(self.deck.parameters.area_load)
        return check_member(m, s.lumber, s.loads, s.edition, standing) if m else ()


def resized(m: Member, stock: Stock, plies: int, load: float = 1.0) -> Member:
    """The member of another stock and of so many plies, under `load` times its loads."""
    thick = stock.thickness
    splices = [cuts for _, cuts in m.splices] or [m.breaks]
    splices = [splices[k % len(splices)] for k in range(plies)]  # a ply more is spliced as the first one is

    def scaled(loads: Sequence[AnyLoad]) -> list[AnyLoad]:
        return [x.scaled(load) for x in loads]

    return replace(
        m,
        parts=tuple(p.replaced(stock=stock) for p in m.parts),
        plies=plies,
        breadth=plies * thick,
        depth=stock.width,
        splices=tuple((thick, cuts) for cuts in splices) if m.splices else (),
        steady=scaled(m.steady),
        moving=scaled(m.moving),
        lifting=scaled(m.lifting),
        own=scaled(m.own),
        drift=scaled(m.drift),
        slide=scaled(m.slide),
    )
