"""What a spec costs: the view `part_cost`, looked up. A missing price is named; the sum is then a floor."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cached_property

import polars as pl

from stillroom.analysis.specs.book import Line, SpecBook, SpecVersion
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


@dataclass(frozen=True)
class PartCosts:
    """What each part of each spec version costs: rows of the view `part_cost`, of one day of each version."""

    frame: pl.DataFrame

    @cached_property
    def _parts(self) -> dict[tuple[str, int], list[tuple[str, str, str, float | None, float | None]]]:
        """Version -> item, its key, unit, amount and cost of each part."""
        found: dict[tuple[str, int], list[tuple[str, str, str, float | None, float | None]]] = {}
        rows = self.frame.select("name_key", "version", "item", "item_key", "unit", "amount", "cost").iter_rows()
        for name, version, *part in rows:
            found.setdefault((name, version), []).append(tuple(part))
        return found

    def of(self, spec: SpecVersion) -> Cost:
        """The cost of one spec version: of a serve of a drink, of a making of anything else."""
        parts = self._parts.get(spec.key, [])
        known = sum(cost for *_, cost in parts if cost is not None)
        return Cost(known=float(known), missing=tuple(sorted({item for item, *_, cost in parts if cost is None})))

    def of_line(self, spec: SpecVersion, line: Line) -> Cost:
        """The cost of a bought line: its amount at what the ingredient costs in the spec."""
        wanted = name_key(line.item), line.base
        for _, item_key, unit, amount, cost in self._parts.get(spec.key, []):
            if (item_key, unit) == wanted and cost is not None and amount:
                return Cost(known=cost / amount * line.base_amount)
        return Cost(known=0.0, missing=(line.item,))


def costs_on(part_cost: pl.DataFrame, day: date) -> PartCosts:
    """The rows of the view `part_cost` that hold on a day."""
    return PartCosts(part_cost.filter(pl.lit(day).is_between("first_day", "last_day")))


def costs_in(part_cost: pl.DataFrame, book: SpecBook) -> PartCosts:
    """The rows of the view `part_cost` that hold for each version on its day: `SpecBook.day_of`."""
    days = [(*spec.key, book.day_of(spec)) for spec in book.specs.values()]
    schema = {"name_key": pl.String, "version": pl.Int64, "day": pl.Date}
    return PartCosts(
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
