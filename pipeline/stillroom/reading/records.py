"""Takes delimited text apart record by record: slowly, and so that every row is whole or reported as malformed."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from typing import Final

import polars as pl

from stillroom.errors import FileRefused
from stillroom.objects import Malformed, SourceFile, TextBatch

SEPARATORS: Final = (",", ";", "\t", "|")
LONGEST_RECORD_LINES: Final = 200  # a quote that is still open after so many lines is a stray one
STILL_OPEN: Final = "unexpected end of data"  # what csv says of a quote that is open at the end


def parsed(file: SourceFile, piece: bytes, headings: list[str], row_number: int) -> tuple[TextBatch, int]:
    """A piece's rows, and how many it holds (blank and malformed ones too); `row_number` is that of its first."""
    rows: list[list[str]] = []
    numbers: list[int] = []
    malformed: list[Malformed] = []
    passed_over = count = 0
    width = len(headings)
    for record in Records(file, piece, row_number):
        number = row_number + count
        count += 1
        if isinstance(record, Malformed):
            malformed.append(record)
        elif not any(cell.strip() for cell in record):
            passed_over += 1
        elif len(record) < width or any(cell.strip() for cell in record[width:]):
            problem = f"the row has {len(record)} cells where the headings are {width}"
            malformed.append(Malformed(row_number=number, problem=problem, cells=tuple(record)))
        else:
            rows.append(record[:width])
            numbers.append(number)
    frame = pl.DataFrame(rows, schema=dict.fromkeys(headings, pl.String), orient="row")
    batch = TextBatch(
        rows=frame,
        row_numbers=pl.Series(numbers, dtype=pl.Int64),
        passed_over=passed_over,
        malformed=tuple(malformed),
    )
    return batch, count


class Records:
    """The records of a piece one by one; one whose quote never closes is a malformed line of its own."""

    def __init__(self, file: SourceFile, piece: bytes, row_number: int) -> None:
        self.file = file
        self.row_number = row_number
        self.offset = 0
        self.lines = piece.splitlines(keepends=True)

    def __iter__(self) -> Iterator[list[str] | Malformed]:
        place = 0
        while place < len(self.lines):
            record, used = self._record(place)
            self.offset += sum(len(line) for line in self.lines[place : place + used])
            place += used
            self.row_number += 1
            yield record

    def _record(self, place: int) -> tuple[list[str] | Malformed, int]:
        text = b""
        for used, line in enumerate(self.lines[place : place + LONGEST_RECORD_LINES], 1):
            text += line
            try:
                return self._cells(text), used
            except csv.Error as error:
                problem = str(error)
                if problem != STILL_OPEN:
                    break
        first = self.lines[place]
        if problem == STILL_OPEN:
            problem = "has a quotation mark that never closes"
        else:
            problem = f"cannot be taken apart into cells ({problem})"
        cells = (self._text(first).strip(),)
        return Malformed(row_number=self.row_number, problem=f"the row {problem}", cells=cells), 1

    def _cells(self, record: bytes) -> list[str]:
        text = self._text(record).rstrip("\r\n")
        for cells in csv.reader(
            io.StringIO(text, newline=""),
            delimiter=self.file.separator or SEPARATORS[0],
            skipinitialspace=True,  # as people write lists: "a", "b"
            strict=True,
        ):
            return cells
        return []

    def _text(self, record: bytes) -> str:
        try:
            return record.decode("utf-8")
        except UnicodeDecodeError as error:
            byte = record[error.start]
            raise FileRefused(
                f"{self.file.name}: row {self.row_number} is not UTF-8 (byte 0x{byte:02X}). Save the file as UTF-8, "
                'or set encoding = "cp1252" (or what it is written in) for its source in stillroom.toml.'
            ) from None
