"""What a source is, what it is handed, and what it yields."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

from stillroom import guarded
from stillroom.errors import PluginError
from stillroom.objects.by_name import function

if TYPE_CHECKING:
    import polars as pl


@dataclass(frozen=True, kw_only=True)
class SourceFile:
    """A file to read, and how the settings say it is written."""

    path: Path
    """Where it is; for rows from a database, the house's folder."""
    name: str
    """How to call it in messages: its path inside the house, or as it was given."""
    encoding: str = "utf-8"
    """A Python codec name."""
    separator: str | None = None
    """What stands between two cells; None = the one that makes most of the headings looked for."""
    sheet: str | None = None
    """Sheet of a workbook; None = the first that has the headings looked for."""
    decimal: str | None = None
    """What parts decimals in its texts: numbers of a workbook come out written so, too."""
    looked_for: frozenset[str] = frozenset()
    """Headings that may be in the file, case-folded: the row that holds most of them is the heading row."""
    address: str | None = field(default=None, repr=False)
    """Address of a database, with its password: never to be shown."""
    query: str | None = None
    """The rows to read from that database."""
    plugin_seconds: float = guarded.PATIENT
    """The longest that its source may take over its headings, or over its next rows."""


@dataclass(frozen=True, kw_only=True)
class Malformed:
    """A row that is not a row of its file: too many cells, too few, a quote that never closes."""

    row_number: int
    problem: str
    cells: tuple[str, ...]
    """What could be told apart; the whole row as one cell where nothing could."""

    def __post_init__(self) -> None:
        """Refuse what could not be shown, so that the fault is named as the plugin's."""
        texts = (self.problem, *self.cells)
        if not isinstance(self.row_number, int) or not all(isinstance(text, str) for text in texts):
            raise TypeError("a malformed row needs a number, its problem as text, and its cells as texts")
        "".join(texts).encode()  # raises where one holds half of a character, which no store can


@dataclass(frozen=True, kw_only=True)
class TextBatch:
    """Some rows of a file, as text, with the file's own headings."""

    rows: pl.DataFrame
    """One text column a heading; null or '' where a cell is empty."""
    row_numbers: pl.Series
    """Each row's number as a spreadsheet shows it: the heading is row 1."""
    passed_over: int = 0
    """Blank rows that were skipped."""
    malformed: tuple[Malformed, ...] = ()
    """Rows that could not be taken apart into cells."""

    def __post_init__(self) -> None:
        """Refuse what could not be counted, so that the fault is named as the plugin's."""
        import polars as pl

        if not isinstance(self.rows, pl.DataFrame) or not isinstance(self.row_numbers, pl.Series):
            raise TypeError("a batch needs its rows as a polars DataFrame and their numbers as a Series")
        if self.row_numbers.cast(pl.Int64).has_nulls():
            raise TypeError("the row numbers of a batch must be whole numbers")
        if not isinstance(self.passed_over, int) or self.passed_over < 0:
            raise ValueError(f"the rows passed over must be a number from 0 on, not {self.passed_over!r}")
        if not isinstance(self.malformed, tuple | list) or not all(isinstance(m, Malformed) for m in self.malformed):
            raise TypeError("the malformed rows of a batch must be a tuple of Malformed")

    def passing_over(self, lines: pl.Series) -> TextBatch:
        """The batch without those rows (a mask), which are counted as passed over."""
        if not lines.any():
            return self
        return replace(
            self,
            rows=self.rows.filter(~lines),
            row_numbers=self.row_numbers.filter(~lines),
            passed_over=self.passed_over + int(lines.sum()),
        )


OUR_HEADINGS: Final = "stillroom.reading:read_headings"


def _texts(headings: Iterable[str]) -> list[str]:
    found = list(headings)
    if isinstance(headings, str) or not all(isinstance(heading, str) for heading in found):
        raise TypeError(f"its headings must be a list of texts, not {headings!r}")
    return found


@dataclass(frozen=True, kw_only=True)
class Source:
    """One kind of file: what it fills, and how it is read. Checking and landing is the host's work."""

    name: str
    """What the settings call it: `plugin = "..."`."""
    title: str
    """One line for people."""
    tables: tuple[str, ...]
    """The table or tables it can fill; a file fills the one whose headings it has."""
    headings: Callable[[SourceFile], list[str]] | str = OUR_HEADINGS
    """The file's headings; raises `FileRefused` where it has none that can be read."""
    read: Callable[[SourceFile], Iterator[TextBatch]] | str = "stillroom.reading:read_batches"
    """The file's rows in batches of bounded size, in file order; raises `FileRefused`.

    This and `headings` are functions, or where they are: 'package.module:function', imported when a file is read.
    Unless named, they read every kind of file that Stillroom knows.
    """
    beside: Callable[[Path], tuple[Path, ...]] | str | None = None
    """Files that are read with the one at a path, such as the key of a session: they go where it goes."""
    used_with_those: tuple[str, ...] = ()
    """Headings, beside the columns of the table, that `read` makes use of where there are such files."""

    @property
    def has_own_reader(self) -> bool:
        """Whether it reads files of a kind that nobody else knows."""
        return self.headings not in (OUR_HEADINGS, function(OUR_HEADINGS))

    def headings_of(self, file: SourceFile) -> list[str]:
        """The file's headings, as `headings` reads them.

        Raises:
            FileRefused: as `headings` raises it.
            PluginError: whatever else goes wrong in it, or it takes too long.
        """
        with self._at_fault(file.name):
            return guarded.called(lambda: _texts(function(self.headings)(file)), file.plugin_seconds)

    def batches_of(self, file: SourceFile) -> Iterator[TextBatch]:
        """The file's rows, as `read` reads them; faults as of `headings_of`."""
        with self._at_fault(file.name):
            yield from guarded.drawn(lambda: function(self.read)(file), file.plugin_seconds)

    def beside_of(self, path: Path) -> tuple[Path, ...]:
        """Files that are read with the one at a path, as `beside` says; faults as of `headings_of`."""
        beside = self.beside
        if beside is None:
            return ()
        with self._at_fault(path.name):
            return guarded.called(lambda: tuple(map(Path, function(beside)(path))), guarded.INSTANT)

    @contextmanager
    def _at_fault(self, name: str) -> Iterator[None]:
        """What goes wrong in its own code is its fault, and is named so."""
        try:
            yield
        except guarded.Failed as failed:
            raise PluginError(f"{name}: source plugin '{self.name}' failed ({failed}).") from failed
