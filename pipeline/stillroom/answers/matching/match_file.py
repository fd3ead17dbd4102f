"""The match file: what a person has said of till names, and '?' for those of whom nobody has yet.

That is the file of which the house keeps most rows. Where it has headings of its own, or is a sheet of a workbook, what
was said is added as rows, as it is written there, and no '?' is; where it cannot be, it goes into a file of its own.
"""

from __future__ import annotations

import csv
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, Any, Final

from stillroom.answers import added_rows
from stillroom.answers.matching.open_names import OpenName
from stillroom.answers.matching.said import Answer
from stillroom.errors import FileRefused, StillroomError
from stillroom.files import real, replace_whole
from stillroom.house.decisions import Decisions
from stillroom.house.house import House
from stillroom.names import name_key
from stillroom.plugins.registry import Registry
from stillroom.safecsv import as_rows, neutralised, restored
from stillroom.writing.new_row import Cell, NewRow
from stillroom.writing.rows import with_rows

if TYPE_CHECKING:
    from stillroom.intake.planning import Plan

UNDECIDED: Final = "?"
TABLE: Final = "till_match"
COLUMNS: Final = ("till_item", "venue", "spec", "serves")
NEEDED: Final = {column: (column,) for column in ("till_item", "spec")}
BEYOND: Final = "(beyond the headings)"
DEFAULT_FILE: Final = "match/till_match.csv"
WHAT: Final = "what was said"


def write_open(house: House, registry: Registry, names: Sequence[OpenName]) -> tuple[Path, list[str] | None]:
    """Append the names that are not in the match file yet, each as '?', which intake sets aside until it is decided.

    None instead of the names where it is a file to which no '?' is added.
    """
    plan = _kept(house, registry)
    if plan is not None and not _is_ours(plan):
        return plan.file.path, None
    path = plan.file.path if plan else new_file(house)
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


def write_decided(house: House, registry: Registry, decided: Sequence[Answer]) -> Path:
    """Put what was said of names into the match file: in the place of a '?', else below; what else is there stays."""
    plan = _kept(house, registry)
    if plan is None or _is_ours(plan):
        return _decide_in(plan.file.path if plan else new_file(house), decided)
    with suppress(FileRefused):  # what was said stays said
        return _add(house, plan, decided)
    path = new_file(house)
    return _decide_in(house.folder / DEFAULT_FILE if path == plan.file.path else path, decided)


def _decide_in(path: Path, decided: Sequence[Answer]) -> Path:
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


# Which file it is -----------------------------------------------------------------------------------


def _kept(house: House, registry: Registry) -> Plan | None:
    """How the match file is read: of those that the settings name, that with most rows; None where none has any."""
    from stillroom.intake import planning

    kept: Plan | None = None
    most, root = 1, real(house.folder)
    for candidate in planning.named_by_settings(house, Decisions.load(house.folder)):
        source = registry.sources.get(candidate.settings.plugin) if candidate.settings else None
        file = candidate.path
        if source is None or TABLE not in source.tables or not (file.is_file() and file.is_relative_to(root)):
            continue
        with suppress(StillroomError):  # which intake tells
            plan = planning.plan(replace(candidate, path=house.folder / file.relative_to(root)), registry)
            rows = sum(batch.rows.height for batch in plan.source.batches_of(plan.file))
            if plan.table.name == TABLE and rows >= most:
                most, kept = rows, plan
    return kept


def _is_ours(plan: Plan) -> bool:
    """Whether it is written as the template is."""
    from stillroom.reading import delimited
    from stillroom.reading.kinds import kind_of

    same = plan.layout.headings.items() >= NEEDED.items() and plan.file.encoding == "utf-8"
    return same and kind_of(plan.file) == "delimited text" and delimited.found_top(plan.file).separator == ","


def new_file(house: House) -> Path:
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


# Written as it is kept ------------------------------------------------------------------------------


def _add(house: House, plan: Plan, decided: Sequence[Answer]) -> Path:
    """Add a row for each answer, below the last and like it."""
    added_rows.refuse_unless_list(plan, WHAT)
    cells = added_rows.cells(plan)
    last = max(cells)
    found = {column: plan.layout.headings.get(column, ()) for column in ("till_item", "spec", "serves")}
    places = {column: headings[0] for column, headings in found.items() if headings}
    said: list[dict[str, Any]] = [
        {"till_item": one.till_item, "spec": one.spec, "serves": float(one.serves)} for one in decided
    ]
    rows = []
    for one in said:
        new: dict[str, Cell] = dict.fromkeys(cells[last], "")
        new |= {heading: one[column] or "" for column, heading in places.items()}
        rows.append(NewRow(like=last, cells=new))
    content = with_rows(plan.file, plan.file.path.read_bytes(), list(cells[last]), rows)
    added_rows.refuse_other(plan, house, content, said, WHAT)
    _write(plan.file.path, content)
    return plan.file.path


# Written as the template is --------------------------------------------------------------------------


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
    _write(path, text.encode("utf-8"))


def _write(path: Path, content: bytes) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        replace_whole(path, content)
    except OSError as error:
        raise FileRefused(f"{path}: cannot be written ({error.strerror}); it is as it was.") from None
