"""The command that says what to make: prep-list."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stillroom.cli.common import HouseOption, asked_by, day_option, open_house
from stillroom.cli.speaking import hand_over, hand_over_json, show, write_paper

if TYPE_CHECKING:
    from stillroom.answers.prep_list import PrepList
    from stillroom.store.kept_answers import Worked


class Format(StrEnum):
    """What the list is written as."""

    text = "text"
    json = "json"
    csv = "csv"
    html = "html"
    pdf = "pdf"


def prep_list(
    asking: typer.Context,
    day: Annotated[
        str | None, typer.Option("--date", help="Day to make on, like 2026-03-01; else the next open day.")
    ] = None,
    days: Annotated[
        int | None, typer.Option("--days", help="Days until the next making; else as the settings say.")
    ] = None,
    form: Annotated[
        Format, typer.Option("--format", help="html: one page. pdf: to print, pin up and write on.")
    ] = Format.text,
    out: Annotated[
        Path | None, typer.Option("--out", help="File to write; else it is shown, a pdf written into the house.")
    ] = None,
    house: HouseOption = Path(),
) -> None:
    """What to make today: for each preparation what is on hand, what will be used, and the amount to make."""
    place, on = open_house(house), day_option(day, "--date")
    if form is Format.pdf:
        from stillroom_reports.paper.prep_list import print_prep_list

        printed = print_prep_list(place.prep_list(on, days), place.settings.paper)
        write_paper(printed, out or place.settings.folder / "prep-list.pdf")
        return

    def worked() -> Worked:
        from stillroom.store.kept_answers import Worked

        return Worked(texts={"written": rendered(place.prep_list(on, days), form)})

    text = place.kept(asked_by(asking), worked)["written"]
    if out is None:
        {Format.text: show, Format.json: hand_over_json}.get(form, hand_over)(text.removesuffix("\n"))
        return
    from stillroom.files import write_whole

    write_whole(out, text)
    show(f"Wrote {out.resolve()}")


def rendered(found: PrepList, form: Format) -> str:
    """The list in one of its forms of text."""
    from stillroom_reports import prep_sheet

    ways = {
        Format.text: prep_sheet.render_text,
        Format.json: prep_sheet.render_json,
        Format.csv: prep_sheet.render_csv,
        Format.html: prep_sheet.render_html,
    }
    return ways[form](found)
