"""Till names that no drink matches: counted, given a suggestion, and written into the match file to be confirmed."""

from __future__ import annotations

import csv
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, Any, Final

from stillroom.errors import FileRefused
from stillroom.files import replace_whole
from stillroom.house.house import House
from stillroom.safecsv import as_rows, neutralised, restored
from stillroom.store import frames

if TYPE_CHECKING:
    import duckdb

LIKELY: Final = 80.0  # of 100: below this a suggestion is more often wrong than right
UNDECIDED: Final = "?"
COLUMNS: Final = ("till_item", "venue", "spec", "serves")
BEYOND: Final = "(beyond the headings)"
DEFAULT_FILE: Final = "match/till_match.csv"
NAMES: Final = """
    SELECT
        min(till_item) AS till_item, sum(lines)::BIGINT AS lines,
        sum(quantity) AS quantity, sum(net_amount) AS net_amount,
        min(first_day) AS first_day, max(last_day) AS last_day, list(DISTINCT venue ORDER BY venue) AS venues
    FROM unmatched_sales GROUP BY lower(till_item) ORDER BY lines DESC, till_item
"""


def unmatched_names(con: duckdb.DuckDBPyConnection) -> list[dict[str, Any]]:
    """Every unmatched till name with its lines, quantity, money, days, venues, and the drink it may be meant for."""
    from rapidfuzz import fuzz, process, utils

    drinks = [row[0] for row in con.execute("SELECT spec FROM spelling WHERE kind = 'drink' ORDER BY spec").fetchall()]
    rows: list[dict[str, Any]] = frames.fetch(con, NAMES).to_dicts()
    for row in rows:
        best = process.extractOne(
            row["till_item"], drinks, scorer=fuzz.WRatio, processor=utils.default_process, score_cutoff=LIKELY
        )
        row["suggestion"] = best[0] if best else None
    return rows


def write_suggestions(house: House, unmatched: list[dict[str, Any]]) -> tuple[Path, list[dict[str, str]]]:
    """Append the names that are not in the match file yet; the whole file is replaced at once.

    A likely drink is filled in, to be looked over; else '?' stands there, which intake sets aside until it is decided.
    """
    path = _match_file(house)
    headings, rows = _existing(path)
    known = {(row["till_item"].casefold(), row.get("venue", "").casefold()) for row in rows}
    written = []
    for row in unmatched:
        name = str(row["till_item"])
        nowhere_named = [v for v in row["venues"] if (name.casefold(), (v or "").casefold()) not in known]
        if nowhere_named and (name.casefold(), "") not in known:
            written.append({"till_item": name, "spec": row["suggestion"] or UNDECIDED, "serves": "1"})
    if written:
        _replace(path, headings, [*rows, *written])
    return path, written


def _match_file(house: House) -> Path:
    """The first file that a till-match source names, or where its first pattern would find one."""
    patterns = [pattern for source in house.sources if source.plugin == "till-match" for pattern in source.files]
    for pattern in patterns:
        found = sorted(house.folder.glob(pattern))
        if found:
            return found[-1]
    for pattern in patterns:
        if not any(mark in pattern for mark in "*?["):
            return house.folder / pattern
        beside = PurePosixPath(pattern).parent / PurePosixPath(DEFAULT_FILE).name
        if beside.match(pattern) and not any(mark in str(beside) for mark in "*?["):
            return house.folder / beside
    return house.folder / DEFAULT_FILE


def _existing(path: Path) -> tuple[list[str], list[dict[str, str]]]:
    if not path.exists():
        return list(COLUMNS), []
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            reader = csv.DictReader(file, restval="", restkey=BEYOND, strict=True)
            rows = list(reader)
            headings = list(reader.fieldnames or COLUMNS)
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise FileRefused(f"{path}: cannot be read ({error}); nothing was written.") from None
    if "till_item" not in headings or "spec" not in headings:
        raise FileRefused(
            f"{path}: needs the headings till_item and spec for 'stillroom match' to add to it; "
            f"found: {', '.join(headings)}."
        )
    if any(BEYOND in row for row in rows):
        raise FileRefused(f"{path}: has a row with more cells than headings; mend it first, nothing was written.")
    return headings, [{key: restored(value) for key, value in row.items()} for row in rows]


def _replace(path: Path, headings: list[str], rows: list[dict[str, str]]) -> None:
    text = as_rows([headings, *([neutralised(row.get(heading) or "") for heading in headings] for row in rows)])
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        replace_whole(path, text.encode("utf-8"))
    except OSError as error:
        raise FileRefused(f"{path}: cannot be written ({error.strerror}); it is as it was.") from None
