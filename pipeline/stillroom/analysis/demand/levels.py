"""How the house's trade and each drink's share of it stood after every day, remembered for longer and for shorter.

A day's expected serves of a drink are the house's level, times the weekday, times the event if there is one, times the
size of the menu, times the drink's share of what is on it. Level and shares are averages that forget (exponential
smoothing by discounted sums; West & Harrison, Bayesian Forecasting and Dynamic Models, 1997, ch. 6, from memory), each
kept at several half-lives at once: which of them fits is decided elsewhere. House and share forget apart from each
other, so a lift of the whole house and one of a single drink are both followed. Two half-lives of which one is slower
give a trend, too: the younger average has moved on from the older. Shares are drawn towards the average drink by a
gamma prior whose strength is found from how unlike the drinks are, so that a drink with two weeks of sales, or none,
still gets a sane answer (empirical Bayes; Efron & Morris 1977).

Everything at place `n` is known from the first `n` days alone, so one pass serves every origin of the past.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from stillroom.analysis.demand.sales_history import History

WEEK: Final = 7
HALF_LIVES: Final = (4.0, 8.0, 16.0, 32.0, 80.0, 1000.0)
"""Days, open or not, after which a day counts half."""
TRENDS: Final = ((1, 2), (2, 3), (3, 4))
"""Pairs of half-lives, the younger first, whose difference is taken for a trend."""
MIDDLE: Final = 3
"""The half-life that weekdays and events are measured against."""
ADDED: Final = 0.5
"""How the trade grows with the menu, as a power: 0 = a new drink takes all its serves from the others, 1 = all come on
top. A few days cannot tell which, so the middle is taken: an assumption that is at most half wrong."""
START: Final = 28
"""Days from which the first weekday factors are taken, at most."""
WEEKDAY_PRIOR: Final = 30.0
"""Serves that a drink's own weekday pattern starts from on the house's pattern."""
WEEKDAY_HALF_LIFE: Final = 180.0
USUAL_SLOPE: Final = 0.02
"""Standard deviation of trends a day, in logarithms: 15 % a week, a judgement, no source."""
LUCK: Final = 1.5
"""Variance of counts over their mean that a slope is held against."""
DAMPING: Final = 0.96
"""What is left of a trend after each day ahead (damped trend; Gardner & McKenzie 1985)."""


@dataclass(frozen=True, kw_only=True)
class Levels:
    """The state after 0, 1, ... all days of a history."""

    house: np.ndarray
    """Days + 1 by ways: serves of a mean day with a menu of size 1."""
    house_slope: np.ndarray
    """Its change a day, in logarithms; 0 for ways without a trend."""
    share: np.ndarray
    """Days + 1 by ways by drinks: shares of a menu that holds all drinks."""
    share_slope: np.ndarray
    weekday: np.ndarray
    """Days + 1 by weekdays: trade over the mean day's."""
    own: np.ndarray
    """Days + 1 by weekdays by drinks: how much more of its share a drink sells on a weekday."""
    events: dict[str, np.ndarray]
    """For each event, days + 1: its trade over what its day would have had."""

    def factor(self, place: int, weekday: int, event: str | None) -> float:
        """Trade of a day over the mean day's, as known at a place."""
        known = self.events.get(event) if event is not None else None
        return float(self.weekday[place, weekday] * (1.0 if known is None else known[place]))


def damped(days: np.ndarray | float) -> np.ndarray:
    """How many days' worth of trend lie between now and so many days ahead."""
    return np.asarray(DAMPING * (1 - DAMPING ** np.asarray(days, dtype=float)) / (1 - DAMPING))


def levels(history: History) -> Levels:
    """One pass through a history."""
    return _Pass(history).run()


