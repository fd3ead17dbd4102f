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
    known = ~np.isnan(history.serves)
    serves = np.where(known, history.serves, 0.0)
    overall = serves.sum(axis=0) / np.maximum(known.sum(axis=0), 1)
    means = np.zeros(ahead.on_menu.shape)
    for weekday in {day.weekday() for day in ahead.days}:
        same = history.weekdays == weekday
        # Of each drink, its last open days: those with fewer than `most` still to come.
        to_come = known[same][::-1].cumsum(axis=0)[::-1]
        lately = known[same] & (to_come <= most)
        count = lately.sum(axis=0)
        mean = np.where(count > 0, (serves[same] * lately).sum(axis=0) / np.maximum(count, 1), overall)
        means[[day.weekday() == weekday for day in ahead.days]] = mean
    return np.where(ahead.on_menu, means, 0.0)
