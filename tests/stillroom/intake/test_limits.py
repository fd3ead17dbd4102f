"""Limits as expressions against pandera's own validation: the same rows, with the same reasons."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

import pandera.polars as pa
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stillroom.errors import FileRefused
from stillroom.intake import limits
from stillroom.intake.limits import Broken
from stillroom_schemas import TABLES
from stillroom_schemas.table import Table

TABLE = {table.name: table for table in TABLES}


def cells(column: Any) -> st.SearchStrategy[Any]:
    """Cells of a column: on its limits, about them, of its words and of none, and empty ones."""
    dtype = column.dtype.type
    stated = [said for check in column.checks for said in check.statistics.values() if not isinstance(said, list)]
    if dtype == pl.String:
        words = [str(w) for check in column.checks for w in check.statistics.get("allowed_values", [])]
        return st.sampled_from([None, "a", "other", *words])
    if dtype == pl.Float64:
        return st.sampled_from(
            [None, 0.0, 1.0, -1.0, 2.5, *(limit + by for limit in stated for by in (-0.5, 0.0, 0.5))]
        )
    if dtype == pl.Int64:
        return st.sampled_from([None, 0, 1, 3, *(int(limit) + by for limit in stated for by in (-1, 0, 1))])
    if dtype == pl.Date:
        return st.sampled_from([None, date(2025, 1, 1), date(2025, 6, 1)])
    return st.sampled_from([None, datetime(2025, 1, 1, 20), datetime(2025, 6, 1, 1)])


@st.composite
def frames(draw: st.DrawFn, table: Table) -> pl.DataFrame:
    columns = table.schema().columns
    rows = draw(st.lists(st.tuples(*map(cells, columns.values())), min_size=1, max_size=12))
    types = {n: pl.Datetime("us") if c.dtype.type == pl.Datetime else c.dtype.type for n, c in columns.items()}
    return pl.DataFrame(rows, schema=types, orient="row")


def told(found: list[Broken] | None) -> list[tuple[str, str, list[int]]]:
    assert found is not None, "a model of ours has a check that is no limit"
    return [(one.column, one.check, sorted(one.places)) for one in found]


@pytest.mark.parametrize("table", TABLES, ids=lambda table: table.name)
@settings(max_examples=25)
@given(st.data())
def test_limits_set_aside_what_pandera_does_for_the_same_reasons(table, data):
    frame, schema = data.draw(frames(table)), table.schema()
    assert told(limits.in_one_pass(frame, schema)) == told(limits.by_pandera(frame, schema, table))


def model(**checks: Any) -> Any:
    return pa.DataFrameSchema({"n": pa.Column(pl.Float64, nullable=True, **checks)})


FRAME = pl.DataFrame({"n": [1.0, 2.0, 30.0, None, 2.0]})


def above_mean(data: pa.PolarsData) -> pl.LazyFrame:
    return data.lazyframe.select(pl.col("n") < 2 * pl.col("n").mean())


@pytest.mark.parametrize(
    "schema",
    [
        model(checks=pa.Check(lambda n: n < 2.5, element_wise=True)),
        model(checks=pa.Check.in_range(1, 2)),
        model(unique=True),
        pa.DataFrameSchema({"n": pa.Column(pl.Float64, nullable=True)}, checks=pa.Check(above_mean)),
        pa.DataFrameSchema({"n": pa.Column(pl.Float64, nullable=True)}, unique=["n"]),
    ],
    ids=["cell by cell", "another check", "unique", "among all rows", "unique rows"],
)
def test_what_is_no_limit_of_a_row_is_told_as_pandera_tells_it(schema):
    expected = told(limits.by_pandera(FRAME, schema, TABLE["sale"]))
    assert expected
    assert told(limits.broken(FRAME, schema, TABLE["sale"])) == expected


def test_a_check_that_fails_to_run_is_told():
    def broken(data: pa.PolarsData) -> pl.LazyFrame:
        raise ValueError("no such thing")

    schema = pa.DataFrameSchema({"n": pa.Column(pl.Float64, nullable=True)}, checks=pa.Check(broken))
    with pytest.raises(FileRefused, match="could not be run"):
        limits.broken(FRAME, schema, TABLE["sale"])
