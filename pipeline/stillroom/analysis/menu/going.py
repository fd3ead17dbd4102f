"""Which way each drink goes, and the house: it keeps its level, steps to another, or slopes from week to week."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Final

import polars as pl

from stillroom.analysis.course import LEVEL, Scatter, course
from stillroom.analysis.holm import holm
from stillroom.analysis.menu.days import days_on_menu, weekly_serves
from stillroom.analysis.menu.trend import Trend, usual_scatter, weekly_trend

HOUSE: Final = "(all drinks)"
RISING: Final = "rising"
FALLING: Final = "falling"
STEPPED_UP: Final = "stepped up"
STEPPED_DOWN: Final = "stepped down"
NO_TREND: Final = "no clear trend"
CANNOT_TELL: Final = "cannot tell"
MORE: Final = (RISING, STEPPED_UP)
"""How a drink goes that sells more than it did."""
FEWER: Final = (FALLING, STEPPED_DOWN)
"""The same of less."""
WITH_HOUSE: Final = ", maybe no more than the whole house"
"""Said of a drink that sells less, where that may be so."""

TRENDS: Final = pl.Schema(
    {
        "spec": pl.String(),
        "going": pl.String(),
        **dict.fromkeys(("change", "low", "high"), pl.Float64()),
        "step_week": pl.Date(),
        **dict.fromkeys(("step_ratio", "step_low", "step_high"), pl.Float64()),
        "step_known": pl.Boolean(),
        "why_not": pl.String(),
    }
)


@dataclass(frozen=True, kw_only=True)
class HouseTrend:
    """How all drinks together go."""

    trend: Trend
    going: str
    """In the words for a drink."""
    step_week: date | None
    """The Monday from which the level in force holds, where it stepped."""


def in_words(row: Mapping[str, Any]) -> str:
    """Which way a drink goes, of a row of `SeasonFigures.drinks`; '' where that cannot be told.

    >>> in_words({"going": "falling", "change": -0.032, "step_week": None, "with_house": True})
    'falling 3.2 % a week, maybe no more than the whole house'
    >>> in_words({"going": "stepped up", "step_week": date(2026, 9, 7), "step_ratio": 1.4, "with_house": False})
    '40 % more since 7 Sep'
    """
    so = WITH_HOUSE if row["with_house"] else ""
    if row["step_week"] is not None:
        change = row["step_ratio"] - 1
        return f"{100 * abs(change):.0f} % {'more' if change > 0 else 'less'} since {row['step_week']:%-d %b}{so}"
    if row["going"] in (RISING, FALLING):
        return f"{row['going']} {100 * abs(row['change']):.1f} % a week{so}"
    return ""


def venues_in_words(house: HouseTrend, venues: Mapping[str, HouseTrend]) -> str:
    """The venues that go the house's way, each with how far; '' where it goes none, or no venue clearly does."""
    ways = next((ways for ways in (FEWER, MORE) if house.going in ways), ())
    return ", ".join(f"{venue} {told(one)}" for venue, one in venues.items() if one.going in ways)


def told(one: HouseTrend, what: str = "") -> str:
    """How all that a house or a venue sells goes, where it goes any way: '12 % fewer since 7 Sep'."""
    if one.trend.step is not None:
        change, decimals, when = one.trend.step.ratio - 1, 0, f"since {one.step_week:%-d %b}"
    else:
        change, decimals, when = one.trend.change or 0.0, 1, "each week"
    return f"{100 * abs(change):.{decimals}f} % {'more' if change > 0 else 'fewer'}{what} {when}"


def may_go_with_house(row: Mapping[str, Any], house: HouseTrend) -> bool:
    """Whether a drink that sells less, a row with the columns of `TRENDS`, may fall no more than the whole house does.

    A step is held to the house's step, or where the house slopes, to what a slope comes to from the mean week before a
    step to the mean week after it: half the weeks, wherever the step lies.
    """
    whole = house.trend
    if row["going"] not in FEWER or house.going not in FEWER or whole.change is None:
        return False
    if row["step_week"] is None:
        return bool(row["high"] >= whole.change)
    ratio = whole.step.ratio if whole.step is not None else (1 + whole.change) ** (whole.weeks / 2)
    return bool(row["step_high"] >= ratio)


def house_trend(daily: pl.DataFrame, first: date, last: date) -> HouseTrend:
    """How all drinks together go within first..last."""
    trend, begins = _together(daily, first, last)
    return _house_trend(trend, trend.p_value, begins)


