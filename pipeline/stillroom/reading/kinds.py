"""Tells a file's kind from its first bytes, whatever its name says."""

from __future__ import annotations

import codecs
import re
from typing import Final, Literal

from stillroom.errors import FileRefused
from stillroom.objects import SourceFile
from stillroom.reading.containers import GZIP, ZIP, Unpacked, opened

Kind = Literal["delimited text", "JSON lines", "a workbook", "Parquet", "a database"]

OLE: Final = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"  # workbooks of 1997 to 2003, and those with a password
TYPE_IT: Final = "; type its rows into a template"
NO_TABLES: Final[dict[bytes, str]] = {
    b"%PDF": "is a PDF document; have its table exported as CSV or .xlsx instead",
    b"\x89PNG": f"is a picture (PNG){TYPE_IT}",
    b"\xff\xd8\xff": f"is a picture (JPEG){TYPE_IT}",
    b"GIF8": f"is a picture (GIF){TYPE_IT}",
    b"BZh": "is packed as bzip2; unpack it first",
    b"\xfd7zXZ": "is packed as xz; unpack it first",
    b"\x28\xb5\x2f\xfd": "is packed as zstd; unpack it first",
    b"7z\xbc\xaf": "is packed as 7z; unpack it first",
    b"Rar!": "is packed as rar; unpack it first",
    b"{\\rtf": "is a text document (RTF); save its table as CSV or .xlsx first",
    b"SQLite format 3\0": (
        "is an SQLite database; name it under a [[source]] by database = (an environment variable that holds "
        "sqlite:///its/path) and query = (the rows to read)"
    ),
}
MARKUP: Final = (b"<!doctype", b"<html", b"<?xml", b"<table")
LOOKED_AT: Final = 4096


def kind_of(file: SourceFile) -> Kind:
    """What kind of table the file holds, inside its packing if it has one.

    Raises:
        FileRefused: no such file, or of a kind that holds no table that can be read here.
    """
    if file.query is not None:
        return "a database"
    with opened(file) as stream:
        start = stream.peek(LOOKED_AT)[:LOOKED_AT]
        packed = isinstance(stream.raw, Unpacked)
    for magic, what in NO_TABLES.items():
        if start.startswith(magic):
            raise FileRefused(f"{file.name}: {what}.")
    if start.startswith(GZIP):
        raise FileRefused(f"{file.name}: is packed twice; unpack it first.")
    if start.startswith(OLE) or start[:4] in ZIP:
        return "a workbook"
    if start.startswith(b"PAR1"):
        if packed:
            raise FileRefused(f"{file.name}: is Parquet inside another packing, which gains nothing; unpack it first.")
        return "Parquet"
    text = start.removeprefix(codecs.BOM_UTF8).lstrip()
    if text[:9].lower().startswith(MARKUP):
        raise FileRefused(f"{file.name}: is a web page or XML, whatever its name says; save it as CSV or .xlsx first.")
    return "JSON lines" if re.match(rb'(?:\[\s*)?\{\s*["}]', text) else "delimited text"
