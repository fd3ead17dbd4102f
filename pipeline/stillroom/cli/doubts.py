"""The command that tells what is in doubt: doubts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stillroom.cli.common import HouseOption, JsonOption, open_house
from stillroom.cli.speaking import show, write_json

if TYPE_CHECKING:
    from stillroom.answers.doubts.books import Doubt


def doubts(
    house: HouseOption = Path(),
    season: Annotated[str | None, typer.Option("--season", help="Count the money of this season.")] = None,
    as_json: JsonOption = False,
) -> None:
    """List all that is in doubt in the data, the most money first: what mends it, and what it touches."""
    from dataclasses import asdict

    place = open_house(house)
    found = place.doubts(season=season)
    if as_json:
        write_json([asdict(doubt) for doubt in found])
    elif not found:
        show("Nothing is in doubt.")
    else:
        show("\n".join(_lines(found, place.settings.currency)))


def _lines(found: Sequence[Doubt], currency: str) -> Iterator[str]:
    from stillroom.words import WIDTH, counted, money, percent, wrapped

    yield f"{counted(len(found), 'thing')} to mend in the data, with the money that each touches:"
    for doubt in found:
        worth = money(doubt.money, currency) if doubt.money is not None and doubt.money >= 0.5 else ""
        worth += f", {percent(doubt.share, 1)}" if worth and doubt.share is not None else ""
        title = f"{doubt.subject}: {doubt.do}" if doubt.subject else f"{doubt.do[:1].upper()}{doubt.do[1:]}"
        first, *more = wrapped(title, "  ", "    ", WIDTH - 4 - len(worth))
        yield ""
        yield f"{first}{worth.rjust(WIDTH - len(first))}" if worth else first
        yield from more
        yield from wrapped(doubt.what, "    ", "    ")
        yield from wrapped(f"Mend: {doubt.mend}", "    ", "          ")
