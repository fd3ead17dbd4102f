"""The expiry report's chart: what each preparation lost, in money."""

from __future__ import annotations

from typing import Final

import polars as pl

from stillroom.objects import ReportChart
from stillroom_plugins.reports._vega import Field, View, layer, on, step, told

MOST: Final = 20
"""Preparations drawn: those that lost most; the table has all."""
WORTH: Final = 0.5
"""Money below which a loss is not drawn."""


def charts(summed: pl.DataFrame, currency: str) -> tuple[ReportChart, ...]:
    """The chart, where anything of worth was lost. The stock of each preparation over time is on its sheet."""
    lost = summed.filter(pl.col("cost_lost") >= WORTH).sort("cost_lost", "preparation", descending=[True, False])
    if lost.is_empty():
        return ()
    return (
        ReportChart(
            name="lost",
            title=f"What was poured away, spoiled or left past its use-by, {currency} at cost",
            chart=_lost(lost.head(MOST), currency).chart(),
            note="Beside each bar: the money, and the share of what was made. A preparation's sheet shows its "
            "stock day by day.",
        ),
    )


def _lost(lost: pl.DataFrame, currency: str) -> View:
    rows = lost.select(
        "preparation",
        "cost_lost",
        share=pl.col("lost_share"),
        said=pl.format(
            "{}, {} %",
            pl.col("cost_lost").round(0).cast(pl.Int64),
            (100 * pl.col("lost_share")).round(0).cast(pl.Int64),
        ),
    )
    base = on(rows).encode(
        y=Field("preparation:N").title(None).sort(rows["preparation"].to_list()).axis(ticks=False, domain=False),
        x=Field("cost_lost:Q")
        .title(currency)
        .scale(domain=[0, 1.25 * max(rows["cost_lost"].to_list())])
        .axis(tickCount=6),
    )
    bars = base.mark("bar", style="lost", size=12).encode(
        tooltip=[
            told("preparation"),
            told("cost_lost", title=f"lost, {currency}", format=".2f"),
            told("share", title="of what was made", format=".0%"),
        ]
    )
    return layer(bars, base.mark("text", align="left", dx=4).encode(text="said:N")).properties(height=step(22))
