"""Gathers what the other questions' figures say of each drink and preparation, as evidence for the shortlist."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any, Final

import polars as pl

from stillroom.analysis.batches.against_loss import against_loss, sure_of_loss
from stillroom.analysis.batches.keeping import batch_lives
from stillroom.analysis.batches.kept import kept_by_preparation, kept_now
from stillroom.analysis.batches.use_rate import Rates
from stillroom.analysis.menu.going import FEWER, in_words
from stillroom.analysis.menu.rework import Evidence
from stillroom.analysis.menu.season import SeasonFigures, off_the_menu
from stillroom.objects import Sureness
from stillroom.words import counted, money, number, percent

SMALL_SHARE: Final = 0.005
"""Of the house's contribution: a margin that leaves less than this on the table asks for nothing."""


def of_drinks(figures: SeasonFigures, last: date, currency: str) -> Iterator[Evidence]:
    """Sales and margin of every drink that sold and is on the menu still."""
    average = figures.average_contribution
    whole = float(figures.drinks["total_contribution"].sum())
    for row in figures.drinks.filter(pl.col("serves") > 0, ~off_the_menu(last)).iter_rows(named=True):
        yield _sales(row)
        if row["contribution"] is None or average is None:
            missing = f"no price for {row['missing']}" if row["missing"] else "cost not known"
            yield Evidence(subject=row["spec"], field="margin", figure=missing, sureness="cannot tell")
            continue
        short = max(0.0, average - row["contribution"]) * row["serves"]
        asks = row["earns_clear"] and not row["earns_well"] and short > SMALL_SHARE * whole
        yield Evidence(
            subject=row["spec"],
            field="margin",
            figure=f"{money(row['contribution'], currency)} contribution a serve, average {money(average, currency)}",
            sureness="cannot tell" if not row["earns_clear"] else "sure" if row["costed_share"] == 1 else "likely",
            do="a cheaper build or another price" if asks else "",
            money=short if asks else None,
        )


def _sales(row: dict[str, Any]) -> Evidence:
    figure = f"{number(row['serves_per_day'], 1)} serves a day"
    goes = in_words(row)
    figure += f", {goes}" if goes else ""
    falling = row["going"] in FEWER and not row["with_house"]
    little = row["does"] == "sells little, earns little"
    sure: Sureness = "sure" if falling or row["mark_clear"] else "cannot tell"
    do = "find out why it falls" if falling else "rework it or give its place away" if little else ""
    change = row["change"] if row["step_week"] is None else row["step_ratio"] - 1
    at_stake = abs(change) * row["net_amount"] if falling else None
    return Evidence(subject=row["spec"], field="sales", figure=figure, sureness=sure, do=do, money=at_stake)


def of_waste(
    summed: pl.DataFrame, batches: pl.DataFrame, rates: Rates, allowed: float, currency: str, *, sold: bool
) -> Iterator[Evidence]:
    """Share lost of every preparation made in the period.

    Args:
        summed: of the period, as `fate_by_preparation` gives it.
        batches: made in the period: preparation, venue.
        rates: as `rates_of_use` gives them.
        allowed: share that may be lost.
        currency: of the house.
        sold: whether anything was, as `any_sold` tells.
    """
    for row in summed.filter(pl.col("lost_share").is_not_null()).iter_rows(named=True):
        asks = row["lost_share"] > allowed and row["with_loss"] > 0
        cost = f", {money(row['cost_lost'], currency)}" if row["cost_lost"] else ""
        own = batches.filter(preparation=row["preparation"])
        yield Evidence(
            subject=row["preparation"],
            field="waste",
            figure=f"{percent(row['lost_share'])} lost{cost}",
            sureness=sure_of_loss(row, allowed, sold=sold) if asks else "sure",
            do=against_loss(row, own, rates, sold=sold)[1] if asks else "",
            money=row["cost_lost"] if asks else None,
        )


def of_keeping(fate: pl.DataFrame) -> Iterator[Evidence]:
    """Batches that spoiled before their use-by, of the version and storage that is made now."""
    kept = kept_by_preparation(batch_lives(fate))
    for name in dict.fromkeys(one.preparation for one in kept):
        one = kept_now(kept, name)
        if one is not None:
            asks = one.gone_by is not None and one.label_days is not None and (one.keep_days or 0) < one.label_days
            yield Evidence(
                subject=name,
                field="keeping",
                figure=f"{one.spoiled} of {counted(one.batches, 'batch', 'batches')} spoiled early",
                sureness="sure" if not asks or one.label_too_long else "likely",
                do="a shorter label, or a spec that keeps" if asks else "",
            )


def of_panel(differences: pl.DataFrame, serving: Mapping[str, int]) -> Iterator[Evidence]:
    """Liking of the version in service beside each other version that a panel compared it with.

    Args:
        differences: of liking, newer minus older, with the version in service: spec, version, against, difference, low,
            high, verdict, sureness, panelists.
    """
    for row in differences.iter_rows(named=True):
        in_service = serving[row["spec"]]
        newer_serves = row["version"] == in_service
        other = row["against"] if newer_serves else row["version"]
        gain = -row["difference"] if newer_serves else row["difference"]
        verdict = row["verdict"]
        other_better = verdict == ("worse" if newer_serves else "better")
        clear = verdict in ("better", "worse")
        apart = f"{number(abs(gain), 1)} points {'more' if gain > 0 else 'less'}"
        yield Evidence(
            subject=row["spec"],
            field="panel",
            figure=f"version {other} liked {apart} than version {in_service} in service"
            if clear
            else f"version {other} beside version {in_service} in service: cannot tell",
            sureness=row["sureness"] if clear else "cannot tell",
            do=f"put version {other} into service" if other_better else "",
        )
