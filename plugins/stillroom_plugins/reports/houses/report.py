"""Report on a group: houses beside each other, each preparation and each drink."""

from __future__ import annotations

from typing import Any, Final

import polars as pl

from stillroom.objects import Column, Finding, ReportChart, ReportInputs, ReportResult, ReportTable
from stillroom.words import counted, money, number, percent
from stillroom_plugins.reports._trusted import trusted
from stillroom_plugins.reports.houses import charts
from stillroom_plugins.reports.houses.beside import Beside, all_rows, everything

CHARTED: Final = 4
NOTES: Final = (
    "A house is named only where it lies beyond limits that one group in twenty has any house beyond, of any "
    "preparation "
    "or drink, where none is unlike the rest: with many small houses one has the largest share by chance alone "
    "(Spiegelhalter 2005, Stat. Med. 24:1185; houses' real differences widen the limits, Qual. Saf. Health Care "
    "14:347).",
    "A house's own share is also drawn towards the group's by as much as it is unsure (hierarchical "
    "beta-binomial; Gelman "
    "et al. 2013, Bayesian Data Analysis, section 5.3), with a 95 % interval. What a share is worth follows from how "
    "it moves from week to week, in all houses together.",
    "Of a preparation: lost of what is gone of the batches made in these weeks. Of a drink: its part of the house's "
    "serves, in the weeks from its first to its last sale. Things that fewer than five houses have are not compared.",
)


def build(inputs: ReportInputs) -> ReportResult:
    """Findings on houses outside, charts of the funnels, and a row a house and thing."""
    frames, currency = inputs.frames, inputs.house.currency
    waste, note = trusted(frames["waste_shares"], frames["house_books"], "waste")
    drinks, also = trusted(frames["drink_shares"], frames["house_books"], "sales")
    found = everything(waste, drinks)
    notes = (*NOTES, *dict.fromkeys((*note, *also)))
    if not found:
        sentence = "Too few houses make the same things to hold them beside each other."
        evidence = "At least five houses are needed that have the same preparation or drink."
        nothing = Finding(sentence=sentence, evidence=evidence, sureness="cannot tell")
        return ReportResult(findings=(nothing,), notes=notes)
    findings = [_finding(row, one, currency) for one in found for row in one.named.iter_rows(named=True)]
    rows = all_rows(found)
    return ReportResult(
        findings=tuple(sorted(findings, key=lambda f: -f.weight)) or (_alike(found, rows),),
        tables=(_table(rows, currency),),
        charts=tuple(_chart(number, one) for number, one in enumerate(_shown(found), 1)),
        notes=notes,
    )


def _finding(row: dict[str, Any], one: Beside, currency: str) -> Finding:
    above = row["lies"] == "above"
    wasteful = one.kind == "preparation"
    what = (
        f"loses {percent(row['share'])} of its {one.thing}"
        if wasteful
        else f"sells {percent(row['share'], 1)} {one.thing}"
    )
    than = f"{'more' if above else 'less'} than its size and chance explain"
    group = percent(row["group"]) if wasteful else percent(row["group"], 1)
    low, high = one.funnel.ends(
        one.rows.filter(pl.col("house") == row["house"])["worth"].to_numpy(), one.funnel.outer(one.things)
    )
    places = 0 if wasteful else 1
    surely = row["low"] > row["group"] if above else row["high"] < row["group"]
    at_stake = row["money"] if wasteful and above else None
    evidence = (
        f"The houses' mean is {group}. Drawn to it, this house is at {percent(row['pooled'], places)}, between "
        f"{percent(row['low'], places)} and {percent(row['high'], places)}."
    )
    if at_stake:
        evidence += f" Beyond the mean it lost {money(at_stake, currency)}."
    return Finding(
        sentence=f"{row['house']} {what}{'' if wasteful else ' of all its serves'}, {than}.",
        evidence=evidence,
        sureness="sure" if surely else "likely",
        act=wasteful and above,
        subject=row["house"],
        do=f"make less {one.thing} at a time, or find out what spoils it" if wasteful and above else "",
        money=at_stake,
        statistics=f"Outer limits for a figure worth {number(row['worth'], 0)}: {percent(float(low[0]), 1)} to "
        f"{percent(float(high[0]), 1)}; overdispersion {number(one.funnel.overdispersion, 2)}, "
        f"{counted(one.funnel.houses, 'house')}.",
        weight=(at_stake or 0.0) if wasteful else 0.0,
    )


def _alike(found: list[Beside], rows: pl.DataFrame) -> Finding:
    preparations = sum(one.kind == "preparation" for one in found)
    return Finding(
        sentence=f"Of {counted(len(found), 'thing')} no house loses or sells more than chance, and the usual "
        "difference between houses, explain.",
        evidence=f"{counted(preparations, 'preparation')} and {counted(len(found) - preparations, 'drink')} in "
        f"{counted(rows['house'].n_unique(), 'house')} looked at: some house always has the largest share. Houses may "
        "differ for all that, and what the largest losses cost is under 'Waste in money'.",
    )


def _shown(found: list[Beside]) -> list[Beside]:
    """Those with houses outside first, then those that lose most."""
    return sorted(found, key=lambda one: (-one.named.height, -one.heaviest, one.kind, one.thing))[:CHARTED]


def _chart(number: int, one: Beside) -> ReportChart:
    title = (
        f"What is lost of {one.thing} in each house"
        if one.kind == "preparation"
        else f"{one.thing} of all serves in each house"
    )
    return ReportChart(
        name=f"funnel-{number}",
        title=title,
        chart=charts.funnel_chart(one).chart(),
        note="A dot is a house, further right where more is known of it. Dotted: one alike house in twenty lies "
        "beyond. "
        "Dashed: by chance alone hardly any group has a house beyond; those are named.",
    )


def _table(rows: pl.DataFrame, currency: str) -> ReportTable:
    return ReportTable(
        name="houses",
        title="Share lost of each preparation, and share of each drink in the serves; houses outside first",
        frame=rows.with_columns(pl.col("lies").replace("", None)),
        columns={
            "house": Column(label="House"),
            "thing": Column(label="Preparation or drink"),
            "share": Column(label="Its share", percent=True, decimals=1),
            "pooled": Column(label="Drawn to the group", percent=True, decimals=1),
            "low": Column(label="from", percent=True, decimals=1),
            "high": Column(label="to", percent=True, decimals=1),
            "group": Column(label="Houses' mean", percent=True, decimals=1),
            "lies": Column(label="Outside"),
            "money": Column(label="Lost beyond the mean", unit=currency, decimals=0, signed=True),
        },
        note="Of a preparation the share lost; of a drink its part of all serves.",
        subjects="house",
    )
