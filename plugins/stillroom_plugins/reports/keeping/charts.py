"""The keeping report's charts: what is still good day by day, and control charts."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import polars as pl

from stillroom.analysis.batches.kept import Kept
from stillroom.analysis.batches.measured import MeasuredSeries
from stillroom.objects import ReportChart
from stillroom_plugins.reports.keeping.findings import MEASURES

if TYPE_CHECKING:
    import altair as alt

WIDTH: Final = 230
HEIGHT: Final = 120
IN_A_ROW: Final = 3
MOST: Final = 9
FEWEST: Final = 3
"""Spoiled batches from which a curve says more than its table."""


def charts(kept: list[Kept], series: list[MeasuredSeries]) -> tuple[ReportChart, ...]:
    """The charts that the figures allow."""
    drawn = []
    spoiled = sorted((one for one in kept if one.spoiled >= FEWEST), key=lambda one: (-one.spoiled, one.preparation))
    if spoiled:
        drawn.append(
            ReportChart(
                name="survival",
                title="Share of batches still good, by days from making, for what has spoiled",
                chart=_survival(spoiled[:MOST]),
                note="Steps: by the day on which spoiled batches were found, with the 95 % interval. Dashed "
                "line: the day on the label.",
            )
        )
    telling = sorted(series, key=lambda one: (one.steady and not one.off_spec, one.preparation, one.measure))
    if telling:
        drawn.append(
            ReportChart(
                name="control",
                title="Measured batches in the order made, with their control limits; those with a signal first",
                chart=_control(telling[:MOST]),
                note="Dashed lines: limits. Thin line: the level in force. Crosses are outside the limits.",
            )
        )
    return tuple(drawn)


def _survival(kept: list[Kept]) -> alt.TopLevelMixin:
    import altair as alt

    small = []
    for one in kept:
        curve = one.curve
        end = max([*curve.days, one.label_days or 0])
        rows = [{"day": 0.0, "good": 1.0, "low": 1.0, "high": 1.0}]
        rows += [
            {"day": day, "good": good, "low": low, "high": high}
            for day, good, low, high in zip(curve.days, curve.share, curve.low, curve.high, strict=True)
        ]
        rows.append({**rows[-1], "day": float(end)})
        base = alt.Chart(pl.DataFrame(rows), title=one.name, width=WIDTH, height=HEIGHT)
        x = alt.X("day:Q").title("days").axis(tickMinStep=1, tickCount=6, grid=False)
        share = alt.Y("good:Q").title(None).scale(domain=[0, 1]).axis(format="%", tickCount=3)
        band = base.mark_area(interpolate="step-after", opacity=0.2).encode(x=x, y=alt.Y("low:Q"), y2=alt.Y2("high:Q"))
        line = base.mark_line(interpolate="step-after").encode(
            x=x, y=share, tooltip=[alt.Tooltip("day"), alt.Tooltip("good", format=".0%")]
        )
        layers = [band, line]
        if one.label_days is not None:
            label = pl.DataFrame({"day": [float(one.label_days)]})
            layers.append(alt.Chart(label).mark_rule(style="reference").encode(x=alt.X("day:Q")))
        small.append(alt.layer(*layers))
    return alt.concat(*small, columns=IN_A_ROW)


def _control(series: list[MeasuredSeries]) -> alt.TopLevelMixin:
    import altair as alt

    small = []
    for one in series:
        places = range(len(one.chart.values))
        frame = one.batches.with_columns(
            pl.Series("what", ["outside" if place in one.chart.beyond else "inside" for place in places], pl.String),
            pl.Series("middle", one.chart.middles, pl.Float64),
            pl.Series("low", [level - one.chart.reach for level in one.chart.middles], pl.Float64),
            pl.Series("high", [level + one.chart.reach for level in one.chart.middles], pl.Float64),
        )
        base = alt.Chart(frame, title=one.preparation, width=WIDTH, height=HEIGHT)
        x = alt.X("made_on:T").title(None).axis(format="%-d %b", tickCount=4, grid=False)
        y = alt.Y("value:Q").title(MEASURES[one.measure]).scale(zero=False).axis(tickCount=4, grid=False)
        line = base.mark_line(strokeWidth=1).encode(x=x, y=y)
        points = base.mark_point().encode(
            x=x,
            y=y,
            shape=alt.Shape("what:N").legend(None).scale(domain=["inside", "outside"], range=["circle", "cross"]),
            color=alt.Color("what:N").legend(None).scale(domain=["inside", "outside"]),
            tooltip=[alt.Tooltip("batch"), alt.Tooltip("made_on:T"), alt.Tooltip("value", format=".2f")],
        )
        small.append(alt.layer(*_levels(base, x, one.course.kind == "slope"), line, points))
    return alt.concat(*small, columns=IN_A_ROW)


def _levels(base: alt.Chart, x: alt.X, sloping: bool) -> list[alt.Chart]:
    """The limits and the level in force at each batch."""
    import altair as alt

    limit = base.mark_line(style="reference", interpolate="linear" if sloping else "step-after")
    middle = base.mark_line(strokeWidth=0.7, interpolate="linear" if sloping else "step-after")
    return [
        *(limit.encode(x=x, y=alt.Y(f"{end}:Q")) for end in ("low", "high")),
        middle.encode(x=x, y=alt.Y("middle:Q")),
    ]
