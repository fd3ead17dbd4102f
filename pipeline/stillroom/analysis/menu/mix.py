"""Which items sell well and which earn well: the popularity and contribution rules of published menu analysis.

Source: Kasavana & Smith 1982 as printed in Dittmer & Keefe, Principles of Food, Beverage and Labor Cost Controls,
9th ed., ch. 11. An item sells well when its share of units sold reaches 70 % of an equal share; it earns well when
its contribution reaches the average contribution of a unit sold, weighted by units. The book leaves equality open:
here an item exactly on the mark has reached it, and the comparison is exact, so that no rounding decides it.

Contribution here is price less the cost of what is in the glass: no labour, no rent. Items are to be of one kind
(drinks with drinks). An item on the menu for part of the time is compared by what it sold per day on the menu.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Final

import polars as pl

EQUAL_SHARE_PART: Final = Fraction(7, 10)
"""The part of an equal share that counts as selling well: the 70 % rule."""

PLACES: Final = 9
"""Decimals that are read; what is behind them comes of reckoning in doubles."""

WELL: Final = "well"
LITTLE: Final = "little"
NEAR_MARK: Final = "near the mark"


def place_words(sells: str, earns: str | None) -> str:
    """Both axes in plain words; `earns` is None where the contribution is not known.

    >>> place_words(WELL, NEAR_MARK)
    'sells well, earns near the mark'
    """
    return f"sells {sells}, " + ("contribution not known" if earns is None else f"earns {earns}")


def menu_mix(items: pl.DataFrame) -> pl.DataFrame:
    """Classify items by popularity and contribution.

    Args:
        items: one row an item: `item`, `sold` (units, >= 0), `days` (on the menu, > 0), `contribution` (of one
            unit, null where not known).

    Returns:
        The rows with `share` (of all units sold), `daily_share` (of units sold per day on the menu; the same when
        all were on it equally long), `share_mark`, `sells_well`, `earns_well` (null where contribution is), `does`
        (both in plain words), `total_contribution`. Shares are null when nothing was sold.
    """
    sold = [_exact(value) for value in items["sold"]]
    days = [_exact(value) for value in items["days"]]
    contribution = [None if value is None else _exact(value) for value in items["contribution"]]
    total = sum(sold, Fraction(0))
    rates = [units / span for units, span in zip(sold, days, strict=True)]
    all_rates = sum(rates, Fraction(0))
    average = average_contribution(items)
    mark = EQUAL_SHARE_PART / len(sold) if sold else Fraction(0)
    sells = [rate > 0 and rate >= mark * all_rates for rate in rates]
    earns = [None if one is None or average is None else one >= average for one in contribution]
    return items.with_columns(
        pl.Series("share", [_part(units, total) for units in sold], pl.Float64),
        pl.Series("daily_share", [_part(rate, all_rates) for rate in rates], pl.Float64),
        pl.lit(float(mark)).alias("share_mark"),
        pl.Series("sells_well", sells, pl.Boolean),
        pl.Series("earns_well", earns, pl.Boolean),
        pl.Series("does", [_words(*both) for both in zip(sells, earns, strict=True)], pl.String),
        (pl.col("contribution") * pl.col("sold")).alias("total_contribution"),
    )


def average_contribution(items: pl.DataFrame) -> Fraction | None:
    """Contribution of the average unit sold, over the items whose contribution is known; None when there is none.

    >>> rows = pl.DataFrame({"sold": [3.0, 1.0], "contribution": [10.0, 6.0]})
    >>> average_contribution(rows)
    Fraction(9, 1)
    """
    known = [(_exact(units), _exact(one)) for units, one in items.select("sold", "contribution").drop_nulls().rows()]
    units = sum((sold for sold, _ in known), Fraction(0))
    return sum((sold * one for sold, one in known), Fraction(0)) / units if units else None


def _words(sells: bool, earns: bool | None) -> str:
    return place_words(WELL if sells else LITTLE, None if earns is None else WELL if earns else LITTLE)


def _exact(value: float) -> Fraction:
    """The decimal number a person would read, not its binary neighbour: 0.1 is one tenth, and so is 12.1 - 12."""
    return Fraction(Decimal(repr(round(float(value), PLACES))))


def _part(value: Fraction, whole: Fraction) -> float | None:
    return float(value / whole) if whole else None
