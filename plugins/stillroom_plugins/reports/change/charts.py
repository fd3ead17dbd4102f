"""The change report's charts: rate ratios with intervals, and the weeks around each change."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import polars as pl

from stillroom.analysis.menu.version_change import Effect
from stillroom_plugins.reports._ratios import ratio_chart
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
    return ratio_chart(rows, "change", "serves after over those expected")


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
