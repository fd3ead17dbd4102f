"""Report on a group: who is on which version of which spec, and since when."""

from __future__ import annotations

from typing import Final

import polars as pl

from stillroom.analysis.houses.adoption import adoption
from stillroom.objects import Column, Finding, ReportInputs, ReportResult, ReportTable
from stillroom.words import counted, day_text, listed

BY_DAYS: Final = "By the days on which each version sold or was made."
NOTES: Final = (
    "A drink's version is the one in service on the days on which it sold, a preparation's the one its batches "
    "were made "
    "of. A house is on the version that it sold or made last.",
)


def build(inputs: ReportInputs) -> ReportResult:
    """Findings on specs that not all houses have in the newest version, and a row a house and spec."""
    found = adoption(inputs.frames["version_spans"])
    by_spec = _by_spec(found)
    behind = by_spec.filter(pl.col("behind") > 0)
    if behind.is_empty():
        sentence = f"Every house is on the newest version of each of {counted(by_spec.height, 'spec')}."
        return ReportResult(
            findings=(Finding(sentence=sentence, evidence=BY_DAYS),), tables=_tables(found, by_spec), notes=NOTES
        )
    late = found.filter(pl.col("behind") > 0)
    findings = [
        _finding(row, late.filter(pl.col("spec") == row["spec"])["house"].to_list())
        for row in behind.iter_rows(named=True)
    ]
    return ReportResult(findings=tuple(findings), tables=_tables(found, by_spec), notes=NOTES)


def _by_spec(found: pl.DataFrame) -> pl.DataFrame:
    newest = pl.col("behind") == 0
    return (
        found.group_by("spec")
        .agg(
            pl.col("newest").first(),
            pl.len().alias("houses"),
            newest.sum().alias("on_newest"),
            (~newest).sum().alias("behind"),
            pl.col("since").filter(newest).min().alias("first_day"),
            pl.col("since").filter(newest).max().alias("last_day"),
        )
        .sort("behind", "spec", descending=[True, False])
    )


def _finding(row: dict[str, object], late: list[str]) -> Finding:
    houses, on_newest = int(str(row["houses"])), int(str(row["on_newest"]))
    first, last = row["first_day"], row["last_day"]
    some = f"{on_newest} of {counted(houses, 'house')} {'is' if on_newest == 1 else 'are'} on version {row['newest']}"
    since = f"The first since {day_text(first)}, the last since {day_text(last)}." if first and last else ""  # type: ignore[arg-type]
    return Finding(
        sentence=f"{row['spec']}: {some}; {listed(late, 5)} {'is' if len(late) == 1 else 'are'} behind.",
        evidence=since or BY_DAYS,
    )


def _tables(found: pl.DataFrame, by_spec: pl.DataFrame) -> tuple[ReportTable, ...]:
    return (
        ReportTable(
            name="specs",
            title="The newest version of each spec, and who has it",
            frame=by_spec,
            columns={
                "spec": Column(label="Spec"),
                "newest": Column(label="Newest version"),
                "houses": Column(label="Houses"),
                "on_newest": Column(label="on it"),
                "behind": Column(label="behind"),
                "first_day": Column(label="First house since"),
                "last_day": Column(label="Last house since"),
            },
        ),
        ReportTable(
            name="houses",
            title="Versions in use, by house",
            frame=found.sort("house", "spec"),
            columns={
                "house": Column(label="House"),
                "spec": Column(label="Spec"),
                "version": Column(label="Version"),
                "since": Column(label="Since"),
                "newest": Column(label="Newest"),
            },
            subjects="house",
        ),
    )
