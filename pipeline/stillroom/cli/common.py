"""What several commands share: the house they work on, and how they speak."""

from __future__ import annotations

import json
import os
import re
import sys
import textwrap
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

import stillroom
from stillroom.errors import UsageError

if TYPE_CHECKING:
    from stillroom.api import OpenHouse
    from stillroom.intake.outcome import Progress
    from stillroom_reports.paper.typesetting import Printed

WIDTH = 80
HouseOption = Annotated[
    Path, typer.Option("--house", help="The house's folder; else the one you are in, or the nearest above it.")
]
JsonOption = Annotated[bool, typer.Option("--json", help="Write JSON for scripts.")]


def open_house(folder: Path) -> OpenHouse:
    """The house at or above a folder; plugins left out are named on standard error."""
    house = stillroom.open(folder)
    for fault in house.plugin_faults:
        say(fault, err=True)
    return house


def say(text: str, *, err: bool = False) -> None:
    """A line for people: parted between words where a terminal shows it, whole where a file or a program reads it."""
    if (sys.stderr if err else sys.stdout).isatty():
        text = "\n".join(_filled(line) for line in text.splitlines())
    typer.echo(text, err=err)


def _filled(line: str) -> str:
    return textwrap.fill(line, WIDTH, subsequent_indent="    ", break_long_words=False, break_on_hyphens=False)


def wants_colour() -> bool:
    """Whether standard output is a terminal that may be coloured: see no-color.org."""
    return sys.stdout.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def write_json(value: Any) -> None:
    """One JSON document on standard output."""
    typer.echo(json.dumps(value, ensure_ascii=False, indent=2, default=str, allow_nan=False))


def write_paper(printed: Printed, out: Path) -> None:
    """Write what is to be printed; signs that no font has are named on standard error."""
    from stillroom.files import write_whole

    write_whole(out, printed.pdf)
    for fault in printed.faults:
        say(fault, err=True)
    typer.echo(f"Wrote {out.resolve()}")


def counted(number: int, one: str, many: str | None = None) -> str:
    """A number with its noun.

    >>> counted(1, "row"), counted(1200, "row")
    ('1 row', '1,200 rows')
    """
    return f"{number:,} {one if number == 1 else many or one + 's'}"


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


@contextmanager
def progress_bar(*, quiet: bool) -> Iterator[Progress]:
    """A bar on a terminal; nothing elsewhere, where the lines themselves are enough."""
    if quiet or not sys.stderr.isatty():
        yield lambda name, done, about: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn

    columns = (TextColumn("{task.description}"), BarColumn(bar_width=30), TaskProgressColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bars:
        task = bars.add_task("", total=None)

        def show(name: str, done: int, about: int) -> None:
            bars.update(task, description=name, completed=done, total=max(about, done))

        yield show
