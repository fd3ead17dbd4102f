"""The change report's charts: rate ratios with intervals, and the weeks around each change."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import polars as pl

from stillroom.analysis.menu.version_change import Effect

if TYPE_CHECKING:
    import altair as alt

WIDTH: Final = 230
HEIGHT: Final = 110
IN_A_ROW: Final = 3


def ratios(effects: Sequence[tuple[str, Effect]]) -> alt.TopLevelMixin:
    """A dot and an interval for each change."""
    import altair as alt

    rows = [
        {"change": name, "ratio": effect.ratio, "low": effect.low, "high": effect.high, "verdict": effect.verdict}
        for name, effect in effects
    ]
    base = alt.Chart(pl.DataFrame(rows))
    y = alt.Y("change:N").title(None).sort([name for name, _ in effects]).axis(labelLimit=240)
    x = alt.X("low:Q").title("serves after over those expected").scale(zero=False, padding=12)
    tooltip = ["change", "verdict", *(alt.Tooltip(name, format=".2f") for name in ("ratio", "low", "high"))]
    return alt.layer(
        alt.Chart(pl.DataFrame({"at": [1.0]})).mark_rule(style="reference").encode(x=alt.X("at:Q")),
        base.mark_rule(strokeWidth=2).encode(y=y, x=x, x2=alt.X2("high:Q"), tooltip=tooltip),
        base.mark_point().encode(y=y, x=alt.X("ratio:Q"), shape=alt.Shape("verdict:N").title(None), tooltip=tooltip),
    )


def weeks(effects: Sequence[tuple[str, Effect]], daily: pl.DataFrame) -> alt.TopLevelMixin:
    """The changed drink's serves beside the unchanged ones, week by week."""
    import altair as alt

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
        base = alt.Chart(frame, title=name, width=WIDTH, height=HEIGHT)
        line = base.mark_line(point=alt.OverlayMarkDef(size=20)).encode(
            x=alt.X("week:T").title(None).axis(format="%-d %b", tickCount=4, grid=False),
            y=alt.Y("beside:Q").title(None).scale(zero=True).axis(tickCount=3),
            tooltip=[alt.Tooltip("week:T"), alt.Tooltip("beside", format=".1f"), alt.Tooltip("own")],
        )
        mark = (
            alt.Chart(pl.DataFrame({"day": [effect.change.day]})).mark_rule(style="reference").encode(x=alt.X("day:T"))
        )
        small.append(alt.layer(mark, line))
    return alt.concat(*small, columns=IN_A_ROW)
