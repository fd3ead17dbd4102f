"""The season report's charts: popularity against contribution, and every drink's weeks."""

from __future__ import annotations

from typing import Final

import polars as pl

from stillroom.analysis.menu.going import in_words
from stillroom.analysis.menu.season import SeasonFigures
from stillroom.objects import ReportChart
from stillroom_plugins.reports._labels import label_layers, placed_labels
from stillroom_plugins.reports._vega import Field, View, concat, layer, on, told

WIDTH: Final = 640
HEIGHT: Final = 380
SMALL_WIDTH: Final = 150
SMALL_HEIGHT: Final = 84
IN_A_ROW: Final = 4
LONGEST_TITLE: Final = 190
"""Pixels at which a small chart's title is cut off, so that a long name does not push the charts apart."""
MOST_SMALL: Final = 24
"""Drinks with a small chart of their own; the table holds all."""


def charts(figures: SeasonFigures, currency: str) -> tuple[ReportChart, ...]:
    """The charts that the figures allow."""
    drawn = []
    known = figures.drinks.filter(pl.col("contribution").is_not_null() & pl.col("daily_share").is_not_null())
    if known.height > 1:
        drawn.append(
            ReportChart(
                name="place",
                title="What sells and what earns: share of the serves on its days against contribution a serve",
                chart=_place(known, figures, currency).chart(),
                note="Dashed lines: 70 % of an equal share of the serves, and the average contribution of a serve. "
                "To the right sells well, at the top earns well. Bars: 95 % intervals; one that crosses a line is near "
                "it.",
            )
        )
    if figures.weeks.height:
        drawn.append(
            ReportChart(
                name="weeks",
                title="Serves a day on the menu, week by week, each drink on its own scale from zero",
                chart=_weeks(figures).chart(),
                note="In each heading: the step or the change a week where chance is an unlikely reason for it."
                + (f" The {MOST_SMALL} drinks that sold most." if figures.drinks.height > MOST_SMALL else ""),
            )
        )
    return tuple(drawn)


def _place(known: pl.DataFrame, figures: SeasonFigures, currency: str) -> View:
    labelled = placed_labels(known, x="daily_share", y="contribution", text="spec", width=WIDTH, height=HEIGHT)
    x = Field("daily_share:Q").title("share of the serves on its days").scale(zero=True)
    x = x.axis(grid=False, tickCount=6, format=".0%")
    y = (
        Field("contribution:Q")
        .title(f"contribution a serve, {currency}")
        .scale(zero=False, padding=24)
        .axis(grid=False, tickCount=6)
    )
    ends = ("share_low", "share_high", "contribution_low", "contribution_high")
    base = on(labelled.select("spec", "does", "serves_per_day", "daily_share", "contribution", "place", *ends))
    reach = base.mark("rule", strokeWidth=1, opacity=0.35)
    bars = [
        reach.encode(x=Field("share_low:Q"), x2=Field("share_high:Q"), y=y),
        reach.encode(x=x, y=Field("contribution_low:Q"), y2=Field("contribution_high:Q")),
    ]
    points = base.mark("point").encode(
        x=x,
        y=y,
        tooltip=[
            told("spec"),
            told("does"),
            told("daily_share", format=".1%"),
            told("serves_per_day", format=".1f"),
            told("contribution", format=".2f"),
        ],
    )
    names = label_layers(base, x, y, "spec", away=8)
    level = pl.DataFrame({"at": [float(known["share_mark"][0])]})
    marks = [on(level).mark("rule", style="reference").encode(x=Field("at:Q"))]
    if figures.average_contribution is not None:
        level = pl.DataFrame({"at": [figures.average_contribution]})
        marks.append(on(level).mark("rule", style="reference").encode(y=Field("at:Q")))
    return layer(*marks, *bars, points, *names).properties(width=WIDTH, height=HEIGHT)


def _weeks(figures: SeasonFigures) -> View:
    x = Field("week:T").title(None).axis(format="%-d %b", tickCount=3, grid=False)
    x = x.scale(domain=[str(figures.weeks["week"].min()), str(figures.weeks["week"].max())])
    small = []
    for row in figures.drinks.head(MOST_SMALL).iter_rows(named=True):
        weeks = figures.weeks.filter(pl.col("spec") == row["spec"]).select("week", "serves_per_day", "serves")
        if weeks.is_empty():
            continue
        line = on(weeks, width=SMALL_WIDTH, height=SMALL_HEIGHT).mark("line", point={"size": 18})
        small.append(
            line.encode(
                x=x,
                y=Field("serves_per_day:Q").title(None).scale(zero=True).axis(tickCount=3, minExtent=26, maxExtent=26),
                tooltip=[told("week:T"), told("serves_per_day", format=".1f"), told("serves")],
            ).properties(title={"text": row["spec"], "subtitle": in_words(row) or row["going"], "limit": LONGEST_TITLE})
        )
    return concat(*small, columns=IN_A_ROW, spacing=18, align="all")
