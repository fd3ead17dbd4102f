"""The panel report's part on liking: just-about-right scales, what moves with it, and its history."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from stillroom.analysis.panel.drivers import FEWEST_VERSIONS, liking_drivers
from stillroom.analysis.panel.history import panel_history
from stillroom.analysis.panel.penalty import ENOUGH, SIDES, penalties
from stillroom.analysis.panel.verdicts import PanelComparison
from stillroom.objects import Column, Finding, ReportChart, ReportTable
from stillroom.words import counted, number, p_value, percent
from stillroom_plugins.reports._vega import Field, layer, on, step

Part = tuple[tuple[Finding, ...], tuple[ReportTable, ...], tuple[ReportChart, ...]]
MOST_SPECS = 6
"""Specs that are drawn; the tables hold all."""


def penalty_results(scores: pl.DataFrame) -> Part:
    """Just-about-right scales: what is too little or too much, and what that costs in liking."""
    found = penalties(scores)
    if found.is_empty():
        return (), (), ()
    table = ReportTable(
        name="just-about-right",
        title="Too little, just right, too much",
        frame=found,
        subjects="spec",
        columns={
            "spec": Column(label="Spec"),
            "version": Column(label="Version"),
            "attribute": Column(label="Attribute"),
            "side": Column(label="Judged"),
            "count": Column(label="Panelists"),
            "share": Column(label="Share", percent=True),
            "liking": Column(label="Mean liking", unit="points", decimals=2),
            "drop": Column(label="Drop in liking", unit="points", decimals=2, signed=True),
            "low": Column(label="from", decimals=2, signed=True),
            "high": Column(label="to", decimals=2, signed=True),
            "p": Column(label="p", decimals=4, p_value=True),
            "penalty": Column(label="Drop × share", unit="points", decimals=2, signed=True),
        },
        note="Drop: mean liking of those who found it just right, less that of this side (95 % interval, Welch). It is "
        "given where both have three or more.",
    )
    return tuple(_on_penalties(found)), (table,), tuple(_penalty_charts(found))


def _on_penalties(found: pl.DataFrame) -> Iterator[Finding]:
    costly = found.filter((pl.col("share") >= ENOUGH) & (pl.col("p") <= 0.05) & (pl.col("drop") > 0))
    for row in costly.sort("penalty", descending=True).iter_rows(named=True):
        yield Finding(
            sentence=f"{row['spec']}, version {row['version']}: {percent(row['share'])} call its {row['attribute']} "
            f"{row['side']}, and like it less by {number(row['drop'], 1)} points.",
            evidence=f"95 % interval {number(row['low'], 1)} to {number(row['high'], 1)} points, {p_value(row['p'])}; "
            f"{row['count']} of {counted(row['panelists'], 'panelist')}; not corrected for the number of scales asked.",
            sureness="likely",
            act=True,
            subject=row["spec"],
            weight=row["penalty"],
        )


def _penalty_charts(found: pl.DataFrame) -> Iterator[ReportChart]:
    rows = found.with_columns(
        row=pl.format("{}: version {}", "attribute", "version"),
        order=pl.col("side").replace_strict({side: place for place, side in enumerate(SIDES)}),
    )
    for place, ((spec,), own) in enumerate(sorted(rows.partition_by("spec", as_dict=True).items())[:MOST_SPECS], 1):
        yield ReportChart(
            name=f"just-about-right-{place}",
            subject=str(spec),
            title=f"{spec}: how many find it too little, just right, too much",
            chart=on(own.select("row", "side", "order", "share"))
            .mark("bar")
            .encode(
                x=Field("share:Q").title("share of panelists").axis(format="%", tickCount=5).scale(domain=[0, 1]),
                y=Field("row:N").title(None).axis(labelLimit=260),
                # Just right is the normal and pale; both other sides stand out, too much the more.
                opacity=Field("side:N")
                .title(None)
                .scale(domain=list(SIDES), range=[0.65, 0.25, 1.0])
                .legend(values=list(SIDES)),
                order=Field("order:O"),
            )
            .properties(height=step(22))
            .chart(),
        )


def driver_results(comparison: PanelComparison) -> Part:
    """Which attributes move with liking across versions; silent with few versions."""
    found = liking_drivers(comparison.means, comparison.tests)
    if found.is_empty():
        return (), (), ()
    sentences = [
        Finding(
            sentence=f"{row['spec']}: versions with more {row['attribute']} are liked "
            f"{'better' if row['correlation'] > 0 else 'less'}.",
            evidence=f"By the means of {counted(row['versions'], 'version')}; that they go together does not say that "
            "one makes the other.",
            statistics=f"Correlation {number(row['correlation'], 2)}, 95 % interval {number(row['low'], 2)} to "
            f"{number(row['high'], 2)}, not corrected for the number of attributes.",
            sureness="likely",
            subject=row["spec"],
        )
        for row in found.filter((pl.col("low") > 0) | (pl.col("high") < 0)).iter_rows(named=True)
    ]
    table = ReportTable(
        name="drivers",
        title="What moves with liking, from version to version",
        frame=found,
        subjects="spec",
        statistics=True,
        columns={
            "spec": Column(label="Spec"),
            "liking": Column(label="Liking"),
            "attribute": Column(label="Attribute"),
            "versions": Column(label="Versions"),
            "correlation": Column(label="Correlation", decimals=2, signed=True),
            "low": Column(label="from", decimals=2, signed=True),
            "high": Column(label="to", decimals=2, signed=True),
            "slope": Column(label="Points of liking for a point", decimals=2, signed=True),
        },
        note=f"For specs with {FEWEST_VERSIONS} versions or more; 95 % intervals, not corrected for their number.",
    )
    return tuple(sentences), (table,), ()


def history_results(scores: pl.DataFrame) -> tuple[tuple[ReportTable, ...], tuple[ReportChart, ...]]:
    """Liking of each version in each session, for specs tasted in more than one."""
    liking = panel_history(scores).filter("higher_is_better")
    several = liking.filter(pl.col("session").n_unique().over("spec", "attribute") > 1)
    if several.is_empty():
        return (), ()
    table = ReportTable(
        name="history",
        title="Liking, session by session",
        frame=several,
        subjects="spec",
        columns={
            "spec": Column(label="Spec"),
            "attribute": Column(label="Attribute"),
            "session": Column(label="Session"),
            "tasted_on": Column(label="Tasted on"),
            "version": Column(label="Version"),
            "panelists": Column(label="Panelists"),
            "mean": Column(label="Mean", unit="points", decimals=2),
            "low": Column(label="from", decimals=2),
            "high": Column(label="to", decimals=2),
        },
    )
    return (table,), (_history_chart(several),)


def _history_chart(several: pl.DataFrame) -> ReportChart:
    shown = several["spec"].unique().sort().to_list()[:MOST_SPECS]
    rows = several.filter(pl.col("spec").is_in(shown)).with_columns(
        sitting=pl.when(pl.col("session").str.contains(pl.col("tasted_on").cast(pl.String), literal=True))
        .then("session")
        .otherwise(pl.format("{} ({})", "session", "tasted_on")),
        panel=pl.when(pl.col("attribute").n_unique().over("spec") > 1)
        .then(pl.format("{}, {}", "spec", "attribute"))
        .otherwise("spec"),
    )
    sittings = rows.sort("tasted_on")["sitting"].unique(maintain_order=True).to_list()
    base = on(rows.select("panel", "sitting", "version", "mean", "low", "high"))
    x = Field("version:O").title("version").axis(labelAngle=0)
    beside = Field("sitting:N").sort(sittings)
    colour = Field("sitting:N").title("session").scale(domain=sittings)
    y = Field("low:Q").title("mean liking").scale(zero=False)
    bars = base.mark("rule", strokeWidth=2).encode(x=x, xOffset=beside, y=y, y2=Field("high:Q"), color=colour)
    dots = base.mark("point", filled=True, size=80, opacity=1).encode(
        x=x,
        xOffset=beside,
        y=Field("mean:Q"),
        color=colour,
        shape=Field("sitting:N").title("session").scale(domain=sittings),
    )
    return ReportChart(
        name="history",
        title="Liking of each version, each session by itself",
        chart=layer(bars, dots)
        .properties(width=230, height=180)
        .facet(Field("panel:N").title(None), columns=2)
        .chart(),
        note="Dot: mean. Bar: 95 % interval. Compare versions within one session; a whole session may lie higher or "
        "lower for the day and the people."
        + ("" if several["spec"].n_unique() <= MOST_SPECS else f" The first {MOST_SPECS} specs; the table has all."),
    )
