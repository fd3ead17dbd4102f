"""The facts of a group, read and rolled up by Spark; only frames of the size of the answer come to the driver."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final

from stillroom.errors import UsageError, in_one_line
from stillroom.group import facts as kept
from stillroom.group import session, tables

if TYPE_CHECKING:
    import polars as pl
    import pyarrow as pa
    from pyspark.sql import DataFrame, SparkSession
    from sqlglot.expressions import Expression

    from stillroom.group.settings import Group

SAID: Final = 400
"""Letters of what Spark says of a failure: its whole trace is in its log."""

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
        from py4j.protocol import Py4JError
        from pyspark.errors import PySparkException

        for table in _tables(parsed):
            _frame(spark, table, files[table]).createOrReplaceTempView(f"`{table}`")
        try:
            return _as_polars(spark.sql(statement))
        except (PySparkException, Py4JError) as error:
            raise UsageError(f"The query cannot be answered: {in_one_line(error)[:SAID]}") from None


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
    if "://" in files[0]:
        # Whatever Spark brings or lacks for such an address: its tasks reach it as those of an intake do.
        addresses = spark.createDataFrame([(one,) for one in files], "file STRING").repartition(_parts(spark, files))
        return session.in_arrow(addresses, _reader(table), _schema(table))
    return spark.read.schema(_schema(table)).parquet(*files)


def _parts(spark: SparkSession, files: Sequence[str]) -> int:
    """Into how many tasks files are parted."""
    return min(len(files), 4 * int(spark.sparkContext.defaultParallelism))


def _reader(table: str) -> session.ArrowTask:
    """What a task does: batches of addresses of files -> the rows in them."""
    columns = {"house": "String", "run_id": "String", **kept.COLUMNS[table]}

    def read(batches: Iterator[pa.RecordBatch]) -> Iterator[pa.RecordBatch]:
        import fsspec
        import pyarrow as pa
        import pyarrow.parquet as pq

        kinds = {"String": pa.string(), "Int64": pa.int64(), "Float64": pa.float64(), "Boolean": pa.bool_()}
        kinds |= {"Date": pa.date32(), "Datetime": pa.timestamp("us", "UTC")}
        schema = pa.schema([(name, kinds[kind]) for name, kind in columns.items()])
        for batch in batches:
            for address in batch.column(0).to_pylist():
                with fsspec.open(address, "rb") as file:
                    yield from pq.read_table(file).select(schema.names).cast(schema).to_batches()

    return read


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
