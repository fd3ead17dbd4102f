"""The expiry report's charts: what became of each preparation, and of each batch of the worst."""

from __future__ import annotations

from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING, Any, Final

import polars as pl

from stillroom.analysis.batches.waste import FATES
from stillroom.objects import Period, ReportChart

if TYPE_CHECKING:
    import altair as alt

WORDS: Final = {
    "used": "used",
    "poured_away": "poured away",
    "spoiled": "spoiled",
    "left_at_use_by": "past use-by, nothing logged",
    "on_hand": "on hand",
    "unexplained": "unexplained",
}
WORST: Final = 4
"""Preparations whose batches are drawn one by one."""
MOST_BATCHES: Final = 30
"""Batches drawn of each: the newest."""
WIDTH: Final = 560
STEP: Final = 12


def charts(summed: pl.DataFrame, fate: pl.DataFrame, period: Period) -> tuple[ReportChart, ...]:
    """The charts that the figures allow."""
    if summed.is_empty():
        return ()
    drawn = [
        ReportChart(
            name="shares",
            title="What became of everything made in this period, by preparation, most lost at the top",
            chart=_shares(summed),
            note="An unexplained amount below zero (sales took more than was made) is not drawn; the table has it.",
        )
    ]
    worst = summed.filter(pl.col("lost") > 0, pl.col("keep_days").is_not_null()).head(WORST)["preparation"].to_list()
    if worst:
        drawn.append(
            ReportChart(
                name="batches",
                title="Each batch from its making to its use-by, divided by what became of it",
                chart=_batches(worst, fate, period),
                note="A bar's place and length are the days the batch keeps; its colours are shares of the batch, not "
                "dates. The preparations that lost most are shown.",
            )
        )
    return tuple(drawn)


def _colour() -> alt.Color:
    import altair as alt

    return alt.Color("fate:N").title(None).scale(domain=list(WORDS.values())).legend(columns=3)


def _shares(summed: pl.DataFrame) -> alt.TopLevelMixin:
    import altair as alt

    order = summed.sort(pl.col("lost_share").fill_null(0), "preparation", descending=[True, False])[
        "preparation"
    ].to_list()
    parts = _parts(summed, ["preparation", "unit", "batches"])
    bars: alt.Chart = (
        alt.Chart(parts)
        .mark_bar()
        .encode(
            y=alt.Y("preparation:N").title(None).sort(order),
            x=alt.X("start:Q").title("share of what was made").axis(format="%"),
            x2=alt.X2("end:Q"),
            color=_colour(),
            tooltip=[
                alt.Tooltip("preparation"),
                alt.Tooltip("fate"),
                alt.Tooltip("share", format=".0%"),
                alt.Tooltip("amount", format=".0f"),
                alt.Tooltip("unit"),
            ],
        )
    )
    return bars


def _parts(frame: pl.DataFrame, keys: list[str]) -> pl.DataFrame:
    """One row for each part of each bar: fate, amount, share, and where it starts and ends within 0..1."""
    rows: list[dict[str, Any]] = []
    for row in frame.iter_rows(named=True):
        amounts = {fate: max(0.0, row[fate]) for fate in FATES}
        whole = sum(amounts.values())
        end = 0.0
        for fate, much in amounts.items():
            if much > 0:
                start, end = end, end + much / whole
                bar = {"fate": WORDS[fate], "amount": much, "share": much / whole, "start": start, "end": end}
                rows.append({key: row[key] for key in keys} | bar)
    return pl.DataFrame(rows)


def _batches(worst: list[str], fate: pl.DataFrame, period: Period) -> alt.TopLevelMixin:
    import altair as alt

    made = fate.filter(
        pl.col("made_on").is_between(period.first, period.last),
        pl.col("preparation").is_in(worst),
        pl.col("use_by").is_not_null(),
    )
    ends = [_moment(made["made_on"].min()), _moment(made["use_by"].max(), 1)]
    small = []
    for name in worst:
        batches = made.filter(pl.col("preparation") == name).sort("made_on", "batch").tail(MOST_BATCHES)
        parts = _parts(batches, ["batch", "made_on", "use_by", "unit"])
        if parts.is_empty():
            continue
        placed = pl.DataFrame([_on_the_calendar(row) for row in parts.iter_rows(named=True)])
        chart = alt.Chart(placed, title=name, width=WIDTH, height=alt.Step(STEP)).mark_bar(height=STEP - 3)
        small.append(
            chart.encode(
                y=alt.Y("batch:N").title(None).sort(batches["batch"].to_list()).axis(labels=False, ticks=False),
                x=alt.X("from:T").title(None).scale(domain=ends).axis(format="%-d %b"),
                x2=alt.X2("until:T"),
                color=_colour(),
                tooltip=[
                    alt.Tooltip("batch"),
                    alt.Tooltip("made:N"),
                    alt.Tooltip("use by:N"),
                    alt.Tooltip("fate"),
                    alt.Tooltip("amount", format=".0f"),
                    alt.Tooltip("unit"),
                ],
            )
        )
    return alt.vconcat(*small, spacing=8)


def _on_the_calendar(row: dict[str, Any]) -> dict[str, Any]:
    """A part's share of the bar as a span of the days from the making to the end of the use-by day."""
    days = (row["use_by"] - row["made_on"]).days + 1
    return {
        "batch": row["batch"],
        "made": row["made_on"].isoformat(),
        "use by": row["use_by"].isoformat(),
        "fate": row["fate"],
        "amount": row["amount"],
        "unit": row["unit"],
        "from": _moment(row["made_on"], row["start"] * days),
        "until": _moment(row["made_on"], row["end"] * days),
    }


def _moment(day: Any, days_on: float = 0.0) -> str:
    return (datetime.combine(day, time()) + timedelta(days=days_on)).isoformat(timespec="minutes")