def venue_trends(daily: pl.DataFrame, first: date, last: date) -> dict[str, HouseTrend]:
    """Venue -> how all that it sells goes, by name; of a house with one there is nothing to tell apart.

    Chance is allowed for as among drinks: over all venues together (Holm).
    """
    names = daily["venue"].drop_nulls().unique().sort().to_list()
    if len(names) < 2:
        return {}
    trends = {name: _together(daily.filter(pl.col("venue") == name), first, last) for name in names}
    adjusted = _adjusted({name: trend for name, (trend, _) in trends.items()})
    return {name: _house_trend(trend, adjusted.get(name), begins) for name, (trend, begins) in trends.items()}


def _together(daily: pl.DataFrame, first: date, last: date) -> tuple[Trend, date | None]:
    """The trend of all drinks as if they were one, and its first week."""
    together = daily.with_columns(pl.lit(HOUSE).alias("spec"))
    spans = pl.DataFrame({"spec": [HOUSE], "first_day": [first], "last_day": [last]})
    weeks = weekly_serves(days_on_menu(spans, together), together)
    return _trend(weeks), weeks["week"].to_list()[0] if weeks.height else None


def _house_trend(trend: Trend, adjusted: float | None, begins: date | None) -> HouseTrend:
    row = _trend_row(HOUSE, trend, adjusted, begins)
    return HouseTrend(trend=trend, going=row["going"], step_week=row["step_week"])


def with_trends(drinks: pl.DataFrame, weeks: pl.DataFrame, spec: pl.DataFrame) -> pl.DataFrame:
    """The drinks with the columns of `TRENDS`.

    Args:
        drinks: spec.
        weeks: as `weekly_serves` gives them.
        spec: spec, in_service_from, one row a version.
    """
    own = {name: weeks.filter(pl.col("spec") == name) for name in drinks["spec"]}
    usual = usual_scatter([(rows["serves"].to_list(), rows["weight"].to_list()) for rows in own.values()])
    trends = {name: _trend(rows, _versions(spec, name), usual) for name, rows in own.items()}
    adjusted = _adjusted(trends)
    begins = dict(weeks.group_by("spec").agg(pl.col("week").min()).rows())
    rows = [_trend_row(name, trend, adjusted.get(name), begins.get(name)) for name, trend in trends.items()]
    return drinks.join(pl.DataFrame(rows, schema=TRENDS), on="spec", how="left", maintain_order="left")


def _adjusted(trends: Mapping[str, Trend]) -> dict[str, float]:
    """Name -> its p-value, with the number of those that are looked at allowed for."""
    values = {name: trend.p_value for name, trend in trends.items() if trend.p_value is not None}
    return dict(zip(values, holm([*values.values()]), strict=True))


def _trend_row(name: str, trend: Trend, adjusted: float | None, begins: date | None) -> dict[str, Any]:
    going = _going(trend, adjusted)
    step = trend.step if going in (STEPPED_UP, STEPPED_DOWN) else None
    sloping = step is None
    return {
        "spec": name,
        "going": going,
        "change": trend.change if sloping else None,
        "low": trend.low if sloping else None,
        "high": trend.high if sloping else None,
        "step_week": begins + timedelta(weeks=step.week) if step and begins else None,
        "step_ratio": step.ratio if step else None,
        "step_low": step.low if step else None,
        "step_high": step.high if step else None,
        "step_known": step.known if step else None,
        "why_not": trend.why_not or None,
    }


def _going(trend: Trend, adjusted: float | None) -> str:
    if trend.change is None or adjusted is None:
        return CANNOT_TELL
    if adjusted >= LEVEL or trend.kind == "level":
        return NO_TREND
    if trend.step is not None:
        return STEPPED_UP if trend.step.ratio > 1 else STEPPED_DOWN
    return RISING if trend.change > 0 else FALLING


def _versions(spec: pl.DataFrame, name: str) -> list[date]:
    """The days on which a new version of a drink came into service."""
    begun = spec.filter(pl.col("spec") == name)["in_service_from"].drop_nulls().unique().sort()
    return list(begun[1:])


def _trend(weeks: pl.DataFrame, versions: Sequence[date] = (), usual: Scatter | None = None) -> Trend:
    """The trend of one drink's weeks; its new versions and new prices are changes that are known."""
    if weeks.is_empty():
        return weekly_trend([], [], [])
    first = weeks["week"].min()
    assert isinstance(first, date)
    number = ((weeks["week"] - first).dt.total_days() // 7).to_list()
    known = [(day - first).days / 7 for day in versions]
    known += _repriced(weeks, number)
    return weekly_trend(number, weeks["serves"].to_list(), weeks["weight"].to_list(), known, usual)


def _repriced(weeks: pl.DataFrame, number: Sequence[int]) -> list[float]:
    """The weeks in which what the till took for a serve settled at another value."""
    sold = pl.col("serves") > 0
    kept = weeks.with_columns(pl.Series("number", number)).filter(sold)
    told = course((kept["net_amount"] / kept["serves"]).to_list(), kept["serves"].to_list()).told()
    return [float(kept["number"][place]) for place in told.steps]
