"""Report: the shortlist of drinks and preparations to reformulate or re-size, with all evidence side by side."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

import polars as pl

from stillroom.analysis.menu.rework import FIELDS, Evidence, shortlist
from stillroom.house.report_settings import LossSettings
from stillroom.objects import Column, Finding, ReportChart, ReportInputs, ReportResult, ReportTable
from stillroom.words import counted, money
from stillroom_plugins.reports._vega import Field, View, layer, on, step, told

SHOWN: Final = 8
"""Subjects that are told in a sentence; the table has them all."""
NOTES: Final = (
    "Nothing is added up: a sum of money is the largest single one of its row, and what it stands for is named beside "
    "it. Margin: what the drink's serves left over less than the average serve would have. Waste: lost, at cost. "
    "Sales: the fall, of a week or in a step, of the period's takings.",
    "Each figure is worked out as in its own report (season, expiry, keeping, panel); the doubts told there hold here.",
)

AT_STAKE: Final = {
    "margin": "It left {} less than as many average serves would have.",
    "waste": "{} was lost, at cost.",
    "sales": "Such a fall once more would take {} off such a period's sales.",
}
"""What a field's money stands for, said where that field's is the largest."""


def build(inputs: ReportInputs) -> ReportResult:
    """The shortlist with its evidence."""
    known = evidence(inputs)
    found = shortlist(known)
    currency = inputs.house.currency
    if found.is_empty():
        sentence = f"Nothing asks to be reworked in {inputs.period.label}."
        return ReportResult(
            findings=(
                Finding(
                    sentence=sentence,
                    evidence=f"{counted(len(known), 'figure')} looked at.",
                    sureness="sure" if known else "cannot tell",
                ),
            )
        )
    return ReportResult(
        findings=tuple(_finding(row, currency) for row in found.head(SHOWN).iter_rows(named=True)),
        tables=(_table(found, currency),),
        charts=_charts(found, currency),
        notes=NOTES,
    )


def evidence(inputs: ReportInputs) -> list[Evidence]:
    """All that is known of each drink and preparation."""
    from stillroom.analysis.menu.season import season_figures
    from stillroom_plugins.reports.rework import evidence as gather

    frames, period, currency = inputs.frames, inputs.period, inputs.house.currency
    figures = season_figures(
        frames["daily_serves"], frames["current_spec"], frames["spec_cost"], period.first, period.last
    )
    made = frames["batch_fate"].filter(pl.col("made_on") <= period.last)
    return [
        *gather.of_drinks(figures, period.last, currency),
        *_waste(inputs),
        *gather.of_keeping(made),
        *gather.of_panel(*_liking(inputs)),
    ]


def _waste(inputs: ReportInputs) -> Iterator[Evidence]:
    """Of what was made in the period, with the expiry report's advice."""
    from stillroom.analysis.batches.against_loss import any_sold
    from stillroom.analysis.batches.use_ahead import house_wide
    from stillroom.analysis.batches.use_rate import rates_of_use
    from stillroom.analysis.batches.waste import fate_by_preparation
    from stillroom_plugins.reports.rework import evidence as gather

    frames, period = house_wide(inputs.frames, inputs.house.name), inputs.period
    fate, allowed = frames["batch_fate"], inputs.house.settings(LossSettings).allowed_loss
    if fate.height:
        summed = fate_by_preparation(fate, period.first, period.last)
        made = fate.filter(pl.col("made_on").is_between(period.first, period.last))
        rates = rates_of_use(frames["preparation_use"], fate["last_day"][0])
        sold = any_sold(frames["daily_serves"], period.first, period.last)
        yield from gather.of_waste(summed, made, rates, allowed, inputs.house.currency, sold=sold)


def _liking(inputs: ReportInputs) -> tuple[pl.DataFrame, dict[str, int]]:
    """Differences of overall liking with the version in service, and that version."""
    from stillroom.analysis.panel.attributes import is_liking
    from stillroom.analysis.panel.verdicts import compare_versions
    from stillroom.analysis.specs.versions import Versions

    scores = inputs.frames["panel_scores"].filter(is_liking(), pl.col("tasted_on") <= inputs.period.last)
    versions, last = Versions(inputs.frames["version_span"]), inputs.period.last
    named = scores["spec"].unique().sort().to_list()
    serving = {spec: number for spec in named if (number := versions.in_service(spec, last)) is not None}
    if scores.is_empty() or not serving:
        return pl.DataFrame(), {}
    differences = compare_versions(scores, serving).differences
    if differences.is_empty():
        return pl.DataFrame(), serving
    asked = differences.filter("primary", pl.col("correction") == "Dunnett", pl.col("spec").is_in(list(serving)))
    return asked, serving


def _finding(row: dict[str, Any], currency: str) -> Finding:
    at_stake = ""
    if row["money"] is not None:
        at_stake = f" {AT_STAKE[row['money_from']].format(money(row['money'], currency))}"
    return Finding(
        sentence=f"{row['subject']}: {row['do']}.{at_stake}",
        evidence=f"{'; '.join(f'{name}: {row[name]}' for name in FIELDS if row[name])}.",
        sureness=row["sureness"],
        # What one field alone asks for is told first by that field's own report.
        act=row["asking"] > 1 and row["sureness"] != "cannot tell",
        subject=row["subject"],
        do=row["do"],
        money=row["money"],
        weight=row["money"] or 0.0,
    )


def _table(found: pl.DataFrame, currency: str) -> ReportTable:
    return ReportTable(
        name="shortlist",
        title="The shortlist: largest single sum of money first, then the surest",
        frame=found,
        columns={
            "subject": Column(label="Drink or preparation"),
            "do": Column(label="Asks for"),
            "money": Column(label="Largest sum", unit=currency, decimals=0),
            "money_from": Column(label="which is"),
            "sureness": Column(label="How sure"),
            "sales": Column(label="Sales"),
            "margin": Column(label="Margin"),
            "waste": Column(label="Waste"),
            "keeping": Column(label="Keeping"),
            "panel": Column(label="Panel"),
        },
        subjects="subject",
    )


def _charts(found: pl.DataFrame, currency: str) -> tuple[ReportChart, ...]:
    priced = found.filter(pl.col("money").is_not_null() & (pl.col("money") > 0))
    if priced.is_empty():
        return ()
    return (
        ReportChart(
            name="money",
            title="What each is about in money: the largest single sum, and what it stands for",
            chart=_money(priced, currency).chart(),
        ),
    )


def _money(priced: pl.DataFrame, currency: str) -> View:
    rows = priced.with_columns(said=pl.format("{}, {}", pl.col("money").round(0).cast(pl.Int64), "money_from"))
    base = on(rows.select("subject", "money", "said")).encode(
        y=Field("subject:N").title(None).sort(priced["subject"].to_list()).axis(ticks=False, domain=False),
        x=Field("money:Q").title(currency).scale(domain=[0, 1.6 * max(rows["money"].to_list())]).axis(tickCount=6),
    )
    bars = base.mark("bar", size=12).encode(tooltip=[told("subject"), told("said", title="largest sum")])
    figures = base.mark("text", align="left", dx=4).encode(text="said:N")
    return layer(bars, figures).properties(height=step(24))
