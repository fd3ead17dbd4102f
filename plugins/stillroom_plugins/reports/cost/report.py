"""Report: what a serve costs, where the money goes, and what a change of price does."""

from __future__ import annotations

from typing import Final

import polars as pl

from stillroom.analysis.menu.earnings import earnings
from stillroom.analysis.menu.sales_cost import cost_of_sales, price_changes, price_effects
from stillroom.analysis.specs.book import SpecVersion
from stillroom.analysis.specs.costing import PartCosts, costs_in
from stillroom.answers.advice import Advice
from stillroom.objects import ReportInputs, ReportResult
from stillroom_plugins.reports import _spec_inputs
from stillroom_plugins.reports.cost import charts, findings, tables

NOTES: Final = (
    "Cost is of what the specs say goes in, at the price in force on the day, with nothing spilt and no labour. A pack "
    "costs its price over its usable share; a preparation costs its making over what the spec says comes out.",
    "Where a price is missing the cost is a floor: 'at least', with what has no price.",
    "Share of takings: what the serves sold cost over what they took in, net of tax and discounts by the till. "
    "The menu price as the spec gives it may hold tax.",
)
DEARER: Final = 0.10


def build(inputs: ReportInputs) -> ReportResult:
    """Findings, tables and charts of cost."""
    frames, period, currency = inputs.frames, inputs.period, inputs.house.currency
    if frames["current_spec"].is_empty():
        return ReportResult(notes=("There are no specs yet: nothing can be costed.",))
    composition = _spec_inputs.composition_of(inputs)
    current = _spec_inputs.current_versions(composition, inputs)
    advice = _spec_inputs.advice(composition, current, inputs)
    costs = costs_in(frames["part_cost"], composition.book)
    sold = frames["daily_serves"].filter(pl.col("business_date").is_between(period.first, period.last))
    daily = sold.drop_nulls("version")
    sales = cost_of_sales(daily, frames["part_cost"])
    drinks = drink_costs(current, costs, sales, earnings(sold, frames["spec_cost"]), advice)
    parts = dearest_parts(sales)
    changes = price_changes(frames["price_change"], period.last)
    effects = price_effects(changes, costs.frame, daily)
    all_tables = (
        tables.drinks_table(drinks, currency),
        tables.parts_table(parts, currency),
        tables.changes_table(changes, effects, currency),
        tables.effects_table(effects, currency),
        tables.makings_table(composition, _spec_inputs.preparations(current), costs, advice, currency),
        tables.serve_parts_table(current, costs, currency),
    )
    return ReportResult(
        findings=findings.findings(drinks, parts, changes, effects, sales, period, currency),
        tables=tuple(table for table in all_tables if table.frame.height),
        charts=charts.charts(drinks, parts, currency),
        notes=NOTES,
    )


def drink_costs(
    current: list[SpecVersion],
    costs: PartCosts,
    sales: pl.DataFrame,
    earned: pl.DataFrame,
    advice: dict[tuple[str, int], tuple[Advice, ...]],
) -> pl.DataFrame:
    """Every drink among some specs with its cost a serve and what its sales should have cost.

    Returns:
        spec, version, cost (null where a price is missing), cost_at_least (where one is), missing, price, careful; and
        of the serves sold, all versions of the drink: serves, net_per_serve, cost_sold and sold_at_least (a serve, as
        the season report has it), share (of net_per_serve, 0 to 1), sales_cost.
    """
    rows = []
    for spec in _spec_inputs.drinks(current):
        cost = costs.of(spec)
        rows.append(
            {
                "spec": spec.spec,
                "version": spec.version,
                "cost": cost.whole,
                "cost_at_least": cost.known if cost.missing else None,
                "missing": "; ".join(cost.missing),
                "price": spec.price,
                "careful": _spec_inputs.titles(advice[spec.key]),
            }
        )
    numbers = ("cost", "cost_at_least", "price")
    schema = {"spec": pl.String, "version": pl.Int64, "missing": pl.String, "careful": pl.String}
    frame = pl.DataFrame(rows, schema={**schema, **dict.fromkeys(numbers, pl.Float64)})
    sold = earned.select(
        "spec",
        pl.col("serves").cast(pl.Float64),
        "net_per_serve",
        pl.col("cost_per_serve").alias("cost_sold"),
        pl.col("cost_at_least").alias("sold_at_least"),
        pl.when(pl.col("net_per_serve") > 0).then(pl.col("cost_per_serve") / pl.col("net_per_serve")).alias("share"),
    )
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
