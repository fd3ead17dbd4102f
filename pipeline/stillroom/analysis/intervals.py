"""Intervals for a share and for a rate of small counts."""

from __future__ import annotations

from typing import Literal, NamedTuple


class Interval(NamedTuple):
    """Both ends of an interval."""

    low: float
    high: float


def share_interval(
    count: int, total: int, level: float = 0.95, method: Literal["wilson", "exact"] = "wilson"
) -> Interval:
    """Interval for a share, `count` of `total`: Wilson's score interval, or the exact one of Clopper and Pearson.

    Source: Wilson 1927; Newcombe 1998, Stat. Med. 17:857 (methods 3 and 5).

    Raises:
        ValueError: `count` is not within 0..total, or total is 0.

    >>> [round(end, 4) for end in share_interval(81, 263)]
    [0.2553, 0.3662]
    """
    if total < 1 or not 0 <= count <= total:
        raise ValueError(f"a share needs 0 <= count <= total and total >= 1, not {count} of {total}")
    from scipy import special

    tail = (1 - level) / 2
    if method == "exact":
        low, high = special.betaincinv(
            [count or 1, count + 1], [total - count + 1, total - count or 1], [tail, 1 - tail]
        )
    else:
        z = special.ndtri(1 - tail)
        middle = (count + z**2 / 2) / (total + z**2)
        reach = z / (total + z**2) * (count * (total - count) / total + z**2 / 4) ** 0.5
        low, high = middle - reach, middle + reach
    return Interval(float(low) if count else 0.0, float(high) if count < total else 1.0)


def count_interval(count: float, level: float = 0.95) -> Interval:
    """Exact interval for the mean of a Poisson count, from chi-squared quantiles (Garwood 1936, Biometrika 28:437).

    A count that is not whole is allowed: a total divided by its overdispersion is one.

    Raises:
        ValueError: `count` is negative.

    >>> [round(end, 4) for end in count_interval(5)]
    [1.6235, 11.6683]
    """
    if count < 0:
        raise ValueError(f"a count is not negative, not {count}")
    from scipy import special

    tail = (1 - level) / 2
    low = float(special.gammaincinv(count, tail)) if count > 0 else 0.0
    return Interval(low, float(special.gammaincinv(count + 1, 1 - tail)))


def rate_interval(total: float, exposure: float, dispersion: float = 1.0, level: float = 0.95) -> Interval:
    """Interval for a rate, `total` over `exposure` (days, say).

    With `dispersion` (variance of a day's amount over its mean) the total counts as total / dispersion events
    of that size each: the quasi-Poisson reading of Garwood's interval.

    >>> [round(end, 3) for end in rate_interval(7, 3.5)]
    [0.804, 4.121]

    Raises:
        ValueError: exposure or dispersion is not above 0, or total is negative.
    """
    if exposure <= 0 or dispersion <= 0:
        raise ValueError("a rate needs exposure and dispersion above 0")
    low, high = count_interval(total / dispersion, level)
    return Interval(low * dispersion / exposure, high * dispersion / exposure)
