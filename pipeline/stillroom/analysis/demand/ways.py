"""Plain ways to forecast, to hold the pooled model against."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from stillroom.analysis.demand.sales_history import Ahead, History

Means = Callable[[History, Ahead], np.ndarray]
"""A way to forecast: history and days ahead -> expected serves, days by drinks (0 where not on the menu)."""


def same_weekday_last_week(history: History, ahead: Ahead) -> np.ndarray:
    """Each drink's serves on the last open day of the same weekday."""
    return _recent(history, ahead, most=1)


def mean_of_last_four(history: History, ahead: Ahead) -> np.ndarray:
    """Mean of each drink's serves on the last four open days of the same weekday."""
    return _recent(history, ahead, most=4)


def _recent(history: History, ahead: Ahead, most: int) -> np.ndarray:
    means = np.zeros(ahead.on_menu.shape)
    overall = np.nan_to_num(np.array([_mean(column) for column in history.serves.T]))
    for number, day in enumerate(ahead.days):
        same = history.serves[history.weekdays == day.weekday()]
        for place in range(len(history.drinks)):
            known = same[:, place][~np.isnan(same[:, place])][-most:]
            means[number, place] = known.mean() if len(known) else overall[place]
    return np.where(ahead.on_menu, means, 0.0)


def _mean(column: np.ndarray) -> float:
    known = column[~np.isnan(column)]
    return float(known.mean()) if len(known) else float("nan")
