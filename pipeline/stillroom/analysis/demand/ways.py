"""Ways to forecast: the pooled model, and two plain ones to hold it against.

A day's expected serves of a drink are the house's level, times the weekday, times the event if there is one, times the
size of the menu, times the drink's share of what is on it. Level and shares are averages that forget (exponential
discounting), so they follow a slow trend. Shares are drawn towards the average drink by a gamma prior whose strength is
found from how unlike the drinks are, so that a drink with two weeks of sales, or none, still gets a sane answer
(empirical Bayes; Efron & Morris 1977).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np

from stillroom.analysis.demand.sales_history import Ahead, History

WEEK: Final = 7
WEEKDAY_PRIOR: Final = 30.0
"""Serves that a drink's own weekday pattern starts from on the house's pattern."""
ADDED: Final = 0.5
"""How the trade grows with the menu, as a power: 0 = a new drink takes all its serves from the others, 1 = all come on
top. A few days cannot tell which, so the middle is taken: an assumption that is at most half wrong."""
ROUNDS: Final = 10
"""Repetitions after which shares no longer move to speak of."""

Means = Callable[[History, Ahead], np.ndarray]
"""A way to forecast: history and days ahead -> expected serves, days by drinks (0 where not on the menu)."""


def pooled_means(level_half_life: float, share_half_life: float) -> Means:
    """The model of this module with these half-lives."""

    def means(history: History, ahead: Ahead) -> np.ndarray:
        return _pooled(history, ahead, level_half_life, share_half_life)

    return means


def same_weekday_last_week(history: History, ahead: Ahead) -> np.ndarray:
    """Each drink's serves on the last open day of the same weekday."""
    return _recent(history, ahead, most=1)


def mean_of_last_four(history: History, ahead: Ahead) -> np.ndarray:
    """Mean of each drink's serves on the last four open days of the same weekday."""
    return _recent(history, ahead, most=4)


def _pooled(history: History, ahead: Ahead, level_half_life: float, share_half_life: float) -> np.ndarray:
    totals = history.totals
    is_open = ~np.isnan(totals)
    if not is_open.any():
        return np.zeros(ahead.on_menu.shape)
    age = history.days - 1 - np.arange(history.days)
    shares = _shares(history, 0.5 ** (age / share_half_life), totals)
    menu = (~np.isnan(history.serves) @ shares) ** ADDED
    plain = is_open & np.array([event is None for event in history.events])
    plain = plain if plain.any() else is_open
    weekday = _weekday_factors(history, plain)
    usual = weekday[history.weekdays] * menu
    fresh = 0.5 ** (age / level_half_life)
    ratio = totals[plain] / usual[plain]
    level = float((fresh[plain] * ratio).sum() / fresh[plain].sum())
    # A mean of ratios is too low where a weekday sold next to nothing: the fitted serves must add up to the true ones.
    level *= float(totals[plain].sum() / (usual[plain].sum() * ratio.mean())) if ratio.any() else 1.0
    expected = np.where(is_open, level * usual, 0.0)
    events = _event_factors(history, expected)
    pattern = _own_pattern(history, totals, shares)
    factors = np.array([weekday[day.weekday()] for day in ahead.days])
    factors *= np.array([1.0 if event is None else events.get(event, 1.0) for event in ahead.events])
    factors *= (ahead.on_menu @ shares) ** ADDED
    wanted = ahead.on_menu * shares * np.array([pattern[day.weekday()] for day in ahead.days])
    whole = wanted.sum(axis=1, keepdims=True)
    parts: np.ndarray = np.divide(wanted, whole, out=np.zeros_like(wanted), where=whole > 0)
    return np.asarray(level * factors[:, None] * parts)


def _weekday_factors(history: History, plain: np.ndarray) -> np.ndarray:
    """Each weekday's trade over the mean day's, one mean day's worth of prior on each."""
    totals, weekdays = history.totals, history.weekdays
    mean = float(totals[plain].mean())
    sums = np.array([totals[plain & (weekdays == number)].sum() for number in range(WEEK)])
    counts = np.array([(plain & (weekdays == number)).sum() for number in range(WEEK)])
    return np.asarray(np.maximum((sums + mean) / ((counts + 1) * mean), 1e-3)) if mean > 0 else np.ones(WEEK)


def _event_factors(history: History, expected: np.ndarray) -> dict[str, float]:
    """For each event seen: its days' trade over what the days would have had; one usual day of prior."""
    factors = {}
    for name in {event for event in history.events if event is not None}:
        on = np.array([event == name for event in history.events]) & (expected > 0)
        if on.any():
            usual = float(expected[on].mean())
            factors[name] = float((np.nansum(history.totals[on]) + usual) / (expected[on].sum() + usual))
    return factors


def _shares(history: History, fresh: np.ndarray, totals: np.ndarray) -> np.ndarray:
    """How each drink sells beside the others, as a share of a menu that holds them all, drawn towards the average.

    A day's serves are split among the drinks on its menu alone, so a drink that came later is measured beside those
    that were there by then (shares of choice: Luce 1959; found by repetition: Hunter 2004).
    """
    on_menu = ~np.isnan(history.serves)
    served = fresh * np.where(np.isnan(totals), 0.0, totals)
    sold = (fresh[:, None] * np.where(on_menu, history.serves, 0.0)).sum(axis=0)
    shares = np.full(len(sold), 1 / max(1, len(sold)))
    for _ in range(ROUNDS):
        there = on_menu @ shares
        of = np.divide(served, there, out=np.zeros_like(served), where=there > 0) @ on_menu
        shares = _drawn_together(sold, of)
        shares /= shares.sum()
    return shares


def _drawn_together(sold: np.ndarray, of: np.ndarray) -> np.ndarray:
    """Serves sold over serves there were to win, drawn towards the mean of all drinks."""
    mean = 1 / len(sold)
    crude = np.divide(sold, of, out=np.full(len(sold), mean), where=of > 0)
    noise = np.divide(mean, of, out=np.zeros(len(sold)), where=of > 0)
    known = of > 0
    between = float(((crude - mean) ** 2 - noise)[known].mean()) if known.any() else 0.0
    # Gamma prior of mean `mean` and variance `between`, as serves seen beforehand; at least a tenth of the mean apart.
    strength = mean / max(between, (0.1 * mean) ** 2)
    return np.asarray((sold + strength * mean) / (of + strength))


def _own_pattern(history: History, totals: np.ndarray, shares: np.ndarray) -> np.ndarray:
    """Weekdays by drinks: how much more of its share a drink sells on a weekday, drawn towards 1."""
    on_menu = ~np.isnan(history.serves)
    there = on_menu @ shares
    each = np.divide(totals, there, out=np.zeros_like(there), where=~np.isnan(totals) & (there > 0))
    expected = on_menu * each[:, None] * shares
    serves = np.where(on_menu, history.serves, 0.0)
    pattern = np.ones((WEEK, len(shares)))
    for number in range(WEEK):
        on = history.weekdays == number
        pattern[number] = (serves[on].sum(axis=0) + WEEKDAY_PRIOR) / (expected[on].sum(axis=0) + WEEKDAY_PRIOR)
    return pattern


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
