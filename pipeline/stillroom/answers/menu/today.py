"""Today's menu, as a what-if starts from it: the drinks on it, what they earn, and how their preparations are made."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cached_property
from typing import Final

import numpy as np
import polars as pl

from stillroom.analysis.batches.keeping import batch_lives
from stillroom.analysis.batches.kept import Kept, kept_by_preparation
from stillroom.analysis.batches.preparation_stock import EARNED_LATELY, Stocked, middle_cost, stocked, waste_per_unit
from stillroom.analysis.batches.steady_making import Made
from stillroom.analysis.batches.use_ahead import house_wide
from stillroom.analysis.demand.ahead import DemandAhead, demand_ahead
from stillroom.analysis.demand.levels import WEEK
from stillroom.analysis.menu.earnings import earnings
from stillroom.analysis.next_menu.menu_week import Earning, Preparation
from stillroom.analysis.next_menu.takings import Takings, takings
from stillroom.analysis.specs.book import SpecBook
from stillroom.analysis.specs.versions import Versions
from stillroom.answers import prep_list, spec_answer
from stillroom.answers.menu.request import Asked, check_day
from stillroom.errors import UsageError
from stillroom.house.report_settings import DemandSettings, PrepSettings
from stillroom.names import name_key
from stillroom.objects import HouseFacts

NEEDS: Final = tuple(dict.fromkeys((*prep_list.NEEDS, *spec_answer.NEEDS, "part_span")))
"""Views a what-if reads."""
AHEAD: Final = 6 * WEEK
"""Days that are forecast."""
DRAWS: Final = 400
FIRST_OF_DAYS: Final = date(1900, 1, 1)
"""Where a span is open, as in the views."""


@dataclass(frozen=True, kw_only=True)
class Serve:
    """What a serve of a drink brings and costs now, house currency."""

    version: int | None
    net: float
    """What the till takes, as it lately did."""
    cost: float
    """Of what has a price."""
    missing: str = ""
    """What has none."""
    price: float | None = None

    @property
    def contribution(self) -> float:
        """Net less cost; the most it can be where something has no price."""
        return self.net - self.cost


@dataclass(frozen=True, kw_only=True)
class Venue:
    """One venue's menu, its sales and forecast."""

    name: str
    ahead: DemandAhead
    menu: tuple[str, ...]
    """Drinks on today's menu that it sells."""
    serves: np.ndarray
    """Draws by days by those drinks, as if today's menu stayed."""
    fate: pl.DataFrame


