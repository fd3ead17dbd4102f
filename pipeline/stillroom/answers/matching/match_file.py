"""The match file: what a person has said of till names, and '?' for those of whom nobody has yet."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from pathlib import Path, PurePosixPath
from typing import Final

from stillroom.answers.matching.open_names import OpenName
from stillroom.answers.matching.said import Answer
from stillroom.errors import FileRefused
from stillroom.files import replace_whole
from stillroom.house.house import House
from stillroom.names import name_key
from stillroom.safecsv import as_rows, neutralised, restored

UNDECIDED: Final = "?"
COLUMNS: Final = ("till_item", "venue", "spec", "serves")
BEYOND: Final = "(beyond the headings)"
DEFAULT_FILE: Final = "match/till_match.csv"


def write_open(house: House, names: Sequence[OpenName]) -> tuple[Path, list[str]]:
    """Append the names that are not in the match file yet, each as '?', which intake sets aside until it is decided."""
    path = match_file(house)
    headings, rows = _existing(path)
    known = {(name_key(row["till_item"]), name_key(row.get("venue", ""))) for row in rows}
    written = []
    for name in names:
        key = name_key(name.till_item)
        if (key, "") not in known and any((key, name_key(venue or "")) not in known for venue in name.venues):
            written.append(name.till_item)
    if written:
        _replace(path, headings, [*rows, *({"till_item": one, "spec": UNDECIDED, "serves": "1"} for one in written)])
    return path, written


def write_decided(house: House, decided: Sequence[Answer]) -> Path:
    """Put what was said of names into the match file: in the place of a '?', else below; what else is there stays."""
    path = match_file(house)
    headings, rows = _existing(path)
    headings += [heading for heading in ("serves",) if heading not in headings]
    for one in decided:
        row = {"till_item": one.till_item, "spec": one.spec or "", "serves": f"{one.serves:g}"}
        open_ones = [
            r for r in rows if name_key(r["till_item"]) == name_key(one.till_item) and r["spec"].strip() == UNDECIDED
        ]
        if open_ones:
            open_ones[0].update(row, **({"venue": ""} if "venue" in headings else {}))
            rows = [r for r in rows if r not in open_ones[1:]]
        else:
            rows.append(row)
    _replace(path, headings, rows)
    return path


def match_file(house: House) -> Path:
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
