"""The command for the next menu: menu."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stillroom.cli.common import HouseOption, JsonOption, day_option, open_house
from stillroom.cli.speaking import show, write_json

if TYPE_CHECKING:
    from stillroom.answers.menu.choose import Wish
    from stillroom.api import OpenHouse
    from stillroom.objects import MenuChange

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
    choose: Annotated[
        int | None,
        typer.Option("--choose", help="Choose so many drinks, of today's and those added."),
    ] = None,
    preparations: Annotated[
        int | None, typer.Option("--preparations", help="With --choose: preparations and garnishes at most.")
    ] = None,
    work: Annotated[str | None, typer.Option("--work", help="With --choose: work a week at most, '9 hours'.")] = None,
    must: Annotated[Texts, typer.Option("--must", help="With --choose: a drink that is on.")] = None,
    one_of: Annotated[Texts, typer.Option("--one-of", help="With --choose: exactly one of these, 'A, B'.")] = None,
    last_day: Annotated[
        str | None, typer.Option("--ends", help="What to stop making when, if this is its last day: 2026-05-31.")
    ] = None,
    house: HouseOption = Path(),
    as_json: JsonOption = False,
) -> None:
    """What happens if this goes and that comes: sales, money, waste, makings and work a week, beside today's menu.

    Every figure has a range: 8 times in 10 it lies within. With --choose, the menu that leaves most is chosen. With
    --ends, what goes with dropped drinks (or all) is run down to it. Nothing is written.
    """
    from stillroom.answers.menu.request import read_change
    from stillroom.errors import UsageError

    change = read_change(drop=drop or (), add=add or (), prices=price or (), keeps=keep or (), makings=making or ())
    limits = (preparations, work, must, one_of)
    if choose is None and any(limit is not None for limit in limits):
        raise UsageError("--preparations, --work, --must and --one-of go with --choose, like --choose 10.")
    if choose is not None:
        from stillroom.answers.menu.choose import Wish

        wish = Wish(
            drinks=choose, preparations=preparations, work=work, must=tuple(must or ()), one_of=tuple(one_of or ())
        )
        _choose(open_house(house), wish, change, as_json=as_json)
        return
    if last_day is not None:
        _last_days(open_house(house), day_option(last_day, "--ends"), change, as_json=as_json)
        return
    if not change.label:
        raise UsageError("Say what is to change: --drop, --add, --price, --keep or --making; or --choose.")
    _what_if(open_house(house), change, as_json=as_json)


def _last_days(opened: OpenHouse, day: date | None, change: MenuChange, *, as_json: bool) -> None:
    from stillroom.answers.menu.last_days import last_days_text, last_days_values

    assert day is not None
    found = opened.last_days(day, change)
    currency = opened.settings.currency
    if as_json:
        write_json(last_days_values(found, currency))
    else:
        show(last_days_text(found, currency), nl=False)


def _choose(opened: OpenHouse, wish: Wish, change: MenuChange, *, as_json: bool) -> None:
    from stillroom.answers.menu.choose_text import choice_text, choice_values

    found = opened.choose_menu(wish, change)
    currency = opened.settings.currency
    if as_json:
        write_json(choice_values(found, currency))
    else:
        show(choice_text(found, currency), nl=False)


def _what_if(opened: OpenHouse, change: MenuChange, *, as_json: bool) -> None:
    from stillroom.answers.menu.text import what_if_text, what_if_values

    found = opened.what_if(change)
    currency = opened.settings.currency
    if as_json:
        write_json(what_if_values(found, currency))
    else:
        show(what_if_text(found, currency), nl=False)
