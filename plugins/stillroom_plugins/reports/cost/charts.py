"""The cost report's charts: cost of a serve against its price, and where the money goes."""

from __future__ import annotations

from typing import Final

import polars as pl

from stillroom.objects import ReportChart
from stillroom_plugins.reports._vega import Field, View, layer, on, told

WIDTH: Final = 480
MOST: Final = 15


def charts(drinks: pl.DataFrame, parts: pl.DataFrame, currency: str) -> tuple[ReportChart, ...]:
    """The charts that the figures allow."""
    drawn = []
    shares = drinks.filter(pl.col("share").is_not_null()).with_columns(pct=100 * pl.col("share"))
    if shares.height > 1:
        drawn.append(
            ReportChart(
                name="share-of-takings",
                title="Cost of the serves sold as a share of what they took in",
                chart=_dots(shares).chart(),
                note="Dashed: the middle drink. Drinks whose cost is not whole are left out.",
            )
        )
    top = parts.head(MOST)
    if top.height > 1:
        drawn.append(
            ReportChart(
                name="parts",
                title="Where the money goes: the dearest ingredients in the serves sold",
                chart=_bars(top, "item", "cost", f"cost in the serves sold, {currency}", ",.0f", ",.0f").chart(),
                note=f"The {top.height} dearest of {parts.height}." if parts.height > top.height else "",
            )
        )
    return tuple(drawn)


def _dots(shares: pl.DataFrame) -> View:
    """A dot a drink, the dearest for its price first, beside the middle one."""
    base = on(shares.select("spec", "pct")).encode(
        x=Field("pct:Q").title("cost, % of net takings").scale(zero=True).axis(format=".0f", tickCount=6),
        y=Field("spec:N").sort("-x").title(None).axis(ticks=False, domain=False),
    )
    dots = base.mark("point", size=70).encode(
        tooltip=[told("spec:N", title="drink"), told("pct:Q", title="% of net takings", format=".1f")]
    )
    figures = base.mark("text", align="left", dx=8).encode(text=told("pct:Q", format=".1f"))
    middle = on(pl.DataFrame({"at": [shares["pct"].median()]}))
    level = middle.mark("rule", style="reference").encode(x=Field("at:Q"))
    return layer(level, dots, figures).properties(width=WIDTH, height={"step": 22})


def _bars(frame: pl.DataFrame, name: str, value: str, title: str, axis_format: str, label_format: str) -> View:
    """Bars from the largest down, each with its figure at its end."""
    base = on(frame.select(name, value)).encode(
        x=Field(f"{value}:Q").title(title).scale(zero=True).axis(format=axis_format, tickCount=6, grid=False),
        y=Field(f"{name}:N").sort("-x").title(None).axis(ticks=False, domain=False),
    )
    bars = base.mark("bar", size=14).encode(
        tooltip=[told(f"{name}:N", title=name), told(f"{value}:Q", title=title, format=label_format)]
    )
    figures = base.mark("text", align="left", dx=4).encode(text=told(f"{value}:Q", format=label_format))
    return layer(bars, figures).properties(width=WIDTH, height={"step": 22})
