"""One version of a spec, as a person asks for it: its sheet at any size, and what to be careful of."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any, Final

from stillroom.analysis.specs.book import SpecBook, SpecVersion
from stillroom.analysis.specs.composition import Composition
from stillroom.analysis.specs.costing import costs_on, net_per_serve
from stillroom.analysis.specs.facts import batch_history, spec_facts
from stillroom.analysis.specs.request import chosen_version, factor_for_amount, factor_for_serves
from stillroom.analysis.specs.sheet import SpecSheet, spec_sheet
from stillroom.analysis.specs.standard_drinks import STANDARD_DRINKS
from stillroom.analysis.specs.versions import LAST_OF_DAYS
from stillroom.analysis.specs.views import VIEWS
from stillroom.answers.advice import Advice, advice_on
from stillroom.answers.spec_card import card_text, card_values
from stillroom.errors import UsageError
from stillroom.objects import Caution, HouseFacts

if TYPE_CHECKING:
    import polars as pl

NEEDS: Final = (*VIEWS, "part_cost", "daily_serves", "current_batch", "batch_fate", "last_day")
"""Views a spec's sheet reads."""


@dataclass(frozen=True)
class Spec:
    """A version of a spec with the book it stands in."""

    chosen: SpecVersion
    composition: Composition
    frames: Mapping[str, pl.DataFrame]
    cautions: tuple[Caution, ...]
    house: HouseFacts

    @cached_property
    def advice(self) -> tuple[Advice, ...]:
        """What to be careful of."""
        history = batch_history(self.frames["current_batch"], self.frames["batch_fate"])
        return advice_on(spec_facts(self.composition, self.chosen, history), self.cautions)

    def sheet(self, *, serves: float | None = None, make: str | None = None) -> SpecSheet:
        """Amounts, figures and cost: of one making, of so many serves, or of an amount such as '1.5 l'.

        Raises:
            UsageError: both are given, or the size cannot be had of this spec.
        """
        if serves is not None and make is not None:
            raise UsageError("Give --serves or --make, not both.")
        factor = 1.0
        if serves is not None:
            factor = factor_for_serves(self.chosen, serves)
        elif make is not None:
            factor = factor_for_amount(self.composition, self.chosen, make)
        standard = STANDARD_DRINKS.get(self.house.standard_drink or "")
        day = self.composition.book.day_of(self.chosen)
        return spec_sheet(
            self.composition,
            costs_on(self.frames["part_cost"], day),
            self.chosen,
            priced_on=None if day == LAST_OF_DAYS else day,
            factor=factor,
            standard_drink_g=standard.alcohol_g if standard else None,
            net_per_serve=net_per_serve(self.frames["daily_serves"], self.chosen.spec, self.chosen.version),
        )

    def text(self, sheet: SpecSheet) -> str:
        """A sheet of it for people, 80 columns wide."""
        standard = STANDARD_DRINKS.get(self.house.standard_drink or "")
        return card_text(sheet, self.advice, self.house.currency, standard.word if standard else None)

    def values(self, sheet: SpecSheet) -> dict[str, Any]:
        """A sheet of it as plain values."""
        return card_values(sheet, self.advice, self.house.currency)


def spec_answer(
    frames: Mapping[str, pl.DataFrame],
    cautions: Iterable[Caution],
    house: HouseFacts,
    name: str,
    version: int | None,
) -> Spec:
    """The spec of that name, in that version or in the one in service on the last day in the files.

    Args:
        frames: one for each name in `NEEDS`.

    Raises:
        UsageError: there is no such spec, or no such version of it.
    """
    book = SpecBook(frames, frames["last_day"].item() or LAST_OF_DAYS)
    chosen = chosen_version(book, name, version)
    return Spec(chosen, Composition(book), frames, tuple(cautions), house)
