"""The command for the next menu: menu."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from stillroom.cli.common import HouseOption, JsonOption, answer, day_option, open_house
from stillroom.errors import UsageError

Texts = list[str] | None


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

    change = read_change(drop=drop or (), add=add or (), prices=price or (), keeps=keep or (), makings=making or ())
    limits = (preparations, work, must, one_of)
    if choose is None and any(limit is not None for limit in limits):
        raise UsageError("--preparations, --work, --must and --one-of go with --choose, like --choose 10.")
    if choose is None and last_day is None and not change.label:
        raise UsageError("Say what is to change: --drop, --add, --price, --keep or --making; or --choose.")
    opened = open_house(house)
    if choose is not None:
        from stillroom.answers.menu.choose import Wish
        from stillroom.answers.menu.choose_text import choice_text, choice_values

        wish = Wish(
            drinks=choose, preparations=preparations, work=work, must=tuple(must or ()), one_of=tuple(one_of or ())
        )
        answer(opened, opened.choose_menu(wish, change), choice_text, choice_values, as_json=as_json)
    elif (day := day_option(last_day, "--ends")) is not None:
        from stillroom.answers.menu.last_days import last_days_text, last_days_values

        answer(opened, opened.last_days(day, change), last_days_text, last_days_values, as_json=as_json)
    else:
        from stillroom.answers.menu.text import what_if_text, what_if_values

        answer(opened, opened.what_if(change), what_if_text, what_if_values, as_json=as_json)
