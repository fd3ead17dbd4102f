"""Did the roll-out help? Houses that have a new version beside those that do not have it yet.

The figure is how many times as much was counted as expected without it (`untreated`), over the weeks after it came.
How far it may lie from the truth is told by permutation: the houses' dates are dealt to the houses anew, many times,
and the same is worked out for each deal (Fisher's randomisation test; Roth & Sant'Anna 2023, J. Polit. Econ. Microecon.
1:669, for staggered dates). It holds with a dozen houses and whatever counts, trends and seasons are like, as long as
which house was served when did not follow from how it was doing. Figures are over their standard errors before they
are compared, so that houses of unlike size do no harm. The interval holds the ratios that the test does not refuse.
"""

from __future__ import annotations

import zlib
from dataclasses import dataclass, replace
from math import lgamma, log
from typing import Final

import numpy as np
import numpy.typing as npt

from stillroom.analysis.houses.scatter import Floats
from stillroom.analysis.houses.untreated import Cells, expected, ratio

AFTER: Final = 8
"""Weeks after it came that are looked at; the week in which it came is passed over."""
BEFORE: Final = 12
"""Weeks before the first house was served that are looked at, at most."""
LEADS: Final = 4
"""Weeks before it came in which nothing should be seen."""
BLOCK: Final = 4
"""Weeks over which houses are taken to drift together."""
DEALS: Final = 999
FEWEST_DEALS: Final = 199
CELLS: Final = 20_000_000
"""Of all deals together; beyond it there are fewer."""
AT_ONCE: Final = 4_000_000
"""Cells of deals that are worked out together."""
LEAST_HOUSES: Final = 4
LEAST_DEALS: Final = 40
"""Ways to deal the dates, below which chance alone may look like anything."""
LEVEL: Final = 0.05
NEVER: Final = 1_000_000
"""The week in which a house is served that is not served at all."""


@dataclass(frozen=True, kw_only=True)
class Panel:
    """Counts of houses week by week."""

    counts: Floats
    """Houses x weeks."""
    exposure: Floats
    """What they are over, houses x weeks; nought where a house tells nothing of a week."""
    served: npt.NDArray[np.int64]
    """Place of the week in which each house got the new version; `NEVER` for one that did not."""

    @property
    def known(self) -> Cells:
        """The cells of which anything is known."""
        return np.asarray(self.exposure > 0)


@dataclass(frozen=True, kw_only=True)
class At:
    """The ratio at some weeks from the one in which it came."""

    first: int
    last: int
    ratio: float
    low: float
    high: float


@dataclass(frozen=True, kw_only=True)
class Rollout:
    """What a new version did."""

    ratio: float | None = None
    """Counted over expected, over the weeks after it came."""
    low: float | None = None
    high: float | None = None
    """95 % interval; None on a side that the houses cannot close."""
    p_value: float | None = None
    """That the dates dealt at random would show as much."""
    before: float | None = None
    before_p: float | None = None
    """The same of the weeks before it came."""
    course: tuple[At, ...] = ()
    served: int = 0
    """Houses that got it within the weeks looked at."""
    waiting: int = 0
    """Houses that had not got it by the last."""
    why_not: str = ""

    @property
    def verdict(self) -> str:
        """In words; of houses that were unlike before it came nothing is told."""
        if self.p_value is None or self.ratio is None or self.p_value > LEVEL or self.unlike_before:
            return "cannot tell"
        return "more" if self.ratio > 1 else "less"

    @property
    def unlike_before(self) -> bool:
        """Whether houses that got it were unlike the others in the weeks before already."""
        return self.before_p is not None and self.before_p <= LEVEL


