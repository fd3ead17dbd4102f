"""The command that writes down what a review meeting decided: verdict."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from stillroom.cli.common import HouseOption, JsonOption, open_house
from stillroom.cli.speaking import say, show, write_json


def verdict(
    name: Annotated[str | None, typer.Argument(help="A drink, preparation or garnish; without, all are shown.")] = None,
    decision: Annotated[str | None, typer.Argument(help="keep, rework or drop.")] = None,
    by: Annotated[str, typer.Option("--by", help="Who decided.")] = "",
    why: Annotated[str, typer.Option("--why", help="The reason, in your own words.")] = "",
    house: HouseOption = Path(),
    as_json: JsonOption = False,
) -> None:
    """Write down what was decided of a drink or preparation, and why; the next review shows what became of it.

    Without a name, all verdicts taken are shown.
    """
    from dataclasses import asdict

    from stillroom.words import day_text, wrapped

    opened = open_house(house)
    if name is not None:
        taken = opened.take_verdict(name, decision or "", by=by, why=why)
        if not as_json:
            say(f"{taken.subject}: {taken.decision}. Written into verdicts.jsonl.")
            return
    found = opened.verdicts() if name is None else (taken,)
    if as_json:
        write_json([asdict(one) for one in found])
        return
    if not found:
        say("No verdict has been taken yet: stillroom verdict NAME keep|rework|drop --by WHO --why TEXT.")
    for one in found:
        text = f"{day_text(one.day)}  {one.subject}: {one.decision} ({one.by}). {one.why}"
        show("\n".join(wrapped(text, then="  ")))
