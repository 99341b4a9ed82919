"""Ledger rules: its size against the joists that hang on it, where fasteners go, hangers and the lateral load
connection.

Fasteners and hangers are no solids: what the rows ask of them is stated as not checked, with every distance.
"""

from __future__ import annotations

from collections import defaultdict

import numpy as np

from ...shared.cited import Missing, Named, Row
from ...shared.said import Words, decimal, number, said, together
from ...shared.standards import clause, limit_items
from ...shared.stock import lumber
from ..measuring.hold_downs import from_ends
from ..measuring.member_seen import axis
from ..strength.wind import sway_psf
from ..structure.lateral import couple, push, sway
from ..structure.rated_hardware import AS_GIVEN, HANGER, on_hangers
from ..structure.structure import Structure, stated_wind
from .check_result import Checking, in_words, places

HOLD_DOWNS_NEAR = "hold-downs near the ends"


def check_ledger(c: Checking, structure: Structure) -> None:
    """The ledgers of the deck, where it has any, and the joist ends that hang on them."""
    ledgers = c.of("ledger")
    if ledgers:
        _size(c, ledgers)
        _edges(c, ledgers)
        _tied_back(c, structure, places(ledgers))
    _hangers(c, structure)


def _tied_back(c: Checking, structure: Structure, ids: tuple[str, ...]) -> None:
    """Hold-downs between the deck's joists and the house's floor: how many, where, and what each has to hold by the
    published rule and, where the file states it, by the wind."""
    rule, given = "lateral load connection", c.deck.parameters.hardware.hold_down_lb
    large, small = c.row("hold_down_large_lb"), c.row("hold_down_small_lb")
    few, many = c.row("hold_downs_large_min"), c.row("hold_downs_small_min")
    tied = c.deck.tied_back
    if not tied or isinstance(large, Missing):
        c.skip(
            rule, clause("lateral load connection", c.edition), "ledger", "no joists hang there to be tied back", ids
        )
        return
    row = small if given is not None and given < large.value and len(tied) == many.value else large
    far, apart = from_ends(tied, c.deck.parts, c.deck.contacts)
    c.add(
        HOLD_DOWNS_NEAR, c.row("hold_down_from_end_max"), "at most", far, "ledger", places(tied),
        why=said("{n} of them", n=number(len(tied))),
    )  # fmt: skip
    demand, told = _demand(c, structure.path.surface_sqft, len(tied), apart)
    if given is None:
        kinds = [(few, large), (many, small)]
        asked = [
            said("{n} of {lb} lb each", n=number(n.value), lb=number(lb.value, 0, grouped=True))
            for n, lb in kinds
            if not isinstance(lb, Missing)
        ]
        why = said(
            "{kinds}; {told}: give what you buy (hardware.hold_down_lb)",
            kinds=together(*asked, between=", or "),
            told=told,
        )
        c.skip(rule, row, "ledger", why, places(tied))
        return
    c.add(rule, row, "at least", given, "ledger", places(tied), local=demand, unit="lb", why=told)


def _demand(c: Checking, surface: float, count: int, apart: float) -> tuple[float | None, Words]:
    """What the wind asks of each hold-down, None where none is stated; and both sideways loads in words."""
    ledger = next(p for p in c.deck.parts if p.role == "ledger")
    u = axis(ledger)
    n = np.array([-u[1], u[0]])
    arm = abs(float(np.dot(np.subtract(c.deck.layout.outline.polygon.centroid.coords[0], ledger.plan_middle), n)))
    people = said(
        "people moving together, {psf} psf sideways as is recommended, no code value, come to {lb} lb each, away from"
        " the house or along it",
        psf=number(sway_psf()),
        lb=number(max(couple(sway(surface), arm, apart), sway(surface) / count), 0, grouped=True),
    )
    wind = stated_wind(c.deck.parameters)
    if wind is None:
        return None, together("wind is not stated", people)
    away = push(c.deck.parts, n, wind, c.deck.planes.grade).pounds / count
    turned = couple(push(c.deck.parts, u, wind, c.deck.planes.grade).pounds, arm, apart)
    blown = said(
        "wind at {mph} mph, exposure {e}, asks {lb} lb of each",
        mph=number(wind.mph),
        e=wind.exposure,
        lb=number(max(away, turned), 0, grouped=True),
    )
    return max(away, turned), together(blown, people)


def _size(c: Checking, ledgers) -> None:
    size = c.named("ledger_min_size")
    if isinstance(size, Named):
        wanted = lumber(size.name)
        small = [m for m in ledgers if m.width < wanted.width - 1e-6 or m.thickness < wanted.thickness - 1e-6]
        c.state(
            "ledger size",
            size,
            not small,
            f"ledger {(small or ledgers)[0].mark}",
            f"{(small or ledgers)[0].stock.name}, at least {size.name}",
            places(small or ledgers),
        )
    else:
        c.lacks("ledger size", f"ledger {ledgers[0].mark}", size, ids=places(ledgers))
    depth, proud = [], []
    for m in ledgers:
        hung = [c.by_id[k.a.id] for k in c.deck.contacts if k.kind == "end" and k.a.role == "joist" and k.b.id == m.id]
        depth += [(m.width / j.width, f"ledger {m.mark} under joist {j.mark}", places([m, j])) for j in hung]
        proud += [j for j in hung if abs(float(j.box[1][2] - m.box[1][2])) > 1 / 16]
    c.worst("ledger depth", c.row("ledger_depth_of_joist"), "at least", depth, "joist ends")
    if depth:
        c.state(
            "joists flush with the ledger's top",
            "common practice, no source",
            not proud,
            f"ledger {ledgers[0].mark}",
            f"{len(proud)} joists stand above or below their ledger" if proud else "every joist that hangs on it",
            places(proud),
        )


