"""Rules of the house as found: what the ledger hangs on, the step down from the door, footings beside the house's own,
and places before its wall that are kept clear.

What the file does not say of the house is not checked, and the row names the key. Solids are measured; the house is
what the file says of it.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from ...shared.cited import Cited, Missing
from ...shared.practice import practice
from ...shared.said import Words, decimal, listed, said, together
from ...shared.standards import clause, limit_items
from ..input.house_table import BAY, EGRESS_WINDOW
from ..measuring.measure import Measured
from ..measuring.silhouette import seen
from ..plan.edges import FAR
from ..plan.house_places import (
    BESIDE_FOUNDATION,
    ClearPlace,
    band_joist_top,
    clear_places,
    floor_over_band,
    foundation_level,
    from_wall,
    of_wall,
)
from ..solid.roles import in_group
from .check_result import Checking, in_words, places

PRACTICE = "common practice, no source"
WALL_UNDER_LEDGER, BAND_UNDER_LEDGER = "wall under the ledger", "band joist under the ledger"
STEP_AT_DOOR, DOOR_SWUNG_OVER = "step down from the door's sill", "step down under a door that swings out"
UPPER_IN_BAND = "upper fasteners below the band joist's top"
LOWER_IN_BAND = "lower fasteners above the band joist's bottom"
ON_A_BAY = "ledger on a bay"
BELOW_SILL = "surface below the door's sill"
BESIDE_HOUSE = "footing beside the house's own"
OFF_WALL = "footing clear of the house's wall"
KEPT_CLEAR, WAY_OUT = "place before the wall kept clear", "way out under the deck"
ALL_ROUND_FRAME = 'frame.support = "free-standing" would do'
ON_FOOTINGS = frozenset((*in_group("footings"), "post"))
_IN_IT = 0.05  # square inches of plan, or of the view, from which a piece stands in a place; our own
_OFF_GROUND = 1.0  # inches over the ground from which a piece hangs over it; our own


def check_house(c: Checking) -> None:
    """All rules of the house as found; none of a deck without a house edge."""
    if not any(e.house for e in c.deck.layout.outline.edges):
        return
    ledgers = c.of("ledger")
    if ledgers:
        _wall(c, ledgers)
        _band_joist(c, ledgers)
        _bays(c, ledgers)
        _fasteners_in_band(c, ledgers)
    _door(c)
    _foundation(c)
    for place in clear_places(c.deck.layout):
        _kept_clear(c, place)
        if place.thing.kind == EGRESS_WINDOW:
            _way_out(c, place)


def _wall(c: Checking, ledgers: list[Measured]) -> None:
    wall, ids = c.deck.parameters.house.wall, places(ledgers)
    if wall is None:
        why: Words = "the file does not say what the wall is: siding is assumed (house.wall)"
        c.skip(WALL_UNDER_LEDGER, clause("ledger on veneer"), "the house", why, ids)
    elif wall == "masonry":
        why = together(
            "the file does not say whether it is hollow, and anchors into masonry are not calculated: ask an engineer",
            ALL_ROUND_FRAME,
        )
        c.skip(WALL_UNDER_LEDGER, clause("ledger on masonry"), "the house", why, ids)
    else:
        told = together(said("the wall is {wall}", wall=wall), ALL_ROUND_FRAME if wall == "veneer" else "")
        c.state(WALL_UNDER_LEDGER, clause("ledger on veneer"), wall != "veneer", "the house", told, ids)


def _band_joist(c: Checking, ledgers: list[Measured]) -> None:
    band, ids = c.deck.parameters.house.band_joist, places(ledgers)
    row = clause("band joist under a ledger")
    if band is None:
        why = "the file does not say what closes the floor: a solid band joist is assumed (house.band_joist)"
        c.skip(BAND_UNDER_LEDGER, row, "the house", why, ids)
    elif band == "rim board":
        why = "of which maker and how thick is not in the file: its stamp and its maker's sheet decide"
        c.skip(BAND_UNDER_LEDGER, row, "the house", why, ids)
    elif band == "solid":
        c.state(BAND_UNDER_LEDGER, row, True, "the house", "of sawn lumber, as the file says", ids)
    else:
        source = clause("ledger on a cantilever or bay") if band == "cantilevered bay" else row
        found = together(of_wall(c.deck.parameters, "house.band_joist"), ALL_ROUND_FRAME)
        c.state(BAND_UNDER_LEDGER, source, False, "the house", found, ids)


def _bays(c: Checking, ledgers: list[Measured]) -> None:
    """Every bay, against the ledgers of its edge that reach into it."""
    layout = c.deck.layout
    for thing in c.deck.parameters.house.at_wall:
        if thing.kind != BAY:
            continue
        e = layout.outline[thing.edge]
        bay = e.rectangle(thing.at, thing.at + thing.width, 0.0, layout.ledger.thickness)
        on = [m for m in ledgers if m.part.footprint.intersection(bay).area > _IN_IT]
        why = f"ledger {', '.join(m.id for m in on)} hangs on it; {ALL_ROUND_FRAME}" if on else "no ledger hangs on it"
        c.state(ON_A_BAY, clause("ledger on a cantilever or bay"), not on, thing.called, why, places(on))


def _fasteners_in_band(c: Checking, ledgers: list[Measured]) -> None:
    """Whether the two rows of the ledger's fasteners, as the rule lays them, come into the band joist where the file
    says how high and how deep that is."""
    house, top = c.deck.parameters.house, band_joist_top(c.deck.parameters)
    if top is None or house.band_joist not in (None, "solid", "rim board"):
        return
    m = min(ledgers, key=lambda x: float(x.box[1][2]))
    item = f"ledger_bottom_row_to_top_edge_{m.stock.name}"
    first = c.row("ledger_top_edge_min")
    place, level = f"ledger {m.mark}", float(m.box[1][2])
    if item not in limit_items() or c.lacks("ledger fasteners in the band joist", place, first, c.row(item)):
        return
    below = said(
        "the band joist's top is {over} below the floor{assumed}",
        over=decimal(floor_over_band(c.deck.parameters), None),
        assumed="" if house.floor_thickness is not None else ", assumed (house.floor_thickness)",
    )
    moved = "levels.surface moves the ledger"
    upper, row = top - (level - float(first.value)), c.row("band_joist_top_edge_min")
    why = together(below, "" if upper >= row.value else moved)
    c.add(UPPER_IN_BAND, row, "at least", upper, place, (m.id,), why=why)
    rule, row = LOWER_IN_BAND, c.row("band_joist_bottom_edge_min")
    if house.band_joist_depth is None:
        c.skip(rule, row, place, "how deep the band joist is, the file does not say (house.band_joist_depth)", (m.id,))
        return
    lower = level - float(c.row(item).value) - (top - house.band_joist_depth)
    c.add(rule, row, "at least", lower, place, (m.id,), why=together(below, "" if lower >= row.value else moved))


def _door(c: Checking) -> None:
    """The step from the door's sill down to the surface, for both ways a door may swing."""
    p = c.deck.parameters
    why: Words
    if p.house.sill is None:
        why = "how high the door's sill is, the file does not say (house.sill)"
        c.skip(STEP_AT_DOOR, c.row("door_sill_over_landing_max"), "the door", why)
        return
    down = p.house.sill - c.deck.planes.surface_top
    if down <= 0:
        usual = practice("surface below a door sill")
        why = said("levels.surface = {level} would do", level=decimal(p.house.sill - usual, None))
        c.add(BELOW_SILL, PRACTICE, "more than", down, "the door", bound=0.0, why=why)
        return
    for rule, item, asked in (
        (STEP_AT_DOOR, "door_sill_over_landing_max", True),
        (DOOR_SWUNG_OVER, "door_sill_over_landing_swung_over_max", p.house.door_swings == "out"),
    ):
        row = c.row(item)
        if asked:
            more = not isinstance(row, Missing) and down > row.value
            least = p.house.sill - row.value
            why = said("levels.surface = {level} would do", level=decimal(least, None)) if more else ""
            c.add(rule, row, "at most", down, "the door", why=why)
        elif p.house.door_swings is None and not isinstance(row, Missing) and down > row.value:
            why = said("at most {most} where the door swings out (house.door_swings)", most=in_words(row))
            c.skip(rule, row, "the door", why)


