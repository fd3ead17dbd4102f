"""The roll-out report's charts: ratios with intervals, and the weeks around each coming."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import polars as pl

from stillroom_plugins.reports.rollout.effects import Effect

if TYPE_CHECKING:
    import altair as alt

WIDTH: Final = 230
HEIGHT: Final = 120
IN_A_ROW: Final = 3


def ratios(effects: Sequence[Effect]) -> alt.TopLevelMixin:
    """A dot and an interval for each roll-out."""
    import altair as alt

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
    base = alt.Chart(pl.DataFrame(rows))
    y = alt.Y("roll-out:N").title(None).sort([one.name for one in known]).axis(labelLimit=240)
    x = alt.X("low:Q").title("counted over expected without it").scale(zero=False, padding=12)
    tooltip = ["roll-out", "verdict", *(alt.Tooltip(name, format=".2f") for name in ("ratio", "low", "high"))]
    return alt.layer(
        alt.Chart(pl.DataFrame({"at": [1.0]})).mark_rule(style="reference").encode(x=alt.X("at:Q")),
        base.mark_rule(strokeWidth=2).encode(y=y, x=x, x2=alt.X2("high:Q"), tooltip=tooltip),
        base.mark_point().encode(y=y, x=alt.X("ratio:Q"), shape=alt.Shape("verdict:N").title(None), tooltip=tooltip),
    )


def courses(effects: Sequence[Effect]) -> alt.TopLevelMixin:
    """Two weeks at a time, from before it came to after."""
    import altair as alt

    small = []
    for one in effects:
        rows = [
            {"weeks": (at.first + at.last) / 2, "ratio": at.ratio, "low": at.low, "high": at.high}
            for at in one.found.course
        ]
        base = alt.Chart(pl.DataFrame(rows), title=one.name, width=WIDTH, height=HEIGHT)
        x = alt.X("weeks:Q").title(None).axis(grid=False, tickCount=6)
        tooltip = [alt.Tooltip(name, format=".2f") for name in ("ratio", "low", "high")]
        marks = (
            alt.Chart(pl.DataFrame({"at": [1.0]})).mark_rule(style="reference").encode(y=alt.Y("at:Q")),
            alt.Chart(pl.DataFrame({"at": [0.0]})).mark_rule(style="dated").encode(x=alt.X("at:Q")),
        )
        y = alt.Y("low:Q").title(None).scale(zero=False).axis(tickCount=4)
        small.append(
            alt.layer(
                *marks,
                base.mark_rule(strokeWidth=2).encode(x=x, y=y, y2="high:Q", tooltip=tooltip),
                base.mark_point().encode(x=x, y=alt.Y("ratio:Q"), tooltip=tooltip),
            )
        )
    return alt.concat(*small, columns=IN_A_ROW)
