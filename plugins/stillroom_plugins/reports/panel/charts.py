"""The panel report's charts: a dot for the figure, a bar for how far it may be off, a line for 'no difference'."""

from __future__ import annotations

from typing import Final

import polars as pl

from stillroom.analysis.panel.verdicts import PanelComparison
from stillroom.objects import ReportChart
from stillroom_plugins.reports._vega import Field, layer, on, step
from stillroom_plugins.reports.panel.findings import decisive

MOST_SPECS: Final = 8
"""Specs with a chart of their own; the tables hold all."""
MOST_PAIRS: Final = 3
"""Beyond this many pairs the versions' means are drawn instead."""
VERDICTS: Final = ("better", "as good as", "more", "alike", "cannot tell", "less", "worse")


def charts(comparison: PanelComparison) -> tuple[ReportChart, ...]:
    """One chart a spec."""
    drawn = []
    chosen = decisive(comparison.differences)
    for number, ((spec,), rows) in enumerate(sorted(chosen.partition_by("spec", as_dict=True).items())[:MOST_SPECS], 1):
        pairs = rows.select("version", "against").unique().height
        if pairs <= MOST_PAIRS:
            drawn.append(_differences(str(spec), rows, pairs, f"differences-{number}"))
        else:
            drawn.append(_means(str(spec), comparison.means.filter(pl.col("spec") == spec), f"means-{number}"))
    return tuple(drawn)


def _differences(spec: str, rows: pl.DataFrame, pairs: int, name: str) -> ReportChart:
    pair = pl.format("{} against {}", "version", "against")
    drawn = rows.with_columns(
        row=pl.col("attribute") if pairs == 1 else pl.concat_str("attribute", pl.lit(": "), pair)
    ).sort(pl.col("higher_is_better").not_(), "attribute", "version", "against")
    order = drawn["row"].to_list()
    present = [verdict for verdict in VERDICTS if verdict in drawn["verdict"].to_list()]
    base = on(drawn.select("row", "difference", "low", "high", "verdict"))
    y = Field("row:N").sort(order).title(None).axis(labelLimit=260)
    x = Field("low:Q").title("difference in points")
    # The same verdict has the same colour and shape on every chart; the legend names those that are on this one.
    colour = Field("verdict:N").legend(values=present).scale(domain=list(VERDICTS)).title(None)
    shape = Field("verdict:N").legend(values=present).scale(domain=list(VERDICTS)).title(None)
    bars = base.mark("rule", strokeWidth=3).encode(x=x, x2=Field("high:Q"), y=y, color=colour)
    dots = base.mark("point", filled=True, size=110, opacity=1).encode(
        x=Field("difference:Q"), y=y, color=colour, shape=shape
    )
    zero = on(pl.DataFrame({"none": [0.0]})).mark("rule", strokeDash=[4, 4]).encode(x=Field("none:Q"))
    between = (
        f"version {rows['version'][0]} against version {rows['against'][0]}" if pairs == 1 else "version by version"
    )
    return ReportChart(
        name=name,
        subject=spec,
        title=f"{spec}: {between}, attribute by attribute",
        chart=layer(zero, bars, dots).properties(height=step(26)).chart(),
        note="Dot: mean difference; to the right of the dashed line the newer version scores higher. Bar: 95 % "
        "interval; one that crosses the line may be no difference at all, and of so many attributes one may clear it "
        "by chance: the colour is the verdict with that allowed for.",
    )


def _means(spec: str, rows: pl.DataFrame, name: str) -> ReportChart:
    base = on(rows.select("attribute", "version", "mean", "low", "high"))
    y = Field("version:O").title("version")
    bars = base.mark("rule", strokeWidth=2).encode(
        x=Field("low:Q").title("score").scale(zero=False), x2=Field("high:Q"), y=y
    )
    dots = base.mark("point", filled=True, size=70, opacity=1).encode(x=Field("mean:Q"), y=y)
    return ReportChart(
        name=name,
        subject=spec,
        title=f"{spec}: mean score of each version, attribute by attribute",
        chart=layer(bars, dots)
        .properties(width=230, height=step(16))
        .facet(Field("attribute:N").title(None), columns=2)
        .chart(),
        note="Dot: mean. Bar: 95 % interval. Which differences are more than chance is in the table of differences.",
    )
