"""What is asked of rows that were set aside for a doubtful day: the likely day, another, or that it is right."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from datetime import date
from typing import TYPE_CHECKING, Any

from stillroom.cli import asking
from stillroom.cli.common import counted, day_option
from stillroom.cli.outcomes import exit_code
from stillroom.cli.speaking import say
from stillroom.errors import StillroomError, UsageError

if TYPE_CHECKING:
    from stillroom.api import OpenHouse

RIGHT = "right"


def talk(place: OpenHouse, code: int) -> int:
    """Ask of each such row, and let what is said count; what is left for later stays set aside.

    `code`: the exit code of the intake; gives what it is now.
    """
    from stillroom.intake.doubtful import RULE

    done = code
    rows = [row for row in place.aside().iter_rows(named=True) if row["rule"] == RULE]
    for file in dict.fromkeys(row["file"] for row in rows):
        said = _asked(row for row in rows if row["file"] == file)
        right = [number for number, what in said.items() if what == RIGHT]
        days = {number: what for number, what in said.items() if isinstance(what, date)}
        try:
            if right:
                done = exit_code(place.confirm(file, right)[1])
                say(f"Confirmed: {counted(len(right), 'row')} of {file}.")
            if days:
                done = exit_code(place.put_right(file, days))
                say(f"Corrected: {counted(len(days), 'row')} of {file}; the file itself stays as it is.")
        except StillroomError as error:
            say(f"  {error}")
    return code if place.aside().height else done


def _asked(rows: Iterable[Mapping[str, Any]]) -> dict[int, date | str]:
    """Row -> its day, or that it is right; without those that are left for later."""
    found: dict[int, date | str] = {}
    for row in rows:
        if row["row_number"] in found:
            continue
        what = _of_one(row)
        if what is None:
            break
        found[row["row_number"]] = what
    return found


def _of_one(row: Mapping[str, Any]) -> date | str | None:
    """What is said of a row; None: later, and so of all below it."""
    from stillroom.intake.doubtful import likely_in

    likely = likely_in(row["problem"])
    cells = " | ".join(cell for cell in json.loads(row["row"]).values() if cell)
    say(f"? {row['file']}, row {row['row_number']}: {row['column']} {row['value']} {row['problem']}")
    say(f"    {cells}")
    best = f"Enter = {likely}; " if likely else ""
    while True:
        say(f"  {best}y = as it stands; a day like 2026-03-01; l = later.")
        said = asking.asked()
        if said is None or said.casefold() in ("l", "later") or (not said and likely is None):
            return None
        if said.casefold() in ("y", "yes"):
            return RIGHT
        try:
            return day_option(said, "It") if said else likely
        except UsageError as error:
            say(f"  {error}")
