"""Reads delimited text files in bounded memory: headings, then batches of text rows with exact row numbers.

A piece of the file of some megabytes is parsed at once by polars; where it holds lines that polars would bend without
a word (short rows, blank ones, stray quotes), those are taken apart one by one first, so that every row is either taken
apart as it stands or reported as malformed.
"""

from __future__ import annotations

import codecs
import io
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import chain, islice
from typing import BinaryIO, Final

import polars as pl

from stillroom.errors import FileRefused
from stillroom.objects import Malformed, SourceFile, TextBatch
from stillroom.reading import records
from stillroom.reading.blanks import blank_rows
from stillroom.reading.containers import opened
from stillroom.reading.nameless import called
from stillroom.reading.records import LONGEST_RECORD_LINES, SEPARATORS, Records

PIECE_BYTES: Final = 24 * 2**20
LONGEST_LINE_BYTES: Final = 32 * 2**20
HEADING_ROWS: Final = 60  # how far down a heading row is looked for
HEAD_BYTES: Final = 2**20
MOST_COLUMNS: Final = 2**14  # as many as a sheet can have by ECMA-376 (from memory); no table needs more


def read_headings(file: SourceFile) -> list[str]:
    """The headings of a delimited text file: of its first rows, the one that holds most of the headings looked for.

    Raises:
        FileRefused: no such file, a folder, empty, binary, wrongly encoded, or a heading stands twice.
    """
    return found_top(file).headings


def read_batches(file: SourceFile) -> Iterator[TextBatch]:
    """The rows below the headings, in file order; blank rows are passed over and counted.

    Raises:
        FileRefused: as `read_headings`, and when a later part of the file is binary or wrongly encoded.
    """
    with opened(file) as stream:
        pieces = _pieces(file, stream, PIECE_BYTES)
        top = _find_top(file, pieces)
        file = replace(file, separator=top.separator)
        row_number = top.row_number + 1
        for piece in chain([top.rest] if top.rest else [], pieces):
            batch, rows = _parse_piece(file, piece, top.headings, row_number)
            row_number += rows
            yield batch


def text_pieces(file: SourceFile) -> Iterator[bytes]:
    """The whole file as UTF-8, in pieces that end with a record.

    Raises:
        FileRefused: as `read_headings`.
    """
    with opened(file) as stream:
        yield from _pieces(file, stream, PIECE_BYTES)


def found_top(file: SourceFile) -> Top:
    """The heading row that `read_headings` finds.

    Raises:
        FileRefused: as `read_headings`.
    """
    with opened(file) as stream:
        return _find_top(file, _pieces(file, stream, HEAD_BYTES))


def first_rows(file: SourceFile) -> dict[str, list[tuple[int, list[str]]]]:
    """Separator -> the first filled rows with their numbers, as it parts them.

    Raises:
        FileRefused: as `read_headings`.
    """
    with opened(file) as stream:
        head = next(_pieces(file, stream, HEAD_BYTES), b"")
    found = {}
    for separator in SEPARATORS if file.separator is None else (file.separator,):
        rows = Records(replace(file, separator=separator), head, 1)
        found[separator] = [
            (rows.row_number - 1, record)
            for record in islice(rows, HEADING_ROWS)
            if not isinstance(record, Malformed) and any(cell.strip() for cell in record)
        ]
        refuse_too_wide(file, max((len(cells) for _, cells in found[separator]), default=0))
    return found


@dataclass(frozen=True, kw_only=True)
class Top:
    """The heading row, what parts its cells, and what of its piece lies below it."""

    headings: list[str]
    separator: str
    row_number: int
    rest: bytes


def _pieces(file: SourceFile, stream: BinaryIO, size: int) -> Iterator[bytes]:
    """The file as UTF-8 in pieces of about this many bytes that end at a line's end, and not inside a quoted cell."""
    kept = b""
    first = True
    for block in _utf8_blocks(file, stream, size):
        first = False
        if b"\0" in block:
            raise FileRefused(
                f"{file.name}: holds NUL bytes: it is binary or damaged, not a text file; or it is UTF-16 without the "
                'mark at its start, and wants encoding = "utf-16-le" or "utf-16-be".'
            )
        cut = _last_record_end(block, kept.count(b'"'))
        if not cut:
            kept, block = b"", kept + block
            cut = _last_record_end(block, 0)
        if cut:
            yield b"".join((kept, memoryview(block)[:cut]))  # not copied twice
        kept = block[cut:]
        if len(kept) > LONGEST_LINE_BYTES:
            raise FileRefused(f"{file.name}: has a line of more than {LONGEST_LINE_BYTES // 2**20} MB; it is no table.")
    if first:
        raise FileRefused(f"{file.name}: is empty.")
    if kept := kept.removesuffix(b"\x1a"):  # Ctrl-Z, with which old systems end a text
        yield kept


