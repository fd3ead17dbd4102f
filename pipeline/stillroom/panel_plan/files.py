"""Writes a drawn-up session: ballots to print, a sheet to type into, and the key, apart in a folder of its own."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from stillroom.errors import UsageError
from stillroom.panel_plan.ballots import render_ballots
from stillroom.panel_plan.drawing import KEY_COLUMNS, SCORES, Session
from stillroom.panel_plan.resolving import KEY_ENDING, KEY_FOLDER, SHEET_ENDING
from stillroom.safecsv import neutralised

SCORE_SHEET = (
    "session", "tasted_on", "panelist", "spec", "version", "replicate", "position", "code", "attribute", "score",
    "scale_low", "scale_high", "scale_kind",
)  # fmt: skip
TEST_SHEET = (
    "session", "tasted_on", "panelist", "method", "spec", "version_a", "version_b", "replicate", "codes", "answer",
    "correct", "chosen",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Written:
    """Where the files are."""

    ballots: Path
    sheet: Path
    key: Path


def file_name(session: str) -> str:
    """A session's name as a file name.

    >>> file_name("Harbour Light: autumn, 2nd")
    'harbour-light-autumn-2nd'
    """
    return re.sub(r"[^\w]+", "-", session.casefold()).strip("-") or "session"


def write_session(session: Session, folder: Path) -> Written:
    """Write ballots, sheet and key into a folder.

    Raises:
        UsageError: one of them is there already (a key that is overwritten loses its session), or cannot be written.
    """
    name = file_name(session.request.session)
    written = Written(
        ballots=folder / f"{name}-ballots.html",
        sheet=folder / f"{name}{SHEET_ENDING}.csv",
        key=folder / KEY_FOLDER / f"{name}{KEY_ENDING}",
    )
    for path in (written.ballots, written.sheet, written.key):
        if path.exists():
            raise UsageError(f"{path} is there already: give the session another name with --session.")
    sheet_columns = SCORE_SHEET if session.request.method == SCORES else TEST_SHEET
    sheet_rows = _score_rows(session) if session.request.method == SCORES else _test_rows(session)
    contents = {
        written.key: _csv(KEY_COLUMNS, session.key.iter_rows()),
        written.sheet: _csv(sheet_columns, sheet_rows),
        written.ballots: render_ballots(session),
    }
    try:
        written.key.parent.mkdir(parents=True, exist_ok=True)
        for path, content in contents.items():
            path.write_text(content, encoding="utf-8", newline="")
    except OSError as error:
        raise UsageError(f"{folder} cannot be written to: {error.strerror or error}.") from None
    return written


def _score_rows(session: Session) -> Iterable[Sequence[object]]:
    """A row for each score to come; spec and version stay empty, so that whoever types is blind too."""
    request = session.request
    for row in session.key.iter_rows(named=True):
        for attribute in request.attributes:
            low, high = attribute.scale
            served = (row["replicate"], row["position"], row["code"])
            yield (
                request.session, request.tasted_on, row["panelist"], None, None, *served, attribute.name, None, low,
                high, attribute.kind,
            )  # fmt: skip


def _test_rows(session: Session) -> Iterable[Sequence[object]]:
    """A row for each answer to come: the code that was picked goes into `answer`."""
    request = session.request
    groups = session.key.partition_by("replicate", "panelist", maintain_order=True)
    for glasses in groups:
        first = glasses.row(0, named=True)
        codes = " ".join(glasses["code"].to_list())
        about = (request.session, request.tasted_on, first["panelist"], request.method)
        yield (*about, None, None, None, first["replicate"], codes, None, None, None)


def _csv(columns: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(columns)
    for row in rows:
        writer.writerow(["" if cell is None else neutralised(str(cell)) for cell in row])
    return text.getvalue()