def _foundation(c: Checking) -> None:
    """Footings near the wall bear as low as the house's own; none stands in the wall."""
    layout, found, near, off = c.deck.layout, [], [], []
    for m in c.of("footing"):
        x, y = map(float, (m.box[0] + m.box[1])[:2] / 2)
        away = from_wall(layout, (x, y), float(min(m.box[1][:2] - m.box[0][:2])))
        off.append((away, f"footing {m.id}", (m.id,)))
        if away < BESIDE_FOUNDATION:
            near.append(m)
            level = foundation_level(layout, (x, y))
            if level is not None:
                found.append((float(m.box[0][2]) - level, f"footing {m.id}", (m.id,)))
    if not near:
        return
    inside = any(away < 0 for away, *_ in off)
    c.worst(OFF_WALL, PRACTICE, "at least", off, "footings", bound=0.0, why=_off_wall(c) if inside else "")
    within: Words = said(
        "{n} of them stand less than {near} from the wall", n=len(near), near=decimal(BESIDE_FOUNDATION, None)
    )
    if not found:
        why = together(within, "how deep the house's own footing lies, the file does not say (house.footing_depth)")
        c.skip(BESIDE_HOUSE, PRACTICE, "footings", why, places(near))
        return
    if any(up > 0 for up, *_ in found):
        within = together(within, "frame.footing.depth takes them down")
    why = together("from the underside of the house's own up to theirs", within)
    c.worst(BESIDE_HOUSE, PRACTICE, "at most", found, "footings", bound=0.0, why=why)


