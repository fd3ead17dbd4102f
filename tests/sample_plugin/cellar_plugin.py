"""Cellar temperatures: how warm it was where the preparations stand."""

from __future__ import annotations

import pandera.polars as pa
import polars as pl

from stillroom import hookimpl
from stillroom.objects import (
    Caution,
    Column,
    Finding,
    Report,
    ReportInputs,
    ReportResult,
    ReportTable,
    Source,
    SpecFacts,
    Table,
)
from stillroom.reading import read_batches, read_headings
from stillroom_schemas import fields

WARM = 8.0  # °C; an invented limit, for the sake of the example


class Cellar(pa.DataFrameModel):
    """One reading of the thermometer."""

    read_at: pl.Datetime = fields.moment("when it was read, house time zone")
    celsius: float = fields.number("temperature, °C", ge=-40, le=60)


@hookimpl
def register_sources() -> list[Source]:
    """The thermometer's file."""
    return [
        Source(
            name="cellar-log",
            title="cellar temperatures: one reading a row",
            tables=("cellar",),
            headings=read_headings,
            read=read_batches,
        )
    ]


@hookimpl
def register_tables() -> list[Table]:
    """Its readings."""
    return [Table(name="cellar", title="a reading", model=Cellar, key=("read_at",), ground=("read_at",))]


@hookimpl
def register_reports() -> list[Report]:
    """How warm it was."""
    return [
        Report(
            name="cellar", title="The cellar", question="Was it cold enough?", needs=("current_cellar",), build=build
        )
    ]


def build(inputs: ReportInputs) -> ReportResult:
    """Readings above the limit."""
    readings = inputs.frames["current_cellar"].select("read_at", "celsius").sort("read_at")
    warm = readings.filter(pl.col("celsius") > WARM)
    columns = {"read_at": Column(label="Read at"), "celsius": Column(label="Temperature", unit="°C", decimals=1)}
    finding = Finding(
        sentence=f"{warm.height} of {readings.height} readings were above {WARM:.0f} °C.",
        evidence=f"{readings.height} readings",
        act=not warm.is_empty(),
    )
    table = ReportTable(name="readings", title="Readings", frame=readings, columns=columns)
    return ReportResult(findings=(finding,), tables=(table,))


@hookimpl
def register_cautions() -> list[Caution]:
    """What warmth does to sugar."""
    return [Caution(name="cellar", title="Cellar", source="common practice, no source", check=_sweet)]


def _sweet(facts: SpecFacts) -> str | None:
    return "Keep it below the cellar's limit." if facts.kind == "preparation" else None
