"""A sheet for every drink, preparation and garnish, from views."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING, Final

from stillroom.analysis.specs.views import VIEWS
from stillroom.answers.review import versions
from stillroom.answers.review.objects import Item
from stillroom.answers.review.season import Season
from stillroom.answers.review.sheet_objects import Mark, PartRow, Sheet, UserRow
from stillroom.names import key_of, name_key
from stillroom.objects import Caution, HouseFacts
from stillroom.words import short_day

if TYPE_CHECKING:
    import polars as pl

    from stillroom.analysis.next_menu.assumption import Assumption
    from stillroom.analysis.specs.book import SpecVersion
    from stillroom.analysis.specs.composition import Composition
    from stillroom.analysis.specs.costing import PartCosts
    from stillroom.analysis.specs.facts import BatchHistory
    from stillroom.analysis.specs.sheet import SpecSheet
    from stillroom.answers.prep_list import PrepList

NEEDS: Final = (
    *VIEWS,
    "part_cost",
    *("current_batch", "batch_fate", "preparation_use", "daily_serves", "panel_scores", "till_meaning"),
)
"""Views a sheet reads, beside those of the season."""
KEPT: Final = {"ambient": "at room temperature", "fridge": "in the fridge", "freezer": "in the freezer"}


@dataclass(frozen=True)
class Bench:
    """What all sheets of a house are worked out from, once."""

    season: Season
    frames: Mapping[str, pl.DataFrame]
    house: HouseFacts
    cautions: tuple[Caution, ...]
    said: Mapping[str, Item]
    """Name without case -> what the lists say of it."""
    prep: PrepList | None = None
    """What to make next; None where the data do not allow a list."""

    @cached_property
    def composition(self) -> Composition:
        """Every version of every spec."""
        from stillroom.analysis.specs.book import SpecBook
        from stillroom.analysis.specs.composition import Composition

        return Composition(SpecBook(self.frames, self.season.upto))

    @cached_property
    def price_response(self) -> Assumption:
        """By how many per cent serves change for 1 % of price."""
        from stillroom.answers.menu.rests_on import price_response

        return price_response(self.house, self.frames, self.composition.book, self.season.upto)

    @cached_property
    def costs(self) -> PartCosts:
        """What each part of each version costs, on the last day looked at or the day of its service nearest to it."""
        from stillroom.analysis.specs.costing import costs_in

        return costs_in(self.frames["part_cost"], self.composition.book)

    @cached_property
    def cost_of_days(self) -> pl.DataFrame:
        """What a serve of each drink cost on each day on which it was sold."""
        from stillroom.analysis.menu.earnings import cost_of_days

        return cost_of_days(self.frames["daily_serves"], self.frames["spec_cost"])

    @cached_property
    def history(self) -> Mapping[tuple[str, int], BatchHistory]:
        """The batches of each version."""
        from stillroom.analysis.specs.facts import batch_history

        return batch_history(self.frames["current_batch"], self.frames["batch_fate"])

    @cached_property
    def aliases(self) -> Mapping[str, tuple[str, ...]]:
        """Drink -> what the till calls it."""
        found: dict[str, list[str]] = {}
        meant = self.frames["till_meaning"]
        for key, spec in meant.select("item_key", "spec").unique().sort("item_key").rows():
            if spec is not None and key != name_key(spec):
                found.setdefault(name_key(spec), []).append(key)
        return {name: tuple(keys) for name, keys in found.items()}

    @cached_property
    def _spec_sheets(self) -> dict[tuple[str, int], SpecSheet]:
        return {}

    def spec_sheet(self, spec: SpecVersion) -> SpecSheet:
        """What goes in, what it costs and what is in the glass; worked out once a version."""
        from stillroom.analysis.specs.sheet import spec_sheet
        from stillroom.analysis.specs.standard_drinks import STANDARD_DRINKS

        if spec.key not in self._spec_sheets:
            standard = STANDARD_DRINKS.get(self.house.standard_drink or "")
            self._spec_sheets[spec.key] = spec_sheet(
                self.composition,
                self.costs,
                spec,
                priced_on=self.season.upto,
                standard_drink_g=standard.alcohol_g if standard else None,
            )
        return self._spec_sheets[spec.key]


def sheets(bench: Bench) -> tuple[Sheet, ...]:
    """Every thing's sheet: drinks, preparations, garnishes; by name."""
    found = [sheet_of(bench, several[0].spec) for several in bench.composition.book.versions.values()]
    order = {"drink": 0, "preparation": 1, "garnish": 2}
    return tuple(sorted(found, key=lambda one: (order.get(one.kind, 3), one.name.casefold())))


