"""Opens a file as a stream of bytes, unpacking it where it is packed, and never more than a bounded amount."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import BinaryIO, Final, cast

from stillroom.errors import FileRefused
from stillroom.objects import SourceFile

MAGIC: Final = {
    b"%PDF": "a PDF document",
    b"\xd0\xcf\x11\xe0": "an old spreadsheet workbook; save it as .xlsx or CSV first",
}


@contextmanager
def opened(file: SourceFile) -> Iterator[BinaryIO]:
    """The file's bytes.

    Raises:
        FileRefused: no such file, a folder, not readable, or of a kind that holds no table.
    """
    try:
        stream = file.path.open("rb")
    except FileNotFoundError:
        raise FileRefused(f"{file.name}: there is no such file.") from None
    except IsADirectoryError:
        raise FileRefused(f"{file.name}: is a folder; name the files in it.") from None
    except OSError as error:
        raise FileRefused(f"{file.name}: cannot be opened ({error.strerror}).") from None
    with stream:
        start = stream.peek(8)[:8]
        for magic, what in MAGIC.items():
            if start.startswith(magic):
                raise FileRefused(f"{file.name}: is {what}.")
        yield cast("BinaryIO", stream)