def _off_wall(c: Checking) -> Words:
    beside = " or ".join(f"stair.{k}.at" for k in range(len(c.deck.parameters.stair)))
    told = f"frame.cantilever, frame.house_gap{f' or {beside}' if beside else ''} moves it"
    if not c.deck.parameters.site.house:
        told += "; past the deck's corner the wall is taken to run on (site.house says where it ends)"
    return told


def _kept_clear(c: Checking, place: ClearPlace) -> None:
    """Whether any piece stands in a place before the wall."""
    stand = sorted(_in_place(c, place), key=lambda m: m.id)
    thing = place.thing
    out = said("kept clear {from_} to {to}", from_=decimal(place.bottom, None), to=decimal(place.top, None))
    if not stand:
        c.state(KEPT_CLEAR, _asked_by(c, place), True, thing.called, together(out, "nothing stands in it"))
        return
    kinds: dict[str, list[str]] = {}
    for m in stand:
        kinds.setdefault(m.role, []).append(m.id)
    named = [f"{role} {', '.join(ids[:3])}{' and more' if len(ids) > 3 else ''}" for role, ids in kinds.items()]
    why = together(out, said("in it: {pieces}", pieces=listed(named, "; ")), _moved(stand))
    c.state(KEPT_CLEAR, _asked_by(c, place), False, thing.called, why, places(stand))


def _asked_by(c: Checking, place: ClearPlace) -> Cited | Words:
    """The row that asks for so much room, or that it is practice, or the file's own."""
    if place.thing.clear is not None:
        return "as given (house.at_wall)"
    return c.row("egress_well_projection_min") if place.thing.kind == EGRESS_WINDOW else PRACTICE


def _moved(stand: list[Measured]) -> Words:
    """The key that moves what stands there."""
    stairs = sorted({m.part.stair for m in stand if m.part.stair is not None})
    if stairs:
        return f"{' and '.join(f'stair.{k}.at or stair.{k}.edge' for k in stairs)} moves it"
    if any(m.role == "ledger" for m in stand):
        return "levels.surface, or frame.support, moves it"
    return "levels.surface, frame.beam_lines or frame.post_spacing moves them"


def _in_place(c: Checking, place: ClearPlace) -> Iterator[Measured]:
    """The pieces that stand in a place: in plan, and at the height that they have there, seen both ways."""
    edge = c.deck.layout.outline[place.thing.edge]
    x0, y0, x1, y1 = place.polygon.bounds
    for m in c.measured:
        (a0, b0, low), (a1, b1, high) = m.box.tolist()
        if low >= place.top or high <= place.bottom or a0 >= x1 or a1 <= x0 or b0 >= y1 or b1 <= y0:
            continue
        shared = m.part.footprint.intersection(place.polygon)
        if shared.area > _IN_IT and all(
            _seen_in(m, place, np.asarray(shared.envelope.exterior.coords), way)
            for way in (edge.direction, edge.inward)
        ):
            yield m


def _seen_in(m: Measured, place: ClearPlace, shared: np.ndarray, way: np.ndarray) -> bool:
    u = shared @ way
    window = shapely.box(float(u.min()), place.bottom, float(u.max()), place.top)
    return seen(m.part, way).intersection(window).area > _IN_IT


def _lowest_in(m: Measured, shared: np.ndarray, way: np.ndarray) -> float:
    """The lowest level of a piece over what it shares in plan with a strip square to a way."""
    u = shared @ way
    view = seen(m.part, way)
    hit = view.intersection(shapely.box(float(u.min()), view.bounds[1], float(u.max()), view.bounds[3]))
    return float((view if hit.is_empty else hit).bounds[1])


def _way_out(c: Checking, place: ClearPlace) -> None:
    """Height under the frame over the ground, straight out from an egress window to the deck's edge."""
    edge, row = c.deck.layout.outline[place.thing.edge], c.row("egress_under_deck_height_min")
    out = edge.rectangle(place.thing.at, place.thing.at + place.thing.width, 0.0, FAR)
    over = []
    for m in c.measured:
        shared = m.part.footprint.intersection(out)
        if m.part.stair is not None or m.role in ON_FOOTINGS or shared.area <= _IN_IT:
            continue
        under = max(c.deck.planes.grade(x, y) for x, y in shared.envelope.exterior.coords)
        low = _lowest_in(m, np.asarray(shared.envelope.exterior.coords), edge.direction) - under
        if low > _OFF_GROUND:
            over.append((low, f"{place.thing.called}, under {m.role} {m.id}", (m.id,)))
    if over and place.top < c.deck.planes.surface_top:
        short = not isinstance(row, Missing) and min(over)[0] < row.value
        why = f"to the deck's edge, straight out{'; levels.surface decides' if short else ''}"
        c.worst(WAY_OUT, row, "at least", over, "pieces over it", why=why)
