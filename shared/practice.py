"""Figures of the trade that no rule prints: what is built by, and what a choice is made with before anything is
measured. Data in `data/practice.csv` and `data/estimates.csv`, each row with its source or the words that it has none.
"""

from __future__ import annotations

from functools import cache

from .standards import table


@cache
def practice(item: str) -> float:
    """A figure by which the trade builds, inches or its row's unit (`data/practice.csv`). KeyError for none."""
    return _value("practice", item)


@cache
def estimate(item: str) -> float:
    """A value of `data/estimates.csv`: what a choice is made with before anything is measured. KeyError for none."""
    return _value("estimates", item)


def _value(name: str, item: str) -> float:
    for r in table(name):
        if r["item"] == item:
            return float(r["value"])
    raise KeyError(f"no row is called {item!r} in data/{name}.csv")
