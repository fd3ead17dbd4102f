"""The demand report's charts: the days before and ahead, and the need of preparations."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Final

import numpy as np
import polars as pl

from stillroom.analysis.demand.ahead import DemandAhead
from stillroom.objects import ReportChart
from stillroom_plugins.reports._vega import Field, View, layer, on, told

BACK: Final = 56
"""Days before that are drawn."""


def charts(one: DemandAhead, several: bool) -> list[ReportChart]:
    """The charts of one venue."""
    mark = "".join(letter if letter.isascii() and letter.isalnum() else "-" for letter in one.venue.casefold())
    suffix, where = (f"-{mark}", f" at {one.venue}") if several else ("", "")
    return [
        ReportChart(
            name=f"days{suffix}",
            title=f"Serves of all drinks a day{where}: eight weeks back, two weeks ahead",
            chart=_days(one).chart(),
            note="Line: sold. Bars with a point: expected, with the 80 % interval. A gap: closed.",
        ),
        ReportChart(
            name=f"drinks{suffix}",
            title=f"Serves of each drink in the two weeks ahead{where}: expected, with the 80 % interval",
            chart=_drinks(one).chart(),
        ),
    ]


def _days(one: DemandAhead) -> View:
    history = one.history
    past = [
        {"day": history.day(number), "serves": None if np.isnan(total) else float(total)}
        for number, total in enumerate(history.totals)
        if number >= history.days - BACK
    ]
    ahead = one.days().filter(pl.Series(one.made.ahead.on_menu.any(axis=1)))
    mondays = [str(day) for day in _mondays(history.day(history.days - BACK), ahead["day"].to_list())]
    x = Field("day:T").title(None).axis(format="%-d %b", grid=False, values=mondays)
    sold = on(pl.DataFrame(past, schema={"day": pl.Date, "serves": pl.Float64})).mark(
        "line", point={"size": 20}, strokeWidth=1.2
    )
    layers: list[View] = [
        sold.encode(x=x, y=Field("serves:Q").title("serves a day"), tooltip=[told("day:T"), told("serves")])
    ]
    if ahead.height:
        base = on(ahead)
        tooltip = ["day:T", *(told(name, format=".0f") for name in ("expected", "low", "high"))]
        layers.append(
            base.mark("rule", strokeWidth=4, opacity=0.45).encode(
                x=x, y=Field("low:Q"), y2=Field("high:Q"), tooltip=tooltip
            )
        )
        layers.append(base.mark("point", style="normal", size=40).encode(x=x, y=Field("expected:Q"), tooltip=tooltip))
    return layer(*layers)


def _mondays(first: date, ahead: list[date]) -> list[date]:
    """Every other Monday from the first day drawn to the last, so that a tick stands where a week begins."""
    last = max(ahead, default=first + timedelta(days=BACK))
    start = first + timedelta(days=-first.weekday() % 7)
    return [start + timedelta(days=14 * n) for n in range((last - start).days // 14 + 1)]


def _drinks(one: DemandAhead) -> View:
    frame = one.drinks().filter(pl.col("expected") > 0).sort("expected", descending=True)
    base = on(frame)
    y = Field("drink:N").title(None).sort(frame["drink"].to_list())
    tooltip = ["drink", *(told(name, format=".0f") for name in ("expected", "low", "high"))]
    bars = base.mark("rule", strokeWidth=4, opacity=0.45).encode(
        y=y, x=Field("low:Q").title("serves").scale(zero=True).axis(tickCount=6), x2=Field("high:Q"), tooltip=tooltip
    )
    return layer(bars, base.mark("point", style="normal", size=40).encode(y=y, x=Field("expected:Q"), tooltip=tooltip))
