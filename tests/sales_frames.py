"""Sales with a known truth, for tests of forecasts."""

from datetime import date, timedelta

import numpy as np
import polars as pl

from stillroom.analysis.demand.sales_history import Calendar, History, sales_history
from store_frames import frame

MONDAY = date(2026, 6, 1)
WEEKDAYS = np.array([0.0, 0.7, 0.8, 0.9, 1.4, 1.7, 0.5])
"""Closed on Mondays."""
SHARES = np.array([12, 11, 10, 9, 8, 8, 7, 6, 6, 5, 3, 2.0])
NEVER = Calendar()


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
        ("bar", MONDAY + timedelta(days=day), f"Drink {place:02d}", 1, float(served), int(np.ceil(served)))
        for day in range(len(serves))
        for place, served in enumerate(serves[day])
        if serves[day].sum() > 0 and day >= (first_days or {}).get(place, 0)
    ]
    return frame("daily_serves", rows, "venue business_date spec version serves lines")


def specs(drinks: int, first_days: dict[int, int] | None = None) -> pl.DataFrame:
    rows = [
        (f"Drink {place:02d}", "drink", MONDAY + timedelta(days=(first_days or {}).get(place, 0)), None)
        for place in range(drinks)
    ]
    return frame("current_spec", rows, "spec kind in_service_from in_service_until")


def history_of(serves: np.ndarray, first_days: dict[int, int] | None = None, calendar: Calendar = NEVER) -> History:
    last = MONDAY + timedelta(days=len(serves) - 1)
    found = sales_history(as_frame(serves, first_days), specs(serves.shape[1], first_days), "bar", last, calendar)
    assert found is not None
    return found
