"""Gap card: the end gap for the temperature on the day of laying, and what it becomes in summer and winter."""

from __future__ import annotations

import math

from ...model.measuring.gaps import EndGap, across_grain, celsius, coefficient_source, end_gap, longest_boards, wet_gap
from ...shared.units import inches
from ..sheets.stage import Stage
from .pages import PLAIN, Pages

MOISTURES = (12.0, 15.0, 19.0, 24.0, 28.0)  # percent of the table for wood
TABLE_F = (20.0, 40.0, 60.0, 80.0, 100.0)  # temperatures of the table for another day


def degrees(stage: Stage, fahrenheit: float) -> str:
    return f"{celsius(fahrenheit):.0f} °C" if stage.metric else f"{fahrenheit:g} °F"


def small(stage: Stage, value: float) -> str:
    """A gap: to 1/16 in and, as the movement is no round number, in decimals; millimetres to a tenth."""
    return f"{value * 25.4:.1f} MM" if stage.metric else f"{inches(value)} ({value:.3f})"


def rate(stage: Stage, per_degree: float) -> str:
    """A coefficient of expansion, held in inches an inch a degree Fahrenheit."""
    if stage.metric:
        return f"{per_degree * 1.8 * 1000:.4f} MM A METRE A DEGREE CELSIUS"
    return f"{per_degree:.7f} IN AN INCH A DEGREE FAHRENHEIT"


def gap_rows(stage: Stage, temperature_f: float) -> list[EndGap]:
    """The gaps at board ends on a day: on that of the file the one that is drawn, by which all is cut; on another as
    the maker's sheet prints them, where there is one."""
    p = stage.deck.parameters
    on_the_day = temperature_f == p.gaps.temperature_f
    left = p.surface.end_gap if on_the_day else p.maker.board.end_gap(temperature_f)
    return [
        end_gap(b.length, b.material, temperature_f, p.gaps, left)
        for b in longest_boards(stage.measured_rows, stage.deck.parameters)
    ]


def state(stage: Stage, g: EndGap) -> str:
    """What the extremes do to a joint, and the longest board that one gap would serve where this one is too long."""
    if not g.opens_beyond:
        return "CLOSES IN SUMMER" if g.closes else "DOES NOT CLOSE IN SUMMER, NOR OPEN BEYOND THE LIMIT IN WINTER"
    both = "CLOSES IN SUMMER AND OPENS" if g.closes else "OPENS"
    return f"{both} BEYOND THE LIMIT IN WINTER; KEEP BOARDS TO {stage.text(math.floor(g.longest))} OR BREAK THE RUN"


def build(stage: Stage, temperature_f: float | None) -> None:
    boards = longest_boards(stage.measured_rows, stage.deck.parameters)
    if not boards:
        return
    gaps = stage.deck.parameters.gaps
    pages = Pages(stage, 600, "GAP CARD")
    pages.text(
        "LEAVE THIS GAP AT BOARD ENDS FOR THE TEMPERATURE OF THE BOARDS. EXTREMES: SUMMER"
        f" {degrees(stage, gaps.summer_f)}, WINTER {degrees(stage, gaps.winter_f)}. LIMIT IN WINTER"
        f" {stage.inch(gaps.limit)}.",
        PLAIN,
        gap=0.08,
    )
    if temperature_f is not None:
        _on_the_day(stage, pages, boards, temperature_f)
    else:
        pages.text("NO TEMPERATURE WAS GIVEN: MEASURE THE BOARDS' ON THE DAY AND READ THE GAP BELOW.", PLAIN, gap=0.08)
    _on_another_day(stage, pages, boards)
    pages.text(
        f"BOARDS ARE CUT FOR A GAP OF {small(stage, stage.deck.parameters.surface.end_gap)}: FOR ANOTHER DAY BUILD"
        " AGAIN WITH ITS TEMPERATURE, AND EVERY LENGTH FOLLOWS.",
        PLAIN,
        gap=0.08,
    )
    if temperature_f is None:
        _at_the_extremes(stage, pages, boards)
    _of_wood(stage, pages)
    for m in dict.fromkeys(b.material for b in boards):
        pages.text(f"{m.name.upper()}: {rate(stage, m.thermal_per_degF)}, {coefficient_source(m).upper()}.", PLAIN)
    printed = stage.deck.parameters.maker.board.end_gaps
    pages.text(
        "A JOINT TAKES THE MOVEMENT OF ONE WHOLE BOARD: HALF OF EACH OF TWO, OR ALL OF ONE HELD AT ITS FAR END. "
        + ("GAPS AS THE MAKER'S SHEET PRINTS THEM." if printed else "THE MAKER'S OWN TABLE GOVERNS."),
        PLAIN,
    )


