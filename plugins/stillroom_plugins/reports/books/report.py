"""Report on a group: houses whose books cannot be trusted."""

from __future__ import annotations

from typing import Any, Final

import polars as pl

from stillroom.analysis.houses.trust import ASIDE, SALES, SILENT, UNEXPLAINED, WASTE
from stillroom.objects import Column, Finding, ReportInputs, ReportResult, ReportTable
from stillroom.words import counted, percent
from stillroom_plugins.reports._trusted import marks

NOTES: Final = (
    f"A house is marked when more than {percent(UNEXPLAINED)} of what it made, at cost, is explained by neither sales "
    f"nor losses nor counts, when more than {percent(SILENT)} of its open days have no sales, when more than "
    f"{percent(ASIDE)} of its rows are set aside, or when its last intake failed: its figures are then those of "
    "the one "
    "before. The limits are common practice, no source.",
    "It is left out of the comparisons that this would bend, and shown here and on its own sheet.",
)
_SAID: Final = {
    "unexplained use": (
        "{share} of what it made is unexplained",
        "count what is on hand, and name what the till sells",
    ),
    "days without sales": ("{share} of its open days have no sales", "take in the missing exports of the till"),
    "rows set aside": ("{share} of its rows are set aside", "correct the rows that 'stillroom aside' lists"),
    "intake failed": ("its last intake failed", "mend its files and run 'stillroom group intake' again"),
}


def build(inputs: ReportInputs) -> ReportResult:
    """A finding and a row for each mark."""
    books = inputs.frames["house_books"]
    found = marks(books)
    if found.is_empty():
        sentence = f"The books of all {counted(books.height, 'house')} bear comparison."
        evidence = "What is unexplained, days without sales and rows set aside are within the limits in each of them."
        return ReportResult(findings=(Finding(sentence=sentence, evidence=evidence),), notes=NOTES)
    money = dict(books.select("house", "unexplained_money").iter_rows())
    return ReportResult(
        findings=tuple(_finding(row, money) for row in found.iter_rows(named=True)),
        tables=(_table(found),),
        notes=NOTES,
    )


def _finding(row: dict[str, Any], money: dict[str, float | None]) -> Finding:
    said, do = _SAID[row["mark"]]
    share = None if row["share"] is None else percent(row["share"])
    of = {WASTE: "waste", SALES: "sales"}.get(row["left_out"], "waste and of sales")
    limit = "" if row["limit"] is None else f" More than {percent(row['limit'])} is too much to compare by."
    return Finding(
        sentence=f"{row['house']}: {said.format(share=share)}.",
        evidence=f"It is left out of the comparisons of {of}.{limit}",
        act=True,
        subject=row["house"],
        do=do,
        money=money[row["house"]] if row["mark"] == "unexplained use" else None,
        weight=row["share"] or 1.0,
    )


def _table(found: pl.DataFrame) -> ReportTable:
    return ReportTable(
        name="books",
        title="Houses whose books are in doubt",
        frame=found,
        columns={
            "house": Column(label="House"),
            "mark": Column(label="What is wrong"),
            "share": Column(label="Share", percent=True, decimals=1),
            "limit": Column(label="Limit", percent=True),
            "left_out": Column(label="Left out of"),
        },
        subjects="house",
    )
