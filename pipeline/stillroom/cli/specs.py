"""The command that shows a spec: spec."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from stillroom.cli.common import HouseOption, JsonOption, load_plugins, open_house, write_json
from stillroom.errors import UsageError

if TYPE_CHECKING:
    import polars as pl

    from stillroom.analysis.specs.book import SpecVersion
    from stillroom.analysis.specs.composition import Composition
    from stillroom.house.house import House
    from stillroom.objects import Caution
    from stillroom.plugins.registry import Registry

VIEWS: Final = (
    *("current_spec", "current_spec_line", "current_ingredient", "spec_parts"),
    *("current_batch", "batch_fate", "last_day"),
)


def add_to(app: typer.Typer) -> None:
    """Register the command."""
    app.command("spec", short_help="Show a spec scaled: contents, cost, what to be careful of.")(spec)


def spec(
    name: Annotated[str, typer.Argument(help="A drink, preparation or garnish.")],
    version: Annotated[int | None, typer.Option("--version", help="Its version; else the one in service.")] = None,
    serves: Annotated[float | None, typer.Option("--serves", help="Scale a drink to this many serves.")] = None,
    make: Annotated[str | None, typer.Option("--make", help="Scale to an amount, like '650 ml' or '1.5 kg'.")] = None,
    house: HouseOption = Path(),
    as_json: JsonOption = False,
) -> None:
    """Show a spec scaled, with what is in it, what it costs and what to be careful of."""
    from stillroom.analysis.specs.book import SpecBook
    from stillroom.analysis.specs.composition import Composition
    from stillroom.analysis.specs.costing import part_costs
    from stillroom.analysis.specs.facts import batch_history, spec_facts
    from stillroom.analysis.specs.request import chosen_version
    from stillroom.analysis.specs.sheet import spec_sheet
    from stillroom.analysis.specs.standard_drinks import STANDARD_DRINKS
    from stillroom.answers.advice import advice_on
    from stillroom.answers.spec_card import card_text, card_values

    if serves is not None and make is not None:
        raise UsageError("Give --serves or --make, not both.")
    place, registry = open_house(house), load_plugins()
    frames, cautions = _frames(place, registry)
    composition = Composition(
        SpecBook(frames["current_spec"], frames["current_spec_line"], frames["current_ingredient"])
    )
    last_day = frames["last_day"].item()
    chosen = chosen_version(composition.book, name, version, last_day)
    standard = STANDARD_DRINKS.get(place.standard_drink or "")
    sheet = spec_sheet(
        composition,
        part_costs(frames["spec_parts"], frames["current_ingredient"], last_day or date.max),
        chosen,
        priced_on=last_day,
        factor=_factor(composition, chosen, serves, make),
        standard_drink_g=standard.alcohol_g if standard else None,
    )
    facts = spec_facts(composition, chosen, batch_history(frames["current_batch"], frames["batch_fate"]))
    advice = advice_on(facts, cautions)
    if as_json:
        write_json(card_values(sheet, advice, place.currency))
    else:
        typer.echo(card_text(sheet, advice, place.currency, standard.word if standard else None), nl=False)


def _frames(house: House, registry: Registry) -> tuple[dict[str, pl.DataFrame], list[Caution]]:
    """The views, and what there is to be careful of."""
    from stillroom.answers import not_whole
    from stillroom.store import opening
    from stillroom.store.frames import fetch

    with opening.reading(house, registry.tables.values()) as con:
        frames = {view: fetch(con, f"SELECT * FROM {view}") for view in VIEWS}
        return frames, not_whole.with_others(con, house, registry.cautions.values())


def _factor(composition: Composition, chosen: SpecVersion, serves: float | None, make: str | None) -> float:
    """How many makings are asked for; one, where nothing is said."""
    from stillroom.analysis.specs.request import factor_for_amount, factor_for_serves

    if serves is not None:
        return factor_for_serves(chosen, serves)
    return factor_for_amount(composition, chosen, make) if make is not None else 1.0
