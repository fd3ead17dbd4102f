"""The change report's charts: rate ratios with intervals, and the weeks around each change."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import polars as pl

from stillroom.analysis.menu.version_change import Effect
from stillroom_plugins.reports._vega import Field, View, concat, layer, on, told

WIDTH: Final = 230
HEIGHT: Final = 110
IN_A_ROW: Final = 3


def ratios(effects: Sequence[tuple[str, Effect]]) -> View:
    """A dot and an interval for each change."""
    rows = [
        {"change": name, "ratio": effect.ratio, "low": effect.low, "high": effect.high, "verdict": effect.verdict}
        for name, effect in effects
    ]
    base = on(pl.DataFrame(rows))
    y = Field("change:N").title(None).sort([name for name, _ in effects]).axis(labelLimit=240)
    x = Field("low:Q").title("serves after over those expected").scale(zero=False, padding=12)
    tooltip = ["change", "verdict", *(told(name, format=".2f") for name in ("ratio", "low", "high"))]
    return layer(
        on(pl.DataFrame({"at": [1.0]})).mark("rule", style="reference").encode(x=Field("at:Q")),
        base.mark("rule", strokeWidth=2).encode(y=y, x=x, x2=Field("high:Q"), tooltip=tooltip),
        base.mark("point").encode(y=y, x=Field("ratio:Q"), shape=Field("verdict:N").title(None), tooltip=tooltip),
    )


def weeks(effects: Sequence[tuple[str, Effect]], daily: pl.DataFrame) -> View:
    """The changed drink's serves beside the unchanged ones, week by week."""
    small = []
    for name, effect in effects:
        own, others = pl.col("spec").is_in(list(effect.change.drinks)), pl.col("spec").is_in(list(effect.compared))
        frame = (
            daily.with_columns(pl.col("business_date").dt.truncate("1w").alias("week"))
            .group_by("week")
            .agg(pl.col("serves").filter(own).sum().alias("own"), pl.col("serves").filter(others).sum().alias("others"))
            .filter(pl.col("others") > 0)
            .with_columns((100 * pl.col("own") / pl.col("others")).alias("beside"))
            .sort("week")
        )
        base = on(frame, title=name, width=WIDTH, height=HEIGHT)
        line = base.mark("line", point={"size": 20}).encode(
            x=Field("week:T").title(None).axis(format="%-d %b", tickCount=4, grid=False),
            y=Field("beside:Q").title(None).scale(zero=True).axis(tickCount=3),
            tooltip=[told("week:T"), told("beside", format=".1f"), told("own")],
        )
        mark = on(pl.DataFrame({"day": [effect.change.day]})).mark("rule", style="reference").encode(x=Field("day:T"))
        small.append(layer(mark, line))
    return concat(*small, columns=IN_A_ROW)
