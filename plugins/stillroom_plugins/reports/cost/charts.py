"""The cost report's charts: cost of a serve against its price, and where the money goes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import polars as pl

from stillroom.objects import ReportChart

if TYPE_CHECKING:
    import altair as alt

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
                chart=_dots(shares),
                note="Dashed: the middle drink. Drinks whose cost is not whole are left out.",
            )
        )
    top = parts.head(MOST)
    if top.height > 1:
        drawn.append(
            ReportChart(
                name="parts",
                title="Where the money goes: the dearest ingredients in the serves sold",
                chart=_bars(top, "item", "cost", f"cost in the serves sold, {currency}", ",.0f", ",.0f"),
                note=f"The {top.height} dearest of {parts.height}." if parts.height > top.height else "",
            )
        )
    return tuple(drawn)


def _dots(shares: pl.DataFrame) -> alt.TopLevelMixin:
    """A dot a drink, the dearest for its price first, beside the middle one."""
    import altair as alt

    base = alt.Chart(shares.select("spec", "pct")).encode(
        x=alt.X("pct:Q").title("cost, % of net takings").scale(zero=True).axis(format=".0f", tickCount=6),
        y=alt.Y("spec:N").sort("-x").title(None).axis(ticks=False, domain=False),
    )
    dots = base.mark_point(size=70).encode(
        tooltip=[alt.Tooltip("spec:N", title="drink"), alt.Tooltip("pct:Q", title="% of net takings", format=".1f")]
    )
    figures = base.mark_text(align="left", dx=8).encode(text=alt.Text("pct:Q", format=".1f"))
    middle = alt.Chart(pl.DataFrame({"at": [shares["pct"].median()]}))
    level = middle.mark_rule(style="reference").encode(x=alt.X("at:Q"))
    return alt.layer(level, dots, figures).properties(width=WIDTH, height={"step": 22})


def _bars(
    frame: pl.DataFrame, name: str, value: str, title: str, axis_format: str, label_format: str
) -> alt.TopLevelMixin:
    """Bars from the largest down, each with its figure at its end."""
    import altair as alt

    base = alt.Chart(frame.select(name, value)).encode(
        x=alt.X(f"{value}:Q").title(title).scale(zero=True).axis(format=axis_format, tickCount=6, grid=False),
        y=alt.Y(f"{name}:N").sort("-x").title(None).axis(ticks=False, domain=False),
    )
    bars = base.mark_bar(size=14).encode(
        tooltip=[alt.Tooltip(f"{name}:N", title=name), alt.Tooltip(f"{value}:Q", title=title, format=label_format)]
    )
    figures = base.mark_text(align="left", dx=4).encode(text=alt.Text(f"{value}:Q", format=label_format))
    return alt.layer(bars, figures).properties(width=WIDTH, height={"step": 22})
