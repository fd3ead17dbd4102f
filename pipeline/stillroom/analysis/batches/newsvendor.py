"""How much to have of something that is worth less tomorrow: the newsvendor's optimum and what it leads to."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np


class Distribution(Protocol):
    """A frozen SciPy distribution of demand."""

    def cdf(self, x: Any) -> Any:
        """Probability of at most x."""

    def ppf(self, q: Any) -> Any:
        """Smallest x of which at least q lies at or below."""

    def mean(self) -> Any:
        """Expected demand."""


def critical_ratio(short: float, over: float) -> float:
    """Chance with which the optimum covers demand: short / (short + over), at least 0.

    Source: Arrow, Harris & Marschak 1951, as in Nahmias, Production and Operations Analysis, ch. 5.

    Args:
        short: what one unit too few costs; 0 or below means that nothing is worth having.
        over: what one unit too many costs.

    Raises:
        ValueError: `over` is not above 0: then no amount is ever too much.

    >>> critical_ratio(0.5, 0.15)
    0.7692307692307692
    """
    if over <= 0:
        raise ValueError(f"a unit too many must cost something, not {over}")
    return max(0.0, short) / (max(0.0, short) + over)


def best_quantity(demand: Distribution, short: float, over: float) -> float:
    """The quantity that costs least in one period: the demand's quantile at the critical ratio, 0 when that is 0."""
    ratio = critical_ratio(short, over)
    return max(0.0, float(demand.ppf(ratio))) if ratio > 0 else 0.0


@dataclass(frozen=True, kw_only=True)
class Stocking:
    """What to expect of a quantity; sales + lost = demand, sales + leftover = quantity."""

    quantity: float
    sales: float
    lost: float
    leftover: float
    in_stock: float
    """Chance that demand is covered whole."""

    @property
    def fill_rate(self) -> float:
        """Share of the demand that is served; 1 where there is none."""
        return self.sales / (self.sales + self.lost) if self.sales + self.lost > 0 else 1.0


def stocking(demand: Distribution, quantity: float, *, whole_numbers: bool) -> Stocking:
    """Expected sales, lost sales and leftover of a quantity.

    The expected leftover is the sum (or the integral) of the distribution function below the quantity.

    Args:
        demand: its distribution; what lies below 0 counts as demand too (a normal distribution has such a part).
        whole_numbers: demand comes in whole numbers, and so does the quantity.
    """
    if whole_numbers:
        leftover = float(np.sum(demand.cdf(np.arange(int(quantity)))))
    else:
        from scipy.integrate import quad

        lowest = float(demand.ppf(1e-12))
        leftover = float(quad(demand.cdf, min(lowest, quantity), quantity)[0])
    sales = quantity - leftover
    return Stocking(
        quantity=quantity,
        sales=sales,
        lost=float(demand.mean()) - sales,
        leftover=leftover,
        in_stock=float(demand.cdf(quantity)),
    )
