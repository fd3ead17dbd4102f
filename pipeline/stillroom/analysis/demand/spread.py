"""How far serves stray from what was expected beyond chance, measured on forecasts of weeks that have passed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, kw_only=True)
class Spread:
    """Squared coefficients of variation beyond Poisson."""

    house_day: float = 0.04
    house_week: float = 0.01
    drink_day: float = 0.04
    drink_week: float = 0.04

    @property
    def day(self) -> float:
        """Of one drink on one day."""
        parts = (self.house_day, self.house_week, self.drink_day, self.drink_week)
        return float(np.prod([1 + part for part in parts]) - 1)


def measured_spread(weeks: Sequence[tuple[np.ndarray, np.ndarray]]) -> Spread | None:
    """Variation beyond Poisson; None with fewer than two weeks.

    Args:
        weeks: serves (days by drinks, NaN where not on the menu) and what had been forecast.
    """
    if len(weeks) < 2:
        return None
    totals = [(np.nansum(y, axis=1)[:, None], np.where(np.isnan(y), 0, m).sum(axis=1)[:, None]) for y, m in weeks]
    drinks = [(y, np.where(np.isnan(y), 0, m)) for y, m in weeks]
    house_day, house_week = _day_and_week(totals)
    all_day, all_week = _day_and_week(drinks)
    return Spread(
        house_day=house_day,
        house_week=house_week,
        drink_day=max(0.0, (1 + all_day) / (1 + house_day) - 1),
        drink_week=max(0.0, (1 + all_week) / (1 + house_week) - 1),
    )


def _day_and_week(weeks: Sequence[tuple[np.ndarray, np.ndarray]]) -> tuple[float, float]:
    """Variation beyond Poisson that is new each day, and that stays for the week, from forecasts of weeks.

    By method of moments: of a week's sum, the daily part averages out and the lasting part does not.
    """
    errors, squares, week_errors, week_squares = 0.0, 0.0, 0.0, 0.0
    for serves, mean in weeks:
        known = ~np.isnan(serves)
        y, m = np.where(known, serves, 0.0), np.where(known, mean, 0.0)
        errors += float(((y - m) ** 2 - m).sum())
        squares += float((m**2).sum())
        week_errors += float(((y.sum(axis=0) - m.sum(axis=0)) ** 2 - m.sum(axis=0)).sum())
        week_squares += float((m.sum(axis=0) ** 2).sum())
    if squares <= 0 or week_squares <= 0:
        return 0.0, 0.0
    of_day, of_week = max(0.0, errors / squares), max(0.0, week_errors / week_squares)
    averaged = squares / week_squares
    lasting = min(of_day, max(0.0, (of_week - averaged * of_day) / (1 - averaged))) if averaged < 1 else of_week
    return max(0.0, (1 + of_day) / (1 + lasting) - 1), lasting
