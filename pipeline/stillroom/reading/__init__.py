"""Reads files of every kind we know into headings and batches of text rows; the file's first bytes say its kind."""

from __future__ import annotations

from collections.abc import Iterator

from stillroom.objects import SourceFile, TextBatch


def read_headings(file: SourceFile) -> list[str]:
    """The file's headings.

    Raises:
        FileRefused: the file cannot be read as a table; the sentence says why.
    """
    from stillroom.reading import delimited

    return delimited.read_headings(file)


def read_batches(file: SourceFile) -> Iterator[TextBatch]:
    """The rows below the headings, in file order, in batches of bounded size.

    Raises:
        FileRefused: the file cannot be read as a table; the sentence says why.
    """
    from stillroom.reading import delimited

    return delimited.read_batches(file)
