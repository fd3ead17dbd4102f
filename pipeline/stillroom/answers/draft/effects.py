"""What a draft does to the drinks that use the spec."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

import polars as pl

from stillroom.analysis.specs.book import SpecVersion
from stillroom.analysis.specs.sheet import SpecSheet
from stillroom.answers.draft.books import Book
from stillroom.answers.draft.careful import Careful, Turned
from stillroom.names import key_of, name_key

LATELY: Final = 28
"""Days before the last day in the files whose serves a week are told."""
SEASON_WEEKS: Final = 13


@dataclass(frozen=True, kw_only=True)
class DrinkEffect:
    """What a draft does to a drink that uses the spec, at any depth."""

    drink: str
    before: SpecSheet
    after: SpecSheet
    serves_a_week: float
    """Of the last four weeks in the files."""
    cautions: Turned

    @property
    def a_season(self) -> float | None:
        """Money saved over a season at these serves, house currency; below 0 where it costs more, None if not known."""
        before, after = self.before.cost.whole, self.after.cost.whole
        if before is None or after is None:
            return None
        return (before - after) * self.serves_a_week * SEASON_WEEKS


def effects(
    frames: Mapping[str, pl.DataFrame], today: Book, after: Book, spec: SpecVersion, careful: Careful
) -> list[DrinkEffect]:
    """Every drink on the menu that the spec goes into, dearest change first."""
    book = today.composition.book
    last: date | None = frames["last_day"].item()
    found = []
    for versions in book.versions.values():
        drink = book.in_service(versions[0].spec)
        inside = after.composition.book.inside_out(after.composition.book.specs[drink.key], book.day_of(drink))
        if drink.kind != "drink" or drink.key == spec.key or spec.key not in {one.key for one in inside}:
            continue
        then = after.composition.book.specs[drink.key]
        effect = DrinkEffect(
            drink=drink.spec,
            before=today.sheet(drink),
            after=after.sheet(then),
            cautions=careful.turned(today, drink, after, then),
            serves_a_week=_serves_a_week(frames["daily_serves"], drink.spec, last),
        )
        found.append(effect)
    return sorted(found, key=lambda one: (-abs(one.a_season or 0.0), one.drink))


def _serves_a_week(daily: pl.DataFrame, drink: str, last: date | None) -> float:
    if last is None:
        return 0.0
    own = daily.filter(
        (key_of(pl.col("spec")) == name_key(drink)) & (pl.col("business_date") > last - timedelta(days=LATELY))
    )
    return float(own["serves"].sum()) / (LATELY / 7)
