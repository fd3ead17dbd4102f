"""Report: whether a new version changed what sells."""

from __future__ import annotations

from typing import Final

import polars as pl

from stillroom.analysis.menu.version_change import Effect, changes, effect_of
from stillroom.glossary import named
from stillroom.objects import Column, Finding, ReportChart, ReportInputs, ReportResult, ReportTable
from stillroom.words import counted, day_text, listed, number, percent
from stillroom_plugins.reports.change import charts

NOTES: Final = (
    "Serves of the changed drink are held against those of the drinks that stayed as they were, day by day: weekday, "
    "weather and season move both. The changed drink's own weekday pattern is taken out, and a slow trend of its own, "
    "no larger than this house's drinks usually have: where they rise and fall a lot, only a large change can be told. "
    "The ratio is after over before; 95 % interval.",
    "For a preparation the drinks that take it are looked at together. Up to eight weeks on either side count.",
    "Something else that happened to the drink in the same week (a new price, a new place on the menu) cannot be told "
    "from the new version.",
)


def build(inputs: ReportInputs) -> ReportResult:
    """Findings, table and charts of the changes within the period."""
    frames, period = inputs.frames, inputs.period
    daily = frames["daily_serves"].group_by("business_date", "spec").agg(pl.col("serves").sum())
    every = changes(frames["current_spec"], frames["preparation_use"], period.first, period.last)
    if not every:
        sentence = f"No new version went into service in {period.label}."
        return ReportResult(findings=(Finding(sentence=sentence, evidence="By the dates in the specs."),))
    effects = [effect_of(change, every, daily, frames["current_spec"]) for change in every]
    return ReportResult(
        findings=tuple(_finding(effect) for effect in effects),
        tables=(_table(effects),),
        charts=_charts(effects, daily),
        notes=NOTES,
    )


def name_of(effect: Effect) -> str:
    """The change in words: spec and its new version."""
    return f"{effect.change.spec}, version {effect.change.new}"


def _finding(effect: Effect) -> Finding:
    change = effect.change
    name = f"{name_of(effect)} (in service since {day_text(change.day)})"
    if change.kind != "drink":
        name += f", by the sales of {listed(change.drinks, 3) or 'no drink'}"
    if effect.ratio is None or effect.low is None or effect.high is None:
        evidence = f"{effect.why_not[:1].upper()}{effect.why_not[1:]}."
        return Finding(
            sentence=f"{name}: cannot tell whether it sells more.",
            evidence=evidence,
            sureness="cannot tell",
            subject=change.spec,
        )
    evidence = (
        f"{number(effect.after or 0, 1)} serves a day in {counted(effect.days_after, 'day')} after, where "
        f"{number(effect.expected or 0, 1)} were to be expected by {counted(len(effect.compared), 'unchanged drink')}; "
        f"between {_change(effect.low)} and {_change(effect.high)}; {number(effect.before or 0, 1)} in "
        f"{counted(effect.days_before, 'day')} before."
    )
    statistics = (
        f"Rate ratio {number(effect.ratio, 2)} (95 % interval {number(effect.low, 2)} to {number(effect.high, 2)}); "
        "quasi-binomial fit, the drink's trend held to what the house's trends are like."
    )
    if change.repriced:
        evidence += " Its price changed with it: the two cannot be told apart."
    by = percent(abs(effect.ratio - 1))
    if effect.verdict == "cannot tell":
        sentence = (
            f"{name}: cannot tell whether it sells more; anything from {_change(effect.low)} to {_change(effect.high)}."
        )
        return Finding(
            sentence=sentence, evidence=evidence, statistics=statistics, sureness="cannot tell", subject=change.spec
        )
    more = effect.verdict == "sells more"
    what = f"sells {by} {'more' if more else 'less'} than version {change.old} did, beside the unchanged drinks"
    return Finding(
        sentence=f"{name}: {what}." + ("" if more else " Taste and price it again, or go back."),
        evidence=evidence,
        statistics=statistics,
        sureness="likely" if change.repriced else "sure",
        act=not more,
        subject=change.spec,
        do="" if more else "taste and price it again, or go back",
        weight=abs(effect.ratio - 1) * (effect.before or 0.0) * effect.days_after,
    )


def _change(ratio: float) -> str:
    return f"{percent(abs(ratio - 1))} {'more' if ratio >= 1 else 'less'}"


def _table(effects: list[Effect]) -> ReportTable:
    rows = [
        {
            "spec": effect.change.spec,
            "old": effect.change.old,
            "new": effect.change.new,
            "day": effect.change.day,
            "before": effect.before,
            "expected": effect.expected,
            "after": effect.after,
            "days_before": effect.days_before,
            "days_after": effect.days_after,
            "ratio": effect.ratio,
            "low": effect.low,
            "high": effect.high,
            "verdict": effect.verdict,
            "why_not": effect.why_not or None,
            "compared": len(effect.compared),
        }
        for effect in effects
    ]
    floats = dict.fromkeys(("before", "expected", "after", "ratio", "low", "high"), pl.Float64)
    return ReportTable(
        name="changes",
        title="Every new version that went into service in this period",
        frame=pl.DataFrame(rows, schema_overrides={**floats, "why_not": pl.String}),
        columns={
            **named("spec"),
            "old": Column(label="From version"),
            "new": Column(label="To version"),
            "day": Column(label="Since"),
            "before": Column(label="Serves a day before", decimals=1),
            "expected": Column(label="expected after", decimals=1),
            "after": Column(label="after", decimals=1),
            "ratio": Column(label="Rate ratio", decimals=2),
            "low": Column(label="from", decimals=2),
            "high": Column(label="to", decimals=2),
            "verdict": Column(label="So it"),
            "why_not": Column(label="Why not"),
            "compared": Column(label="Drinks compared with"),
        },
        subjects="spec",
    )


def _charts(effects: list[Effect], daily: pl.DataFrame) -> tuple[ReportChart, ...]:
    told = [effect for effect in effects if effect.ratio is not None]
    if not told:
        return ()
    return (
        ReportChart(
            name="ratios",
            title="Serves after over those to be expected by the drinks that stayed as they were, with 95 % intervals",
            chart=charts.ratios([(name_of(effect), effect) for effect in told]).chart(),
            note="Dashed line: no change. An interval that crosses it cannot tell.",
        ),
        ReportChart(
            name="weeks",
            title="Serves of the changed drink for 100 serves of the unchanged ones, week by week",
            chart=charts.weeks([(name_of(effect), effect) for effect in told], daily).chart(),
            note="Dashed line: the day of the change.",
        ),
    )
