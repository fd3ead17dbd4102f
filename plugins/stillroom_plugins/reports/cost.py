"""Report: what a serve costs, where the money goes, and what a change of price does."""

from __future__ import annotations

from typing import Final

import polars as pl

from stillroom import hookimpl
from stillroom.advice import DEFERRAL, Advice
from stillroom.analysis.menu.sales_cost import cost_of_sales, price_changes, price_effects
from stillroom.analysis.specs.book import SpecVersion
from stillroom.analysis.specs.composition import Composition
from stillroom.analysis.specs.costing import Cost, cost_of, part_costs
from stillroom.analysis.specs.sheet import serves_given
from stillroom.objects import Column, Report, ReportInputs, ReportResult, ReportTable
from stillroom_plugins.reports import _cost_charts, _cost_findings, _spec_inputs

NOTES: Final = (
    "Cost is of what the specs say goes in, at the price in force on the day, with nothing spilt and no labour. A pack "
    "costs its price over its usable share; a preparation costs its making over what the spec says comes out.",
    "Where a price is missing the cost is a floor: 'at least', with what has no price.",
    "Share of price is of the menu price as the spec gives it, tax and all where it holds any.",
)
CAREFUL: Final = f"What to be careful of stands in full, with what it rests on, in the balance report. {DEFERRAL}"
DEARER: Final = 0.10


@hookimpl
def register_reports() -> list[Report]:
    """The cost report."""
    return [
        Report(
            name="cost",
            title="What a serve costs",
            question="What does each serve cost, where does the money go, and what do price changes do?",
            needs=(*_spec_inputs.NEEDS, "spec_parts", "daily_serves"),
            build=build,
            place=70,
        )
    ]


def build(inputs: ReportInputs) -> ReportResult:
    """Findings, tables and charts of cost."""
    frames, period, currency = inputs.frames, inputs.period, inputs.house.currency
    if frames["current_spec"].is_empty():
        return ReportResult(notes=("There are no specs yet: nothing can be costed.",))
    composition = _spec_inputs.composition_of(inputs)
    current = _spec_inputs.current_versions(composition, inputs)
    advice = _spec_inputs.advice(composition, current, inputs)
    costs = part_costs(frames["spec_parts"], frames["current_ingredient"], period.last)
    daily = frames["daily_serves"].filter(
        pl.col("business_date").is_between(period.first, period.last) & pl.col("version").is_not_null()
    )
    sales = cost_of_sales(daily, frames["spec_parts"], frames["current_ingredient"])
    serves = daily.group_by("spec", "version").agg(pl.col("serves").sum())
    drinks = drink_costs(current, costs, sales, daily, advice)
    parts = dearest_parts(sales)
    changes = price_changes(frames["current_ingredient"], period.last)
    effects = price_effects(changes, costs, serves)
    tables = [
        _drinks_table(drinks, currency),
        _parts_table(parts, currency),
        _changes_table(changes, effects, currency),
        _effects_table(effects, currency),
        _makings_table(composition, _spec_inputs.preparations(current), costs, advice, currency),
        _serve_parts_table(current, costs, currency),
    ]
    return ReportResult(
        findings=_cost_findings.findings(drinks, parts, changes, effects, sales, period, currency),
        tables=tuple(table for table in tables if table.frame.height),
        charts=_cost_charts.charts(drinks, parts, currency),
        notes=NOTES,
    )


