"""Commands for many houses at once: `stillroom group intake`, `stillroom group demo`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stillroom.cli.common import JsonOption, counted
from stillroom.cli.speaking import keep_to_ourselves, say, show, write_json

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


def add_to(main: typer.Typer) -> None:
    """Register the commands."""
    main.add_typer(app, name="group")


@app.command("intake")
def intake(folder: GroupOption = Path(), as_json: JsonOption = False) -> None:
    """Take in every house of a group whose files have changed; each counts whole, or as it was before.

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


@app.command("demo")
def demo(
    folder: Annotated[Path, typer.Argument(help="The folder to write; it must be new or empty.")] = Path("demo-group"),
    houses: Annotated[int, typer.Option("--houses", min=1, help="How many houses.")] = 12,
) -> None:
    """Write an invented group of houses, each with a season of sales, batches, tastings and specs."""
    from stillroom.group.demo import write_demo

    write_demo(folder, houses)
    show(f"A demo group of {counted(houses, 'house')} is in {folder}. Next:")
    show(f"  stillroom group intake --group {folder}")
