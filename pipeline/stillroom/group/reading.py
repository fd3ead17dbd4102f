"""The facts of a group, read and rolled up by Spark; only frames of the size of the answer come to the driver."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from stillroom.errors import UsageError, in_one_line
from stillroom.group import facts as kept
from stillroom.group import session, tables

if TYPE_CHECKING:
    import polars as pl
    from pyspark.sql import DataFrame, SparkSession
    from sqlglot.expressions import Expression

    from stillroom.group.settings import Group

Files = Mapping[str, Sequence[str]]
"""Table of facts -> its files."""


def facts(group: Group, name: str) -> pl.DataFrame:
    """One table of facts whole, of all houses: its columns are those of `facts.COLUMNS`, `house` and `run_id` first.

    Raises:
        UsageError: there is no such table, or something is to be installed first.
    """
    return rolled(group, f"SELECT * FROM {name}")


def rolled(group: Group, statement: str, files: Files | None = None) -> pl.DataFrame:
    """The rows of a statement in Spark SQL on the tables of facts.

    `files`: as `tables.files` gave them, where several statements are to be answered from one state of the group.

    Raises:
        UsageError: the statement cannot be answered, or something is to be installed first.
    """
    session.check()
    parsed = _parsed(statement)
    files = files or tables.files(group.facts)
    with session.opened(group) as spark:
        from pyspark.errors import PySparkException

        for table in _tables(parsed):
            _frame(spark, table, files[table]).createOrReplaceTempView(f"`{table}`")
        try:
            return _as_polars(spark.sql(statement))
        except PySparkException as error:
            raise UsageError(f"The query cannot be answered: {in_one_line(error)}") from None


def rolled_by_duckdb(group: Group, statement: str) -> pl.DataFrame:
    """The same statement, answered by DuckDB alone on this machine."""
    import duckdb
    import polars as pl

    from stillroom.store.frames import fetch

    session.check()
    parsed = _parsed(statement)
    files = tables.files(group.facts)
    with duckdb.connect() as con:
        for table in _tables(parsed):
            if files[table]:
                con.execute(f'CREATE TEMP VIEW "{table}" AS FROM read_parquet({files[table]})')
            else:
                con.register(table, _empty(table).to_arrow())
        found = fetch(con, parsed.sql(dialect="duckdb"))
    # Whole numbers are summed to wider ones there, which polars has as decimals; Spark's stay as they are.
    return found.with_columns(pl.col(pl.Decimal).cast(pl.Int64))


def _parsed(statement: str) -> Expression:
    import sqlglot
    from sqlglot.errors import SqlglotError

    try:
        return sqlglot.parse_one(statement, read="spark")
    except SqlglotError as error:
        raise UsageError(f"The query cannot be answered: {in_one_line(error)}") from None


def _tables(parsed: Expression) -> list[str]:
    """The tables of facts that a statement reads."""
    from sqlglot import exp

    own = {one.alias_or_name for one in parsed.find_all(exp.CTE)}
    named = dict.fromkeys(one.name for one in parsed.find_all(exp.Table) if one.name not in own)
    for name in named:
        if name not in kept.COLUMNS:
            raise UsageError(f"A group has no table '{name}'; there are: {', '.join(kept.COLUMNS)}.")
    return list(named)


def _frame(spark: SparkSession, table: str, files: Sequence[str]) -> DataFrame:
    """A table of facts as Spark has it: the files whose facts count."""
    if not files:
        return spark.createDataFrame([], _schema(table))
    return spark.read.schema(_schema(table)).parquet(*files)


def _schema(table: str) -> str:
    """The columns of a table in Spark's words."""
    words = {"String": "STRING", "Int64": "BIGINT", "Float64": "DOUBLE", "Boolean": "BOOLEAN", "Date": "DATE"}
    columns = {"house": "String", "run_id": "String", **kept.COLUMNS[table]}
    return ", ".join(f"`{name}` {words.get(kind, 'TIMESTAMP')}" for name, kind in columns.items())


def _empty(table: str) -> pl.DataFrame:
    import polars as pl

    return pl.DataFrame(schema=kept.schema(table))


def _as_polars(frame: DataFrame) -> pl.DataFrame:
    import polars as pl

    found: Any = frame.toArrow()
    return pl.DataFrame(found)
