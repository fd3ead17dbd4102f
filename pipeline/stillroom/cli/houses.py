"""Commands that begin a house: new, demo."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from stillroom.api import demo_house, new_house
from stillroom.cli.speaking import keep_to_ourselves, say, show


def new(folder: Annotated[Path, typer.Argument(help="The folder to write; it must be new or empty.")]) -> None:
    """Start a house: settings, a blank template for each table, a short guide."""
    keep_to_ourselves()
    for fault in new_house(folder):
        say(fault, err=True)
    show(f"A new house is in {folder}. Read {folder / 'GUIDE.md'} first.")


def demo(
    folder: Annotated[Path, typer.Argument(help="The folder to write; it must be new or empty.")] = Path("demo-house"),
) -> None:
    """Write an invented house with one season of sales, batches, tastings and specs."""
    demo_house(folder)
    show(f"A demo house is in {folder}. Next:")
    show(f"  stillroom intake --house {folder}")
    show(f"  stillroom report --house {folder}")
