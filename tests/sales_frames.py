"""Sales with a known truth, for tests of forecasts."""

from datetime import date, timedelta

import numpy as np
import polars as pl

from stillroom.analysis.demand.sales_history import Calendar, History, sales_history

MONDAY = date(2026, 6, 1)
WEEKDAYS = np.array([0.0, 0.7, 0.8, 0.9, 1.4, 1.7, 0.5])
"""Closed on Mondays."""
SHARES = np.array([12, 11, 10, 9, 8, 8, 7, 6, 6, 5, 3, 2.0])
NEVER = Calendar()
SALES = {"venue": pl.String, "business_date": pl.Date, "spec": pl.String, "version": pl.Int64, "serves": pl.Float64}
SALES |= {"lines": pl.Int64}
SPEC = {"spec": pl.String, "kind": pl.String, "in_service_from": pl.Date, "in_service_until": pl.Date}


def truth(days: int, shares: np.ndarray, level: float, trend: float = 0.0, start: int = 0) -> np.ndarray:
    """Expected serves, days by drinks."""
    number = start + np.arange(days)
    total = level * WEEKDAYS[number % 7] * (1 + trend) ** (number / 7)
    return np.asarray(total[:, None] * shares / shares.sum())


def drawn(mean: np.ndarray, generator: np.random.Generator, house: float = 0.03, own: float = 0.02) -> np.ndarray:
    """Serves with variation that all drinks share on a day, and each drink's own."""
    shared = generator.gamma(1 / house, house, size=(len(mean), 1))
    return generator.poisson(mean * shared * generator.gamma(1 / own, own, size=mean.shape))


def as_frame(serves: np.ndarray, first_days: dict[int, int] | None = None) -> pl.DataFrame:
    rows = [
        (
            "bar",
            MONDAY + timedelta(days=day),
            f"Drink {place:02d}",
            1,
            float(serves[day, place]),
            int(np.ceil(serves[day, place])),
        )
        for day in range(len(serves))
        for place in range(serves.shape[1])
        if serves[day].sum() > 0 and day >= (first_days or {}).get(place, 0)
    ]
    return pl.DataFrame(rows, schema=SALES, orient="row")


def specs(drinks: int, first_days: dict[int, int] | None = None) -> pl.DataFrame:
    rows = [
        (f"Drink {place:02d}", "drink", MONDAY + timedelta(days=(first_days or {}).get(place, 0)), None)
        for place in range(drinks)
    ]
    return pl.DataFrame(rows, schema=SPEC, orient="row")


def history_of(serves: np.ndarray, first_days: dict[int, int] | None = None, calendar: Calendar = NEVER) -> History:
    last = MONDAY + timedelta(days=len(serves) - 1)
    found = sales_history(as_frame(serves, first_days), specs(serves.shape[1], first_days), "bar", last, calendar)
    assert found is not None
    return found