def _last_record_end(block: bytes, quotes: int) -> int:
    """Where the last whole record of a block ends; 0 where none does.

    `quotes`: how many stand before the block, in the record that it begins with.

    Inside a record quotes come in pairs, so a line's end after an even number of them ends a record. With a stray
    quote no line near the end does; the block is then cut at its last line, and the row parser finds the stray one.
    """
    end = block.rfind(b"\n") + 1
    if b'"' not in block and not quotes:
        return end
    quotes += _quotes(block) - block.count(b'"', end)
    candidate, looked = end, 0
    while quotes % 2 and candidate and looked < LONGEST_RECORD_LINES:
        previous = block.rfind(b"\n", 0, candidate - 1) + 1
        quotes -= block.count(b'"', previous, candidate)
        candidate, looked = previous, looked + 1
    return end if quotes % 2 and candidate else candidate


def _quotes(block: bytes) -> int:
    """How many there are. Of headings alone they are counted without NumPy, which is otherwise not loaded for them."""
    if len(block) <= HEAD_BYTES:
        return block.count(b'"')
    from stillroom.reading import looks

    return looks.count(block, looks.QUOTE)


def _utf8_blocks(file: SourceFile, stream: BinaryIO, size: int) -> Iterator[bytes]:
    """The file's bytes, transcoded to UTF-8 where it is written otherwise; byte-order marks are dropped."""
    encoding = codecs.lookup(file.encoding).name
    start = stream.peek(4) if isinstance(stream, io.BufferedReader) else b""
    if start.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        encoding = "utf-16"
    if encoding in ("utf-8", "utf-8-sig", "ascii"):
        if start.startswith(codecs.BOM_UTF8):
            stream.read(len(codecs.BOM_UTF8))
        while block := stream.read(size):
            yield block
        return
    decoder = codecs.getincrementaldecoder(encoding)()
    while True:
        block = stream.read(size)
        try:
            piece = decoder.decode(block, final=not block).encode("utf-8")
        except UnicodeError as error:
            raise FileRefused(f"{file.name}: is not {file.encoding} ({getattr(error, 'reason', error)}).") from None
        if piece:
            yield piece
        if not block:
            return


def _find_top(file: SourceFile, pieces: Iterator[bytes]) -> Top:
    piece = next(pieces, b"")
    head = piece[:HEAD_BYTES]
    head = head[: head.rfind(b"\n") + 1] or piece
    best: tuple[list[str], str, int, int] | None = None
    best_rank = (-1, 0, 0.0)
    for place, separator in enumerate(SEPARATORS if file.separator is None else (file.separator,)):
        rows = Records(replace(file, separator=separator), head, 1)
        for record in islice(rows, HEADING_ROWS):
            number = rows.row_number - 1
            if isinstance(record, Malformed) or not any(cell.strip() for cell in record):
                continue
            known = len({" ".join(cell.split()).casefold() for cell in record} & file.looked_for)
            # Most known headings first; where none is known, the first row, in the separator that parts most cells.
            rank = (known, -number, len(record) - place / 10)
            if rank > best_rank or best is None:
                best_rank = rank
                best = (record, separator, number, rows.offset)
    if best is None:
        raise FileRefused(f"{file.name}: holds no row of headings.")
    cells, separator, number, offset = best
    return Top(headings=named(file, cells), separator=separator, row_number=number, rest=piece[offset:])


def refuse_too_wide(file: SourceFile, columns: int) -> None:
    """No table has so many columns, and each costs time and memory by itself."""
    if columns > MOST_COLUMNS:
        raise FileRefused(f"{file.name}: has {columns:,} columns, more than a table can have ({MOST_COLUMNS:,}).")


