"""Report on a group: what houses sell that others do not, and what they lack."""

from __future__ import annotations

from typing import Any, Final

import polars as pl

from stillroom.analysis.houses.assortment import assortment, differences
from stillroom.objects import Column, Finding, ReportInputs, ReportResult, ReportTable
from stillroom.words import counted, number, percent

TOLD: Final = 6
WORTH_TELLING: Final = 0.02
"""Of a house's serves: a drink below it is left to the table."""
NOTES: Final = (
    "A drink is a house's own where at most one house in ten sells it, or it alone; lacking where two in three or more "
    "sell it and this one does not. What a lacking drink would sell is its median share in the houses that have it, of "
    "this house's serves: no forecast, since drinks take sales from each other.",
)


def build(inputs: ReportInputs) -> ReportResult:
    """Findings on the largest differences, and tables of all."""
    serves = inputs.frames["house_drinks"].rename({"net_takings": "takings"})
    wide, found = assortment(serves), differences(serves)
    told = found.filter(pl.col("share") >= WORTH_TELLING).sort(
        "share", "house", "drink", descending=[True, False, False]
    )
    findings = tuple(_finding(row, wide["of"][0]) for row in told.head(TOLD).iter_rows(named=True))
    if told.is_empty():
        sentence = f"All {counted(serves['house'].n_unique(), 'house')} sell much the same drinks."
        evidence = f"No drink of {percent(WORTH_TELLING)} of a house's serves is its own, or lacking in one."
        findings = (Finding(sentence=sentence, evidence=evidence),)
    return ReportResult(findings=findings, tables=(_differences(found), _drinks(wide)), notes=NOTES)


def _finding(row: dict[str, Any], of: int) -> Finding:
    if row["what"] == "lacks":
        return Finding(
            sentence=f"{row['house']} lacks {row['drink']}, which {row['houses']} of {counted(of, 'house')} sell.",
            evidence=f"Where it is sold, it is {percent(row['share'])} of the serves in the median; here that would be "
            f"{number(row['serves'])} serves.",
            sureness="likely",
            subject=row["house"],
            do=f"try {row['drink']}",
        )
    with_it = "no other house sells" if row["houses"] == 1 else f"{row['houses']} of {counted(of, 'house')} sell"
    return Finding(
        sentence=f"{row['house']} sells {row['drink']}, which {with_it}: {percent(row['share'])} of its serves.",
        evidence=f"{number(row['serves'])} serves.",
        subject=row["house"],
    )


def _differences(found: pl.DataFrame) -> ReportTable:
    return ReportTable(
        name="differences",
        title="What one house sells alone, and what it lacks",
        frame=found,
        columns={
            "house": Column(label="House"),
            "drink": Column(label="Drink"),
            "what": Column(label="This house"),
            "share": Column(label="Share of serves", percent=True, decimals=1),
            "serves": Column(label="Serves", decimals=0),
            "houses": Column(label="Houses that sell it"),
        },
        subjects="house",
    )


def _drinks(wide: pl.DataFrame) -> ReportTable:
    return ReportTable(
        name="drinks",
        title="How widely each drink is sold",
        frame=wide,
        columns={
            "drink": Column(label="Drink"),
            "houses": Column(label="Houses that sell it"),
            "reach": Column(label="Of all houses", percent=True),
            "share": Column(label="Median share of their serves", percent=True, decimals=1),
        },
    )
