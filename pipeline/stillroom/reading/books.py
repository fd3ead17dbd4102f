"""Opens a workbook, once what it would take to hold it in memory has been seen."""

from __future__ import annotations

import codecs
import io
import re
import subprocess
import sys
import zipfile
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Final
from xml.parsers import expat

from stillroom.errors import FileRefused
from stillroom.objects import SourceFile
from stillroom.reading.containers import ZIP, whole

if TYPE_CHECKING:
    from fastexcel import ExcelReader

MOST_UNPACKED: Final = 2**30
MOST_CELLS: Final = 30_000_000  # of a sheet's whole rectangle, which is held in memory
SHEET: Final = r"xl/worksheets/[^/]+\.xml$|content\.xml$"
BESIDE_SHEETS: Final = r"xl/[^/]+\.xml$"
PIECE_BYTES: Final = 2**20
NO_XML: Final = bytes({*range(32)} - {*b"\t\n\r"}) + b"&"
PLAIN: Final = bytes.maketrans(NO_XML + bytes(range(128, 256)), b" " * len(NO_XML) + b"x" * 128)
"""Each byte as one that may stand in any XML, whatever characters it refers to or is part of."""
TRIAL: Final = Path(__file__).with_name("try_workbook.py")
TRIAL_SECONDS: Final = 60.0
ENCRYPTED: Final = "EncryptedPackage".encode("utf-16-le")


@dataclass(frozen=True, kw_only=True)
class _Edition:
    """A file as it is now, whatever it is called."""

    path: Path
    size: int
    changed_at: int
    file: SourceFile = field(compare=False)


def opened_book(file: SourceFile) -> tuple[bytes, ExcelReader]:
    """The workbook's bytes and its reader.

    Raises:
        FileRefused: with a password, bigger than can be held, of another kind, or damaged as a zip.
    """
    try:
        found = file.path.stat()
    except OSError:
        whole(file)  # which says why not
        raise
    return _open(_Edition(path=file.path, size=found.st_size, changed_at=found.st_mtime_ns, file=file))


@lru_cache(maxsize=1)
def _open(edition: _Edition) -> tuple[bytes, ExcelReader]:
    """The last workbook is kept open: its sheets are read one after another."""
    import fastexcel

    file = edition.file
    content = whole(file)
    if content[:4] in ZIP:
        _refuse_absurd(file, content)
    elif ENCRYPTED in content:
        raise FileRefused(f"{file.name}: is a workbook with a password; save it without one.")
    else:
        _refuse_fatal(file, content)
    return content, fastexcel.read_excel(content)


def _refuse_absurd(file: SourceFile, content: bytes) -> None:
    """What the parts unpack to, and how far the sheets reach, before any of it is held in memory."""
    with zipfile.ZipFile(io.BytesIO(content)) as parts:
        if sum(part.file_size for part in parts.infolist()) > MOST_UNPACKED:
            raise FileRefused(f"{file.name}: unpacks to more than {MOST_UNPACKED // 2**30} GB; nothing was taken in.")
        if not any(re.match(r"xl/|content\.xml$", part.filename) for part in parts.infolist()):
            raise FileRefused(f"{file.name}: is an office document of another kind, with no sheets in it.")
        if broken := parts.testzip():
            raise FileRefused(f"{file.name}: is damaged or cut short, as a workbook (its part {broken}).")
        for part in parts.infolist():
            if re.match(SHEET, part.filename):
                sheet = parts.read(part)
                _refuse_malformed(file, part.filename, sheet)
                _refuse_far_cells(file, sheet)
            elif re.match(BESIDE_SHEETS, part.filename):
                xml = parts.read(part)
                _refuse_malformed(file, part.filename, xml)
                _refuse_too_many_texts(file, xml)


def _refuse_malformed(file: SourceFile, part: str, xml: bytes) -> None:
    """Over elements that are not closed the reader may go round in circles for ever; characters are not looked at."""
    if xml.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return
    stream, parser = io.BytesIO(xml.removeprefix(codecs.BOM_UTF8)), expat.ParserCreate()
    try:
        while piece := stream.read(PIECE_BYTES):
            parser.Parse(piece.translate(PLAIN))
        parser.Parse(b"", True)
    except expat.ExpatError as error:
        raise FileRefused(f"{file.name}: is damaged or cut short, as a workbook ({part}: {error}).") from None


def _refuse_fatal(file: SourceFile, content: bytes) -> None:
    """A workbook of before 2007 is a file system of its own. Over a damaged one the reader may go round in circles
    until memory is used up, which ends the process: it is tried in another one first."""
    try:
        tried = subprocess.run(
            [sys.executable, "-I", str(TRIAL)], input=content, capture_output=True, timeout=TRIAL_SECONDS, check=False
        )
    except subprocess.TimeoutExpired:
        raise FileRefused(f"{file.name}: takes more than {TRIAL_SECONDS:g} s to open; save it as .xlsx.") from None
    if tried.returncode:
        raise FileRefused(f"{file.name}: is damaged or cut short, as a workbook, or too big; save it as .xlsx.")


def _refuse_far_cells(file: SourceFile, sheet: bytes) -> None:
    """A sheet is held as a whole rectangle: one cell in the last column of the last row makes 17 thousand million."""
    places = re.findall(rb'\br="([A-Z]{1,3})(\d{1,7})"', sheet)
    columns = {column for column, _ in places}
    widest = max((_column_number(column) for column in columns), default=0)
    if widest * max((int(row) for row in {row for _, row in places}), default=0) > MOST_CELLS:
        raise FileRefused(
            f"{file.name}: has a sheet with a cell so far out that it cannot be held in memory; "
            "delete what lies beyond the table, or save the sheet as CSV."
        )


def _refuse_too_many_texts(file: SourceFile, part: bytes) -> None:
    """Room is made for as many texts as the list of them says it holds (ECMA-376 18.4.9); each takes some bytes."""
    if any(int(count) > len(part) for count in re.findall(rb'\buniqueCount\s*=\s*["\'](\d+)', part)):
        raise FileRefused(f"{file.name}: declares more than it can hold; it is damaged or not to be trusted.")


def _column_number(letters: bytes) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + letter - 64
    return number
