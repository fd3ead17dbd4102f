"""The page: one HTML file that holds all it needs and asks for nothing from anywhere."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Final

from stillroom.objects import Column, Finding, ReportChart, ReportTable
from stillroom_reports import theme
from stillroom_reports.chart_library import chart_library
from stillroom_reports.charts import ChartFault, chart_spec, script_json
from stillroom_reports.document import Document, Entry, by_rank, safe_name, to_act_on
from stillroom_reports.figures import period_text, unbroken, value_text
from stillroom_reports.tables import Cells, TableFault, table_cells

if TYPE_CHECKING:
    from jinja2 import Environment
    from markupsafe import Markup

FIRST_SCREEN: Final = 8
"""Findings to act on that are shown before the rest is folded away."""
IN_A_REPORT: Final = 6
"""Findings of one report that are shown before the rest is folded away."""


@dataclass(frozen=True, kw_only=True)
class _Chart:
    """A chart on the page: its JSON, or why there is none."""

    id: str
    title: str
    note: str
    json: Markup | None
    fault: str = ""


@dataclass(frozen=True, kw_only=True)
class _Table:
    """A table on the page: its cells, or why there are none."""

    title: str
    note: str
    cells: Cells | None
    fault: str = ""


@dataclass(frozen=True, kw_only=True)
class _Section:
    """One report on the page."""

    id: str
    title: str
    question: str
    findings: tuple[Finding, ...]
    charts: tuple[_Chart, ...]
    tables: tuple[_Table, ...]
    notes: tuple[str, ...]


def render_page(document: Document) -> str:
    """The document as HTML; the same document gives the same text.

    A chart or table that cannot be shown has a line in its place that says why. What is embedded: style, script, one
    chart library (none without charts), and a policy that lets the browser run these and fetch nothing.
    """
    from markupsafe import Markup

    ids = {id(entry): section_id for entry, section_id in zip(document.entries, _section_ids(document), strict=True)}
    sections = [_section(entry, ids[id(entry)]) for entry in document.entries]
    drawn = any(chart.json for section in sections for chart in section.charts)
    style = _style()
    scripts = [chart_library(), _look("page.js")] if drawn else [_look("page.js")]
    # Every text below that is Markup comes from the package, the chart library or script_json, never from the data.
    return (
        _templates()
        .get_template("page.html")
        .render(
            document=document,
            facts=[(label, value_text(value, Column(label=label))) for label, value in document.facts],
            period=period_text(document.period),
            acting=[(finding, entry.report.title, ids[id(entry)]) for entry, finding in to_act_on(document)],
            first_screen=FIRST_SCREEN,
            in_a_report=IN_A_REPORT,
            sections=sections,
            style=Markup(style),
            scripts=[Markup(script) for script in scripts],
            look=Markup(script_json(_chart_look())),
            policy=_policy(style, scripts),
        )
    )


def _section_ids(document: Document) -> Iterator[str]:
    for number, entry in enumerate(document.entries, 1):
        yield f"report-{number}-{safe_name(entry.report.name)}"


def _section(entry: Entry, section_id: str) -> _Section:
    result = entry.result
    return _Section(
        id=section_id,
        title=entry.report.title,
        question=entry.report.question,
        findings=tuple(by_rank(result.findings)),
        charts=tuple(_chart(chart, f"{section_id}-chart-{n}") for n, chart in enumerate(result.charts, 1)),
        tables=tuple(_table(table) for table in result.tables),
        notes=result.notes,
    )


def _chart(chart: ReportChart, chart_id: str) -> _Chart:
    from markupsafe import Markup

    try:
        json = Markup(script_json(chart_spec(chart)))
    except ChartFault as fault:
        return _Chart(id=chart_id, title=chart.title, note=chart.note, json=None, fault=str(fault))
    return _Chart(id=chart_id, title=chart.title, note=chart.note, json=json)


def _table(table: ReportTable) -> _Table:
    try:
        return _Table(title=table.title, note=table.note, cells=table_cells(table))
    except TableFault as fault:
        return _Table(title=table.title, note=table.note, cells=None, fault=str(fault))


def _chart_look() -> dict[str, object]:
    """What the page's script gives to the chart library with every chart."""
    return {
        "light": theme.page_config(theme.LIGHT_SHADES),
        "dark": theme.page_config(theme.DARK_SHADES),
        "formatLocale": theme.NUMBER_FORMAT,
    }


def _policy(style: str, scripts: Sequence[str]) -> str:
    """A Content Security Policy (W3C, level 3): nothing but these very texts, and no request at all."""
    scripts_allowed = " ".join(_source_hash(script) for script in scripts)
    rules = {
        "default-src": "'none'",
        "script-src": scripts_allowed,
        "style-src": _source_hash(style),
        "base-uri": "'none'",
        "form-action": "'none'",
    }
    return "; ".join(f"{name} {value}" for name, value in rules.items())


def _source_hash(text: str) -> str:
    digest = base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii")
    return f"'sha256-{digest}'"


def _style() -> str:
    light, dark = theme.css_variables(theme.LIGHT), theme.css_variables(theme.DARK)
    schemes = f":root{{{light}}}\n@media screen and (prefers-color-scheme:dark){{:root{{{dark}}}}}\n"
    return schemes + _look("page.css")


@cache
def _look(name: str) -> str:
    return files("stillroom_reports").joinpath("look", name).read_text(encoding="utf-8")


@cache
def _templates() -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("stillroom_reports", "look"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters["unbroken"] = unbroken
    return environment
