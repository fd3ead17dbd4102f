"""The balance report's chart: sour, sweet, strong."""

from __future__ import annotations

from typing import Final

import polars as pl

from stillroom.objects import ReportChart
from stillroom_plugins.reports._labels import label_layers, placed_labels
from stillroom_plugins.reports._vega import Field, View, layer, on, told

WIDTH: Final = 640
HEIGHT: Final = 400


def charts(figures: pl.DataFrame) -> tuple[ReportChart, ...]:
    """Sugar against acid, the larger the stronger; none without at least two drinks to compare."""
    drinks = figures.filter(
        (pl.col("kind") == "drink")
        & pl.col("current")
        & pl.col("sugar_g_100ml").is_not_null()
        & pl.col("acid_g_100ml").is_not_null()
    )
    if drinks.height < 2:
        return ()
    note = "The number is % vol as served, and the circle grows with it. Up is sourer, to the right is sweeter."
    title = "Sour, sweet and strong: acid against sugar of every drink on the menu"
    return (ReportChart(name="sour-sweet-strong", title=title, chart=_chart(drinks).chart(), note=note),)


def _chart(drinks: pl.DataFrame) -> View:
    named = drinks.with_columns(
        pl.format("{}, {} %", "spec", pl.col("abv_pct").round(0).cast(pl.Int64)).alias("name")
    ).select("spec", "name", "version", "sugar_g_100ml", "acid_g_100ml", "abv_pct")
    labelled = placed_labels(named, x="sugar_g_100ml", y="acid_g_100ml", text="name", width=WIDTH, height=HEIGHT)
    x = Field("sugar_g_100ml:Q").title("sugar, g in 100 ml").scale(zero=True, nice=True).axis(grid=False)
    y = Field("acid_g_100ml:Q").title("acid, g in 100 ml").scale(zero=True, nice=True).axis(grid=False)
    base = on(labelled)
    circles = base.mark("circle").encode(
        x=x,
        y=y,
        size=Field("abv_pct:Q").scale(domain=[0, 40], range=[30, 420]).legend(),
        tooltip=[
            told("spec"),
            told("version"),
            told("abv_pct", format=".1f", title="% vol"),
            told("sugar_g_100ml", format=".1f", title="sugar, g/100 ml"),
            told("acid_g_100ml", format=".2f", title="acid, g/100 ml"),
        ],
    )
    names = label_layers(base, x, y, "name", away=10)
    return layer(circles, *names).properties(width=WIDTH, height=HEIGHT)