def rollout(panel: Panel) -> Rollout:
    """What the new version did to counts, over the first eight weeks after it came to each house.

    Args:
        panel: houses that nothing is counted of before it came are left out. The deals are seeded from its counts.
    """
    panel = _narrowed(panel)
    base = Rollout(served=int((panel.served < NEVER).sum()), waiting=int((panel.served == NEVER).sum()))
    why_not = _too_little(panel)
    if why_not:
        return replace(base, why_not=why_not)
    dates = _dealt(panel, max(FEWEST_DEALS, min(DEALS, CELLS // panel.counts.size)))
    scores = _Scores(panel, dates)
    seen, error = scores.observed
    if not (np.isfinite(seen) and error > 0):
        return replace(base, why_not="no week has a house that has it beside two that still wait")
    low, high = scores.interval()
    before, before_p = _before(panel, dates)
    return replace(
        base,
        ratio=float(np.exp(seen)),
        low=None if low is None else float(np.exp(low)),
        high=None if high is None else float(np.exp(high)),
        p_value=scores.p_value(0.0),
        before=before,
        before_p=before_p,
        course=tuple(_course(panel, scores.critical)),
    )


def p_at(panel: Panel, log_ratio: float, deals: int) -> float:
    """p-value of one ratio, as its logarithm, by so many deals: what simulations ask many times over."""
    panel = _narrowed(panel)
    return _Scores(panel, _dealt(panel, deals)).p_value(log_ratio)


class _Scores:
    """The figure over its standard error, of the dates as they were and of every deal, at any supposed ratio."""

    def __init__(self, panel: Panel, dates: npt.NDArray[np.int64]) -> None:
        self._panel, self._dates = panel, dates
        self._at: dict[float, Floats] = {}
        (self._seen, self._error), self._at[0.0] = self._worked_out(0.0)

    @property
    def observed(self) -> tuple[float, float]:
        return self._seen, self._error

    @property
    def critical(self) -> float:
        """How many standard errors away the deals are in nineteen cases of twenty."""
        return float(np.quantile(np.abs(self._at[0.0]), 1 - LEVEL))

    def p_value(self, supposed: float) -> float:
        if supposed not in self._at:
            self._at[supposed] = self._worked_out(supposed)[1]
        return _p_value(self._at[supposed])

    def interval(self) -> tuple[float | None, float | None]:
        """The ratios that are not refused; scores of deals are taken as straight between three of them."""
        reach = max(self.critical, 1.0) * self._error
        for supposed in (self._seen - reach, self._seen + reach):
            self.p_value(supposed)
        known = np.array(sorted(self._at))
        scores = np.array([self._at[supposed] for supposed in known])
        ends: list[float | None] = []
        for side in (-1, 1):
            steps = self._seen + side * np.linspace(0, 4 * reach, 401)
            refused = (step for step in steps if _p_value(_between(step, known, scores)) <= LEVEL)
            ends.append(next(refused, None))
        low, high = ends
        return low, high

    def _worked_out(self, supposed: float) -> tuple[tuple[float, float], Floats]:
        without = _without(self._panel, supposed)
        found = _ratios(_weighed(without), self._panel, self._dates)
        with np.errstate(invalid="ignore", divide="ignore"):
            scores = found[0] / found[1]
        # A deal of which nothing can be told speaks against telling anything.
        scores[~np.isfinite(scores)] = np.inf
        return (float(found[0][0]), float(found[1][0])), scores


def _p_value(scores: Floats) -> float:
    """Of the first of the scores among all."""
    return float((np.abs(scores) >= abs(scores[0]) - 1e-9).mean())


def _between(at: float, known: Floats, scores: Floats) -> Floats:
    """Scores at a supposed ratio between, or beyond, those that were worked out."""
    place = int(np.clip(np.searchsorted(known, at), 1, len(known) - 1))
    part = (at - known[place - 1]) / (known[place] - known[place - 1])
    with np.errstate(invalid="ignore"):
        found = scores[place - 1] + part * (scores[place] - scores[place - 1])
    found[~np.isfinite(found)] = np.inf
    return np.asarray(found)


def _narrowed(panel: Panel) -> Panel:
    """The weeks around the roll-out, and the houses that sold in them before it came."""
    dates = panel.served[panel.served < NEVER]
    if not len(dates):
        return panel
    first, last = max(0, int(dates.min()) - BEFORE), min(panel.counts.shape[1], int(dates.max()) + AFTER + 1)
    served = np.where(panel.served < last, panel.served - first, NEVER)
    counts, exposure = panel.counts[:, first:last], panel.exposure[:, first:last]
    early = (np.arange(last - first) < served[:, None]) & (exposure > 0)
    kept = (early * counts).sum(axis=1) > 0
    return Panel(counts=np.maximum(counts[kept], 0.0), exposure=exposure[kept], served=served[kept])


def _too_little(panel: Panel) -> str:
    """Why nothing can be said; '' where something can."""
    houses = len(panel.served)
    if not houses:
        return "in no house was any of it sold or lost before it came, so that there is nothing to hold it against"
    if houses < LEAST_HOUSES:
        return f"{houses} houses to compare, at least {LEAST_HOUSES} needed"
    dates, many = np.unique(panel.served, return_counts=True)
    if len(dates) == 1:
        return "all houses got it in the same week, so that none waited to compare with"
    ways = lgamma(houses + 1) - sum(lgamma(one + 1) for one in many)
    if ways < log(LEAST_DEALS):
        return "too few houses got it while others waited to tell its effect from chance"
    return ""


def _dealt(panel: Panel, deals: int) -> npt.NDArray[np.int64]:
    """The dates as they were, and dealt anew: 1 + deals x houses."""
    # Sums of doubles differ in their last digits with their order.
    seed = zlib.crc32(np.round(panel.counts, 6).tobytes())
    dealt = np.random.default_rng(seed).permuted(np.tile(panel.served, (deals, 1)), axis=1)
    return np.vstack([panel.served, dealt])


def _without(panel: Panel, supposed: float) -> Panel:
    """The counts as they would be without an effect of that size; the week in which it came had half of it."""
    weeks = np.arange(panel.counts.shape[1])
    since = np.where(weeks > panel.served[:, None], 1.0, np.where(weeks == panel.served[:, None], 0.5, 0.0))
    return Panel(counts=panel.counts * np.exp(-supposed * since), exposure=panel.exposure, served=panel.served)


def _weighed(panel: Panel) -> Floats:
    """Counts, each house's drawn down by how little more a larger house tells.

    Beyond chance houses drift: a house's sum over some weeks has variance m + drift x m^2, and its weight is m over
    that. It rests on nothing but the counts, so that every deal is weighed alike.
    """
    known = panel.known
    fit = expected(panel.counts, panel.exposure, known[None])[0]
    weeks = fit.shape[1] // BLOCK * BLOCK
    shape = (len(fit), max(1, weeks // BLOCK), -1)
    kept = slice(0, weeks) if weeks else slice(None)
    off = (known * (panel.counts - fit))[:, kept].reshape(shape).sum(axis=2)
    mean = (known * fit)[:, kept].reshape(shape).sum(axis=2)
    drift = max(0.0, float((off**2 - mean).sum() / (mean**2).sum()))
    return np.asarray(panel.counts / (1 + drift * mean.mean(axis=1))[:, None])


def _ratios(counts: Floats, panel: Panel, dates: npt.NDArray[np.int64], early: int = 0) -> tuple[Floats, Floats]:
    """Logarithm of the ratio, and its standard error, for each row of dates.

    Args:
        early: weeks by which it is supposed to have come too early; only these weeks are looked at then.
    """
    houses, weeks = counts.shape
    step = max(1, AT_ONCE // (houses * weeks))
    found = [_of(counts, panel, dates[at : at + step], early) for at in range(0, len(dates), step)]
    return np.concatenate([log for log, _ in found]), np.concatenate([error for _, error in found])


def _of(counts: Floats, panel: Panel, dates: npt.NDArray[np.int64], early: int) -> tuple[Floats, Floats]:
    since = np.arange(counts.shape[1]) - dates[:, :, None]
    looked_at = (since >= -early) & (since < 0) if early else (since > 0) & (since <= AFTER)
    return ratio(counts, panel.exposure, (since < -early) & panel.known, looked_at & panel.known)


def _before(panel: Panel, dates: npt.NDArray[np.int64]) -> tuple[float | None, float | None]:
    """The ratio in the weeks before it came, and its p-value."""
    log_ratio, error = _ratios(_weighed(panel), panel, dates, LEADS)
    with np.errstate(invalid="ignore", divide="ignore"):
        scores = log_ratio / error
    if not np.isfinite(scores[0]):
        return None, None
    scores[~np.isfinite(scores)] = np.inf
    return float(np.exp(log_ratio[0])), _p_value(scores)


def _course(panel: Panel, critical: float) -> list[At]:
    """Two weeks at a time, from four weeks before it came to eight after."""
    counts = _weighed(panel)
    since = (np.arange(counts.shape[1]) - panel.served[:, None])[None]
    found = []
    for first in (*range(-LEADS, 0, 2), *range(1, AFTER, 2)):
        fitted_on = (since < min(first, -LEADS) if first < 0 else since < 0) & panel.known
        log_ratio, error = ratio(
            counts, panel.exposure, fitted_on, (since >= first) & (since < first + 2) & panel.known
        )
        if np.isfinite(log_ratio[0]) and error[0] > 0:
            middle, reach = float(log_ratio[0]), critical * float(error[0])
            low, high = float(np.exp(middle - reach)), float(np.exp(middle + reach))
            found.append(At(first=first, last=first + 1, ratio=float(np.exp(middle)), low=low, high=high))
    return found
