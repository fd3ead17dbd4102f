"""Reads files of every kind we know into headings and batches of text rows; the file's first bytes say its kind."""

from __future__ import annotations

from collections.abc import Iterator
from types import ModuleType

from stillroom.objects import SourceFile, TextBatch


def read_headings(file: SourceFile) -> list[str]:
    """The file's headings.

    Raises:
        FileRefused: the file cannot be read as a table; the sentence says why.
    """
    headings: list[str] = _reader(file).read_headings(file)
    return headings


def read_batches(file: SourceFile) -> Iterator[TextBatch]:
    """The rows below the headings, in file order, in batches of bounded size.

    Raises:
        FileRefused: the file cannot be read as a table; the sentence says why.
    """
    batches: Iterator[TextBatch] = _reader(file).read_batches(file)
    return batches


def _reader(file: SourceFile) -> ModuleType:
    """The module that reads this kind of file."""
    from stillroom.reading import columnar, database, delimited, jsonlines, workbook
    from stillroom.reading.kinds import kind_of

    readers = {
        "delimited text": delimited,
        "JSON lines": jsonlines,
        "a workbook": workbook,
        "Parquet": columnar,
        "a database": database,
    }
    return readers[kind_of(file)]
