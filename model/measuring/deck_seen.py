"""The finished deck as its solids show it: the one reading that rules, load path, sheets and cards take things from.

Each thing is read when it is first asked for, and once. Inches.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cached_property

from .bay_seen import Bay, see_bays
from .flight_seen import FlightSeen, Unread, see_flights
from .measure import Measured
from .member_seen import MemberSeen


class DeckSeen:
    """What stands, from its measured pieces (ids and `carried_by` set), the members among them, and the ground.

    `grade` gives the level of the ground at a plan point. `members` are joists, beams, rims and other pieces in
    bending with where they bear; `bays` those of the guards; `flights(stair)` the flights of a stair from the deck
    down, `unread(stair)` the stringers that no flight could be read from.
    """

    def __init__(
        self,
        measured: Sequence[Measured],
        members: Callable[[], list[MemberSeen]],
        grade: Callable[[float, float], float],
    ):
        self.measured, self._members, self._grade = measured, members, grade
        self.by_id = {m.id: m for m in measured}
        self._by_role: dict[str, list[Measured]] = {}
        self._order = {m.id: k for k, m in enumerate(measured)}
        self._flights: dict[int, tuple[list[FlightSeen], list[Unread]]] = {}
        for m in measured:
            self._by_role.setdefault(m.role, []).append(m)

    def of(self, *roles: str, stair: int | None = None) -> list[Measured]:
        """Pieces of these roles, of one stair where it is given, in the order of the deck."""
        found = [m for r in dict.fromkeys(roles) for m in self._by_role.get(r, ())]
        if len(roles) > 1:
            found.sort(key=lambda m: self._order[m.id])
        return found if stair is None else [m for m in found if m.part.stair == stair]

    @property
    def stairs(self) -> list[int]:
        """0-based numbers of the stairs."""
        return sorted({m.part.stair for m in self.measured if m.part.stair is not None})

    def _read(self, stair: int) -> tuple[list[FlightSeen], list[Unread]]:
        if stair not in self._flights:
            self._flights[stair] = see_flights(self.measured, self.by_id, self._grade, stair)
        return self._flights[stair]

    def flights(self, stair: int) -> list[FlightSeen]:
        return self._read(stair)[0]

    def unread(self, stair: int) -> list[Unread]:
        return self._read(stair)[1]

    @cached_property
    def bays(self) -> list[Bay]:
        return see_bays(self.measured)

    @cached_property
    def members(self) -> list[MemberSeen]:
        return self._members()
