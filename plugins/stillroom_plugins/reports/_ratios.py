"""A chart of ratios with their intervals, around 1 where nothing has changed."""

from __future__ import annotations

from typing import Any

import polars as pl

from stillroom_plugins.reports._vega import Field, View, layer, on, told


def ratio_chart(rows: list[dict[str, Any]], name: str, title: str) -> View:
    """A dot and an interval for each row, in their order.

    Args:
        rows: `name`, ratio, low, high, verdict.
        name: what a row is.
        title: what the ratio is of.
    """
    base = on(pl.DataFrame(rows))
    y = Field(f"{name}:N").title(None).sort([row[name] for row in rows]).axis(labelLimit=240)
    x = Field("low:Q").title(title).scale(zero=False, padding=12)
    tooltip = [name, "verdict", *(told(one, format=".2f") for one in ("ratio", "low", "high"))]
    return layer(
        on(pl.DataFrame({"at": [1.0]})).mark("rule", style="reference").encode(x=Field("at:Q")),
        base.mark("rule", strokeWidth=2).encode(y=y, x=x, x2=Field("high:Q"), tooltip=tooltip),
        base.mark("point").encode(y=y, x=Field("ratio:Q"), shape=Field("verdict:N").title(None), tooltip=tooltip),
    )
