"""Gap card: the end gap for the temperature on the day of laying, and what it becomes in summer and winter."""

from __future__ import annotations

import math

from ...model.order.gaps import EndGap, celsius, coefficient_source, end_gap, longest_boards
from ...shared.units import inches
from ..sheets.stage import Stage
from .pages import PLAIN, Pages

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
    return [
        end_gap(b.length, b.material, temperature_f, stage.deck.parameters.gaps)
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
    if temperature_f is None:
        _at_the_extremes(stage, pages, boards)
    for m in dict.fromkeys(b.material for b in boards):
        pages.text(f"{m.name.upper()}: {rate(stage, m.thermal_per_degF)}, {coefficient_source(m).upper()}.", PLAIN)
    pages.text(
        "A JOINT TAKES THE MOVEMENT OF ONE WHOLE BOARD: HALF OF EACH OF TWO, OR ALL OF ONE HELD AT ITS FAR END. THE"
        " MAKER'S OWN TABLE GOVERNS. MOISTURE IS NOT RECKONED.",
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
    gaps = stage.deck.parameters.gaps
    pages.table(
        "GAP TO SET ON ANOTHER DAY",
        ["LONGEST BOARD", "LENGTH", *(degrees(stage, t) for t in TABLE_F)],
        [
            [
                f"{b.role.upper()} {b.mark}",
                stage.text(b.length),
                *(small(stage, end_gap(b.length, b.material, t, gaps).gap) for t in TABLE_F),
            ]
            for b in boards
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
