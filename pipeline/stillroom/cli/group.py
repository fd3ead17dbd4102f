"""Commands for many houses at once: `stillroom group intake`, `report` and `demo`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stillroom.cli.answers import Format, show_texts, write_files
from stillroom.cli.common import JsonOption, counted, day_option
from stillroom.cli.speaking import keep_to_ourselves, say, show, write_json
from stillroom.errors import UsageError

if TYPE_CHECKING:
    from stillroom.group.house_task import Done
    from stillroom.group.intake import Taken

app = typer.Typer(help="Many houses at once, on Apache Spark.", no_args_is_help=True, rich_markup_mode=None)

GroupOption = Annotated[
    Path, typer.Option("--group", help="The group's folder; else the one you are in, or the nearest above it.")
]


@app.callback()
def group() -> None:
    """Many houses at once, on Apache Spark."""


@app.command("intake")
def intake(folder: GroupOption = Path(), as_json: JsonOption = False) -> None:
    """Take in every house whose files have changed.

    A house counts whole, or as it was before.

    Exit code: 0 all houses are up to date, 1 some failed, 2 nothing could be done.
    """
    from stillroom.group.intake import take_in
    from stillroom.group.settings import load_group

    keep_to_ourselves()
    its = load_group(folder)
    taken = take_in(its, (lambda done: None) if as_json else _tell)
    failed = sum(one.state == "failed" for one in taken.done)
    code = 2 if failed == len(taken.done) else 1 if failed else 0
    if as_json:
        write_json({**_as_told(taken), "exit_code": code})
    else:
        _sum_up(taken, failed)
    raise typer.Exit(code)


def _tell(done: Done) -> None:
    if done.state == "failed":
        say(f"{done.house} failed ({done.reason_code}): {done.reason}", err=True)
    elif done.state == "landed":
        say(
            f"{done.house}: {counted(done.rows_read, 'row')} read = {done.landed:,} landed + {done.aside:,} set aside "
            f"+ {done.passed_over:,} passed over."
        )


def _sum_up(taken: Taken, failed: int) -> None:
    landed = [one for one in taken.done if one.state == "landed"]
    same = len(taken.done) - len(landed) - failed
    say(f"{counted(len(landed), 'house')} landed, {failed:,} failed, {same:,} as before.")
    if len(landed) > 1:
        sums = [sum(getattr(one, name) for one in landed) for name in ("rows_read", "landed", "aside", "passed_over")]
        say("Together {:,} rows read = {:,} landed + {:,} set aside + {:,} passed over.".format(*sums))
    if taken.gone:
        say(f"Not in the group any more, and counted no longer: {', '.join(taken.gone)}.")
    if failed:
        say("What failed counts as it was before; the next 'stillroom group intake' tries it again.")


def _as_told(taken: Taken) -> dict[str, object]:
    from dataclasses import asdict

    houses = [{name: value for name, value in asdict(one).items() if name != "written"} for one in taken.done]
    return {"run_id": taken.run_id, "houses": houses, "gone": taken.gone}


@app.command("report")
def report(
    names: Annotated[list[str] | None, typer.Argument(help="Reports to build; else all of them.")] = None,
    folder: GroupOption = Path(),
    first: Annotated[str | None, typer.Option("--from", help="First day, like 2026-03-01.")] = None,
    last: Annotated[str | None, typer.Option("--to", help="Last day, like 2026-05-31.")] = None,
    form: Annotated[
        Format,
        typer.Option("--format", help="html: one page. json: one document. csv: a folder. png, svg: the charts alone."),
    ] = Format.html,
    out: Annotated[Path | None, typer.Option("--out", help="Where to write; all but json go into the group.")] = None,
) -> None:
    """Hold houses beside each other: waste, sales, panels, roll-outs.

    All reports go onto one page, report.html, with a sheet for every house.
    """
    from stillroom.group.reporting import of_group
    from stillroom.group.settings import load_group

    if form is Format.pdf:
        raise UsageError("--format pdf writes the hand-out of one house: 'stillroom report --format pdf' there.")
    keep_to_ourselves()
    its = load_group(folder)
    document = of_group(its, names or [], day_option(first, "--from"), day_option(last, "--to"))
    for fault in document.faults:
        say(fault, err=True)
    if form is Format.json:
        from stillroom_reports.export import render_json

        show_texts({"written": render_json(document)}, out)
    elif form is Format.html:
        from stillroom_reports.page import render_page
        from stillroom_reports.text import render_text

        texts = {"written": render_page(document), "said": render_text(document, whole=bool(names))}
        show_texts(texts, out or its.folder / f"{'-'.join(['report', *(names or [])])}.html")
    else:
        write_files(its.folder, document, form, out)


@app.command("demo")
def demo(
    folder: Annotated[Path, typer.Argument(help="The folder to write; it must be new or empty.")] = Path("demo-group"),
    houses: Annotated[int, typer.Option("--houses", min=1, help="How many houses.")] = 12,
) -> None:
    """Write an invented group of houses to try things on."""
    from stillroom.group.demo import write_demo

    write_demo(folder, houses)
    show(f"A demo group of {counted(houses, 'house')} is in {folder}. Next:")
    show(f"  stillroom group intake --group {folder}")
