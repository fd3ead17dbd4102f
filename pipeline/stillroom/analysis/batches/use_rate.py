"""How fast something is used, and how much of it will be used in the days to come."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

import numpy as np
import polars as pl

from stillroom.analysis import negative_binomial
from stillroom.analysis.intervals import Interval, rate_interval

WINDOW: Final = 28
"""Days back that 'now' means: four of every weekday."""
LEAST_DISPERSION: Final = 0.01
"""Of the mean daily use: days that were all alike still vary by this much."""


@dataclass(frozen=True, kw_only=True)
class UseRate:
    """Use a day over some days, every day counted, closed ones too."""

    total: float
    days: int
    dispersion: float
    """Variance of a day's use over its mean, in the unit of use: the size of one 'piece' of use."""

    @property
    def per_day(self) -> float:
        """Mean use a day."""
        return self.total / self.days

    def interval(self, level: float = 0.95) -> Interval:
        """Interval for the mean use a day: Garwood's on the number of pieces."""
        return rate_interval(self.total, self.days, self.dispersion, level)

    def use_in(self, days: int, quantile: float) -> float:
        """The amount that is exceeded with chance 1 - `quantile` in the next `days` days."""
        if days <= 0:
            return 0.0
        return float(negative_binomial.quantile(quantile, *self._pieces(days))) * self.dispersion

    def _pieces(self, days: int) -> tuple[float, float]:
        """Predictive negative binomial of the number of pieces: Poisson days, gamma belief in the rate (Jeffreys)."""
        return self.total / self.dispersion + 0.5, self.days / (self.days + days)


def use_rate(amounts: Sequence[float]) -> UseRate | None:
    """Rate of use from one amount a day, zeros included; None when there is no day or nothing was used.

    >>> rate = use_rate([30, 0, 60, 30, 0, 60, 30])
    >>> rate.per_day, round(rate.dispersion)
    (30.0, 20)
    """
    used = np.asarray(amounts, dtype=float)
    total = float(used.sum())
    if len(used) < 1 or total <= 0:
        return None
    mean = total / len(used)
    spread = float(used.var(ddof=1)) / mean if len(used) > 1 else mean
    return UseRate(total=total, days=len(used), dispersion=max(spread, LEAST_DISPERSION * mean))


Rates = dict[tuple[str | None, str], UseRate]
"""(venue, preparation) -> rate of use; venue None for the whole house."""


def rates_of_use(preparation_use: pl.DataFrame, last_day: date, window: int = WINDOW) -> Rates:
    """Rate of use of each preparation, by venue and for the whole house, closed days counted.

    Looks at the `window` days up to `last_day`; a preparation first used within them has its own shorter span. Where
    nothing was used there is no entry.
    """
    whole = preparation_use.with_columns(pl.lit(None, dtype=pl.String).alias("venue"))
    both = pl.concat([preparation_use.filter(pl.col("venue").is_not_null()), whole])
    first = last_day - timedelta(days=window - 1)
    begun = both.filter(pl.col("amount") > 0).group_by("venue", "preparation").agg(pl.col("business_date").min())
    daily = (
        both.filter(pl.col("business_date").is_between(first, last_day))
        .group_by("venue", "preparation", "business_date")
        .agg(pl.col("amount").sum())
        .join(begun.rename({"business_date": "begun"}), on=["venue", "preparation"], nulls_equal=True)
        .sort("business_date")
    )
    rates: Rates = {}
    for (venue, preparation), rows in daily.group_by("venue", "preparation"):
        amounts = rows["amount"].to_list()
        days = (last_day - max(first, rows["begun"][0])).days + 1
        rate = use_rate(amounts + [0.0] * (days - len(amounts)))
        if rate is not None:
            rates[None if venue is None else str(venue), str(preparation)] = rate
    return rates