class _Pass:
    """The sums that are carried from day to day."""

    def __init__(self, history: History) -> None:
        self.history = history
        days, drinks = history.serves.shape
        count = len(HALF_LIVES)
        self.kept = 0.5 ** (1 / np.array(HALF_LIVES))
        self.sold, self.of, self.age = np.zeros(count), np.zeros(count), np.zeros(count)
        self.drink_sold, self.drink_of, self.drink_age = (np.zeros((count, drinks)) for _ in range(3))
        self.shares = np.full((count, drinks), 1 / max(1, drinks))
        self.weekday_sold, self.weekday_of = self._first_weekdays()
        self.own_sold, self.own_of = (np.full((WEEK, drinks), WEEKDAY_PRIOR) for _ in range(2))
        self.event_sums = {name: [1.0, 1.0] for name in {one for one in history.events if one is not None}}
        self.house = np.ones((days + 1, count))
        self.share = np.ones((days + 1, count, drinks)) / max(1, drinks)
        self.ages, self.drink_ages = np.zeros((days + 1, count)), np.zeros((days + 1, count, drinks))
        self.serves, self.drink_serves = np.zeros_like(self.ages), np.zeros_like(self.drink_ages)
        self.weekday, self.own = np.ones((days + 1, WEEK)), np.ones((days + 1, WEEK, drinks))
        self.events = {name: np.ones(days + 1) for name in self.event_sums}

    def run(self) -> Levels:
        totals = self.history.totals
        self._keep(0)
        for day in range(self.history.days):
            if not np.isnan(totals[day]):
                self._learn(day, totals[day])
            self._forget()
            self._keep(day + 1)
        house, house_slope = _with_trends(self.house, self.ages, self.serves)
        share, share_slope = _with_trends(self.share, self.drink_ages, self.drink_serves)
        return Levels(
            house=house,
            house_slope=house_slope,
            share=share,
            share_slope=share_slope,
            weekday=self.weekday,
            own=self.own,
            events=self.events,
        )

    def _first_weekdays(self) -> tuple[np.ndarray, np.ndarray]:
        """Each weekday's trade over the mean day's in the first weeks, with the days there were."""
        history = self.history
        totals, weekdays = history.totals[:START], history.weekdays[:START]
        plain = ~np.isnan(totals) & np.array([event is None for event in history.events[:START]], dtype=bool)
        mean = float(totals[plain].mean()) if plain.any() else 0.0
        if mean <= 0:
            return np.ones(WEEK), np.ones(WEEK)
        prior = _weekday_prior(mean)
        sums = np.array([totals[plain & (weekdays == number)].sum() for number in range(WEEK)]) / mean
        counts = np.array([(plain & (weekdays == number)).sum() for number in range(WEEK)])
        return sums + prior, counts + prior

    def _learn(self, day: int, total: float) -> None:
        history = self.history
        number, event = int(history.weekdays[day]), history.events[day]
        there = ~np.isnan(history.serves[day])
        serves = np.where(there, history.serves[day], 0.0)
        own = self.own_sold[number] / self.own_of[number]
        wanted = self.shares * own * there
        all_wanted = wanted.sum(axis=1)
        menu = self.shares[MIDDLE][there].sum() ** ADDED
        factor = float(self.weekday_sold[number] / self.weekday_of[number]) * menu
        level = self.sold[MIDDLE] / self.of[MIDDLE] if self.of[MIDDLE] > 0 else 0.0
        if event is not None:
            sums = self.event_sums[event]
            ratio = sums[0] / sums[1]
            if level > 0:
                sums[0] += total / (level * factor)
                sums[1] += 1.0
            factor *= ratio
        elif day >= START and level > 0:
            self.weekday_sold[number] += total / (level * menu)
            self.weekday_of[number] += 1.0
        if event is None or level > 0:
            self.sold += total
            self.of += factor
        if total > 0:
            self.own_sold[number] += serves
            self.own_of[number] += total * wanted[MIDDLE] / all_wanted[MIDDLE]
            self.drink_sold += serves
            self.drink_of += (total / all_wanted)[:, None] * own * there
            self.shares = _drawn_together(self.drink_sold, self.drink_of)

    def _forget(self) -> None:
        kept = self.kept[:, None]
        self.age = self.kept * (self.age + self.of)
        self.drink_age = kept * (self.drink_age + self.drink_of)
        self.sold, self.of = self.kept * self.sold, self.kept * self.of
        self.drink_sold, self.drink_of = kept * self.drink_sold, kept * self.drink_of
        slow = 0.5 ** (1 / WEEKDAY_HALF_LIFE)
        self.own_sold = slow * self.own_sold + (1 - slow) * WEEKDAY_PRIOR
        self.own_of = slow * self.own_of + (1 - slow) * WEEKDAY_PRIOR

    def _keep(self, place: int) -> None:
        self.house[place] = np.divide(self.sold, self.of, out=np.zeros_like(self.sold), where=self.of > 0)
        self.share[place] = self.shares
        self.serves[place], self.drink_serves[place] = self.sold, self.drink_sold
        self.ages[place] = np.divide(self.age, self.of, out=np.zeros_like(self.age), where=self.of > 0)
        self.drink_ages[place] = np.divide(
            self.drink_age, self.drink_of, out=np.zeros_like(self.drink_age), where=self.drink_of > 0
        )
        self.weekday[place] = self.weekday_sold / self.weekday_of
        self.own[place] = self.own_sold / self.own_of
        for name, sums in self.event_sums.items():
            self.events[name][place] = sums[0] / sums[1]


def _weekday_prior(mean: float) -> float:
    """Mean days that a weekday starts from: many where so little is sold that a day says nothing of its weekday."""
    return 0.5 + 10.0 / mean


def _drawn_together(sold: np.ndarray, of: np.ndarray) -> np.ndarray:
    """Half-lives by drinks: serves sold over serves there were to win, drawn towards the mean of all drinks."""
    mean = 1 / sold.shape[1]
    known = of > 0
    crude = np.divide(sold, of, out=np.full(sold.shape, mean), where=known)
    noise = np.divide(mean, of, out=np.zeros(sold.shape), where=known)
    between = (((crude - mean) ** 2 - noise) * known).sum(axis=1) / np.maximum(known.sum(axis=1), 1)
    # Gamma prior of mean `mean` and variance `between`, as serves seen beforehand; at least a tenth of the mean apart.
    strength = (mean / np.maximum(between, (0.1 * mean) ** 2))[:, None]
    shares = (sold + strength * mean) / (of + strength)
    return np.asarray(shares / shares.sum(axis=1, keepdims=True))


def _with_trends(kept: np.ndarray, ages: np.ndarray, serves: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Levels as they are, then those of `TRENDS` carried on to now, with their slopes.

    A slope is drawn towards none by a normal prior (`USUAL_SLOPE`): the fewer serves both averages rest on, the more.
    """
    logs = np.log(np.maximum(kept, 1e-9))
    found, slopes = [kept], [np.zeros_like(kept)]
    for young, old in TRENDS:
        apart = np.maximum(ages[:, old] - ages[:, young], 1.0)
        noise = LUCK * (1 / np.maximum(serves[:, young], 1e-9) + 1 / np.maximum(serves[:, old], 1e-9)) / apart**2
        slope = (logs[:, young] - logs[:, old]) / apart * USUAL_SLOPE**2 / (USUAL_SLOPE**2 + noise)
        found.append(np.exp(logs[:, young] + slope * np.minimum(ages[:, young], 14.0))[:, None])
        slopes.append(slope[:, None])
    return np.concatenate(found, axis=1), np.concatenate(slopes, axis=1)
