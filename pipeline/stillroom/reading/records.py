"""Takes delimited text apart record by record: slowly, and so that every row is whole or reported as malformed.

Only lines that are no plain record go this way, and are then written as the standard has them: one odd line in a piece
of half a million costs no more than itself.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import polars as pl

from stillroom.errors import FileRefused
from stillroom.objects import Malformed, SourceFile

if TYPE_CHECKING:
    from stillroom.reading.looks import Places

SEPARATORS: Final = (",", ";", "\t", "|")
LONGEST_RECORD_LINES: Final = 200  # a quote that is still open after so many lines is a stray one
STILL_OPEN: Final = "unexpected end of data"  # what csv says of a quote that is open at the end


@dataclass(frozen=True, kw_only=True)
class Mended:
    """A piece in which every record stands as RFC 4180 has it, with as many cells as there are headings."""

    text: bytes
    row_numbers: pl.Series
    malformed: tuple[Malformed, ...]
    passed_over: int
    """Blank lines that were left out."""
    count: int
    """How many records the piece held, malformed and blank ones too."""


def mended(file: SourceFile, piece: bytes, width: int, row_number: int, ends: Places, odd: Places) -> Mended:
    """A piece whose odd lines are taken apart record by record; all others stay as they are.

    Args:
        width: cells of a row.
        row_number: that of the piece's first record.
        ends: where each line ends.
        odd: which lines are no plain records (`looks.odd_lines`).
    """
    import numpy as np

    ends = np.append(0, ends)  # the n-th line begins where the one before it ends
    last = len(ends) - 1
    text: list[bytes] = []
    dropped: list[int] = []
    malformed: list[Malformed] = []
    line, number = 0, row_number
    for place in (*odd.tolist(), last):
        if place < line:  # inside a record that began on an earlier line
            continue
        begin = int(ends[place])
        text.append(piece[ends[line] : begin])
        number += place - line
        line = place
        if place == last:
            break
        window = piece[begin : ends[place + 1]]
        if b'"' in window and any(isinstance(one, Malformed) for one in Records(file, window, number)):  # it may go on
            window = piece[begin : ends[min(place + LONGEST_RECORD_LINES, last)]]
        records = Records(file, window, number)
        for record in records:
            row, fault = _row(record, width, number)
            if row is not None:
                text.append(_written(row, file.separator or SEPARATORS[0]))
            else:
                dropped.append(number)
            if fault is not None:
                malformed.append(fault)
            number += 1
            line = place + 1
            if ends[line] != begin + records.offset:
                line = int(np.searchsorted(ends, begin + records.offset))
            if ends[line] == begin + records.offset:  # not at a carriage return inside a line
                break
    kept = np.delete(np.arange(row_number, number), np.array(dropped, dtype=np.int64) - row_number)
    return Mended(
        text=b"".join(text),
        row_numbers=pl.Series(kept, dtype=pl.Int64),
        malformed=tuple(malformed),
        passed_over=len(dropped) - len(malformed),
        count=number - row_number,
    )


def short(file: SourceFile, lines: Mapping[int, bytes], width: int) -> tuple[Malformed, ...]:
    """What is wrong with lines (by the numbers of their rows), each a record with too few cells; nothing if blank."""
    records = ((number, next(iter(Records(file, line, number)))) for number, line in lines.items())
    faults = (_row(record, width, number)[1] for number, record in records)
    return tuple(fault for fault in faults if fault is not None)


def _row(record: list[str] | Malformed, width: int, number: int) -> tuple[list[str] | None, Malformed | None]:
    """The cells of a record, or what is wrong with it; neither of one that is blank."""
    if isinstance(record, Malformed):
        return None, record
    if not any(cell.strip() for cell in record):
        return None, None
    if len(record) < width or any(cell.strip() for cell in record[width:]):
        problem = f"the row has {len(record)} cells where the headings are {width}"
        return None, Malformed(row_number=number, problem=problem, cells=tuple(record))
    return record[:width], None


def _written(row: list[str], separator: str) -> bytes:
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=separator, lineterminator="\n", quoting=csv.QUOTE_ALL).writerow(row)
    return out.getvalue().encode()


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