def sheet_of(bench: Bench, name: str) -> Sheet:
    """The sheet of a spec by its name."""
    from stillroom.answers.review import drink_sheet, preparation_sheet
    from stillroom.names import name_key

    chosen = bench.composition.book.in_service(name)
    ways = drink_sheet.sheet if chosen.kind == "drink" else preparation_sheet.sheet
    return ways(bench, chosen, bench.composition.book.versions[name_key(name)])


def named(sheets: Sequence[Sheet], names: Iterable[str]) -> tuple[Sheet, ...]:
    """The sheets of these things, in this order.

    Raises:
        UsageError: there is none of that name.
    """
    from stillroom.analysis.specs.request import known_name

    known = {sheet.name: sheet for sheet in sheets}
    return tuple(known[known_name(list(known), name)] for name in names)


def careful(bench: Bench, spec: SpecVersion) -> tuple[tuple[str, str], ...]:
    """What to be careful of."""
    from stillroom.analysis.specs.facts import spec_facts
    from stillroom.answers.advice import advice_on

    said = advice_on(spec_facts(bench.composition, spec, bench.history), bench.cautions)
    return tuple((one.title, one.text) for one in said)


def facts(spec: SpecVersion, sheet: SpecSheet) -> list[str]:
    """Version, keep time and allergens, in few words."""
    said = [f"version {spec.version}" + (f" since {short_day(spec.in_service_from)}" if spec.in_service_from else "")]
    if spec.in_service_until:
        said[0] += f" until {short_day(spec.in_service_until)}"
    if spec.keeps_days:
        said.append(f"keeps {spec.keeps_days:g} days {KEPT.get(spec.storage or '', '')}".strip())
    elif spec.storage:
        said.append(f"kept {KEPT.get(spec.storage, spec.storage)}")
    said.append(f"contains {', '.join(sheet.allergens)}" if sheet.allergens else "no allergen stated")
    return said


def says(bench: Bench, name: str) -> str:
    """What the lists say of a thing, as the end of a sentence that begins with its name."""
    item = bench.said.get(name_key(name))
    said = (item.do or item.why).rstrip(".") if item else ""
    return f": {said[:1].lower()}{said[1:]}." if said else ""


def marks(several: Iterable[SpecVersion], first: date, last: date, currency: str) -> tuple[Mark, ...]:
    """The days within first..last on which a version came into service, with its price where that changed."""
    found = []
    before = None
    for spec in several:
        begun = spec.in_service_from
        if before is not None and begun is not None and first <= begun <= last:
            said = f"version {spec.version}"
            if spec.price is not None and before.price is not None and spec.price != before.price:
                said += f", {currency} {spec.price:.2f} for {before.price:.2f}"
            found.append(Mark(day=begun, text=said))
        before = spec
    return tuple(found)


def parts(sheet: SpecSheet, currency: str) -> tuple[PartRow, ...]:
    """The lines of a spec, with what each costs."""
    whole = sheet.cost.known * (sheet.spec.serves if sheet.spec.kind == "drink" else 1.0)
    return tuple(
        PartRow(
            name=line.item,
            amount=versions.amount(line.amount, line.unit),
            cost="no price" if line.cost.missing else f"{line.cost.known:.2f}",
            share=line.cost.known / whole if whole > 0 and not line.cost.missing else None,
        )
        for line in sheet.lines
    )


def users(bench: Bench, spec: SpecVersion) -> tuple[UserRow, ...]:
    """Who takes a preparation: drinks with their serves and share of what was used, then preparations."""
    import polars as pl

    period = bench.season.period
    use = bench.frames["preparation_use"].filter(
        pl.col("preparation") == spec.spec, pl.col("business_date").is_between(period.first, period.last)
    )
    taken = dict(use.group_by("used_by").agg(pl.col("amount").sum()).iter_rows())
    whole = sum(max(amount, 0.0) for amount in taken.values())
    serves = dict(bench.season.figures.drinks.select("spec", "serves").iter_rows())
    rows = []
    for several in bench.composition.book.versions.values():
        user = bench.composition.book.in_service(several[0].spec)
        line = next((line for line in user.lines if name_key(line.item) == name_key(spec.spec)), None)
        if line is None and user.spec not in taken:
            continue
        each = " a serve" if user.kind == "drink" else " a making"
        rows.append(
            UserRow(
                name=user.spec,
                takes=versions.amount(line.amount, line.unit) + each if line else "no longer",
                serves=serves.get(user.spec),
                share=taken.get(user.spec, 0.0) / whole if whole > 0 else None,
            )
        )
    return tuple(sorted(rows, key=lambda row: (-(row.share or 0.0), row.name)))


def origin(frame: pl.DataFrame, column: str, name: str) -> str:
    """File and row of the last row about a thing; '' where there is none."""
    import polars as pl

    own = frame.filter(key_of(pl.col(column)) == name_key(name))
    if own.is_empty():
        return ""
    row = own.row(-1, named=True)
    return f"{row['file']}, row {row['row_number']}"