def _on_the_day(stage: Stage, pages: Pages, boards, temperature_f: float) -> None:
    pages.table(
        f"LAID AT {degrees(stage, temperature_f)}",
        ["LONGEST BOARD", "LENGTH", "SET GAP", "IN SUMMER", "IN WINTER", "STATE"],
        [
            [
                f"{b.role.upper()} {b.mark}",
                stage.text(b.length),
                small(stage, g.gap),
                small(stage, g.summer),
                small(stage, g.winter),
                state(stage, g),
            ]
            for b, g in zip(boards, gap_rows(stage, temperature_f))
        ],
        [1.45, 1.45, 1.35, 1.35, 1.55, 3.4],
        "lrrrrl",
        PLAIN,
    )


def _on_another_day(stage: Stage, pages: Pages, boards) -> None:
    days = [[small(stage, g.gap) for g in gap_rows(stage, t)] for t in TABLE_F]
    pages.table(
        "GAP TO SET ON ANOTHER DAY",
        ["LONGEST BOARD", "LENGTH", *(degrees(stage, t) for t in TABLE_F)],
        [
            [
                f"{b.role.upper()} {b.mark}",
                stage.text(b.length),
                *(day[k] for day in days),
            ]
            for k, b in enumerate(boards)
        ],
        [1.6, 1.45, *[1.35] * len(TABLE_F)],
        "lr" + "r" * len(TABLE_F),
        PLAIN,
    )


def _at_the_extremes(stage: Stage, pages: Pages, boards) -> None:
    """What the extremes do is nearly the same whatever the day: the gap is set for the day's length."""
    rows = []
    for k, b in enumerate(boards):
        days = [gap_rows(stage, t)[k] for t in TABLE_F]
        worst = max(days, key=lambda g: g.winter)
        least = min(days, key=lambda g: g.summer)
        rows.append(
            [f"{b.role.upper()} {b.mark}", small(stage, least.summer), small(stage, worst.winter), state(stage, worst)]
        )
    pages.table(
        "THOSE GAPS AT THE EXTREMES",
        ["LONGEST BOARD", "LEAST IN SUMMER", "MOST IN WINTER", "STATE"],
        rows,
        [1.6, 1.6, 1.6, 4.5],
        "lrrl",
        PLAIN,
    )


def _of_wood(stage: Stage, pages: Pages) -> None:
    """The gap between boards of wood by the moisture that they are laid at."""
    p = stage.deck.parameters
    wood = across_grain(p.surface.material, p)
    if wood is None:
        return
    dry, width = p.gaps.moisture_in_service, p.surface.board_width
    stays = p.surface.edge_gap + wood.shrinks(width, dry if p.gaps.moisture is None else p.gaps.moisture, dry)
    pages.table(
        f"BETWEEN BOARDS OF WOOD {stage.inch(width)} WIDE, SO THAT {small(stage, stays)} STAYS AT {dry:g} PERCENT",
        ["MOISTURE AS LAID", *(f"{m:g} %" for m in MOISTURES)],
        [
            ["A BOARD SHRINKS BY", *(small(stage, wood.shrinks(width, m, dry)) for m in MOISTURES)],
            ["GAP TO SET", *(small(stage, wet_gap(stays, width, m, dry, wood)) for m in MOISTURES)],
        ],
        [2.2, *[1.5] * len(MOISTURES)],
        "l" + "r" * len(MOISTURES),
        PLAIN,
    )
    pages.text(f"WIDTH X {wood.tangential:g} A PERCENT, FLAT GRAIN: {wood.source.upper()}.", PLAIN, gap=0.08)