def _edges(c: Checking, ledgers) -> None:
    """Whether two staggered rows fit the ledger's depth; and every distance the row of fasteners has to keep."""
    top, bottom = c.row("ledger_top_edge_min"), c.row("ledger_bottom_edge_min")
    for m in {m.stock.name: m for m in ledgers}.values():
        item = f"ledger_bottom_row_to_top_edge_{m.stock.name}"
        low = c.row(item) if item in limit_items() else None
        place, ids = f"ledger {m.mark}", [x.id for x in ledgers if x.stock == m.stock]
        if low is None:
            c.skip("ledger fastener rows", top, place, f"outside the table: it has no {m.stock.name} ledger", ids)
            continue
        if c.lacks("ledger fastener rows", place, low, ids=ids):
            continue
        c.add(
            "ledger fasteners, bottom edge",
            bottom,
            "at least",
            m.width - float(low.value),
            place,
            ids,
            why=said(
                "with the bottom row {low} below the ledger's top ({source})",
                low=decimal(low.value, None),
                source=low.citation,
            ),
        )
        if not c.lacks("ledger fastener rows", place, top, ids=ids):
            c.add(
                "ledger fastener rows",
                c.row("ledger_row_spacing_min"),
                "at least",
                float(low.value) - float(top.value),
                place,
                ids,
                why=said(
                    "room between a bottom row {low} and a top row {top} below the ledger's top",
                    low=decimal(low.value, None),
                    top=decimal(top.value, None),
                ),
            )
        c.skip("ledger fastener places", c.row("ledger_end_min"), place, _places(c, low), ids)
    band = [c.row(f"band_joist_{i}") for i in ("top_edge_min", "bottom_edge_min", "end_min")]
    c.skip(
        "band joist edge distances",
        band[0],
        "the house",
        said(
            "the house is not modelled. Keep {top} from the band joist's top, {bottom} from its bottom and {ends} from"
            " its ends",
            top=in_words(band[0]),
            bottom=in_words(band[1]),
            ends=in_words(band[2]),
        ),
    )


def _places(c: Checking, low: Row) -> Words:
    """Every distance that the fasteners have to keep; `low` is the bottom row's from the ledger's top."""
    return said(
        "fasteners are not drawn as pieces. Keep {top} from the top edge, {bottom} from the bottom edge, {least} to"
        " {most} from the ends, rows {near} to {far} apart, staggered; the bottom row {low} below the top",
        top=in_words(c.row("ledger_top_edge_min")),
        bottom=in_words(c.row("ledger_bottom_edge_min")),
        least=in_words(c.row("ledger_end_min"), bare=True),
        most=in_words(c.row("ledger_end_max")),
        near=in_words(c.row("ledger_row_spacing_min"), bare=True),
        far=in_words(c.row("ledger_row_spacing_max")),
        low=decimal(low.value, None),
    )


def _hangers(c: Checking, structure: Structure) -> None:
    """Joist ends that hang: an end against a ledger or rim with nothing under it. Hangers themselves are no solids;
    what they carry is judged by what the file gives of them."""
    hung: dict[str, set[str]] = defaultdict(set)
    bears = {
        k.a.id for k in c.deck.contacts if k.kind == "bearing" and k.a.role == "joist" and k.b.role in ("beam", "post")
    }
    for k in c.deck.contacts:
        if k.kind == "end" and k.a.role == "joist" and k.b.role == "ledger":
            hung["ledger"].add(k.a.id)
        if k.kind == "end" and k.a.role == "joist" and k.b.role == "rim" and k.a.id not in bears:
            hung["rim"].add(k.a.id)
    ids = tuple(sorted({i for group in hung.values() for i in group}))
    greatest = on_hangers(structure.path, c.deck.parameters.loads)
    if not ids or greatest is None:
        return
    (pounds, member), allowed = greatest, c.deck.parameters.hardware.joist_hanger_lb
    row, place = clause("joist hangers", c.edition), f"{len(ids)} joist ends on the {' and the '.join(sorted(hung))}"
    if allowed is not None:
        why = said("at {member}", member=member)
        if pounds > allowed:
            why = said("{why}: choose one rated for {lb} lb (hardware.joist_hanger_lb)", why=why, lb=number(pounds, 0))
        c.add(HANGER, AS_GIVEN, "at most", pounds, place, ids, bound=allowed, unit="lb", why=why)
        return
    why = said(
        "the most loaded, of {member}, takes {lb} lb: choose hangers rated for it (hardware.joist_hanger_lb); they are"
        " not drawn as pieces, so"
        " their fit is not measured",
        lb=number(pounds, 0, grouped=True),
        member=member,
    )
    c.skip("joist hangers", row, place, why, ids)