def drink_costs(
    current: list[SpecVersion],
    costs: pl.DataFrame,
    sales: pl.DataFrame,
    daily: pl.DataFrame,
    advice: dict[tuple[str, int], tuple[Advice, ...]],
) -> pl.DataFrame:
    """Every drink among some specs with its cost a serve and what its sales should have cost.

    Returns:
        spec, version, cost (null where a price is missing), cost_at_least (where one is), missing, price, share (of
        price, 0 to 1), serves and sales_cost (of the days given, all versions of the drink), careful.
    """
    rows = []
    for spec in _spec_inputs.drinks(current):
        cost = cost_of(costs, spec.spec, spec.version)
        share = cost.whole / spec.price if cost.whole is not None and spec.price else None
        rows.append(
            {
                "spec": spec.spec,
                "version": spec.version,
                "cost": cost.whole,
                "cost_at_least": cost.known if cost.missing else None,
                "missing": "; ".join(cost.missing),
                "price": spec.price,
                "share": share,
                "careful": _spec_inputs.titles(advice[spec.key]),
            }
        )
    numbers = ("cost", "cost_at_least", "price", "share")
    schema = {"spec": pl.String, "version": pl.Int64, "missing": pl.String, "careful": pl.String}
    frame = pl.DataFrame(rows, schema={**schema, **dict.fromkeys(numbers, pl.Float64)})
    sold = daily.group_by("spec").agg(pl.col("serves").sum().cast(pl.Float64))
    spent = sales.group_by("spec").agg(pl.col("cost").sum().alias("sales_cost"))
    return frame.join(sold, on="spec", how="left").join(spent, on="spec", how="left").sort("spec")


def dearest_parts(sales: pl.DataFrame) -> pl.DataFrame:
    """What each ingredient costs in the serves sold, dearest first.

    Returns:
        item, cost, share (of the whole, 0 to 1), dearer (what a tenth more on its price adds), drinks (how many).
    """
    total = float(sales["cost"].sum())
    return (
        sales.filter(pl.col("cost") != 0)
        .group_by("item")
        .agg(pl.col("cost").sum(), pl.col("spec").n_unique().cast(pl.Int64).alias("drinks"))
        .with_columns(
            share=pl.col("cost") / total if total > 0 else pl.lit(None, pl.Float64), dearer=DEARER * pl.col("cost")
        )
        .sort("cost", "item", descending=[True, False])
    )


def _drinks_table(drinks: pl.DataFrame, currency: str) -> ReportTable:
    columns = {
        "spec": Column(label="Drink"),
        "version": Column(label="Version"),
        "careful": Column(label="Be careful of"),
        "cost": Column(label="Cost a serve", unit=currency, decimals=2),
        "cost_at_least": Column(label="At least", unit=currency, decimals=2),
        "missing": Column(label="No price for"),
        "price": Column(label="Menu price", unit=currency, decimals=2),
        "share": Column(label="Share of price", percent=True, decimals=1),
        "serves": Column(label="Serves sold", decimals=0),
        "sales_cost": Column(label="Should have cost", unit=currency, decimals=0),
    }
    if drinks.filter(pl.col("missing") != "").is_empty():
        del columns["cost_at_least"], columns["missing"]
    title = "Every drink on the menu in this period"
    return ReportTable(name="drinks", title=title, frame=drinks, columns=columns, note=CAREFUL)


def _parts_table(parts: pl.DataFrame, currency: str) -> ReportTable:
    return ReportTable(
        name="parts",
        title="Where the money goes: ingredients in the serves sold",
        frame=parts,
        columns={
            "item": Column(label="Ingredient"),
            "cost": Column(label="In the serves sold", unit=currency, decimals=0),
            "share": Column(label="Share of all", percent=True, decimals=1),
            "dearer": Column(label="10 % dearer adds", unit=currency, decimals=0),
            "drinks": Column(label="In drinks"),
        },
    )


def _changes_table(changes: pl.DataFrame, effects: pl.DataFrame, currency: str) -> ReportTable:
    in_all = effects.group_by("item").agg(pl.col("in_all").sum())
    large = pl.when(pl.col("base") == "each").then(1).otherwise(1000)
    return ReportTable(
        name="price-changes",
        title="The last change of each price",
        frame=changes.join(in_all, on="item", how="left").with_columns(
            pl.col("before", "after") * large, pl.col("base").replace({"ml": "litre", "g": "kg", "each": "piece"})
        ),
        columns={
            "item": Column(label="Ingredient"),
            "changed_on": Column(label="From"),
            "base": Column(label="For one"),
            "before": Column(label="Before", unit=currency, decimals=2),
            "after": Column(label="After", unit=currency, decimals=2),
            "change": Column(label="Change", percent=True, decimals=1, signed=True),
            "in_all": Column(label="On as many serves as were sold", unit=currency, decimals=0, signed=True),
        },
        note="Prices of the usable part.",
    )


