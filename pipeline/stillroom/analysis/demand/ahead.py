"""The forecast of one venue's coming days, drinks and preparations, with its backtest."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

import numpy as np
import polars as pl

from stillroom.analysis.demand.backtest import POOLED, Backtest, backtest, chosen_means
from stillroom.analysis.demand.forecast import Forecast
from stillroom.analysis.demand.levels import WEEK
from stillroom.analysis.demand.preparation_need import PreparationNeed, preparation_need
from stillroom.analysis.demand.replay import LEAST_DAYS, Replay
from stillroom.analysis.demand.sales_history import Calendar, History, days_ahead, sales_history
from stillroom.analysis.once import once

DRAWS: Final = 2000
LOW: Final = 0.1
HIGH: Final = 0.9
"""The ends of the 80 % interval."""
QUANTILES: Final = {"p05": 0.05, "p10": 0.1, "p25": 0.25, "p50": 0.5, "p75": 0.75, "p90": 0.9, "p95": 0.95}


@dataclass(frozen=True, kw_only=True)
class DemandAhead:
    """What one venue will sell and use on the days to come."""

    venue: str
    replay: Replay
    """Forecasts of past weeks."""
    made: Forecast
    draws: np.ndarray
    """Draws by days by drinks."""
    tested: Backtest | None
    way: str
    """The way to forecast that was used."""
    need: PreparationNeed

    @property
    def history(self) -> History:
        """Its sales up to now."""
        return self.replay.history

    def drinks(self) -> pl.DataFrame:
        """Per drink over all days: drink, expected, low, high (80 %)."""
        return _summed(self.made.drinks, self.draws.sum(axis=1)).rename({"name": "drink"})

    def drink_days(self) -> pl.DataFrame:
        """Per day and drink on the menu: day, drink, expected and the `QUANTILES` of its serves."""
        days, drinks = np.nonzero(self.made.ahead.on_menu)
        columns = {"expected": self.made.means[days, drinks]}
        columns |= {name: self.made.quantile(p)[days, drinks] for name, p in QUANTILES.items()}
        named = {
            "day": [self.made.ahead.days[n] for n in days],
            "drink": [self.made.drinks[n] for n in drinks],
        }
        schema = {"day": pl.Date, "drink": pl.String, **dict.fromkeys(columns, pl.Float64)}
        return pl.DataFrame(named | {name: values.tolist() for name, values in columns.items()}, schema=schema)

    def days(self) -> pl.DataFrame:
        """All drinks per day: day, expected, low, high (80 %)."""
        names = [day.isoformat() for day in self.made.ahead.days]
        found = _summed(tuple(names), self.draws.sum(axis=2)).with_columns(
            pl.Series("day", self.made.ahead.days, pl.Date)
        )
        return found.select("day", "expected", "low", "high")

    def preparations(self) -> pl.DataFrame:
        """Per preparation over all days: preparation, unit, expected, low, high (80 %)."""
        found = _summed(self.need.preparations, self.draws.sum(axis=1) @ self.need.whole)
        return found.with_columns(pl.Series("unit", self.need.units, pl.String)).rename({"name": "preparation"})


def demand_ahead(
    frames: dict[str, pl.DataFrame], venue: str, last_day: date, days: int, calendar: Calendar
) -> DemandAhead | None:
    """Forecast the `days` days after `last_day`; None where the venue never sold a drink.

    Args:
        frames: daily_serves, current_spec, preparation_use, batch_fate.
    """
    return _ahead(
        frames["daily_serves"],
        frames["current_spec"],
        frames["preparation_use"],
        frames["batch_fate"],
        *(venue, last_day, days, calendar),
    )


@once
def _ahead(
    daily: pl.DataFrame,
    spec: pl.DataFrame,
    use: pl.DataFrame,
    fate: pl.DataFrame,
    venue: str,
    last_day: date,
    days: int,
    calendar: Calendar,
) -> DemandAhead | None:
    replay, tested = _tested(daily, spec, venue, last_day, calendar)
    if replay is None:
        return None
    history = replay.history
    ahead = days_ahead(history, spec, [last_day + timedelta(days=n) for n in range(1, days + 1)], calendar)
    made = replay.forecast(history.days, ahead, chosen_means(tested))
    here = pl.col("venue") == venue
    need = preparation_need(
        use.filter(here), daily.filter(here), fate.filter(here | pl.col("venue").is_null()), history.drinks
    )
    return DemandAhead(
        venue=venue,
        replay=replay,
        made=made,
        draws=made.draws(DRAWS, history.seed),
        tested=tested,
        way=POOLED if tested is None else tested.best,
        need=need,
    )


@once
def _tested(
    daily: pl.DataFrame, spec: pl.DataFrame, venue: str, last_day: date, calendar: Calendar
) -> tuple[Replay | None, Backtest | None]:
    """The venue's past, and how well ways to forecast it did; no past where it never sold a drink."""
    history = sales_history(daily, spec, venue, last_day, calendar)
    if history is None:
        return None, None
    replay = Replay(history)
    return replay, backtest(replay)


def preparation_coverage(found: DemandAhead, weeks: int = 8) -> tuple[int, int]:
    """How often the week's need of a preparation lay within its 80 % interval, of how many forecasts of past weeks.

    Need is the serves of the week times what a serve takes now, so that it is the forecast that is tested.
    """
    replay = found.replay
    inside = total = 0
    used = np.flatnonzero(found.need.whole.sum(axis=0) > 0)
    for back in range(weeks, 0, -1):
        cut = found.history.days - back * WEEK
        if cut < LEAST_DAYS:
            continue
        week = replay.week(cut)
        sums = replay.forecast(cut, week.ahead).draws(500, found.history.seed + back).sum(axis=1)
        drawn = sums @ found.need.whole[:, used]
        true = np.nansum(week.serves, axis=0) @ found.need.whole[:, used]
        low, high = np.quantile(drawn, [LOW, HIGH], axis=0)
        known = drawn.sum(axis=0) > 0
        inside += int(((low <= true) & (true <= high))[known].sum())
        total += int(known.sum())
    return inside, total


def _summed(names: tuple[str, ...], sums: np.ndarray) -> pl.DataFrame:
    low, high = np.quantile(sums, [LOW, HIGH], axis=0)
    columns = {"expected": sums.mean(axis=0), "low": low, "high": high}
    return pl.DataFrame({"name": list(names)} | {key: value.tolist() for key, value in columns.items()}).cast(
        {"name": pl.String, **dict.fromkeys(columns, pl.Float64)}
    )