def named(file: SourceFile, cells: list[str]) -> list[str]:
    """Cells of a heading row as headings: tidy, none empty, none twice, and not absurdly many."""
    refuse_too_wide(file, len(cells))
    headings = [" ".join(cell.split()) or called(place) for place, cell in enumerate(cells, 1)]
    seen: dict[str, int] = {}
    for place, heading in enumerate(headings, 1):
        if heading.casefold() in seen:
            raise FileRefused(
                f"{file.name}: the heading '{heading}' stands twice (columns {seen[heading.casefold()]} and {place}); "
                "rename or delete one."
            )
        seen[heading.casefold()] = place
    return headings


def _parse_piece(file: SourceFile, piece: bytes, headings: list[str], row_number: int) -> tuple[TextBatch, int]:
    """A batch, and how many rows the piece holds (blank and malformed ones too)."""
    separator, width = file.separator or SEPARATORS[0], len(headings)
    frame = _parse_at_once(piece, headings, separator)
    short = None if frame is None else _short_lines(piece, frame, separator)
    if frame is not None and short is not None:
        numbers = pl.int_range(row_number, row_number + frame.height, eager=True)
        batch = TextBatch(rows=frame, row_numbers=numbers)
        if short:
            lines = {row_number + place: line for place, line in short.items()}
            faults = records.short(file, lines, width)
            batch = batch.passing_over(numbers.is_in([*lines]))
            batch = replace(batch, malformed=faults, passed_over=len(short) - len(faults))
        return _filled(batch), frame.height
    import numpy as np

    from stillroom.reading import looks

    ends, odd = looks.odd_lines(piece, ord(separator), width)
    mended = records.mended(file, piece, width, row_number, ends, odd)
    try:
        frame = _frame(mended.text, headings, separator)
    except pl.exceptions.PolarsError:  # it is no UTF-8: which row is not, is told where all are taken apart
        mended = records.mended(file, piece, width, row_number, ends, np.arange(len(ends)))
        frame = _frame(mended.text, headings, separator)
    batch = TextBatch(
        rows=frame,
        row_numbers=mended.row_numbers,
        passed_over=mended.passed_over,
        malformed=mended.malformed,
    )
    return _filled(batch), mended.count


def _parse_at_once(piece: bytes, headings: list[str], separator: str) -> pl.DataFrame | None:
    """The piece parsed by polars; None unless every row stands as it is in the file, or lacks cells at its end."""
    from stillroom.reading import looks

    if b"\r" in piece and looks.count(piece, ord("\r")) != piece.count(b"\r\n"):
        return None  # a carriage return alone ends a line in files of old, and may stand in a quoted cell
    quotes = looks.places(piece if b'"' in piece else b"", looks.QUOTE)
    if not looks.quotes_enclose_cells(piece, ord(separator), quotes):
        return None
    try:
        return _frame(piece, headings, separator)
    except pl.exceptions.PolarsError:
        return None


def _short_lines(piece: bytes, frame: pl.DataFrame, separator: str) -> dict[int, bytes] | None:
    """Place of a row -> its line, of rows that end early, or are blank; None where these are not told so easily.

    Such a row lacks its last cell; extra cells do not parse.
    """
    last = frame[frame.columns[-1]]
    if not last.has_nulls():
        return {}
    import numpy as np

    from stillroom.reading import looks

    if last.null_count() * 10 > frame.height:  # it is a column that is often empty
        apart = frame.height * (frame.width - 1)
        return {} if looks.separators_apart(piece, ord(separator)) == apart else None
    ends = looks.line_ends(piece)
    if len(ends) != frame.height:  # a quoted cell holds a line's end
        return None
    lacking = last.is_null().arg_true().to_numpy()
    begin_end = zip(np.append(0, ends)[lacking].tolist(), ends[lacking].tolist(), strict=True)
    lines = [piece[begin:end] for begin, end in begin_end]
    _, short = looks.odd_lines(b"".join(lines), ord(separator), frame.width)
    return {int(lacking[place]): lines[place] for place in short}


def _frame(text: bytes, headings: list[str], separator: str) -> pl.DataFrame:
    schema = dict.fromkeys(headings, pl.String)
    if not text:
        return pl.DataFrame(schema=schema)
    if not text.endswith(b"\n"):  # without it polars lets an empty cell pass that stands beyond the headings
        text += b"\n"
    return pl.read_csv(text, has_header=False, separator=separator, schema=schema, extra_columns="raise").rechunk()


def _filled(batch: TextBatch) -> TextBatch:
    return batch.passing_over(blank_rows(batch.rows, batch.rows.columns))
