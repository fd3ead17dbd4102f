"""The command that holds the store against its files: verify."""

from __future__ import annotations

from pathlib import Path

import typer

from stillroom.cli.common import HouseOption, JsonOption, counted, open_house
from stillroom.cli.speaking import progress_bar, say, show, write_json


def verify(house: HouseOption = Path(), as_json: JsonOption = False) -> None:
    """Build the store once more beside the old one, and say whether every figure agrees.

    Nothing is changed. Exit code: 0 all agrees, 1 something differs, 2 it could not be done.
    """
    from dataclasses import asdict

    place = open_house(house)
    with progress_bar(quiet=as_json) as progress:
        verdict = place.verify(progress)
    if as_json:
        write_json({**asdict(verdict), "agrees": verdict.agrees})
    else:
        for difference in verdict.differences:
            show(f"  ! {difference}")
        about = f"{counted(verdict.files, 'file')} with {counted(verdict.rows, 'row')}, read once more beside the store"
        if verdict.agrees:
            show(f"{about}: every figure agrees.")
        else:
            say(f"{about}: {counted(len(verdict.differences), 'difference')}.")
    raise typer.Exit(0 if verdict.agrees else 1)
