"""The command for the next menu: menu."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from stillroom.cli.common import HouseOption, JsonOption, open_house, write_json

Texts = list[str] | None


def add_to(app: typer.Typer) -> None:
    """Register the command."""
    app.command("menu", short_help="The next menu: what if this goes and that comes.")(menu)


def menu(
    drop: Annotated[Texts, typer.Option("--drop", help="Take a drink off.")] = None,
    add: Annotated[Texts, typer.Option("--add", help="Put a drink of the spec book on.")] = None,
    price: Annotated[Texts, typer.Option("--price", help="Another menu price: 'Harbour Dues=15'.")] = None,
    keep: Annotated[Texts, typer.Option("--keep", help="If it kept longer or shorter: 'fig syrup=7 days'.")] = None,
    making: Annotated[Texts, typer.Option("--making", help="Another size of making: 'fig syrup=1.5 l'.")] = None,
    house: HouseOption = Path(),
    as_json: JsonOption = False,
) -> None:
    """What happens if this goes and that comes: sales, money, waste, makings and work a week, beside today's menu.

    Every figure has a range: 8 times in 10 it lies within. Nothing is written.
    """
    from stillroom.answers.menu.request import read_change
    from stillroom.answers.menu.text import what_if_text, what_if_values
    from stillroom.errors import UsageError

    change = read_change(drop=drop or (), add=add or (), prices=price or (), keeps=keep or (), makings=making or ())
    if not change.label:
        raise UsageError("Say what is to change: --drop, --add, --price, --keep or --making.")
    opened = open_house(house)
    found = opened.what_if(change)
    currency = opened.settings.currency
    if as_json:
        write_json(what_if_values(found, currency))
    else:
        typer.echo(what_if_text(found, currency), nl=False)
