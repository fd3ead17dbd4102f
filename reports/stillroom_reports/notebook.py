"""A report's answer as a notebook shows it: findings, then tables, then charts as pictures."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING

from stillroom_reports.charts import ChartFault
from stillroom_reports.document import Document, by_rank
from stillroom_reports.export import picture
from stillroom_reports.tables import table_cells

if TYPE_CHECKING:
    import altair as alt
    import polars as pl

    from stillroom.objects import Finding, ReportChart, ReportTable


@dataclass(frozen=True)
class ReportAnswer:
    """What one report, or several, found in a house."""

    document: Document

    @property
    def findings(self) -> list[Finding]:
        """What it has to say, those to act on first."""
        return [finding for entry in self.document.entries for finding in by_rank(entry.result.findings)]

    @property
    def tables(self) -> dict[str, pl.DataFrame]:
        """Its tables by name, with all their columns."""
        return {table.name: table.frame for table in self._tables()}

    @property
    def charts(self) -> dict[str, alt.TopLevelMixin]:
        """Its Altair charts by name, without theme."""
        import altair as alt

        return {
            one.name: alt.Chart.from_dict(one.chart) if isinstance(one.chart, dict) else one.chart
            for one in self._charts()
        }

    @property
    def notes(self) -> list[str]:
        """What holds for the whole of it."""
        return [note for entry in self.document.entries for note in entry.result.notes]

    def __repr__(self) -> str:
        return "\n".join(f"{finding.sentence} ({finding.sureness}) {finding.evidence}" for finding in self.findings)

    def _repr_html_(self) -> str:
        said = "".join(
            f"<li>{escape(finding.sentence)} <small>{escape(finding.evidence)} {escape(finding.sureness)}</small></li>"
            for finding in self.findings
        )
        tables = "".join(_table(table) for table in self._tables())
        return f"<ul>{said}</ul>{tables}{''.join(_chart(chart) for chart in self._charts())}"

    def _tables(self) -> list[ReportTable]:
        return [table for entry in self.document.entries for table in entry.result.tables]

    def _charts(self) -> list[ReportChart]:
        return [chart for entry in self.document.entries for chart in entry.result.charts]


def _table(table: ReportTable) -> str:
    cells = table_cells(table)
    heads = "".join(f"<th>{escape(one.label)} <small>{escape(one.unit)}</small></th>" for one in cells.headings)
    rows = "".join(f"<tr>{''.join(f'<td>{escape(cell)}</td>' for cell in row)}</tr>" for row in cells.rows)
    return f"<h4>{escape(table.title)}</h4><table><thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table>"


def _chart(chart: ReportChart) -> str:
    try:
        return f"<h4>{escape(chart.title)}</h4>{picture(chart, 'svg')!s}"
    except ChartFault as fault:
        return f"<p>{escape(chart.title)}: no picture, because {escape(str(fault))}.</p>"
