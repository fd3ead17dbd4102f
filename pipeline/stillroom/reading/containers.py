"""Opens a file as a stream of bytes, unpacked where it is a gzip or zip, and never more than a bounded amount."""

from __future__ import annotations

import gzip
import io
import os
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, BinaryIO, Final, cast

from stillroom.errors import FileRefused
from stillroom.files import is_litter
from stillroom.objects import SourceFile

GZIP: Final = b"\x1f\x8b"
ZIP: Final = (b"PK\x03\x04", b"PK\x05\x06")
HARMLESS_BYTES: Final = 64 * 2**20  # so much may come out of any file, however small
MOST_TIMES: Final = 200  # tables pack 5 to 50 times smaller; a bomb is packed up to 1 032 times smaller by deflate
MOST_IN_MEMORY: Final = 256 * 2**20
LITTER: Final = "__MACOSX/"
"""What macOS adds to a zip."""


@contextmanager
def opened(file: SourceFile) -> Iterator[io.BufferedReader]:
    """The file's bytes; of a gzip, or a zip with one file inside, the bytes of what is inside.

    A workbook is a zip too, and is handed over as it is. Nothing is ever written to disk.

    Raises:
        FileRefused: no such file, a folder, not readable; or packed in a way that cannot be unpacked, with a password,
            with several files inside, or so that far more comes out than any table needs.
    """
    try:
        if is_litter(file.path.name):
            raise FileRefused(
                f"{file.name}: is what a program leaves beside a file of yours, and holds none of its rows."
            )
        if not (file.path.is_file() or file.path.is_dir()) and file.path.exists():
            raise FileRefused(f"{file.name}: is a pipe or a device; save what comes out of it as a file.")
        stream = file.path.open("rb")
    except FileNotFoundError:
        raise FileRefused(f"{file.name}: there is no such file.") from None
    except IsADirectoryError:
        raise FileRefused(f"{file.name}: is a folder; name the files in it.") from None
    except OSError as error:
        raise FileRefused(f"{file.name}: cannot be opened ({error.strerror}).") from None
    try:
        with stream:
            start = stream.peek(4)[:4]
            size = os.fstat(stream.fileno()).st_size
            if start.startswith(GZIP):
                yield io.BufferedReader(Unpacked(file, cast("BinaryIO", gzip.GzipFile(fileobj=stream)), size))
            elif start in ZIP and not is_workbook(file, stream):
                yield io.BufferedReader(Unpacked(file, _only_member(file, stream), size))
            else:
                yield stream
    except OSError as error:  # of a disk that fails, or a share that has gone, wherever in the file
        raise FileRefused(f"{file.name}: cannot be read ({error.strerror or error}).") from None


def whole(file: SourceFile) -> bytes:
    """All of the file's (unpacked) bytes, for kinds that cannot be read as a stream.

    Raises:
        FileRefused: as `opened`, and where the file is too big to be held in memory.
    """
    with opened(file) as stream:
        content = stream.read(MOST_IN_MEMORY + 1)
    if len(content) > MOST_IN_MEMORY:
        raise FileRefused(
            f"{file.name}: is bigger than {MOST_IN_MEMORY // 2**20} MB, too big for a workbook; save it as CSV."
        )
    return content


def is_workbook(file: SourceFile, stream: BinaryIO) -> bool:
    """Whether a zip is an office document (XLSX, ODS; one with a password may lack all else); left at its beginning.

    Raises:
        FileRefused: the zip's directory of contents is damaged or missing.
    """
    names = set(_directory(file, stream).namelist())
    stream.seek(0)
    return not names.isdisjoint(("[Content_Types].xml", "mimetype"))


def _directory(file: SourceFile, stream: BinaryIO) -> zipfile.ZipFile:
    try:
        return zipfile.ZipFile(stream)
    except (zipfile.BadZipFile, NotImplementedError, OSError, ValueError) as error:
        raise FileRefused(f"{file.name}: is damaged or cut short, as a workbook or zip ({error}).") from None


def _only_member(file: SourceFile, stream: BinaryIO) -> BinaryIO:
    packed = _directory(file, stream)
    inside = (m for m in packed.infolist() if not m.is_dir() and not m.filename.startswith(LITTER))
    members = [m for m in inside if not is_litter(m.filename.rsplit("/", 1)[-1])]
    if not members:
        raise FileRefused(f"{file.name}: is an empty zip.")
    if len(members) > 1:
        names = ", ".join(member.filename for member in members[:5]) + (", ..." if len(members) > 5 else "")
        raise FileRefused(
            f"{file.name}: is a zip with {len(members)} files inside ({names}); unpack it and name the files."
        )
    if members[0].flag_bits & 1:
        raise FileRefused(f"{file.name}: is a zip with a password; unpack it first.")
    try:
        return cast("BinaryIO", packed.open(members[0]))
    except (zipfile.BadZipFile, NotImplementedError, OSError, RuntimeError) as error:
        raise FileRefused(f"{file.name}: is a zip that cannot be unpacked here ({error}); unpack it first.") from None


class Unpacked(io.RawIOBase):
    """What comes out of a gzip or zip: counted, and its faults told in words."""

    def __init__(self, file: SourceFile, inside: BinaryIO, packed_bytes: int) -> None:
        self.file, self.inside = file, inside
        self.most = max(HARMLESS_BYTES, MOST_TIMES * packed_bytes)
        self.unpacked = 0

    def readable(self) -> bool:
        """It is."""
        return True

    def readinto(self, buffer: Any) -> int:
        """Unpack the next bytes.

        Raises:
            FileRefused: the pack is damaged, or more comes out of it than out of any table.
        """
        try:
            block = self.inside.read(len(buffer))
        except (EOFError, zlib.error, OSError, zipfile.BadZipFile) as error:
            what = str(error).rstrip(".") or type(error).__name__
            raise FileRefused(f"{self.file.name}: is packed, and damaged or cut short ({what}).") from None
        self.unpacked += len(block)
        if self.unpacked > self.most:
            raise FileRefused(
                f"{self.file.name}: unpacks to more than {MOST_TIMES} times its size, which no table does; "
                "nothing was taken in. If it is right, unpack it first."
            )
        buffer[: len(block)] = block
        return len(block)
