"""Writes a drawn-up session: ballots to print, a sheet to type into, and the key, apart in a folder of its own."""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final

from stillroom.answers.panel_plan.ballots import render_ballots
from stillroom.answers.panel_plan.drawing import KEY_COLUMNS, SCORES, Session
from stillroom.answers.panel_plan.resolving import KEY_ENDING, KEY_FOLDER, SHEET_ENDING, SHEET_KINDS
from stillroom.errors import UsageError
from stillroom.files import replace_all
from stillroom.safecsv import csv_text

SCORE_SHEET = (
    "session", "tasted_on", "panelist", "spec", "version", "replicate", "position", "code", "attribute", "score",
    "scale_low", "scale_high", "scale_kind", "looks",
)  # fmt: skip
TEST_SHEET = (
    "session", "tasted_on", "panelist", "method", "spec", "version_a", "version_b", "replicate", "codes", "answer",
    "correct", "chosen", "given",
)  # fmt: skip


BALLOT_KINDS: Final = ("html", "pdf")


@dataclass(frozen=True, kw_only=True)
class Written:
    """Where the files are."""

    ballots: Path
    sheet: Path
    key: Path
    faults: tuple[str, ...] = ()
    """What could not be printed."""


def file_name(session: str) -> str:
    """A session's name as a file name.

    >>> file_name("Harbour Light: autumn, 2nd")
    'harbour-light-autumn-2nd'
    """
    return re.sub(r"[^\w]+", "-", session.casefold()).strip("-") or "session"


def write_session(
    session: Session, folder: Path, sheet_kind: str = "csv", ballot_kind: str = "html", paper: str = "A4"
) -> Written:
    """Write ballots (html, or pdf on a paper), sheet (csv or xlsx) and key into a folder.

    Raises:
        UsageError: one of them is there already (a key that is overwritten loses its session), or cannot be written.
    """
    if sheet_kind not in SHEET_KINDS:
        raise UsageError(f"--sheet must be {' or '.join(SHEET_KINDS)}, not '{sheet_kind}'.")
    if ballot_kind not in BALLOT_KINDS:
        raise UsageError(f"--ballots must be {' or '.join(BALLOT_KINDS)}, not '{ballot_kind}'.")
    name = file_name(session.request.session)
    ballots, faults = _ballots(session, ballot_kind, paper)
    written = Written(
        ballots=folder / f"{name}-ballots.{ballot_kind}",
        sheet=folder / f"{name}{SHEET_ENDING}.{sheet_kind}",
        key=folder / KEY_FOLDER / f"{name}{KEY_ENDING}",
        faults=faults,
    )
    for path in (written.ballots, written.sheet, written.key):
        if path.exists():
            raise UsageError(f"{path} is there already: give the session another name with --session.")
    sheet_columns = SCORE_SHEET if session.request.method == SCORES else TEST_SHEET
    sheet_rows = _score_rows(session) if session.request.method == SCORES else _test_rows(session)
    contents = {
        written.key: csv_text(KEY_COLUMNS, session.key.iter_rows()).encode(),
        written.sheet: _SHEETS[sheet_kind](sheet_columns, sheet_rows),
        written.ballots: ballots,
    }
    try:
        written.key.parent.mkdir(parents=True, exist_ok=True)
        replace_all(contents)
    except OSError as error:
        raise UsageError(f"{folder} cannot be written to: {error.strerror or error}.") from None
    return written


def _ballots(session: Session, kind: str, paper: str) -> tuple[bytes, tuple[str, ...]]:
    if kind == "html":
        return render_ballots(session).encode(), ()
    from stillroom_reports.paper.ballots import print_ballots

    printed = print_ballots(session, paper)
    return printed.pdf, printed.faults


def _score_rows(session: Session) -> Iterable[Sequence[object]]:
    """A row for each score to come; spec and version stay empty, so that whoever types is blind too."""
    request = session.request
    for row in session.key.iter_rows(named=True):
        for attribute in request.attributes:
            low, high = attribute.scale
            served = (row["replicate"], row["position"], row["code"])
            yield (
                request.session, request.tasted_on, row["panelist"], None, None, *served, attribute.name, None, low,
                high, attribute.kind, request.looks,
            )  # fmt: skip


def _test_rows(session: Session) -> Iterable[Sequence[object]]:
    """A row for each answer to come: the code that was picked goes into `answer`."""
    request = session.request
    groups = session.key.partition_by("replicate", "panelist", maintain_order=True)
    for glasses in groups:
        first = glasses.row(0, named=True)
        codes = " ".join(glasses["code"].to_list())
        about = (request.session, request.tasted_on, first["panelist"], request.method)
        yield (*about, None, None, None, first["replicate"], codes, None, None, None, None)


def _workbook(columns: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    """One sheet of texts and numbers, the headings held in sight; a text is never taken for a formula."""
    import xlsxwriter  # type: ignore[import-untyped]  # ships no types

    target = io.BytesIO()
    # A fixed day of making, so that the same session gives the same bytes.
    book = xlsxwriter.Workbook(target, {"in_memory": True})
    book.set_properties({"created": datetime(2000, 1, 1)})
    sheet = book.add_worksheet("sheet")
    sheet.freeze_panes(1, 0)
    for row_number, row in enumerate([columns, *rows]):
        for column_number, cell in enumerate(row):
            if isinstance(cell, int):
                sheet.write_number(row_number, column_number, cell)
            elif cell is not None:
                sheet.write_string(row_number, column_number, str(cell))
    book.close()
    return target.getvalue()


_SHEETS: Final[dict[str, Callable[[Sequence[str], Iterable[Sequence[object]]], bytes]]] = {
    "csv": lambda columns, rows: csv_text(columns, rows).encode(),
    "xlsx": _workbook,
}
