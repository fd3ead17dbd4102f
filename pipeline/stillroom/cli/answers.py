"""The command that answers: report."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stillroom.cli.common import HouseOption, JsonOption, asked_by, day_option, open_house
from stillroom.cli.speaking import hand_over_json, say, show, wants_colour, write_json, write_paper
from stillroom.errors import UsageError

if TYPE_CHECKING:
    from stillroom.house.house import House
    from stillroom.store.kept_answers import Worked
    from stillroom_reports.document import Document


class Format(StrEnum):
    """What a report is written as."""

    html = "html"
    json = "json"
    csv = "csv"
    png = "png"
    svg = "svg"
    pdf = "pdf"


def report(
    asking: typer.Context,
    names: Annotated[list[str] | None, typer.Argument(help="Reports to build; else all of them.")] = None,
    house: HouseOption = Path(),
    season: Annotated[str | None, typer.Option("--season", help="Look at this season of the settings.")] = None,
    first: Annotated[str | None, typer.Option("--from", help="First day, like 2026-03-01.")] = None,
    last: Annotated[str | None, typer.Option("--to", help="Last day, like 2026-05-31.")] = None,
    against: Annotated[
        str | None, typer.Option("--against", help="Hold the season against this one; else the one before it.")
    ] = None,
    what_if: Annotated[
        list[str] | None,
        typer.Option(
            "--what-if",
            help="Add another menu as a section: 'drop Old Ballast; price Harbour Dues=15'; also add, keep, making.",
        ),
    ] = None,
    form: Annotated[
        Format,
        typer.Option(
            "--format",
            help="html: one page. json: one document. csv: a folder. png, svg: the charts alone. "
            "pdf: a hand-out of two sides for the menu meeting.",
        ),
    ] = Format.html,
    sheets: Annotated[
        list[str] | None,
        typer.Option("--sheet", help="pdf: the sheet of this thing too; give it as often as you like."),
    ] = None,
    out: Annotated[Path | None, typer.Option("--out", help="Where to write; all but json go into the house.")] = None,
) -> None:
    """Answer the reports' questions: findings, tables and charts.

    All reports go onto one page, report.html; some of them onto a page of their own, such as report-cost.html.
    """
    if sheets and form is not Format.pdf:
        raise UsageError("--sheet goes with --format pdf; 'stillroom show NAME' shows a sheet here.")
    if names and form is Format.pdf:
        raise UsageError("--format pdf writes the hand-out of the whole season: leave out the names of reports.")
    from stillroom.answers.menu.request import read_what_if

    changes = [read_what_if(text) for text in what_if or ()]
    place = open_house(house)
    days = {"first": day_option(first, "--from"), "last": day_option(last, "--to")}

    def asked() -> Document:
        document = place.document(names or [], season=season, against=against, what_ifs=changes, **days)
        for fault in document.faults[len(place.plugin_faults) :]:
            say(fault, err=True)
        return document

    if form is Format.pdf:
        _print(place.settings, asked(), sheets or [], out)
    elif form in (Format.html, Format.json):
        texts = place.kept(asked_by(asking), lambda: _worked(asked(), form, place.plugin_faults, whole=bool(names)))
        page = place.settings.folder / f"{'-'.join(['report', *(names or [])])}.html"
        show_texts(texts, out or (page if form is Format.html else None))
    else:
        write_files(place.settings.folder, asked(), form, out)


def _print(house: House, document: Document, names: list[str], out: Path | None) -> None:
    from stillroom.answers.review.sheets import named
    from stillroom_reports.paper.hand_out import hand_out

    review = document.review
    if review is None:
        raise UsageError(document.entries[0].result.findings[0].sentence)
    write_paper(hand_out(document, named(review.sheets, names), house.paper), out or house.folder / "hand-out.pdf")


def _worked(document: Document, form: Format, plugin_faults: Sequence[str], *, whole: bool) -> Worked:
    """The answer in words: what is written into a file, and what is said of it on the terminal."""
    from stillroom.store.kept_answers import Worked

    if form is Format.json:
        from stillroom_reports.export import render_json

        texts = {"written": render_json(document)}
    else:
        from stillroom_reports.page import render_page

        texts = {"written": render_page(document), "said": _said(document, whole=whole)}
    return Worked(texts=texts, whole=document.faults == tuple(plugin_faults))


def show_texts(texts: Mapping[str, str], out: Path | None) -> None:
    """Write what is written, and say what is said of it; JSON without a place goes to standard output."""
    from stillroom.files import write_whole
    from stillroom_reports.terminal import COLOURS

    if out is None:
        hand_over_json(texts["written"])
        return
    write_whole(out, texts["written"])
    if "said" in texts:
        show(texts["said"], colours=COLOURS)
    show(f"Wrote {out.resolve()}")


def write_files(folder: Path, document: Document, form: Format, out: Path | None) -> None:
    """Write tables, or charts, into a folder of their own."""
    from stillroom_reports import export

    if form is Format.csv:
        out = out or folder / "report-csv"
        export.write_csv(document, out)
    else:
        out = out or folder / "report-charts"
        _, faults = export.write_charts(document, out, "png" if form is Format.png else "svg")
        for fault in faults:
            say(fault, err=True)
    show(f"Wrote {out.resolve()}")


def _said(document: Document, *, whole: bool) -> str:
    """The season at a glance; of reports that were named, their findings."""
    from stillroom_reports.terminal import season_text
    from stillroom_reports.text import render_text

    if document.review is None:
        return render_text(document, whole=whole)
    return season_text(document, document.review, colour=wants_colour())


def sheet(
    name: Annotated[str, typer.Argument(help="A drink, preparation or garnish.")],
    house: HouseOption = Path(),
    season: Annotated[str | None, typer.Option("--season", help="Look at this season of the settings.")] = None,
    as_json: JsonOption = False,
) -> None:
    """Show the sheet of a thing: its figures, its weeks or stock, versions side by side, batches."""
    from stillroom_reports.export import sheet_values
    from stillroom_reports.terminal import COLOURS, sheet_text

    place = open_house(house)
    found = place.sheet(name, season=season)
    if as_json:
        write_json(sheet_values(found))
    else:
        show(sheet_text(found, place.settings.currency, colour=wants_colour()), colours=COLOURS, nl=False)
