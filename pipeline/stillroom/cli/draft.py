"""The command for the bench: draft."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stillroom.cli.common import HouseOption, JsonOption, answer, open_house
from stillroom.cli.speaking import show, write_json
from stillroom.errors import UsageError

if TYPE_CHECKING:
    from stillroom.api import OpenHouse

Texts = list[str] | None


def draft(
    spec: Annotated[str, typer.Argument(help="The spec to change.")],
    version: Annotated[int | None, typer.Option("--version", help="Its version; else the one in service.")] = None,
    set_to: Annotated[Texts, typer.Option("--set", help="An amount: 'lemon juice=25 ml'.")] = None,
    scale: Annotated[Texts, typer.Option("--scale", help="A share of it: 'white sugar=90 %'.")] = None,
    swap: Annotated[Texts, typer.Option("--swap", help="Another in its place: 'verjus=cider vinegar'.")] = None,
    drop: Annotated[Texts, typer.Option("--drop", help="Leave it out: mint.")] = None,
    add: Annotated[Texts, typer.Option("--add", help="Put it in: 'citric acid=4 g'.")] = None,
    aim: Annotated[
        Texts, typer.Option("--aim", help="'brix=40', 'acid=1.2 %', 'acid=as lemon juice', 'cost<=0.35/serve' ...")
    ] = None,
    may_change: Annotated[
        str | None,
        typer.Option("--with", help="Items that aims may change, with commas; 'white sugar=500..700 g' bounds one."),
    ] = None,
    cheap: Annotated[bool, typer.Option("--cheap", help="The cheapest that meets the aims, not the nearest.")] = False,
    batch: Annotated[
        str | None, typer.Option("--batch", help="What to add to this batch, as measured, to come to its °Brix.")
    ] = None,
    how_many: Annotated[
        int | None, typer.Option("--next", help="So many versions to taste next, 2 to 4, from all panels so far.")
    ] = None,
    step: Annotated[str, typer.Option("--step", help="With --next: share by which an amount may move.")] = "20 %",
    write: Annotated[
        bool, typer.Option("--write", help="Add it to the spec book: the next version, not in service.")
    ] = False,
    house: HouseOption = Path(),
    as_json: JsonOption = False,
) -> None:
    """Today's version of a spec and a draft side by side: amounts, the glass, cost, allergens, drinks that use it.

    Changes are made first, in this order: set, scale, swap, drop, add. Then amounts are found that meet the aims.
    Nothing is written, unless --write adds the draft to the file of the spec book that holds today's version.
    """
    from stillroom.analysis.bench.edits import Edit, Kind, share
    from stillroom.answers.draft.text import draft_text, draft_values

    asked: dict[Kind, Texts] = {"set": set_to, "scale": scale, "swap": swap, "drop": drop, "add": add}
    edits = [Edit(kind=kind, text=text) for kind, texts in asked.items() for text in texts or ()]
    opened = open_house(house)
    items = [item.strip() for item in (may_change or "").split(",") if item.strip()]
    if how_many is not None:
        if edits or aim or write or batch:
            raise UsageError("--next goes with --with and --step alone.")
        _what_next(opened, spec, how_many, share(f"--step '{step}'", step), items, as_json=as_json)
        return
    if batch is not None:
        if edits or write:
            raise UsageError("--batch is of what was made: change lines, or --write, without it.")
        _correct(opened, spec, batch, aim or [], items, as_json=as_json)
        return
    found = opened.draft(
        spec, version=version, edits=edits, aims=aim or (), free=items, prefer="cheap" if cheap else "near"
    )
    written = opened.write_draft(found) if write else None
    answer(opened, found, partial(draft_text, written=written), partial(draft_values, written=written), as_json=as_json)


def _what_next(opened: OpenHouse, spec: str, how_many: int, step: float, items: list[str], *, as_json: bool) -> None:
    from stillroom.answers.draft.what_next_text import what_next_text, what_next_values

    found = opened.what_next(spec, how_many, step=step, free=items)
    answer(opened, found, what_next_text, what_next_values, as_json=as_json)


def _correct(opened: OpenHouse, spec: str, batch: str, aims: list[str], items: list[str], *, as_json: bool) -> None:
    from dataclasses import asdict

    from stillroom.answers.draft.batch import correction_text

    found = opened.correct_batch(spec, batch, aims=aims, items=items)
    if as_json:
        write_json(asdict(found))
    else:
        show(correction_text(found), nl=False)
