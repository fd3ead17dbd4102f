"""What became of one file, for those who watch an intake."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

Status = Literal["landed", "unchanged", "undone", "missing", "no rows yet", "refused"]


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What became of one file."""

    file: str
    status: Status
    source: str = ""
    table: str = ""
    intake_id: int | None = None
    rows_read: int = 0
    rows_landed: int = 0
    rows_set_aside: int = 0
    rows_corrected: int = 0
    """Of the rows read, those that were corrected by hand."""
    rows_passed_over: int = 0
    superseded: int = 0
    """Rows of earlier files, or of earlier editions of this one, that count no longer."""
    kept_of_older: int = 0
    """Rows of earlier editions of this very file that stay in force: the new edition does not speak of their ground."""
    went: tuple[str, ...] = ()
    """Of a file kept by hand, the rows that its edition before had and this one has not, each by its key."""
    came: tuple[str, ...] = ()
    """And those that it has, and the one before had not."""
    renamed: tuple[tuple[str, str], ...] = ()
    """Of such a file, rows that say the same under another key: (key before, key now)."""
    doubtful: tuple[str, ...] = ()
    """Rows that were set aside for a day that cannot be, or hardly: row, column, value, and what was likely meant."""
    corrected_by: str = ""
    """The file that brought the corrections with which this one was read anew."""
    was: str = ""
    """The name that the file had before."""
    replaced_intake: int | None = None
    """The earlier intake of the same bytes that this one takes the place of, because it is read differently now."""
    unused: tuple[str, ...] = ()
    """Headings that fill no column."""
    problem: str = ""


Progress = Callable[[str, int, int], None]
"""Called with the file's name, the rows read so far, and about how many there will be."""
