"""What belongs together in IFC4: a stair with its flights, landings and railings, and the guard of each edge."""

from __future__ import annotations

import itertools
import re
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from ...model.measuring.deck_seen import DeckSeen
from ...model.measuring.flight_seen import FlightSeen
from ...model.measuring.measure import Measured
from ...model.solid.roles import in_group, named

_LANDING = (*named("joist level", "walked"), "fascia")


@dataclass
class Assembly:
    """One product made of others: `key` is its own, `home` the key of the one it is in ("" for the storey), `pieces`
    ids, `facts` the entity's further attributes."""

    key: str
    name: str
    entity: str
    type: str
    home: str = ""
    pieces: list[str] = field(default_factory=list)
    facts: dict[str, object] = field(default_factory=dict)


def assemblies(deck, measured: Sequence[Measured]) -> list[Assembly]:
    """All of a deck, each after its home. Rises and goings are measured off the treads."""
    seen = DeckSeen(measured, lambda: deck.members, deck.planes.grade)
    found: dict[str, Assembly] = {}
    for m in measured:
        part = m.part
        stair = f"stair {part.stair + 1}" if part.stair is not None else ""
        if m.group == "stairs" and stair:
            _stair(found, stair, seen, part.stair)
            name = re.match(r"stair \d+( flight \d+)?", part.where)
            _take(found, f"flight: {name[0] if name else stair}", m.id)
        elif stair and m.role in _LANDING and "landing" in part.where:
            _stair(found, stair, seen, part.stair)
            key = f"landing: {part.where}"
            found.setdefault(key, Assembly(key, part.where, "Slab", "LANDING", stair))
            _take(found, key, m.id)
        elif m.group == "guards":
            if stair:
                _stair(found, stair, seen, part.stair)
            what, kind = ("handrail", "HANDRAIL") if m.role == "handrail" else ("guard", "BALUSTRADE")
            key = f"{what}: {part.where or 'deck'}"
            found.setdefault(key, Assembly(key, f"{what}, {part.where or 'deck'}", "Railing", kind, stair))
            _take(found, key, m.id)
    # in order of depth: a home before what is in it; empty ones (a flight without pieces) left out
    order = sorted(found.values(), key=lambda a: bool(a.home))
    return [a for a in order if a.pieces or any(b.home == a.key and b.pieces for b in order)]


def _take(found: dict[str, Assembly], key: str, piece: str) -> None:
    found[key].pieces.append(piece)


def _stair(found: dict[str, Assembly], name: str, seen: DeckSeen, number: int) -> None:
    """The stair and its flights, once."""
    if name in found:
        return
    flights = seen.flights(number)
    found[name] = Assembly(name, name, "Stair", _turns(flights))
    for m in seen.of(*in_group("stairs"), stair=number):
        match = re.match(r"stair \d+( flight \d+)?", m.part.where)
        of = match[0] if match else name
        key = f"flight: {of}"
        if key not in found:
            found[key] = Assembly(key, of, "StairFlight", "STRAIGHT", name)
            flight = next((f for f in flights if f.name == of), None)
            found[key].facts = _walk(flight) if flight else {}


def _walk(flight: FlightSeen) -> dict[str, object]:
    """Numbers of risers and treads, mean rise, mean going (front to front), as IfcStairFlight wants them."""
    rises, goings = flight.rises, flight.goings
    return {
        "NumberOfRisers": len(rises),
        "NumberOfTreads": len(flight.treads),
        "RiserHeight": round(float(np.mean(rises)), 6),
        "TreadLength": round(float(np.mean(np.abs(goings))), 6) if goings else None,
    }


def _turns(flights: Sequence[FlightSeen]) -> str:
    """The standard's word for how the flights follow one another."""
    if len(flights) == 1:
        return "STRAIGHT_RUN_STAIR"
    turns = [round(float(a.out[0] * b.out[1] - a.out[1] * b.out[0])) for a, b in itertools.pairwise(flights)]
    return {
        (0,): "TWO_STRAIGHT_RUN_STAIR",
        (1,): "QUARTER_TURN_STAIR",
        (-1,): "QUARTER_TURN_STAIR",
        (1, 1): "TWO_QUARTER_TURN_STAIR",
        (-1, -1): "TWO_QUARTER_TURN_STAIR",
    }.get(tuple(turns), "NOTDEFINED")
