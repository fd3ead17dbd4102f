"""Reads Parquet in batches of bounded size; sizes that a file only declares are checked before they are believed.

Polars reads a copy that DuckDB wrote: over a damaged file DuckDB raises an error where polars may end the process.
"""

from __future__ import annotations

import re
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

import polars as pl

from stillroom.errors import FileRefused
from stillroom.objects import Malformed, SourceFile, TextBatch
from stillroom.reading.delimited import named
from stillroom.reading.typed import PROBLEMS, column_text

BATCH_ROWS: Final = 200_000
MOST_GROUP_BYTES: Final = 2 * 2**30  # a row group is held in memory; writers make them of 128 MB at most, commonly
MOST_GROUP_CELLS: Final = 200_000_000


def read_headings(file: SourceFile) -> list[str]:
    """The names of the columns.

    Raises:
        FileRefused: damaged, cut short, or declaring more than such a file can hold.
    """
    with _faults_named(file), _copied(file, "LIMIT 0") as copy:
        return named(file, _scanned(copy).collect_schema().names())


def read_batches(file: SourceFile) -> Iterator[TextBatch]:
    """The rows, as text; the first is row 2, as it would be below a row of headings.

    Raises:
        FileRefused: as `read_headings`, and when a later part of the file is damaged.
    """
    row_number = 2
    with _faults_named(file), _copied(file) as copy:
        frame = _scanned(copy)
        schema = frame.collect_schema()
        headings = named(file, schema.names())
        texts = frame.select(column_text(name, dtype) for name, dtype in schema.items())
        for rows in texts.collect_batches(chunk_size=BATCH_ROWS, maintain_order=True):
            numbers = pl.int_range(row_number, row_number + rows.height, eager=True)
            row_number += rows.height
            yield _without_odd(file, rows.rename(dict(zip(rows.columns, headings, strict=True))), numbers)


def _without_odd(file: SourceFile, rows: pl.DataFrame, numbers: pl.Series) -> TextBatch:
    """A batch in which rows are malformed that hold a list, or bytes that are no text, under headings looked for."""
    wanted = [name for name in rows.columns if name.casefold() in file.looked_for]
    held = [pl.col(name) == what for name in wanted for what in PROBLEMS]
    odd = rows.select(pl.any_horizontal(pl.lit(False), *held)).to_series().fill_null(False)
    found = zip(numbers.filter(odd), rows.filter(odd).iter_rows(named=True), strict=True)
    malformed = tuple(
        Malformed(
            row_number=number,
            problem=next(PROBLEMS[row[name]] for name in wanted if row[name] in PROBLEMS),
            cells=tuple(cell or "" for cell in row.values()),
        )
        for number, row in found
    )
    return TextBatch(rows=rows.filter(~odd), row_numbers=numbers.filter(~odd), malformed=malformed)


def _scanned(path: Path) -> pl.LazyFrame:
    """The table, with the fields of a record as columns of their own: item.name."""
    frame = pl.scan_parquet(path, glob=False)
    return frame.select(
        cells.alias(name)
        for column, dtype in frame.collect_schema().items()
        for name, cells in _flat(column, pl.col(column), dtype)
    )


def _flat(name: str, cells: pl.Expr, dtype: object) -> Iterator[tuple[str, pl.Expr]]:
    if isinstance(dtype, pl.Struct) and dtype.fields:
        for field in dtype.fields:
            yield from _flat(f"{name}.{field.name}", cells.struct.field(field.name), field.dtype)
    else:
        yield name, cells


@contextmanager
def _copied(file: SourceFile, part: str = "") -> Iterator[Path]:
    """A copy of the rows (or of a part of them) in a temporary folder, with no row less than the file declares."""
    _refuse_absurd(file)
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder, "copy.parquet")
        rows, to = f"FROM read_parquet($1, hive_partitioning = false) {part}", str(copy).replace("'", "''")
        [(held,)] = _ask(file, f"COPY ({rows}) TO '{to}' (FORMAT parquet)")
        declared = held if part else _ask(file, "SELECT sum(num_rows) FROM parquet_file_metadata($1)")[0][0]
        if held != declared:
            raise FileRefused(f"{file.name}: declares {declared:,} rows and holds {held:,}; it is damaged.")
        yield copy


@contextmanager
def _faults_named(file: SourceFile) -> Iterator[None]:
    import duckdb

    try:
        yield
    except (pl.exceptions.PolarsError, duckdb.Error, OSError, MemoryError) as error:
        if "No space left" in str(error):
            raise FileRefused(f"{file.name}: cannot be read: {tempfile.gettempdir()} has no room for a copy.") from None
        what = " ".join(str(error).split())[:160].rstrip(".")
        raise FileRefused(f"{file.name}: is damaged or cut short, as Parquet ({what}).") from None


def _refuse_absurd(file: SourceFile) -> None:
    """Sizes that the footer declares, before anything is allocated for them."""
    found = _ask(
        file,
        "SELECT max(row_group_num_rows), count(*), min(row_group_num_rows), sum(total_uncompressed_size), "
        "sum(total_compressed_size), min(total_uncompressed_size) FROM parquet_metadata($1) GROUP BY row_group_id",
    )
    size = file.path.stat().st_size
    for rows, columns, least_rows, unpacked, packed, least in found:
        if least_rows < 0 or least < 0 or packed > size or unpacked > MOST_GROUP_BYTES:
            raise FileRefused(f"{file.name}: declares more than it can hold; it is damaged or not to be trusted.")
        if rows * columns > MOST_GROUP_CELLS:
            raise FileRefused(f"{file.name}: has row groups of {rows:,} rows, too many; write it with smaller ones.")


def _ask(file: SourceFile, query: str) -> list[tuple[int, ...]]:
    import duckdb

    path = re.sub(r"([*?\[])", r"[\1]", str(file.path))  # a name is a name, not a pattern
    with duckdb.connect(":memory:") as con:
        return con.execute(query, [path]).fetchall()
