"""Opens a workbook, in another process: what it would take to hold it in memory, nobody can tell beforehand."""

from __future__ import annotations

import atexit
import codecs
import io
import json
import re
import subprocess
import sys
import zipfile
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import IO, Any, Final
from xml.parsers import expat

import polars as pl

from stillroom import guarded
from stillroom.errors import FileRefused
from stillroom.objects import SourceFile
from stillroom.reading.containers import ZIP, whole

MOST_UNPACKED: Final = 2**30
PIECE_BYTES: Final = 2**20
NO_XML: Final = bytes({*range(32)} - {*b"\t\n\r"}) + b"&"
PLAIN: Final = bytes.maketrans(NO_XML + bytes(range(128, 256)), b" " * len(NO_XML) + b"x" * 128)
"""Each byte as one that may stand in any XML, whatever characters it refers to or is part of."""
CHILD: Final = Path(__file__).with_name("workbook_child.py")
MOST_SECONDS: Final = 60.0
ENCRYPTED: Final = "EncryptedPackage".encode("utf-16-le")
ODS_PARTS: Final = "META-INF/manifest.xml"
ENCRYPTED_PART: Final = b"encryption-data"
"""The element that ODF 1.3, part 2, 4.4 puts beside a part that is encrypted."""


@dataclass(frozen=True, kw_only=True)
class BookSheet:
    """A sheet of a workbook."""

    shown: bool
    """It is not hidden."""
    cells: pl.DataFrame
    """All its cells as text, from the first row on, and from the first filled column on."""
    numbers: pl.DataFrame
    """Which of them are numbers by type: of a text with decimals (or of one that is no number) it says no."""


@dataclass(frozen=True, kw_only=True)
class Book:
    """A workbook."""

    content: bytes
    sheets: dict[str, BookSheet]
    """By name, in their order."""


@dataclass(frozen=True, kw_only=True)
class _Edition:
    """A file as it is now, whatever it is called."""

    path: Path
    size: int
    changed_at: int
    file: SourceFile = field(compare=False)


def opened_book(file: SourceFile) -> Book:
    """The workbook, read.

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
def _open(edition: _Edition) -> Book:
    """The last workbook is kept: its sheets are read one after another."""
    file = edition.file
    content = whole(file)
    if content[:4] in ZIP:
        _refuse_absurd(file, content)
    elif ENCRYPTED in content:
        raise _with_a_password(file)
    return Book(content=content, sheets=_child().read(file, content))


def _with_a_password(file: SourceFile) -> FileRefused:
    return FileRefused(f"{file.name}: is a workbook with a password; save it without one.")


def _refuse_absurd(file: SourceFile, content: bytes) -> None:
    """What the parts unpack to, and whether they are whole, before any of it is believed."""
    with zipfile.ZipFile(io.BytesIO(content)) as parts:
        if sum(part.file_size for part in parts.infolist()) > MOST_UNPACKED:
            raise FileRefused(f"{file.name}: unpacks to more than {MOST_UNPACKED // 2**30} GB; nothing was taken in.")
        if ODS_PARTS in parts.namelist() and ENCRYPTED_PART in parts.read(ODS_PARTS):
            raise _with_a_password(file)
        if not any(re.match(r"xl/|content\.xml$", part.filename) for part in parts.infolist()):
            raise FileRefused(f"{file.name}: is an office document of another kind, with no sheets in it.")
        if broken := parts.testzip():
            raise FileRefused(f"{file.name}: is damaged or cut short, as a workbook (its part {broken}).")
        for part in parts.infolist():
            if part.filename.lower().endswith(".xml"):
                _refuse_malformed(file, part.filename, parts.read(part))


def _refuse_malformed(file: SourceFile, part: str, xml: bytes) -> None:
    """Over elements that are not closed the reader may leave rows out without a word; characters are not looked at."""
    if xml.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return
    stream, parser = io.BytesIO(xml.removeprefix(codecs.BOM_UTF8)), expat.ParserCreate()
    try:
        while piece := stream.read(PIECE_BYTES):
            parser.Parse(piece.translate(PLAIN))
        parser.Parse(b"", True)
    except expat.ExpatError as error:
        raise FileRefused(f"{file.name}: is damaged or cut short, as a workbook ({part}: {error}).") from None


class _Child:
    """The process that reads workbooks; one that stops is followed by another."""

    def __init__(self) -> None:
        self._process: subprocess.Popen[bytes] | None = None

    def read(self, file: SourceFile, content: bytes) -> dict[str, BookSheet]:
        """The sheets of a workbook.

        Raises:
            FileRefused: it takes too long or too much memory, or is damaged.
        """
        pipes = self._begun()  # not in the thread of what is given up: it would begin one that nobody waits for
        try:
            told, sheets = guarded.called(lambda: _asked(*pipes, content), MOST_SECONDS)
        except guarded.Failed:  # it takes too long; or the process has come to its end
            self.end()
            raise FileRefused(
                f"{file.name}: is damaged or cut short, as a workbook, or cannot be held in memory: delete what lies "
                "beyond its tables, or save them as CSV."
            ) from None
        if "fault" in told:
            what = told["fault"][:160].rstrip(".")
            raise FileRefused(f"{file.name}: is damaged or cut short, as a workbook ({what}).")
        return sheets

    def _begun(self) -> tuple[IO[bytes], IO[bytes]]:
        if self._process is None or self._process.poll() is not None:
            self._process = subprocess.Popen(
                [sys.executable, "-I", str(CHILD)],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
            )
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        return self._process.stdin, self._process.stdout

    def end(self) -> None:
        """Stop the process, whatever it does."""
        process, self._process = self._process, None
        if process is not None:
            process.kill()
            process.communicate()


def _asked(given: IO[bytes], told: IO[bytes], content: bytes) -> tuple[dict[str, Any], dict[str, BookSheet]]:
    given.write(b"%d\n" % len(content) + content)
    given.flush()
    answer = json.loads(told.readline())
    return answer, {
        one["name"]: BookSheet(
            shown=one["shown"],
            cells=pl.read_ipc(io.BytesIO(told.read(one["bytes"]))),
            numbers=pl.read_ipc(io.BytesIO(told.read(one["more_bytes"]))),
        )
        for one in answer.get("sheets", ())
    }


@lru_cache(maxsize=1)
def _child() -> _Child:
    child = _Child()
    atexit.register(child.end)
    return child
