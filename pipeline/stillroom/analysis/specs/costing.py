"""What a spec costs: the view `part_cost`, looked up. A missing price is named; the sum is then a floor."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import polars as pl

from stillroom.analysis.specs.book import SpecBook
from stillroom.names import name_key


@dataclass(frozen=True, kw_only=True)
class Cost:
    """The cost of something, as far as prices are known."""

    known: float
    """Sum of what has a price, house currency."""
    missing: tuple[str, ...] = ()
    """Items without a price, or without a way to convert to it; lines that are set aside."""

    @property
    def whole(self) -> float | None:
        """The cost; None where a price is missing."""
        return None if self.missing else self.known

    def times(self, factor: float) -> Cost:
        """The cost of more or less of it."""
        return Cost(known=self.known * factor, missing=self.missing)


def costs_on(part_cost: pl.DataFrame, day: date) -> pl.DataFrame:
    """The rows of the view `part_cost` that hold on a day."""
    return part_cost.filter(pl.lit(day).is_between("first_day", "last_day"))


def costs_in(part_cost: pl.DataFrame, book: SpecBook) -> pl.DataFrame:
    """The rows of the view `part_cost` that hold for each version on its day: `SpecBook.day_of`."""
    days = [(*spec.key, book.day_of(spec)) for spec in book.specs.values()]
    schema = {"name_key": pl.String, "version": pl.Int64, "day": pl.Date}
    return (
        part_cost.join(pl.DataFrame(days, schema=schema, orient="row"), on=["name_key", "version"])
        .filter(pl.col("day").is_between("first_day", "last_day"))
        .drop("day")
    )


def net_per_serve(daily_serves: pl.DataFrame, spec: str, version: int) -> float | None:
    """What a serve of a version took in, over all its sales, house currency; None where none was sold.

    Args:
        daily_serves: the view of that name.
    """
    own = pl.col("spec") == spec, pl.col("version") == version
    serves, net = daily_serves.filter(*own).select("serves", "net_amount").sum().row(0)
    return net / serves if serves > 0 and net > 0 else None


def cost_of(costs: pl.DataFrame, spec: str, version: int) -> Cost:
    """The cost of one spec version: of a serve of a drink, of a making of anything else.

    Args:
        costs: rows of `part_cost`, of one day of each version.
    """
    own = costs.filter((pl.col("name_key") == name_key(spec)) & (pl.col("version") == version))
    missing = own.filter(pl.col("cost").is_null())["item"].unique().sort().to_list()
    return Cost(known=float(own["cost"].sum()), missing=tuple(missing))
