"""The cost report's tables."""

from __future__ import annotations

from typing import Final

import polars as pl

from stillroom.analysis.specs.book import SpecVersion
from stillroom.analysis.specs.composition import Composition
from stillroom.analysis.specs.costing import Cost, PartCosts
from stillroom.analysis.specs.sheet import serves_given
from stillroom.answers.advice import DEFERRAL, Advice
from stillroom.glossary import named
from stillroom.objects import Column, ReportTable
from stillroom_plugins.reports import _spec_inputs

CAREFUL: Final = f"What to be careful of stands in full, with what it rests on, in the balance report. {DEFERRAL}"


def drinks_table(drinks: pl.DataFrame, currency: str) -> ReportTable:
    """Every drink with its cost, price and sales; `drinks` as `cost.drink_costs` gives them."""
    columns = {
        "spec": Column(label="Drink"),
        **named("version", "careful"),
        "cost": Column(label="Cost a serve, last prices", unit=currency, decimals=2),
        "cost_at_least": Column(label="At least", unit=currency, decimals=2),
        **named("missing"),
        "price": Column(label="Menu price", unit=currency, decimals=2),
        "net_per_serve": Column(label="Net taken a serve", unit=currency, decimals=2),
        "cost_sold": Column(label="Cost of that", unit=currency, decimals=2),
        "share": Column(label="Share", percent=True, decimals=1),
        "serves": Column(label="Serves sold since", decimals=0),
        "sales_cost": Column(label="Should have cost", unit=currency, decimals=0),
    }
    if drinks.filter(pl.col("missing") != "").is_empty():
        del columns["cost_at_least"], columns["missing"]
    title = "Every drink on the menu in this period"
    return ReportTable(name="drinks", title=title, frame=drinks, columns=columns, note=CAREFUL, subjects="spec")


def parts_table(parts: pl.DataFrame, currency: str) -> ReportTable:
    """The ingredients that the money goes into."""
    return ReportTable(
        name="parts",
        title="Where the money goes: ingredients in the serves sold",
        frame=parts,
        subjects="item",
        columns={
            **named("item"),
            "cost": Column(label="In the serves sold", unit=currency, decimals=0),
            "share": Column(label="Share of all", percent=True, decimals=1),
            "dearer": Column(label="10 % dearer adds", unit=currency, decimals=0),
            "drinks": Column(label="In drinks"),
        },
    )


def changes_table(changes: pl.DataFrame, effects: pl.DataFrame, currency: str) -> ReportTable:
    """The last change of each price, per litre, kilogram or piece."""
    in_all = effects.group_by("item").agg(pl.col("in_all").sum())
    large = pl.when(pl.col("base") == "each").then(1).otherwise(1000)
    return ReportTable(
        name="price-changes",
        title="The last change of each price",
        frame=changes.join(in_all, on="item", how="left").with_columns(
            pl.col("before", "after") * large, pl.col("base").replace({"ml": "litre", "g": "kg", "each": "piece"})
        ),
        subjects="item",
        columns={
            **named("item"),
            "changed_on": Column(label="From"),
            "base": Column(label="For one"),
            "before": Column(label="Before", unit=currency, decimals=2),
            "after": Column(label="After", unit=currency, decimals=2),
            "change": Column(label="Change", percent=True, decimals=1, signed=True),
            "in_all": Column(label="On the serves sold since", unit=currency, decimals=0, signed=True),
        },
        note="Prices of the usable part.",
    )


def effects_table(effects: pl.DataFrame, currency: str) -> ReportTable:
    """What each change of a price does to a serve."""
    return ReportTable(
        name="price-effects",
        title="What each change does to a serve",
        frame=effects,
        subjects="spec",
        columns={
            **named("item"),
            "spec": Column(label="Drink"),
            **named("version"),
            "per_serve": Column(label="On a serve", unit=currency, decimals=3, signed=True),
            "serves": Column(label="Serves sold since", decimals=0),
            "in_all": Column(label="On these serves", unit=currency, decimals=1, signed=True),
        },
    )


def makings_table(
    composition: Composition,
    preparations: list[SpecVersion],
    costs: PartCosts,
    advice: dict[tuple[str, int], tuple[Advice, ...]],
    currency: str,
) -> ReportTable:
    """What a making of each preparation costs."""
    rows = []
    given: dict[tuple[str, int], list[str]] = {}
    for row in serves_given(composition).iter_rows(named=True):
        given.setdefault((row["preparation"], row["version"]), []).append(f"{row['drink']}: {row['serves']:.0f}")
    for spec in preparations:
        cost = costs.of(spec)
        hundred = 100 if spec.yield_base in ("ml", "g") else 1
        serves = "; ".join(given.get((spec.spec, spec.version), ()))
        rows.append(_making_row(spec, cost, hundred, serves, _spec_inputs.titles(advice[spec.key])))
    text = dict.fromkeys(("spec", "missing", "unit", "serves", "careful"), pl.String)
    numbers = dict.fromkeys(("cost", "cost_at_least", "makes", "per_hundred"), pl.Float64)
    return ReportTable(
        name="makings",
        title="What a making of each preparation costs, and the serves it gives",
        frame=pl.DataFrame(rows, schema={**text, "version": pl.Int64, **numbers}).sort("spec"),
        subjects="spec",
        columns={
            "spec": Column(label="Preparation"),
            **named("version", "careful"),
            "makes": Column(label="Makes", decimals=0),
            **named("unit"),
            "cost": Column(label="Cost of a making", unit=currency, decimals=2),
            "cost_at_least": Column(label="At least", unit=currency, decimals=2),
            **named("missing"),
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


def serve_parts_table(current: list[SpecVersion], costs: PartCosts, currency: str) -> ReportTable:
    """The parts of the cost of a serve."""
    held = [(s.spec, s.version) for s in _spec_inputs.drinks(current)]
    drinks = pl.DataFrame(held, schema={"spec": pl.String, "version": pl.Int64}, orient="row")
    own = costs.frame.join(drinks, on=["spec", "version"])
    return ReportTable(
        name="serve-parts",
        title="What is in the cost of a serve",
        frame=own.with_columns(share=pl.col("cost") / pl.col("cost").sum().over("spec")).sort(
            "spec", "cost", "item", descending=[False, True, False], nulls_last=True
        ),
        subjects="spec",
        columns={
            "spec": Column(label="Drink"),
            **named("version", "item"),
            "amount": Column(label="Amount", decimals=1),
            **named("unit"),
            "cost": Column(label="Cost", unit=currency, decimals=3),
            "share": Column(label="Share of what is priced", percent=True, decimals=0),
        },
    )
