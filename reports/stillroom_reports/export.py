"""The same figures for other programs: JSON, CSV, and charts as pictures."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Sequence
from dataclasses import asdict, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Literal

from stillroom.files import existing_folder, write_whole
from stillroom.objects import Finding, ReportChart, ReportTable
from stillroom.safecsv import neutralised
from stillroom_reports.charts import ChartFault, chart_spec, is_compound
from stillroom_reports.document import Document, by_rank, safe_name
from stillroom_reports.figures import heading_unit, plain_value
from stillroom_reports.theme import NUMBER_FORMAT, picture_config

if TYPE_CHECKING:
    import polars as pl

    from stillroom.answers.review.objects import Review
    from stillroom.answers.review.sheet_objects import Sheet

FORMAT: Final = 1
"""Counts up when what the JSON says changes its meaning or its place."""
PICTURE_WIDTH: Final = 720
"""Width in pixels of a picture's plot, where the chart does not set its own."""
_FINDING_FIELDS: Final = (
    *("sentence", "evidence", "sureness", "act", "subject", "do", "money", "why", "mend", "statistics", "weight"),
)


def render_json(document: Document) -> str:
    """Findings, tables and notes as JSON (RFC 8259); dates in ISO 8601; null for what is not a finite number."""
    return json.dumps(_document(document), allow_nan=False, ensure_ascii=False, indent=1) + "\n"


def _document(document: Document) -> dict[str, Any]:
    house, period = document.house, document.period
    return {
        "format": FORMAT,
        "house": {"name": house.name, "currency": house.currency, "venues": list(house.venues)},
        "period": {
            "label": period.label,
            "first": period.first.isoformat(),
            "last": period.last.isoformat(),
            "days": period.days,
        },
        "review": review_values(document.review) if document.review else None,
        "reports": [
            {
                "name": entry.report.name,
                "title": entry.report.title,
                "question": entry.report.question,
                "findings": [_finding(finding) for finding in by_rank(entry.result.findings)],
                "tables": [_table(table) for table in entry.result.tables],
                "charts": [{"name": c.name, "title": c.title, "note": c.note} for c in entry.result.charts],
                "notes": list(entry.result.notes),
            }
            for entry in document.entries
        ],
        "facts": [{"label": label, "value": plain_value(value)} for label, value in document.facts],
        "faults": list(document.faults),
    }


def review_values(review: Review) -> dict[str, Any]:
    """The period at a glance as plain values; the sheets are had one by one."""
    values = asdict(replace(review, sheets=()))
    del values["sheets"]
    plain = plain_value(values)
    assert isinstance(plain, dict)
    return plain


def sheet_values(sheet: Sheet) -> dict[str, Any]:
    """The sheet of a thing as plain values."""
    plain = plain_value(asdict(sheet))
    assert isinstance(plain, dict)
    return plain


def _finding(finding: Finding) -> dict[str, object]:
    return {name: plain_value(getattr(finding, name)) for name in _FINDING_FIELDS}


def _table(table: ReportTable) -> dict[str, object]:
    frame = _frame(table)
    return {
        "name": table.name,
        "title": table.title,
        "note": table.note,
        "columns": [
            {"name": name, "label": column.label, "unit": heading_unit(column), "share_of_1": column.percent}
            for name, column in table.columns.items()
        ],
        "rows": [plain_value(row) for row in frame.iter_rows(named=True)],
    }


def _frame(table: ReportTable) -> pl.DataFrame:
    """The table's frame, shown columns first; the rest after them."""
    rest = [name for name in table.frame.columns if name not in table.columns]
    return table.frame.select(*[name for name in table.columns if name in table.frame.columns], *rest)


def write_csv(document: Document, folder: Path) -> list[Path]:
    """One CSV (RFC 4180, UTF-8 with a mark that spreadsheets look for) a table, and `findings.csv`.

    Texts that a spreadsheet would calculate have an apostrophe before them (`stillroom.safecsv`).

    Raises:
        UsageError: the folder cannot be made or written to.
    """
    folder = existing_folder(folder)
    names = _Names()
    findings = [
        (entry.report.name, *(getattr(finding, name) for name in _FINDING_FIELDS))
        for entry in document.entries
        for finding in by_rank(entry.result.findings)
    ]
    written = [folder / names.unused("findings", "csv")]
    write_whole(written[0], _csv(("report", *_FINDING_FIELDS), findings))
    for entry in document.entries:
        for table in entry.result.tables:
            path = folder / names.unused(f"{safe_name(entry.report.name)}-{safe_name(table.name)}", "csv")
            frame = _frame(table)
            write_whole(path, _csv(frame.columns, frame.iter_rows()))
            written.append(path)
    return written


class _Names:
    """File names, none given twice, also where a file system takes capitals for small letters."""

    def __init__(self) -> None:
        self.used: set[str] = set()

    def unused(self, stem: str, suffix: str) -> str:
        name, number = stem, 1
        while name.casefold() in self.used:
            number += 1
            name = f"{stem}-{number}"
        self.used.add(name.casefold())
        return f"{name}.{suffix}"


def _csv(headings: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow([neutralised(heading) for heading in headings])
    writer.writerows([_cell(value) for value in row] for row in rows)
    return f"\ufeff{text.getvalue()}"


def _cell(value: object) -> object:
    plain = plain_value(value)
    if plain is None:
        return ""
    if isinstance(plain, bool):
        return "true" if plain else "false"
    if isinstance(plain, dict | list):
        plain = json.dumps(plain, allow_nan=False, ensure_ascii=False)
    return neutralised(plain) if isinstance(plain, str) else plain


def write_charts(document: Document, folder: Path, kind: Literal["png", "svg"]) -> tuple[list[Path], list[str]]:
    """Each chart as a picture with its title, light, on white: the files, and a sentence for each that has none.

    Raises:
        UsageError: the folder cannot be made or written to.
    """
    folder = existing_folder(folder)
    names = _Names()
    written, faults = [], []
    for entry in document.entries:
        for chart in entry.result.charts:
            try:
                drawn = picture(chart, kind)
            except ChartFault as fault:
                faults.append(f"Report '{entry.report.name}', chart '{chart.name}': no picture, because {fault}.")
                continue
            path = folder / names.unused(f"{safe_name(entry.report.name)}-{safe_name(chart.name)}", kind)
            write_whole(path, drawn)
            written.append(path)
    return written, faults


def picture(chart: ReportChart, kind: Literal["png", "svg"]) -> str | bytes:
    """A chart alone, light, on white.

    Raises:
        ChartFault: the chart library cannot draw it.
    """
    import vl_convert

    from stillroom_reports.drawing import VEGA_LITE

    spec = chart_spec(chart)
    if not is_compound(spec):
        spec["width"] = PICTURE_WIDTH
    spec.setdefault("title", chart.title)
    look: dict[str, Any] = {
        "vl_version": VEGA_LITE,
        "config": picture_config(),
        "format_locale": NUMBER_FORMAT,
        "allowed_base_urls": [],
    }
    try:
        if kind == "svg":
            return vl_convert.vegalite_to_svg(spec, **look)
        return vl_convert.vegalite_to_png(spec, scale=2, **look)
    except ValueError:
        raise ChartFault("the chart library cannot draw it") from None
