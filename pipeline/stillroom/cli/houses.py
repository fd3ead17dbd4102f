"""Commands that begin a house: new, demo."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def add_to(app: typer.Typer) -> None:
    """Register the commands."""
    app.command("new", short_help="Start a house: settings, blank templates, a short guide.")(new)
    app.command("demo", short_help="Write an invented house with a season of data to try things on.")(demo)


def new(folder: Annotated[Path, typer.Argument(help="The folder to write; it must be new or empty.")]) -> None:
    """Start a house: settings, a blank template for each table, a short guide."""
    from stillroom.cli.common import load_plugins
    from stillroom.house.new_house import write_house

    write_house(folder, load_plugins())
    typer.echo(f"A new house is in {folder}. Read {folder / 'GUIDE.md'} first.")


def demo(
    folder: Annotated[Path, typer.Argument(help="The folder to write; it must be new or empty.")] = Path("demo-house"),
) -> None:
    """Write an invented house with one season of sales, batches, tastings and specs."""
    from stillroom.demo import write_demo

    write_demo(folder)
    typer.echo(f"A demo house is in {folder}. Next:")
    typer.echo(f"  stillroom intake --house {folder}")
    typer.echo(f"  stillroom report --house {folder}")
