"""Commands that decide what counts: undo, redo, gone, confirm, closed."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from stillroom.cli.common import HouseOption, counted, day_option, open_house
from stillroom.cli.outcomes import exit_code, tell
from stillroom.cli.speaking import progress_bar, say


def undo(
    which: Annotated[str, typer.Argument(help="Number of the intake, as 'stillroom ledger' shows it, or the file.")],
    house: HouseOption = Path(),
) -> None:
    """Take an intake out of force; what it had superseded counts again. 'stillroom redo' brings it back."""
    done = open_house(house).undo(which)
    entry = done.entry
    if done.withdrawn:
        rows = counted(len(done.withdrawn), "corrected row")
        say(f"Undone: {rows} of {entry.file}; it counts as it was read before.")
    else:
        say(f"Undone: intake {entry.intake_id}, {entry.file}, {counted(entry.rows_landed, 'row')}.")


def redo(
    which: Annotated[str, typer.Argument(help="Number of the intake, as 'stillroom ledger' shows it, or the file.")],
    house: HouseOption = Path(),
) -> None:
    """Let a file count again that was undone, and take in what it needs. Exit code: as of intake."""
    place = open_house(house)
    with progress_bar(quiet=False) as progress:
        outcomes = place.redo(which, progress=progress, tell=tell)
    say("Redone: it counts again.")
    raise typer.Exit(exit_code(outcomes))


def gone(
    file: Annotated[str, typer.Argument(help="The file, as 'stillroom ledger' shows it.")],
    house: HouseOption = Path(),
) -> None:
    """Confirm that a file which is missing is gone for good: its rows count no longer."""
    for done in open_house(house).gone(file):
        entry = done.entry
        say(f"Gone: {entry.file}, {counted(entry.rows_landed, 'row')} (intake {entry.intake_id}).")


def confirm(
    file: Annotated[str, typer.Argument(help="The file, as 'stillroom aside' shows it.")],
    rows: Annotated[list[int] | None, typer.Argument(help="Numbers of its rows; else all set aside for a day.")] = None,
    house: HouseOption = Path(),
) -> None:
    """Confirm that rows set aside for a doubtful day are right, now and in later editions of their file.

    Exit code: as of intake.
    """
    place = open_house(house)
    with progress_bar(quiet=False) as progress:
        confirmed, outcomes = place.confirm(file, rows or (), progress=progress, tell=tell)
    say(f"Confirmed: {counted(len(confirmed), 'row')} of {file}.")
    raise typer.Exit(exit_code(outcomes))


def closed(
    days: Annotated[list[str], typer.Argument(help="Days without sales, like 2026-03-01.")],
    house: HouseOption = Path(),
) -> None:
    """Say that the house was, or will be, closed on some days: no export is lacking of them, and none will be sold.

    They are written into stillroom.toml, as `closed` under [report.demand].
    """
    from stillroom.words import day_text, listed

    said = [day for text in days if (day := day_option(text, "A day")) is not None]
    open_house(house).closed(said)
    say(f"Closed: {listed([day_text(day) for day in said], len(said))}. Written to stillroom.toml.")
