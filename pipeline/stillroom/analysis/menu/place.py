"""A drink's place on the menu map, and how far chance alone could have moved it on either axis.

Popularity is a share of choice: on each day the guests chose among the drinks on the menu, so a drink is measured
beside those that were there on its own days (Luce 1959), whatever the weekday and the season (found by repetition;
Hunter 2004, Annals of Statistics 32:384). A drink that was there all the time has its plain share of what was sold. Its
interval is Jeffreys' for a share (Brown, Cai & DasGupta 2001), of as many serves as its own days hold, less what they
vary beyond chance (overdispersion by Pearson's chi-squared, each drink's own drawn towards that of all).

Contribution varies with what the till took and with the prices and builds there were; the average it is held against
varies with what was ordered.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import polars as pl

NEAR: Final = 0.05
"""A drink this close to a mark, as a part of it, is near it however much was sold: a slip of the pour or of a price
moves it as much. A judgement, no source."""
LEVEL: Final = 0.95
NORMAL: Final = 1.959964
"""How many standard errors hold `LEVEL`."""
ROUNDS: Final = 50
OWN_DAYS: Final = 14.0
"""Days after which a drink's own variation counts as much as that of all drinks."""
LEAST_WEEKS: Final = 4


@dataclass(frozen=True, kw_only=True)
class Choices:
    """What was chosen among what was there: one row an open day of a venue."""

    drinks: tuple[str, ...]
    weeks: np.ndarray
    """For each row, the number of its week."""
    serves: np.ndarray
    """Rows by drinks, never below 0."""
    there: np.ndarray
    """Rows by drinks: whether the drink was on the menu."""


def choices(spans: pl.DataFrame, daily: pl.DataFrame) -> Choices:
    """The choices of a period.

    Args:
        spans: spec, first_day, last_day.
        daily: venue, business_date, spec, serves, within the period. A drink is on the menu of the venues that sold
            it; one that no venue sold, of all.
    """
    drinks = tuple(spans["spec"])
    sold = (
        daily.group_by("venue", "business_date", "spec")
        .agg(pl.col("serves").sum().clip(0))
        .filter(pl.col("serves") > 0)
        .sort("business_date", "venue")
    )
    rows = sold.select("venue", "business_date").unique(maintain_order=True).with_row_index("row")
    placed = sold.join(rows, on=["venue", "business_date"], nulls_equal=True)
    column = {name: place for place, name in enumerate(drinks)}
    serves = np.zeros((rows.height, len(drinks)))
    known = placed.filter(pl.col("spec").is_in(drinks))
    serves[known["row"].to_numpy(), [column[name] for name in known["spec"]]] = known["serves"].to_numpy()
    venues = {venue: number for number, venue in enumerate(rows["venue"].unique(maintain_order=True))}
    venue = np.array([venues[name] for name in rows["venue"]], dtype=int)
    sells = np.zeros((len(venues), len(drinks)), dtype=bool)
    for number in venues.values():
        sells[number] = serves[venue == number].any(axis=0) | ~serves.any(axis=0)
    days = rows["business_date"].to_numpy()
    begin, end = spans["first_day"].to_numpy(), spans["last_day"].to_numpy()
    there = (begin <= days[:, None]) & (days[:, None] <= end) & sells[venue]
    weeks = rows["business_date"].dt.truncate("1w").to_numpy().astype("datetime64[D]").astype(int) // 7
    return Choices(drinks=drinks, weeks=weeks, serves=serves, there=there)


def shares_of_choice(found: Choices) -> tuple[np.ndarray, np.ndarray]:
    """Each drink's share of a menu that holds them all, and its exposure: what it would have sold as the only drink.

    Serves over exposure are in proportion to the shares; drinks that were there on the same days have the same
    exposure.
    """
    drinks = len(found.drinks)
    if not drinks or not len(found.serves):
        return np.zeros(drinks), np.zeros(drinks)
    total, sold = found.serves.sum(axis=1), found.serves.sum(axis=0)
    shares, exposure = np.full(drinks, 1 / drinks), np.zeros(drinks)
    for _ in range(ROUNDS):
        beside = found.there @ shares
        each = np.divide(total, beside, out=np.zeros_like(total), where=beside > 0)
        exposure = each @ found.there
        shares = np.divide(sold, exposure, out=np.zeros(drinks), where=exposure > 0)
        shares = shares / shares.sum() if shares.sum() > 0 else np.full(drinks, 1 / drinks)
    return shares, exposure


