"""The keeping report's charts: what is still good day by day, and control charts."""

from __future__ import annotations

from typing import Final

import polars as pl

from stillroom.analysis.batches.kept import Kept
from stillroom.analysis.batches.measured import MeasuredSeries
from stillroom.objects import ReportChart
from stillroom_plugins.reports._vega import Field, View, concat, layer, on, told
from stillroom_plugins.reports.keeping.findings import MEASURES

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
                chart=_survival(spoiled[:MOST]).chart(),
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
                chart=_control(telling[:MOST]).chart(),
                note="Dashed lines: limits. Thin line: the level in force. Crosses are outside the limits.",
            )
        )
    return tuple(drawn)


def _survival(kept: list[Kept]) -> View:
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
        base = on(pl.DataFrame(rows), title=one.name, width=WIDTH, height=HEIGHT)
        x = Field("day:Q").title("days").axis(tickMinStep=1, tickCount=6, grid=False)
        share = Field("good:Q").title(None).scale(domain=[0, 1]).axis(format="%", tickCount=3)
        band = base.mark("area", interpolate="step-after", opacity=0.2).encode(
            x=x, y=Field("low:Q"), y2=Field("high:Q")
        )
        line = base.mark("line", interpolate="step-after").encode(
            x=x, y=share, tooltip=[told("day"), told("good", format=".0%")]
        )
        layers = [band, line]
        if one.label_days is not None:
            label = pl.DataFrame({"day": [float(one.label_days)]})
            layers.append(on(label).mark("rule", style="reference").encode(x=Field("day:Q")))
        small.append(layer(*layers))
    return concat(*small, columns=IN_A_ROW)


def _control(series: list[MeasuredSeries]) -> View:
    small = []
    for one in series:
        places = range(len(one.chart.values))
        frame = one.batches.with_columns(
            pl.Series("what", ["outside" if place in one.chart.beyond else "inside" for place in places], pl.String),
            pl.Series("middle", one.chart.middles, pl.Float64),
            pl.Series("low", [level - one.chart.reach for level in one.chart.middles], pl.Float64),
            pl.Series("high", [level + one.chart.reach for level in one.chart.middles], pl.Float64),
        )
        base = on(frame, title=one.preparation, width=WIDTH, height=HEIGHT)
        x = Field("made_on:T").title(None).axis(format="%-d %b", tickCount=4, grid=False)
        y = Field("value:Q").title(MEASURES[one.measure]).scale(zero=False).axis(tickCount=4, grid=False)
        line = base.mark("line", strokeWidth=1).encode(x=x, y=y)
        points = base.mark("point").encode(
            x=x,
            y=y,
            shape=Field("what:N").legend().scale(domain=["inside", "outside"], range=["circle", "cross"]),
            color=Field("what:N").legend().scale(domain=["inside", "outside"]),
            tooltip=[told("batch"), told("made_on:T"), told("value", format=".2f")],
        )
        small.append(layer(*_levels(base, x, one.course.kind == "slope"), line, points))
    return concat(*small, columns=IN_A_ROW)


def _levels(base: View, x: Field, sloping: bool) -> list[View]:
    """The limits and the level in force at each batch."""
    limit = base.mark("line", style="reference", interpolate="linear" if sloping else "step-after")
    middle = base.mark("line", strokeWidth=0.7, interpolate="linear" if sloping else "step-after")
    return [
        *(limit.encode(x=x, y=Field(f"{end}:Q")) for end in ("low", "high")),
        middle.encode(x=x, y=Field("middle:Q")),
    ]
