"""The cost report's sentences."""

from __future__ import annotations

from typing import Final

import polars as pl

from stillroom.objects import Finding, Period
from stillroom.words import costs_at_least, counted, day_text, listed, money, percent

WORTH_SAYING: Final = 0.005
"""Part of the cost of all sales below which a price change is not worth a sentence of its own."""
WORTH_ACTING: Final = 0.01
"""Part of the cost of all sales from which a dearer price is worth acting on: 1 %, a judgement, no source."""
MOST: Final = 5


def findings(
    drinks: pl.DataFrame,
    parts: pl.DataFrame,
    changes: pl.DataFrame,
    effects: pl.DataFrame,
    sales: pl.DataFrame,
    period: Period,
    currency: str,
) -> tuple[Finding, ...]:
    """What prices did, what is missing, where the money goes."""
    return (
        *_missing(drinks, currency),
        *_price_changes(changes, effects, float(parts["cost"].sum()), currency),
        *_all_sales(sales, drinks, period, currency),
        *_shares(drinks, currency),
        *_dearest(parts, sales, currency),
    )


def _missing(drinks: pl.DataFrame, currency: str) -> list[Finding]:
    """Drinks whose cost is a floor."""
    return [
        Finding(
            sentence=costs_at_least(row["spec"], row["sold_at_least"] or row["cost_at_least"], currency)
            + f": no price for {listed(row['missing'].split('; '))}.",
            evidence=f"version {row['version']}; missing: a price, a density if it is sold by weight and poured, or a "
            "row of the spec",
            sureness="cannot tell",
            subject=row["spec"],
        )
        for row in drinks.filter(pl.col("missing") != "").iter_rows(named=True)
    ]


def _price_changes(changes: pl.DataFrame, effects: pl.DataFrame, total: float, currency: str) -> list[Finding]:
    """Each price change that matters: what it does to which serves."""
    found: list[Finding] = []
    in_all = effects.group_by("item").agg(pl.col("in_all").sum()).sort(pl.col("in_all").abs(), "item", descending=True)
    for item, weight in in_all.iter_rows():
        if not weight or abs(weight) < WORTH_SAYING * total:
            continue
        change = changes.filter(pl.col("item") == item).row(0, named=True)
        latest = effects.filter(pl.col("item") == item).sort("version").unique("spec", keep="last", maintain_order=True)
        most = latest.sort(pl.col("per_serve").abs(), "spec", descending=[True, False])
        serves = [f"{row['spec']} {row['per_serve']:+.2f}" for row in most.iter_rows(named=True)]
        word, since = "dearer" if weight > 0 else "cheaper", day_text(change["changed_on"])
        found.append(
            Finding(
                sentence=f"{item} is {percent(abs(change['change']), 1)} {word} since {since}: "
                f"{'adds' if weight > 0 else 'saves'} {money(abs(weight), currency)} on the serves sold since.",
                evidence=f"{currency} on a serve: {listed(serves, most=4)}.",
                act=weight >= WORTH_ACTING * total,
                weight=abs(weight),
                subject=item,
                money=abs(weight),
                do="look at the price of the drinks it goes into, or at another supplier" if weight > 0 else "",
            )
        )
    return found[:MOST]


def _all_sales(sales: pl.DataFrame, drinks: pl.DataFrame, period: Period, currency: str) -> list[Finding]:
    """The theoretical cost of everything sold."""
    if sales.is_empty():
        return [Finding(sentence="No drink with a spec was sold in this period.", evidence=period.label)]
    serves = round(float(drinks["serves"].fill_null(0).sum()))
    if serves <= 0:
        sentence = "No more was sold than was taken back, so there is nothing that it should have cost."
        return [Finding(sentence=sentence, evidence=period.label)]
    unpriced = _unpriced(sales)
    cost = float(sales["cost"].sum())
    if unpriced and not cost:
        sentence = f"What the sales should have cost by the specs is not known: no price for {listed(unpriced)}."
        return [Finding(sentence=sentence, evidence=period.label, sureness="cannot tell")]
    total = money(cost, currency)
    return [
        Finding(
            sentence=f"By the specs, what was sold should have cost {'at least ' if unpriced else ''}{total}"
            f"{_lacking(unpriced)}.",
            evidence=f"{counted(serves, 'serve')} of {counted(drinks.height, 'drink')} in {period.label}, at "
            "the prices of each day, nothing spilt or poured away",
            sureness="likely" if unpriced else "sure",
        )
    ]


def _unpriced(sales: pl.DataFrame) -> list[str]:
    """What went into serves sold on days on which it had no price."""
    return sales.filter(pl.col("unpriced_serves") != 0)["item"].unique().sort().to_list()


def _lacking(unpriced: list[str]) -> str:
    return f", with no price for {listed(unpriced)}" if unpriced else ""


def _shares(drinks: pl.DataFrame, currency: str) -> list[Finding]:
    """The serve that costs most of what it takes in, and the one that costs least of it."""
    known = drinks.drop_nulls("share").sort("share", "spec")
    if known.height < 2:
        return []
    low, high = known.row(0, named=True), known.row(-1, named=True)
    least, most = percent(low["share"], 1), percent(high["share"], 1)
    apart = (
        f"The dearest serve for what it takes in is {high['spec']} ({most}, {money(high['cost_sold'], currency)} of "
        f"{money(high['net_per_serve'], currency)} net), the cheapest {low['spec']} ({least})."
    )
    return [
        Finding(
            sentence=apart if least != most else f"Every serve costs the same share of what it takes in, {most}.",
            evidence=f"{counted(known.height, 'drink')} with sales and a whole cost, at the prices of each day; "
            "takings are net of tax and discounts, as the till has them",
            subject=high["spec"],
        )
    ]


def _dearest(parts: pl.DataFrame, sales: pl.DataFrame, currency: str) -> list[Finding]:
    """The ingredients that the money goes into, as far as they have prices."""
    top = parts.filter(pl.col("share").is_not_null()).head(3)
    if top.is_empty():
        return []
    said = [f"{row['item']} ({percent(row['share'])})" for row in top.iter_rows(named=True)]
    first, unpriced = top.row(0, named=True), _unpriced(sales)
    return [
        Finding(
            sentence=f"The money goes into {listed(said)}{_lacking(unpriced)}.",
            evidence=f"of the cost of all serves sold; a tenth more on {first['item']} "
            f"adds {money(first['dearer'], currency)}",
            sureness="likely" if unpriced else "sure",
        )
    ]
