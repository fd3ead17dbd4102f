"""Reads JSON: one object a line, or a list of objects; its names are the headings, a row's number is that of its line.

What an object inside holds has a heading of its own: {"item": {"name": "Fig Sour"}} fills item.name.
"""

from __future__ import annotations

import codecs
import io
import json
import re
from collections.abc import Iterator
from itertools import islice
from typing import Final

import polars as pl

from stillroom.errors import FileRefused
from stillroom.objects import Malformed, SourceFile, TextBatch
from stillroom.reading.containers import opened
from stillroom.reading.delimited import named
from stillroom.reading.typed import cell_text

BATCH_ROWS: Final = 100_000
LOOKED_THROUGH: Final = 1_000  # lines that are asked for headings
LONGEST_LINE_BYTES: Final = 2**24
BETWEEN: Final = re.compile(r"[\s,]*")
HALF: Final = re.compile(r"\\u[dD][89a-fA-F]")
"""How JSON writes half of a character beyond U+FFFF; one without its other half is no character."""


def read_headings(file: SourceFile) -> list[str]:
    """The names that the first thousand objects have, in the order in which they appear.

    Raises:
        FileRefused: none of them is an object, the file is not UTF-8, or a line is absurdly long.
    """
    found: dict[str, None] = {}
    faults: list[str] = []
    with opened(file) as stream:
        for _, line in islice(_lines(file, stream), LOOKED_THROUGH):
            cells = _object(line)
            if isinstance(cells, dict):
                found.update(dict.fromkeys(cells))
            else:
                faults.append(cells)
    if faults and not found:
        raise FileRefused(f"{file.name}: is no JSON lines: its first line {faults[0]}.")
    return named(file, list(found))


def read_batches(file: SourceFile) -> Iterator[TextBatch]:
    """The objects as rows of text; numbers come as they are written. A line that is no object is malformed.

    Raises:
        FileRefused: as `read_headings`, wherever in the file it is found.
    """
    headings = read_headings(file)
    with opened(file) as stream:
        lines = _lines(file, stream)
        while some := list(islice(lines, BATCH_ROWS)):
            yield _batch(some, headings)


def _batch(lines: list[tuple[int, str]], headings: list[str]) -> TextBatch:
    rows, numbers, malformed = [], [], []
    passed_over = 0
    for number, line in lines:
        if not line.strip():
            passed_over += 1
            continue
        cells = _object(line)
        row = {" ".join(str(name).split()): value for name, value in cells.items()} if isinstance(cells, dict) else {}
        strange = [name for name, value in row.items() if name not in headings and value is not None]
        if isinstance(cells, str) or strange:
            problem = cells if isinstance(cells, str) else f"has '{strange[0]}', which the first objects do not have"
            malformed.append(Malformed(row_number=number, problem=f"the row {problem}", cells=(line.strip(),)))
        elif not any(value not in (None, "") for value in row.values()):
            passed_over += 1
        else:
            rows.append([cell_text(row.get(heading)) for heading in headings])
            numbers.append(number)
    return TextBatch(
        rows=pl.DataFrame(rows, schema=dict.fromkeys(headings, pl.String), orient="row"),
        row_numbers=pl.Series(numbers, dtype=pl.Int64),
        passed_over=passed_over,
        malformed=tuple(malformed),
    )


def _lines(file: SourceFile, stream: io.BufferedReader) -> Iterator[tuple[int, str]]:
    if stream.peek(3).startswith(codecs.BOM_UTF8):
        stream.read(3)
    if stream.peek(LONGEST_LINE_BYTES).lstrip().startswith(b"["):
        yield from _of_a_list(file, stream)
        return
    number = 0
    while line := stream.readline(LONGEST_LINE_BYTES + 1):
        number += 1
        if len(line) > LONGEST_LINE_BYTES:
            raise FileRefused(f"{file.name}: line {number} is longer than {LONGEST_LINE_BYTES // 2**20} MB; no table.")
        try:
            yield number, line.decode("utf-8")
        except UnicodeDecodeError as error:
            byte = line[error.start]
            raise FileRefused(
                f"{file.name}: line {number} is not UTF-8 (byte 0x{byte:02X}), as JSON must be."
            ) from None


def _of_a_list(file: SourceFile, stream: io.BufferedReader) -> Iterator[tuple[int, str]]:
    """The objects of a list, each with the number of the line on which it begins."""
    content = stream.read(LONGEST_LINE_BYTES + 1)
    if len(content) > LONGEST_LINE_BYTES:
        raise FileRefused(
            f"{file.name}: is one JSON list of more than {LONGEST_LINE_BYTES // 2**20} MB; write each object on a line "
            "of its own (JSON lines)."
        )
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError as error:
        raise FileRefused(f"{file.name}: is not UTF-8 (byte 0x{content[error.start]:02X}), as JSON must be.") from None
    decoder, place = json.JSONDecoder(), text.index("[") + 1
    while (place := BETWEEN.match(text, place).end()) < len(text) and text[place] != "]":  # type: ignore[union-attr]
        try:
            end = decoder.raw_decode(text, place)[1]
        except (json.JSONDecodeError, RecursionError):  # told of the line that it is on
            end = text.find("\n", place) % (len(text) + 1)
        yield text.count("\n", 0, place) + 1, text[place:end]
        place = end


def _object(line: str) -> dict[str, object] | str:
    """The object, with numbers as they are written; or what is wrong with the line."""
    try:
        value = json.loads(line, parse_float=str, parse_int=str, parse_constant=lambda name: None)
        if HALF.search(line):
            json.dumps(value, ensure_ascii=False).encode()
        return dict(_flat(value)) if isinstance(value, dict) else "is no JSON object"
    except UnicodeEncodeError as error:
        return f"holds half of a character (\\u{ord(error.object[error.start]):04x})"
    except json.JSONDecodeError as error:
        return f"is no JSON ({error.msg} at character {error.pos + 1})"
    except RecursionError:
        return "is nested too deep"


def _flat(value: dict[str, object], before: str = "") -> Iterator[tuple[str, object]]:
    """Names and values, those of an object inside as item.name."""
    for name, inner in value.items():
        if isinstance(inner, dict) and inner:
            yield from _flat(inner, f"{before}{name}.")
        else:
            yield before + name, inner