@dataclass(frozen=True)
class Today:
    """Today's menu. `frames` are the views of `NEEDS`."""

    frames: Mapping[str, pl.DataFrame]
    house: HouseFacts

    @cached_property
    def last_day(self) -> date:
        """The last day in the files."""
        return check_day(None if self.frames["daily_serves"].is_empty() else self.frames["last_day"].item())

    @cached_property
    def book(self) -> SpecBook:
        """The spec book on that day."""
        return SpecBook(self.frames, self.last_day)

    @cached_property
    def prep(self) -> PrepSettings:
        """What the prep list is told."""
        return self.house.settings(PrepSettings)

    @cached_property
    def venues(self) -> tuple[Venue, ...]:
        """Every venue that sells."""
        frames = house_wide(self.frames, self.house.name)
        frames["current_spec"] = _as_if_it_stayed(frames["current_spec"], self.last_day)
        names = sorted(frames["daily_serves"]["venue"].drop_nulls().unique().to_list())
        found = [self._venue(frames, name) for name in names]
        return tuple(one for one in found if one is not None)

    def _venue(self, frames: dict[str, pl.DataFrame], name: str) -> Venue | None:
        calendar = self.house.settings(DemandSettings).calendar()
        ahead = demand_ahead(frames, name, self.last_day, AHEAD, calendar)
        if ahead is None:
            return None
        on = np.flatnonzero(ahead.made.ahead.on_menu.any(axis=0))
        return Venue(
            name=name,
            ahead=ahead,
            menu=tuple(ahead.made.drinks[place] for place in on),
            serves=ahead.draws[:DRAWS, :, on].astype(float),
            fate=frames["batch_fate"].filter(pl.col("venue") == name),
        )

    @cached_property
    def menu(self) -> tuple[str, ...]:
        """Drinks on today's menu, of all venues."""
        names = tuple(sorted({name for venue in self.venues for name in venue.menu}))
        if not names:
            raise UsageError("No drink is on the menu on the last day in the files: there is nothing to begin with.")
        return names

    @cached_property
    def seed(self) -> int:
        """For draws: the same sales give the same draws."""
        return sum(venue.ahead.history.seed for venue in self.venues) % 2**32

    # Drinks --------------------------------------------------------------------------------------------

    @cached_property
    def serve(self) -> dict[str, Serve]:
        """Drink on the menu -> what a serve brings."""
        lately = self.frames["daily_serves"].filter(
            pl.col("business_date") > self.last_day - timedelta(days=EARNED_LATELY)
        )
        earned = earnings(lately, self.frames["spec_cost"])
        net = dict(earned.select("spec", "net_per_serve").drop_nulls().rows())
        versions = Versions(self.frames["version_span"])
        middle = float(np.mean(list(net.values()))) if net else 0.0
        return {
            name: self._serve(name, versions.in_service(name, self.last_day), net.get(name, middle))
            for name in self.menu
        }

    def _serve(self, name: str, version: int | None, net: float) -> Serve:
        cost, missing = self.cost(name, version)
        spec = None if version is None else self.book.find(name, version)
        return Serve(version=version, net=net, cost=cost, missing=missing, price=spec.price if spec else None)

    def cost(self, name: str, version: int | None) -> tuple[float, str]:
        """What a serve (or making) costs at today's prices, and what has none."""
        rows = self.frames["spec_cost"].filter(
            pl.col("name_key") == name_key(name),
            pl.col("version").eq_missing(version),
            pl.col("priced_from").is_null() | (pl.col("priced_from") <= self.last_day),
        )
        if rows.is_empty():
            return 0.0, "anything: no version of it is in the spec book"
        row = rows.sort("priced_from").row(-1, named=True)
        return float(row["cost_known"]), row["missing"] or ""

    @cached_property
    def net_of_price(self) -> float | None:
        """What the till takes of a menu price, in the mean: tax and discounts are what is left out."""
        known = [(one.net, one.price) for one in self.serve.values() if one.price]
        return sum(net for net, _ in known) / sum(price for _, price in known) if known else None

    def new_serve(self, name: str, version: int, price: float | None) -> Serve:
        """What a serve of a drink brings that is not on the menu.

        Raises:
            UsageError: neither the spec book nor the what-if says its price.
        """
        spec = self.book.find(name, version)
        price = price if price is not None else spec.price if spec else None
        if price is None or self.net_of_price is None:
            raise UsageError(
                f"What {name} would bring is not known: give it a price, --price '{name}=14', and prices to the drinks "
                "of the spec book."
            )
        cost, missing = self.cost(name, version)
        return Serve(version=version, net=price * self.net_of_price, cost=cost, missing=missing, price=price)

    # Preparations --------------------------------------------------------------------------------------

    def takes(self, serves: Mapping[str, Serve]) -> Takings:
        """What drinks take of each preparation, in the order of the drinks."""
        day = pl.lit(self.last_day)
        parts = self.frames["part_span"].filter(day.is_between("first_day", "last_day"))
        versions = [(name, one.version if one.version is not None else 0) for name, one in serves.items()]
        return takings(parts, self.frames["spec_version"], versions, self._making_versions)

    @cached_property
    def _kept(self) -> tuple[Kept, ...]:
        return tuple(kept_by_preparation(batch_lives(self.frames["batch_fate"])))

    @cached_property
    def _making_versions(self) -> dict[str, int]:
        """Key of a preparation -> the version that is made."""
        return {
            key: self.book.in_service(key).version
            for key, versions in self.book.versions.items()
            if versions[-1].kind != "drink"
        }

    @cached_property
    def _minutes(self) -> dict[tuple[str, int], float]:
        rows = self.frames["current_spec"].select("spec", "version", "making_minutes").drop_nulls().rows()
        return {(name_key(name), version): float(minutes) for name, version, minutes in rows}

    def stock(self, venue: Venue, preparation: str, unit: str) -> Stocked:
        """What is on hand of a preparation, and how it is made."""
        versions, spec = Versions(self.frames["version_span"]), self.frames["spec_version"]
        day = self.last_day + timedelta(days=1)
        return stocked(venue.fate, spec, versions, self._kept, preparation, unit, day)

    def preparations(
        self, venue: Venue, names: Sequence[str], units: Sequence[str], change: Asked | None = None
    ) -> dict[str, Preparation]:
        """How each preparation is made, with what the what-if changes about it."""
        day = self.last_day + timedelta(days=1)
        stocks = {name: self.stock(venue, name, unit) for name, unit in zip(names, units, strict=True)}
        costs = {name: waste_per_unit(self.frames["spec_cost"], stock, day)[0] for name, stock in stocks.items()}
        middle = middle_cost(list(costs.values()))
        return {
            name: Preparation(
                made=self._made(stock, change),
                waste=costs[name] or middle,
                making=self.prep.work_per_making,
                minutes=self._minutes.get((name_key(name), stock.version or 0)),
            )
            for name, stock in stocks.items()
        }

    def _made(self, stock: Stocked, change: Asked | None) -> Made | None:
        key = name_key(stock.preparation)
        keeps = change.keeps.get(key, stock.keeps) if change else stock.keeps
        size = change.makings.get(key) if change else None
        making = size or stock.making
        if making is None or keeps is None:
            return None
        step = size or making * self.prep.part(stock.preparation)
        return Made(
            keeps=keeps,
            step=step,
            most=max(step, making * self.prep.most_makings),
            next_making=self.prep.next_making_days,
        )


def _as_if_it_stayed(spec: pl.DataFrame, last_day: date) -> pl.DataFrame:
    """The spec book as if what is in service on the last day stayed so, and nothing came."""
    begins, ends = pl.col("in_service_from"), pl.col("in_service_until")
    return spec.filter(begins.is_null() | (begins <= last_day)).with_columns(
        pl.when(ends.is_not_null()).then(begins.fill_null(FIRST_OF_DAYS)).otherwise(begins).alias("in_service_from"),
        pl.when(ends < last_day).then(ends).alias("in_service_until"),
    )


def changed_serve(serve: Serve, price: float | None, name: str) -> Serve:
    """The serve at another price: the till takes as much of it as before.

    Raises:
        UsageError: the spec book does not say today's price.
    """
    if price is None:
        return serve
    if not serve.price:
        raise UsageError(f"--price '{name}': the spec book states no price of it today; write it there first.")
    return replace(serve, price=price, net=serve.net * price / serve.price)


def earning_of(serves: Iterable[Serve]) -> Earning:
    """What serves of drinks bring, in their order."""
    told = list(serves)
    return Earning(net=np.array([one.net for one in told]), contribution=np.array([one.contribution for one in told]))
