"""A blank XLSX template of a table: its headings with a note on each, drop-down lists, and the limits of its columns.

All that is in it comes from the table's pandera model, so that a cell a spreadsheet lets pass is one that intake takes;
what only a whole row or another table can tell is left to intake.
"""

from __future__ import annotations

import io
from datetime import date, datetime
from typing import TYPE_CHECKING, Any, Final

import polars as pl

from stillroom.naming import column_letters
from stillroom_schemas import fields
from stillroom_schemas.table import Table
from stillroom_schemas.units import ALSO

if TYPE_CHECKING:
    from collections.abc import Mapping

LAST_ROW: Final = 1_048_575  # of a sheet, counted from 0
CHOICES: Final = "Choices"
FORMATS: Final = {pl.String: "@", pl.Date: "yyyy-mm-dd", pl.Datetime: "yyyy-mm-dd hh:mm"}
"""Text columns are text, so that 007 stays 007, and a name that begins with = is no formula."""
LIMITS: Final = {
    "greater_than": ("min_value", ">", "above {}"),
    "greater_than_or_equal_to": ("min_value", ">=", "not below {}"),
    "less_than": ("max_value", "<", "below {}"),
    "less_than_or_equal_to": ("max_value", "<=", "not above {}"),
    "not_equal_to": ("value", "<>", "not {}"),
}
"""pandera's check -> its limit's name, how a spreadsheet compares, and the words for it."""


def template(table: Table) -> bytes:
    """The workbook, the same bytes for the same table."""
    import xlsxwriter  # type: ignore[import-untyped]  # ships no types

    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"in_memory": True, "strings_to_formulas": False})
    book.set_properties({"created": datetime(2000, 1, 1)})
    sheet = book.add_worksheet(table.name[:31])
    sheet.freeze_panes(1, 0)
    bold = book.add_format({"bold": True})
    columns = table.schema().columns
    lists = {name: allowed for name, column in columns.items() if (allowed := _allowed(column))}
    for place, (name, column) in enumerate(columns.items()):
        kind = column.dtype.type.base_type()
        sheet.set_column(
            place, place, max(12, len(name) + 2), book.add_format({"num_format": FORMATS.get(kind, "General")})
        )
        sheet.write_string(0, place, name, bold)
        sheet.write_comment(0, place, described(column))
        rule = _list_rule(lists, name) if name in lists else _rule(column, kind, place)
        if rule is not None:
            message = f"{name} must be {_wanted(column, kind)}."
            sheet.data_validation(
                1, place, LAST_ROW, place, {**rule, "error_title": name[:32], "error_message": message}
            )
    if lists:
        choices = book.add_worksheet(CHOICES)
        for place, (name, allowed) in enumerate(lists.items()):
            for row, text in enumerate([name, *allowed]):
                choices.write_string(row, place, text)
    book.close()
    return out.getvalue()


def described(column: Any) -> str:
    """What a column is, and what an empty cell means."""
    default = (column.metadata or {}).get("default")
    if default is not None:
        return (
            f"{column.description}; empty means {default:g}"
            if isinstance(default, float)
            else (f"{column.description}; empty means {default}")
        )
    return str(column.description) + ("" if column.nullable else "; needed")


def _allowed(column: Any) -> list[str]:
    """The words to choose from; of a unit's spellings one."""
    return [word for word in fields.allowed(column) if word not in ALSO]


def _list_rule(lists: Mapping[str, list[str]], name: str) -> dict[str, Any]:
    letter = column_letters(list(lists).index(name))
    return {"validate": "list", "source": f"={CHOICES}!${letter}$2:${letter}${len(lists[name]) + 1}"}


def _rule(column: Any, kind: Any, place: int) -> dict[str, Any] | None:
    if kind in (pl.Date, pl.Datetime):
        return {"validate": "date", "criteria": ">=", "value": date(1900, 1, 1)}
    if kind not in (pl.Float64, pl.Int64):
        return None
    cell = f"{column_letters(place)}2"
    terms = [f"ISNUMBER({cell})", *([f"{cell}=INT({cell})"] if kind == pl.Int64 else [])]
    terms += [f"{cell}{compare}{limit:.15g}" for compare, limit, _ in _limits(column)]
    return {"validate": "custom", "value": f"=AND({','.join(terms)})"}


def _limits(column: Any) -> list[tuple[str, float, str]]:
    found = []
    for check in column.checks:
        if check.name in LIMITS:
            statistic, compare, words = LIMITS[check.name]
            limit = check.statistics[statistic]
            found.append((compare, limit, words.format(f"{limit:,}")))
    return found


def _wanted(column: Any, kind: Any) -> str:
    if allowed := _allowed(column):
        return f"one of: {', '.join(allowed)}"[:180]
    if kind in (pl.Date, pl.Datetime):
        return "a date like 2026-03-31" + (" 21:05" if kind == pl.Datetime else "")
    limits = [words for _, _, words in _limits(column)]
    return " and ".join(["a whole number" if kind == pl.Int64 else "a number", *limits])
