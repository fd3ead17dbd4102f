"""The roll-out report's charts: ratios with intervals, and the weeks around each coming."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import polars as pl

from stillroom_plugins.reports._ratios import ratio_chart
from stillroom_plugins.reports._vega import Field, View, concat, layer, on, told
from stillroom_plugins.reports.rollout.effects import Effect

WIDTH: Final = 230
HEIGHT: Final = 120
IN_A_ROW: Final = 3


def ratios(effects: Sequence[Effect]) -> View:
    """A dot and an interval for each roll-out."""
    known = [one for one in effects if one.found.ratio is not None]
    closed = [end for one in known for end in (one.found.low, one.found.high, one.found.ratio) if end is not None]
    rows = [
        {
            "roll-out": one.name,
            "ratio": one.found.ratio,
            # An interval that the houses cannot close runs to the edge.
            "low": min(closed) if one.found.low is None else one.found.low,
            "high": max(closed) if one.found.high is None else one.found.high,
            "verdict": one.verdict,
        }
        for one in known
    ]
    return ratio_chart(rows, "roll-out", "counted over expected without it")


def courses(effects: Sequence[Effect]) -> View:
    """Two weeks at a time, from before it came to after."""
    small = []
    for one in effects:
        rows = [
            {"weeks": (at.first + at.last) / 2, "ratio": at.ratio, "low": at.low, "high": at.high}
            for at in one.found.course
        ]
        base = on(pl.DataFrame(rows), title=one.name, width=WIDTH, height=HEIGHT)
        x = Field("weeks:Q").title(None).axis(grid=False, tickCount=6)
        tooltip = [told(name, format=".2f") for name in ("ratio", "low", "high")]
        marks = (
            on(pl.DataFrame({"at": [1.0]})).mark("rule", style="reference").encode(y=Field("at:Q")),
            on(pl.DataFrame({"at": [0.0]})).mark("rule", style="dated").encode(x=Field("at:Q")),
        )
        y = Field("low:Q").title(None).scale(zero=False).axis(tickCount=4)
        small.append(
            layer(
                *marks,
                base.mark("rule", strokeWidth=2).encode(x=x, y=y, y2="high:Q", tooltip=tooltip),
                base.mark("point").encode(x=x, y=Field("ratio:Q"), tooltip=tooltip),
            )
        )
    return concat(*small, columns=IN_A_ROW)
