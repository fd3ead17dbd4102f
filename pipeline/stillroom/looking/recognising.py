"""What kind of file it is, and in which encoding."""

from __future__ import annotations

from dataclasses import dataclass

from stillroom.errors import FileRefused
from stillroom.house.model import SourceSettings
from stillroom.intake.planning import Candidate
from stillroom.looking.encodings import encoding_of
from stillroom.objects import Source, SourceFile
from stillroom.plugins.registry import Registry
from stillroom.reading.containers import GZIP, ZIP, is_workbook
from stillroom.reading.kinds import kind_of


@dataclass(frozen=True, kw_only=True)
class Recognised:
    """What a file is."""

    kind: str
    """'delimited text', 'JSON lines', 'a workbook', 'Parquet', or what a plugin of its own reads."""
    packed: str | None
    """'gzip' or 'zip'."""
    encoding: str | None
    """Of delimited text."""
    separator: str | None = None
    sheet: str | None = None
    sheets: int = 0
    sheets_alike: tuple[str, ...] = ()
    """Other sheets with the same headings."""
    sheets_unlike: tuple[str, ...] = ()
    """Other sheets that show something, under other headings."""
    heading_row: int = 1
    """Rows above it are passed over."""
    headings: tuple[str, ...] = ()
    within: tuple[str, ...] = ()
    """The only sheets to think of; empty: all."""

    def may_read(self, sheet: str) -> bool:
        """Whether a sheet is one to think of."""
        return not self.within or sheet in self.within


def recognised(
    candidate: Candidate, claimed: SourceSettings | None, reader: Source | None, within: tuple[str, ...] = ()
) -> Recognised:
    """The kind of the file and its encoding; `reader` is the source that is to read it, where that is known.

    Raises:
        FileRefused: no such file, or none that can be read as a table.
    """
    file = SourceFile(path=candidate.path, name=candidate.name)
    if reader is not None and reader.has_own_reader:
        return Recognised(kind=f"what plugin '{reader.name}' reads", packed=None, encoding=None)
    kind = kind_of(file)
    encoding = None
    if kind == "delimited text":
        encoding = claimed.encoding if claimed and claimed.encoding != "utf-8" else encoding_of(file)
        if encoding is None:
            raise FileRefused(
                f"{candidate.name}: is in no encoding that can be told; save it as UTF-8, or name its encoding under "
                "its [[source]] in stillroom.toml."
            )
    return Recognised(kind=kind, packed=_packing(file, kind), encoding=encoding, within=within)


def own_reader(candidate: Candidate, registry: Registry) -> Source | None:
    """The source, of those that read a kind of file of their own, that finds headings in this one."""
    file = SourceFile(path=candidate.path, name=candidate.name)
    for source in registry.sources.values():
        if source.has_own_reader:
            try:
                source.headings_of(file)
            except Exception:  # it is not its kind, whatever its code says of that
                continue
            return source
    return None


def _packing(file: SourceFile, kind: str) -> str | None:
    with file.path.open("rb") as stream:
        start = stream.read(4)
        if start.startswith(GZIP):
            return "gzip"
        bare_workbook = kind == "a workbook" and start in ZIP and is_workbook(file, stream)
    return "zip" if start in ZIP and not bare_workbook else None