def dispersion(found: Choices, shares: np.ndarray) -> np.ndarray:
    """For each drink, the variance of a day's serves over what chance gives, never below 1.

    What lasts for weeks counts too: where weeks vary more than their days explain, by that much more.
    """
    total = found.serves.sum(axis=1)[:, None]
    beside = (found.there @ shares)[:, None]
    chance = np.where(found.there, np.divide(shares, beside, out=np.zeros_like(found.serves), where=beside > 0), 0.0)
    variance = total * chance * (1 - chance)
    known = variance > 0
    error = np.where(known, found.serves - total * chance, 0.0)
    squares = np.divide(error**2, variance, out=np.zeros_like(error), where=known)
    days = known.sum(axis=0)
    left = max(days.sum() - len(shares), 1)
    pooled = max(1.0, float(squares.sum()) / left)
    own = (squares.sum(axis=0) + OWN_DAYS * pooled) / (np.maximum(days - 1, 0) + OWN_DAYS)
    return np.asarray(np.maximum(own, 1.0) * _lasting(found.weeks, error, variance, pooled))


def _lasting(weeks: np.ndarray, error: np.ndarray, variance: np.ndarray, pooled: float) -> float:
    """How many times more weeks vary than their days explain, in the middle drink; 1 where weeks are too few."""
    numbers, place = np.unique(weeks, return_inverse=True)
    if len(numbers) < LEAST_WEEKS:
        return 1.0
    errors, variances = (np.zeros((len(numbers), error.shape[1])) for _ in range(2))
    np.add.at(errors, place, error)
    np.add.at(variances, place, variance)
    known = variances > 0
    squares = np.divide(errors**2, variances, out=np.zeros_like(errors), where=known).sum(axis=0)
    enough = known.sum(axis=0) >= LEAST_WEEKS
    if not enough.any():
        return 1.0
    degrees = known.sum(axis=0)[enough] - 1
    # The middle of a chi-squared over its degrees of freedom lies below 1 (Wilson & Hilferty 1931).
    middle = float(np.median(squares[enough] / degrees / (1 - 2 / (9 * degrees)) ** 3))
    return max(1.0, middle / pooled)


def share_ends(found: Choices, shares: np.ndarray, dispersed: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Both ends of the interval of each drink's share."""
    from scipy.special import betaincinv

    sold = found.serves.sum(axis=0)
    trade = (found.serves.sum(axis=1)[:, None] * found.there).sum(axis=0)
    count, number = sold / dispersed, trade / dispersed
    tail = (1 - LEVEL) / 2
    low = np.where(count > 0, betaincinv(count + 0.5, np.maximum(number - count, 0) + 0.5, tail), 0.0)
    high = np.where(count < number, betaincinv(count + 0.5, np.maximum(number - count, 0) + 0.5, 1 - tail), 1.0)
    # The interval is that of the share on the drink's own days; beside the whole menu it is as wide in its odds.
    own = np.divide(sold, trade, out=np.zeros_like(sold), where=trade > 0)
    inside = (own > 0) & (own < 1) & (shares < 1)
    odds = np.where(inside, shares / np.where(inside, 1 - shares, 1) * (1 - own) / np.where(inside, own, 1), 1.0)
    low, high = (end * odds / (1 - end + end * odds) for end in (low, high))
    return np.asarray(low), np.asarray(high)


def clear_of(value: float, low: float, high: float, mark: float) -> bool:
    """Whether a value is on one side of a mark beyond chance, and by more than a near tie."""
    return not low <= mark <= high and abs(value - mark) >= NEAR * abs(mark)
