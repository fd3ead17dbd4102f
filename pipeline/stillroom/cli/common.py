"""What several commands share: the house they work on, and how they read options."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, TypeVar

import typer

import stillroom
from stillroom.cli.speaking import keep_to_ourselves, say, show, wants_colour, write_json
from stillroom.errors import UsageError

if TYPE_CHECKING:
    from stillroom.api import OpenHouse

HouseOption = Annotated[
    Path, typer.Option("--house", help="The house's folder; else the one you are in, or the nearest above it.")
]
Found = TypeVar("Found")
JsonOption = Annotated[bool, typer.Option("--json", help="Write JSON for scripts.")]


def open_house(folder: Path) -> OpenHouse:
    """The house at or above a folder; plugins left out are named on standard error."""
    keep_to_ourselves()
    house = stillroom.open(folder)
    for fault in house.plugin_faults:
        say(fault, err=True)
    return house


def answer(
    house: OpenHouse,
    found: Found,
    text: Callable[[Found, str], str],
    values: Callable[[Found, str], Any],
    *,
    as_json: bool,
) -> None:
    """Show what was found, with money in the house's currency: in words, or as JSON."""
    if as_json:
        write_json(values(found, house.settings.currency))
    else:
        show(text(found, house.settings.currency), nl=False)


def counted(number: int, one: str, many: str | None = None) -> str:
    """A number with its noun.

    >>> counted(1, "row"), counted(1200, "row")
    ('1 row', '1,200 rows')
    """
    return f"{number:,} {one if number == 1 else many or one + 's'}"


def asked_by(asking: typer.Context) -> tuple[object, ...]:
    """All that a command was asked, by whatever options it has; but where the house is, and where to write."""
    params = {name: value for name, value in asking.params.items() if name not in ("house", "out")}
    return (asking.command.name, *sorted(params.items()), wants_colour())


def day_option(text: str | None, option: str) -> date | None:
    """The day that an option names.

    Raises:
        UsageError: it is not written like 2026-03-01.
    """
    if text is None:
        return None
    try:
        return datetime.strptime(text, "%Y-%m-%d").date()
    except ValueError:
        raise UsageError(f"{option} must be a day like 2026-03-01, not '{text}'.") from None


def number_option(text: str, option: str) -> float:
    """The number that an option names, with a point or a comma before its decimals.

    Raises:
        UsageError: it is no number, or a comma may part thousands.
    """
    if re.fullmatch(r"\d+([.,]\d+)?", text.strip()) is None or re.fullmatch(r"[1-9]\d{0,2},\d{3}", text.strip()):
        raise UsageError(f"{option} must be a number like 12 or 12.5, not '{text}'.")
    return float(text.replace(",", "."))
