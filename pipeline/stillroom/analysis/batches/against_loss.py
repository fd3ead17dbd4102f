"""What to do about a preparation of which too much is lost: one rule, for all who advise."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any, Final

import polars as pl

from stillroom.analysis.batches.use_rate import Rates, UseRate
from stillroom.objects import Sureness
from stillroom.words import amount, counted, listed

NOT_TO_RUN_OVER: Final = 0.1
"""A batch of the size that is named leaves nothing over with a chance of 1 less this."""


def any_sold(daily: pl.DataFrame, first: date, last: date) -> bool:
    """Whether the till tells of a sale in first..last; where it tells of none, what was used is not known.

    Args:
        daily: business_date, serves.
    """
    return daily.filter(pl.col("business_date").is_between(first, last), pl.col("serves") > 0).height > 0


def sure_of_loss(row: Mapping[str, Any], allowed: float, *, sold: bool) -> Sureness:
    """How sure it is that of a row of `fate_by_preparation` more is lost than is allowed."""
    if not sold or row["low"] is None:
        return "cannot tell"
    return "sure" if row["low"] > allowed else "likely"


def against_loss(row: Mapping[str, Any], batches: pl.DataFrame, rates: Rates, *, sold: bool) -> tuple[str, str]:
    """What would be used before its use-by, per venue that makes it, as a sentence; and what to do of that in short.

    Args:
        row: of `fate_by_preparation`.
        batches: of that preparation: venue.
        rates: as `rates_of_use` gives them.
        sold: whether anything was, as `any_sold` tells.
    """
    if not sold:
        return "The till tells of no sale in these days, so what was used is not known.", "take in the till's export"
    if row["keep_days"] is None:
        return (
            "How long it keeps is not in its spec, so no batch size can be advised.",
            "write in its spec how long it keeps",
        )
    days, unit = int(row["keep_days"]), row["unit"]
    venues = batches["venue"].unique().sort().to_list()
    sizes, to_do = [], []
    for venue in venues:
        rate = rates.get((venue, row["preparation"]))
        if rate is not None:
            where = f" at {venue}" if len(venues) > 1 and venue else ""
            said, do = _size(row, rate, days)
            used = f"about {amount(rate.per_day * days, unit)} is used in the {counted(days, 'day')}"
            sizes.append(f"{used} from its making to its use-by{where}; {said}")
            to_do.append(do)
    if not sizes:
        return "Nothing has used it lately: make none until a drink needs it.", "make none until a drink needs it"
    text = "; ".join(sizes)
    return f"{text[0].upper()}{text[1:]}.", listed(list(dict.fromkeys(to_do)))


def _size(row: Mapping[str, Any], rate: UseRate, days: int) -> tuple[str, str]:
    """A batch that is used up, or, where batches are no larger already, what else is the reason; what to do."""
    unit, now = row["unit"], float(row["typical_batch"])
    fits = rate.use_in(days, NOT_TO_RUN_OVER)
    if fits < now:
        # Which size costs least is told on its sheet, by the prep list's own plan, and nowhere else.
        said = (
            f"a batch of {amount(fits, unit)} would leave nothing over 9 times in 10 (now {amount(now, unit)}); "
            "its sheet says which size costs least, with the work and running out counted"
        )
        return said, "make batches of the size that its sheet says costs least"
    if row["spoiled"] > row["lost"] / 2:
        return (
            f"a batch of {amount(now, unit)} is not too big for that: find out why it spoils",
            "find out why it spoils",
        )
    lasts = counted(max(1, round(now / rate.per_day)), "day")
    said = f"a batch of {amount(now, unit)} lasts about {lasts}: it is not too big, the next one is made too soon"
    return said, "make the next batch later"
