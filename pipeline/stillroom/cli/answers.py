"""The command that answers: report."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stillroom.cli.common import HouseOption, day_option, open_house, say

if TYPE_CHECKING:
    from stillroom_reports.document import Document


class Format(StrEnum):
    """What a report is written as."""

    html = "html"
    json = "json"
    csv = "csv"
    png = "png"
    svg = "svg"


def add_to(app: typer.Typer) -> None:
    """Register the command."""
    app.command("report", short_help="Answer questions: findings, tables and charts on one page.")(report)


def report(
    names: Annotated[list[str] | None, typer.Argument(help="Reports to build; else all of them.")] = None,
    house: HouseOption = Path(),
    season: Annotated[str | None, typer.Option("--season", help="Look at this season of the settings.")] = None,
    first: Annotated[str | None, typer.Option("--from", help="First day, like 2026-03-01.")] = None,
    last: Annotated[str | None, typer.Option("--to", help="Last day, like 2026-05-31.")] = None,
    form: Annotated[
        Format,
        typer.Option("--format", help="html: one page. json: one document. csv: a folder. png, svg: the charts alone."),
    ] = Format.html,
    out: Annotated[Path | None, typer.Option("--out", help="Where to write; all but json go into the house.")] = None,
) -> None:
    """Answer the reports' questions: findings, tables and charts."""
    place = open_house(house)
    days = {"first": day_option(first, "--from"), "last": day_option(last, "--to")}
    document = place.document(names or [], season=season, **days)
    for fault in document.faults[len(place.plugin_faults) :]:
        say(fault, err=True)
    _write(place.settings.folder, document, form, out, whole=bool(names))


def _write(folder: Path, document: Document, form: Format, out: Path | None, whole: bool) -> None:
    from stillroom.files import write_whole
    from stillroom_reports import export

    if form is Format.json:
        text = export.render_json(document)
        if out is None:
            typer.echo(text)
            return
        write_whole(out, text)
    elif form is Format.csv:
        out = out or folder / "report-csv"
        export.write_csv(document, out)
    elif form in (Format.png, Format.svg):
        out = out or folder / "report-charts"
        _, faults = export.write_charts(document, out, "png" if form is Format.png else "svg")
        for fault in faults:
            typer.echo(fault, err=True)
    else:
        from stillroom_reports.page import render_page
        from stillroom_reports.text import render_text

        out = out or folder / "report.html"
        write_whole(out, render_page(document))
        typer.echo(render_text(document, whole=whole))
    typer.echo(f"Wrote {out.resolve()}")
