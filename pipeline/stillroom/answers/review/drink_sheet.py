"""The sheet of a drink."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any, Final

from stillroom.answers.review import sheets, versions
from stillroom.answers.review.moving import levers
from stillroom.answers.review.season import Season
from stillroom.answers.review.sheet_objects import Course, MenuPlace, Note, Sheet, Spot
from stillroom.names import name_key
from stillroom.words import number

if TYPE_CHECKING:
    from stillroom.analysis.specs.book import SpecVersion
    from stillroom.analysis.specs.sheet import SpecSheet
    from stillroom.answers.review.sheets import Bench


CENT: Final = 0.01
"""Of the house's currency: a smaller change of cost is none."""


def sheet(bench: Bench, spec: SpecVersion, several: Sequence[SpecVersion]) -> Sheet:
    """All that is known of a drink."""
    own = bench.spec_sheet(spec)
    row = next((row for row in bench.season.figures.drinks.iter_rows(named=True) if row["spec"] == spec.spec), None)
    currency = bench.house.currency
    facts = sheets.facts(spec, own)
    if spec.price is not None:
        facts.insert(1, f"{currency} {spec.price:.2f}")
    facts.append(_glass(own))
    return Sheet(
        name=spec.spec,
        kind=spec.kind,
        aliases=bench.aliases.get(name_key(spec.spec), ()),
        says=sheets.says(bench, spec.spec) or (f" {_way(row)}." if row else " was not sold in this period."),
        facts=tuple(facts),
        allergens=own.allergens,
        careful=sheets.careful(bench, spec),
        notes=_notes(row, own, currency) if row else (),
        course=_course(bench, spec, several),
        parts=sheets.parts(own, currency),
        users=sheets.users(bench, spec),
        versions=versions.side_by_side(bench, several),
        batches=(),
        source=sheets.origin(bench.frames["current_spec"], "spec", spec.spec),
        place=_place(bench, row) if row else None,
        levers=levers(bench, row, own) if row else (),
    )


def _place(bench: Bench, row: dict[str, Any]) -> MenuPlace | None:
    spots = {
        one["spec"]: Spot(name=one["spec"], share=one["daily_share"], contribution=one["contribution"])
        for one in bench.season.figures.drinks.iter_rows(named=True)
        if one["daily_share"] is not None and one["contribution"] is not None
    }
    average = bench.season.figures.average_contribution
    if row["spec"] not in spots or average is None:
        return None
    return MenuPlace(
        own=spots.pop(row["spec"]),
        share_range=(row["share_low"], row["share_high"]),
        contribution_range=(row["contribution_low"], row["contribution_high"]),
        share_mark=row["share_mark"],
        average=average,
        others=tuple(spots.values()),
        does=row["does"],
    )


def _glass(own: SpecSheet) -> str:
    served = own.served
    said = [f"{served.abv_pct:.1f} % vol"] if served.abv_pct is not None else []
    said += [f"sugar {served.sugar_g_100ml:.1f}"] if served.sugar_g_100ml is not None else []
    said += [f"acid {served.acid_g_100ml:.2f} g in 100 ml"] if served.acid_g_100ml is not None else []
    return ", ".join(said) or "what is in the glass is not known"


def _way(row: dict[str, Any]) -> str:
    from stillroom.analysis.menu.going import in_words

    if goes := in_words(row):
        return f"{'is' if row['step_week'] is None else 'sells'} {goes}"
    return str(row["does"])


def _notes(row: dict[str, Any], own: SpecSheet, currency: str) -> tuple[Note, ...]:
    left = row["total_contribution"]
    cost = own.cost
    share = "" if own.cost_share is None else f"{100 * own.cost_share:.0f} % of the price"
    return (
        Note(
            label="Sold", value=number(row["serves"]), unit="serves", small=f"{number(row['serves_per_day'], 1)} a day"
        ),
        Note(label="Sales, net", value=number(row["net_amount"]), unit=currency, small=_net(row, currency)),
        Note(
            label="Left over",
            value="not known" if left is None else number(left),
            unit="" if left is None else currency,
            small="no price for " + row["missing"]
            if left is None and row["missing"]
            else f"{currency} {row['contribution']:.2f} a serve"
            if row["contribution"] is not None
            else "",
        ),
        Note(
            label="Costs a serve",
            value=f"{'at least ' if cost.missing else ''}{cost.known:.2f}",
            unit=currency,
            small=share or (f"no price for {', '.join(cost.missing)}" if cost.missing else ""),
        ),
    )


def _net(row: dict[str, Any], currency: str) -> str:
    return "" if row["net_per_serve"] is None else f"{currency} {row['net_per_serve']:.2f} a serve"


def _course(bench: Bench, spec: SpecVersion, several: Sequence[SpecVersion]) -> Course | None:
    import polars as pl

    one: Season = bench.season
    weeks = one.figures.weeks.filter(pl.col("spec") == spec.spec)
    if weeks.is_empty():
        return None
    found = dict(weeks.select("week", "serves_per_day").iter_rows())
    middle = timedelta(days=3)
    return Course(
        first=one.period.first,
        last=one.upto,
        unit="",
        label="Serves a day, week by week",
        line=tuple((min(week + middle, one.upto), found.get(week)) for week in one.weeks),
        marks=sheets.marks(several, one.period.first, one.upto, bench.house.currency),
        costs=_costs(bench, spec.spec),
    )


def _costs(bench: Bench, name: str) -> tuple[tuple[date, float | None], ...]:
    """The days on which a serve began to cost something else."""
    import polars as pl

    one = bench.season
    own = bench.cost_of_days.filter(
        pl.col("spec") == name, pl.col("business_date").is_between(one.period.first, one.upto)
    )
    steps: list[tuple[date, float | None]] = []
    for day, cost in own.select("business_date", "cost").iter_rows():
        if not steps or _differ(cost, steps[-1][1]):
            steps.append((day, cost))
    return tuple(steps)


def _differ(one: float | None, other: float | None) -> bool:
    return one is not other if one is None or other is None else abs(one - other) >= CENT / 2