def _effects_table(effects: pl.DataFrame, currency: str) -> ReportTable:
    return ReportTable(
        name="price-effects",
        title="What each change does to a serve",
        frame=effects,
        columns={
            "item": Column(label="Ingredient"),
            "spec": Column(label="Drink"),
            "version": Column(label="Version"),
            "per_serve": Column(label="On a serve", unit=currency, decimals=3, signed=True),
            "serves": Column(label="Serves sold", decimals=0),
            "in_all": Column(label="On as many serves", unit=currency, decimals=1, signed=True),
        },
    )


def _makings_table(
    composition: Composition,
    preparations: list[SpecVersion],
    costs: pl.DataFrame,
    advice: dict[tuple[str, int], tuple[Advice, ...]],
    currency: str,
) -> ReportTable:
    rows = []
    given: dict[tuple[str, int], list[str]] = {}
    for row in serves_given(composition).iter_rows(named=True):
        given.setdefault((row["preparation"], row["version"]), []).append(f"{row['drink']}: {row['serves']:.0f}")
    for spec in preparations:
        cost = cost_of(costs, spec.spec, spec.version)
        hundred = 100 if spec.yield_base in ("ml", "g") else 1
        serves = "; ".join(given.get((spec.spec, spec.version), ()))
        rows.append(_making_row(spec, cost, hundred, serves, _spec_inputs.titles(advice[spec.key])))
    text = dict.fromkeys(("spec", "missing", "unit", "serves", "careful"), pl.String)
    numbers = dict.fromkeys(("cost", "cost_at_least", "makes", "per_hundred"), pl.Float64)
    return ReportTable(
        name="makings",
        title="What a making of each preparation costs, and the serves it gives",
        frame=pl.DataFrame(rows, schema={**text, "version": pl.Int64, **numbers}).sort("spec"),
        columns={
            "spec": Column(label="Preparation"),
            "version": Column(label="Version"),
            "careful": Column(label="Be careful of"),
            "makes": Column(label="Makes", decimals=0),
            "unit": Column(label="Unit"),
            "cost": Column(label="Cost of a making", unit=currency, decimals=2),
            "cost_at_least": Column(label="At least", unit=currency, decimals=2),
            "missing": Column(label="No price for"),
            "per_hundred": Column(label="Of 100 ml or g, or of one", unit=currency, decimals=2),
            "serves": Column(label="Serves a making gives"),
        },
        note=CAREFUL,
    )


def _making_row(spec: SpecVersion, cost: Cost, hundred: int, serves: str, careful: str) -> dict[str, object]:
    return {
        "spec": spec.spec,
        "version": spec.version,
        "cost": cost.whole,
        "cost_at_least": cost.known if cost.missing else None,
        "missing": "; ".join(cost.missing),
        "makes": spec.yield_amount,
        "unit": spec.yield_base,
        "per_hundred": None if cost.whole is None else cost.whole / spec.yield_amount * hundred,
        "serves": serves,
        "careful": careful,
    }


def _serve_parts_table(current: list[SpecVersion], costs: pl.DataFrame, currency: str) -> ReportTable:
    held = [(s.spec, s.version) for s in _spec_inputs.drinks(current)]
    drinks = pl.DataFrame(held, schema={"spec": pl.String, "version": pl.Int64}, orient="row")
    own = costs.with_columns(pl.col("version").cast(pl.Int64)).join(drinks, on=["spec", "version"])
    return ReportTable(
        name="serve-parts",
        title="What is in the cost of a serve",
        frame=own.with_columns(share=pl.col("cost") / pl.col("cost").sum().over("spec")).sort(
            "spec", "cost", "item", descending=[False, True, False], nulls_last=True
        ),
        columns={
            "spec": Column(label="Drink"),
            "version": Column(label="Version"),
            "item": Column(label="Ingredient"),
            "amount": Column(label="Amount", decimals=1),
            "unit": Column(label="Unit"),
            "cost": Column(label="Cost", unit=currency, decimals=3),
            "share": Column(label="Share of what is priced", percent=True, decimals=0),
        },
    )
