"""Report on a group: whether new versions that came to houses at their own times helped."""

from __future__ import annotations

from typing import Final

import polars as pl

from stillroom.analysis.houses.rollout import AFTER, Rollout
from stillroom.objects import Column, Finding, ReportChart, ReportInputs, ReportResult, ReportTable
from stillroom.words import counted, listed, number, p_value, percent
from stillroom_plugins.reports._trusted import trusted
from stillroom_plugins.reports.rollout import charts
from stillroom_plugins.reports.rollout.effects import Effect, effects

COURSES: Final = 6
NAMED: Final = 6
"""Houses without it that are named, at most."""
NOTES: Final = (
    "What a house would have sold or lost without the new version is told by the houses that did not have it yet "
    "in the "
    f"same week (Borusyak, Jaravel & Spiess 2024), over the first {AFTER} weeks after the one in which it came. A "
    "drink is "
    "counted beside the house's other drinks, so that a house's own season and trend take no part; a preparation "
    "by what "
    "was lost of what is gone.",
    "How sure it is follows from dealing the houses' dates to the houses anew, a thousand times: it holds with a dozen "
    "houses, as long as which house came first had nothing to do with how it was doing. Where houses were unlike in "
    "the four weeks before, nothing is told; but houses chosen because they sold badly, or well, can mislead it. "
    "Several roll-outs at once are corrected for (Holm).",
    "A new version that takes guests from the house's other drinks is told to sell a little more than is true: it is "
    "counted beside them.",
)


def build(inputs: ReportInputs) -> ReportResult:
    """Findings, table and charts of the roll-outs within the days looked at."""
    frames, period = inputs.frames, inputs.period
    spans, notes = [], [*NOTES]
    for kind, comparison in (("drink", "sales"), ("preparation", "waste")):
        own = frames["version_spans"].filter(pl.col("kind") == kind)
        kept, note = trusted(own, frames["house_books"], comparison)
        spans.append(kept)
        notes += [text for text in note if text not in notes]
    every = effects(pl.concat(spans), frames["rollout_weeks"], period)
    if not every:
        sentence = f"No new version came to any house in {period.label}."
        return ReportResult(
            findings=(Finding(sentence=sentence, evidence="By the versions sold and made."),), notes=tuple(notes)
        )
    return ReportResult(
        findings=tuple(_finding(one) for one in every),
        tables=(_table(every),),
        charts=_charts(every),
        notes=tuple(notes),
    )


def _finding(one: Effect) -> Finding:
    found = one.found
    if found.ratio is None:
        return Finding(
            sentence=f"{one.name}: cannot tell whether the roll-out helped.",
            evidence=f"{found.why_not[:1].upper()}{found.why_not[1:]}.",
            sureness="cannot tell",
        )
    does = "sell" if one.kind == "drink" else "lose"
    evidence = (
        f"{counted(found.served, 'house')} got it while {found.waiting} had not by the end; 95 % interval: "
        f"{_interval(found)}."
    )
    if found.unlike_before:
        evidence += (
            f" Those that got it were already at {_change(found.before or 1)} in the four weeks before it came: were "
            "they chosen by how they did? Then what came after cannot be told from what was under way."
        )
    statistics = (
        f"Ratio {number(found.ratio, 3)}; randomisation test {p_value(found.p_value or 0)}, after Holm "
        f"{p_value(one.p_value or 0)}; weeks before: ratio {number(found.before or 1, 3)}, "
        f"{p_value(found.before_p or 1)}."
    )
    if one.helped is None:
        return Finding(
            sentence=f"{one.name}: cannot tell whether houses {does} more or less with it; "
            + (
                "they were unlike already before it came."
                if found.unlike_before
                else f"anything from {_interval(found)}."
            ),
            evidence=evidence,
            statistics=statistics,
            sureness="cannot tell",
        )
    by = percent(abs(found.ratio - 1))
    return Finding(
        sentence=f"{one.name}: houses {does} {by} {one.verdict} with it than they would have without."
        + ("" if one.helped else " Taste it again before more houses get it."),
        evidence=evidence,
        statistics=statistics,
        sureness="sure",
        act=not one.helped or bool(one.without),
        do=f"bring {one.name} to {listed(one.without, NAMED)}"
        if one.helped and one.without
        else ""
        if one.helped
        else f"hold {one.name} back, and taste it again",
        weight=abs(found.ratio - 1),
    )


def _interval(found: Rollout) -> str:
    low = "less than can be told" if found.low is None else _change(found.low)
    high = "more than can be told" if found.high is None else _change(found.high)
    return f"{low} to {high}"


def _change(ratio: float) -> str:
    return f"{percent(abs(ratio - 1))} {'more' if ratio >= 1 else 'less'}"


def _table(every: list[Effect]) -> ReportTable:
    rows = [
        {
            "spec": one.spec,
            "version": one.version,
            "counted": "serves" if one.kind == "drink" else "lost of what is gone",
            "served": one.found.served,
            "waiting": one.found.waiting,
            "ratio": one.found.ratio,
            "low": one.found.low,
            "high": one.found.high,
            "before": one.found.before,
            "p": one.p_value,
            "verdict": one.verdict,
            "why_not": one.found.why_not or None,
        }
        for one in every
    ]
    floats = dict.fromkeys(("ratio", "low", "high", "before", "p"), pl.Float64)
    return ReportTable(
        name="rollouts",
        title="Every new version that came to houses in these days",
        frame=pl.DataFrame(rows, schema_overrides={**floats, "why_not": pl.String}),
        columns={
            "spec": Column(label="Spec"),
            "version": Column(label="Version"),
            "counted": Column(label="What is counted"),
            "served": Column(label="Houses with it"),
            "waiting": Column(label="without"),
            "ratio": Column(label="Ratio", decimals=2),
            "low": Column(label="from", decimals=2),
            "high": Column(label="to", decimals=2),
            "before": Column(label="Before it came", decimals=2),
            "verdict": Column(label="So it is"),
            "why_not": Column(label="Why not"),
        },
    )


def _charts(every: list[Effect]) -> tuple[ReportChart, ...]:
    told = [one for one in every if one.found.ratio is not None]
    if not told:
        return ()
    return (
        ReportChart(
            name="ratios",
            title="What houses sold or lost with the new version, over what they would have without, with 95 % "
            "intervals",
            chart=charts.ratios(told).chart(),
            note="Dashed line: no change. An interval that crosses it cannot tell.",
        ),
        ReportChart(
            name="courses",
            title="The same from four weeks before it came to eight weeks after",
            chart=charts.courses(told[:COURSES]).chart(),
            note="Teal line: the week in which it came. Before it nothing should be seen.",
        ),
    )
