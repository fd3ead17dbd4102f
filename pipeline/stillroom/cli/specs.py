"""The command that shows a spec: spec."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from stillroom.cli.common import HouseOption, JsonOption, number_option, open_house
from stillroom.cli.speaking import show, write_json


def spec(
    name: Annotated[str, typer.Argument(help="A drink, preparation or garnish.")],
    version: Annotated[int | None, typer.Option("--version", help="Its version; else the one in service.")] = None,
    serves: Annotated[str | None, typer.Option("--serves", help="Scale a drink to this many serves.")] = None,
    make: Annotated[str | None, typer.Option("--make", help="Scale to an amount, like '650 ml' or '1.5 kg'.")] = None,
    house: HouseOption = Path(),
    as_json: JsonOption = False,
) -> None:
    """Show a spec scaled, with what is in it, what it costs and what to be careful of."""
    found = open_house(house).spec(name, version)
    sheet = found.sheet(serves=None if serves is None else number_option(serves, "--serves"), make=make)
    if as_json:
        write_json(found.values(sheet))
    else:
        show(found.text(sheet), nl=False)
