"""The client's sheet: a picture, sizes, materials, the price by delivery, options beside it, what is not in it, and the
cautions, on one letter page. Prices are those of the builder's list; nothing is priced that it does not name."""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from reportlab.lib.pagesizes import letter
from reportlab.platypus import Image, KeepInFrame, Paragraph, SimpleDocTemplate, Table

from ...model.order.deliveries import DELIVERIES
from ...model.order.takeoff import TakeOff
from ...model.solid.roles import named
from ...model.structure.members import SQFT
from ...shared.said import length, said, surface
from ..comparing.compare import Variant
from ..drafting.cautions import SENTENCES
from ..drafting.wording import worded
from ..formats.calc_style import letter_page, table, text
from ..formats.lettering import register_font
from ..pictures.canvas import png
from ..pictures.picture import isometric

NOT_IN_IT = (
    "Not in this price unless it is written here: permit and inspection fees, work on the house, electrical work,"
    " moving of utilities, soil that is found otherwise than assumed, disposal, labour."
)
MARGIN_OF_PAGE = 40.0  # points
WIDE = letter[0] - 2 * MARGIN_OF_PAGE
PICTURE_HIGH = 330.0  # points


@dataclass(frozen=True)
class GroupPrice:
    """What a delivery costs by the list, and how many of its lines the list does not name."""

    group: str
    price: float
    unpriced: int


def group_prices(taken: TakeOff) -> list[GroupPrice]:
    """The price of each delivery: lengths and packs by the list. They add up to the order's own price."""
    found = []
    for name in DELIVERIES:
        known, missing = 0.0, 0
        for line in taken.order.lines:
            for long, (bars, spare) in line.delivered(name).items():
                each = taken.prices.stock_length(line.stock.name, line.stock.material, long)
                known += (each or 0.0) * (len(bars) + spare)
                missing += each is None
        for h in taken.hardware:
            if h.rule.delivery == name:
                each = h.total_price(taken.prices)
                known += each or 0.0
                missing += each is None
        if known or missing:
            found.append(GroupPrice(name, known, missing))
    return found


def write_client_pdf(of: Variant, options: Sequence[Variant], path: Path, hours: float | None = None) -> None:
    """The sheet of a deck, with the prices of `options` beside its own; `hours` of the builder's table where given."""
    register_font()
    project = of.deck.parameters.project
    margins = dict.fromkeys(("leftMargin", "rightMargin", "topMargin", "bottomMargin"), MARGIN_OF_PAGE)
    about = letter_page(f"{project.name or 'Deck'}: for the client", project.author)
    doc = SimpleDocTemplate(str(path), **about, **margins)
    room = letter[1] - 2 * MARGIN_OF_PAGE - 12
    doc.build([KeepInFrame(WIDE, room, _story(of, options, hours), mode="shrink")])


def _story(of: Variant, options: Sequence[Variant], hours: float | None) -> list:
    project = of.deck.parameters.project
    heading = " - ".join(t for t in (project.name or "Deck", project.address.replace("\n", ", ")) if t)
    image = Image(io.BytesIO(png(isometric(of.deck, "front-left"), 1400)))
    shrink = min(WIDE / image.drawWidth, PICTURE_HIGH / image.drawHeight)
    image.drawWidth, image.drawHeight = image.drawWidth * shrink, image.drawHeight * shrink
    half = WIDE / 2 - 6
    left = [text("Sizes", "section"), table((), sizes(of), (half * 0.55, half * 0.45))]
    right = [text("Materials", "section"), table((), materials(of), (half * 0.4, half * 0.6))]
    beside = Table([[left, right]], colWidths=(WIDE / 2, WIDE / 2))
    beside.setStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), ("LEFTPADDING", (0, 0), (-1, -1), 0)])
    story: list = [text(heading, "title"), image, beside, *_prices(of.taken)]
    if hours is not None:
        story += [text(f"Work: {hours:,.0f} hours by the builder's own table.")]
    if options:
        story += _options(of, options)
    story += [text("Not in it", "section"), text(NOT_IN_IT), text("Cautions", "section")]
    return [*story, *(text(s, "small") for s in SENTENCES)]


def sizes(of: Variant) -> list[tuple[str, str]]:
    """What is built, measured off the solids."""
    deck, metric = of.deck, of.deck.parameters.drawing.units == "metric"

    def long(value: float) -> str:
        return worded(said("{x}", x=length(value)), metric)

    walked = [m for m in of.measured if m.role in named("walked") and m.part.stair is None]
    x0, y0, x1, y1 = deck.layout.outline.polygon.bounds
    top = max(float(m.part.box[1, 2]) for m in walked)
    risers = sum(plan.risers for plan in deck.layout.stair_plans)
    rows = [
        ("Surface", worded(said("{x}", x=surface(math.fsum(m.top_area for m in walked) / SQFT, 0)), metric)),
        ("Across, at most", f"{long(x1 - x0)} by {long(y1 - y0)}"),
        ("Height above the datum", long(top)),
        ("Stairs", f"{len(deck.layout.stair_plans)}, {risers} risers" if risers else "none"),
    ]
    rails = math.fsum(m.length for m in of.measured if m.role == "top rail")
    return [*rows, ("Guards", long(rails) if rails else "none")]


def materials(of: Variant) -> list[tuple[str, str]]:
    p = of.deck.parameters
    border = f", border of {p.surface.border.courses}" if p.surface.border.courses else ""
    return [
        ("Surface", p.surface.material + border),
        ("Frame", f"{p.lumber.species} {p.lumber.grade}, {p.lumber.treatment}"),
        ("Trim", p.trim.material if p.trim.fascia else "none"),
        ("Stands", "on a ledger and footings" if of.deck.roles("ledger") else "free, on footings"),
    ]


def _prices(taken: TakeOff) -> list[Paragraph | Table]:
    groups = group_prices(taken)
    if not any(g.price for g in groups):
        return [text("Price", "section"), text("No price list was given (order.prices, or --prices).")]
    rows = [(g.group.capitalize(), f"{g.price:,.2f}", _missing(g.unpriced)) for g in groups]
    rows.append(
        ("Material together", f"{sum(g.price for g in groups):,.2f}", _missing(sum(g.unpriced for g in groups)))
    )
    widths = (WIDE * 0.4, WIDE * 0.2, WIDE * 0.4)
    return [text("Price of material, by the builder's list", "section"), table((), rows, widths, (1,))]


def _missing(count: int) -> str:
    return f"{count} lines have no price in the list" if count else ""


def _options(of: Variant, options: Sequence[Variant]) -> list:
    rows = [(o.name, f"{o.taken.price:,.2f}", f"{o.taken.price - of.taken.price:+,.2f}") for o in options]
    widths = (WIDE * 0.5, WIDE * 0.25, WIDE * 0.25)
    return [text("Options, material", "section"), table(("", "Price", "More or less"), rows, widths, (1, 2))]
