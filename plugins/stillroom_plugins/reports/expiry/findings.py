"""What the expiry report has to say, in sentences."""

from __future__ import annotations

from collections import Counter
from datetime import date
from typing import Any, Final

import polars as pl

from stillroom.analysis.batches.against_loss import against_loss, sure_of_loss
from stillroom.analysis.batches.on_hand import LIKELY, NO_USE, SURE
from stillroom.analysis.batches.use_rate import Rates
from stillroom.analysis.batches.waste import LOST
from stillroom.objects import Finding, Period
from stillroom.words import amount, counted, day_text, listed, money, percent, short_day

SMALL_UNEXPLAINED: Final = 0.1
"""Of what was made: unexplained amounts below this are left to the table."""
MUCH_LEFT: Final = 0.25
"""Of a batch on hand: where it is not sure to be left over, less than this is told but not put first."""
WAYS: Final = {
    "poured_away": "poured away",
    "spoiled": "spoiled",
    "left_at_use_by": "past its use-by with nothing logged",
}


def total(summed: pl.DataFrame, period: Period, currency: str) -> Finding:
    """What was lost in all."""
    if summed.is_empty():
        return Finding(sentence=f"No batch was made in {period.label}.", evidence=_days(period))
    batches, with_loss = int(summed["batches"].sum()), int(summed["with_loss"].sum())
    evidence = f"{_days(period)}; {counted(batches, 'batch', 'batches')} of {counted(summed.height, 'preparation')}"
    unpriced = int(summed["unpriced"].sum())
    if unpriced:
        evidence += f"; {counted(unpriced, 'batch', 'batches')} with a loss but without a price are not in it"
    priced = summed["cost_lost"].drop_nulls()
    worth = f", worth {money(float(priced.sum()), currency)} at cost" if len(priced) else ""
    finished = int(summed["finished"].sum())
    if not finished:
        return Finding(sentence=f"No batch made in {period.label} is finished yet.", evidence=f"{evidence}.")
    sentence = f"{with_loss} of {counted(finished, 'finished batch', 'finished batches')}"
    return Finding(sentence=f"{sentence} lost something before it was used{worth}.", evidence=f"{evidence}.")


def preparations(
    summed: pl.DataFrame,
    fate: pl.DataFrame,
    rates: Rates,
    events: pl.DataFrame,
    allowed: float,
    currency: str,
    period: Period,
    *,
    sold: bool,
) -> list[Finding]:
    """Preparations that lose more than is allowed, each with what is used in time."""
    said = []
    for row in summed.iter_rows(named=True):
        if row["lost_share"] is not None and row["lost_share"] > allowed and row["with_loss"]:
            batches = fate.filter(
                pl.col("preparation") == row["preparation"], pl.col("made_on").is_between(period.first, period.last)
            )
            said.append(_preparation(row, batches, rates, events, allowed, currency, sold=sold))
        if row["made"] and abs(row["unexplained"]) > SMALL_UNEXPLAINED * row["made"]:
            said.append(_unexplained(row, currency))
    return said


def _preparation(
    row: dict[str, Any],
    batches: pl.DataFrame,
    rates: Rates,
    events: pl.DataFrame,
    allowed: float,
    currency: str,
    *,
    sold: bool,
) -> Finding:
    way = max(LOST, key=lambda name: float(row[name]))
    sureness = sure_of_loss(row, allowed, sold=sold)
    parts = [f"{amount(row[name], row['unit'])} {WAYS[name]}" for name in LOST if row[name] > 0]
    evidence = [
        f"{row['with_loss']} of {counted(row['finished'], 'finished batch', 'finished batches')} lost something",
        ", ".join(parts),
    ]
    reasons = _reasons(batches, events)
    if reasons:
        evidence.append(f"reasons logged: {reasons}")
    lost = f", {money(row['cost_lost'], currency)} at cost" if row["cost_lost"] is not None else ""
    verb = WAYS[way] if row[way] > 0.9 * row["lost"] else "lost"
    advice, do = against_loss(row, batches, rates, sold=sold)
    return Finding(
        sentence=f"{row['preparation']}: {percent(row['lost_share'])} of what is made is {verb}{lost}. {advice}",
        evidence="; ".join(evidence) + ".",
        sureness=sureness,
        act=sureness != "cannot tell",
        subject=row["preparation"],
        do=do,
        money=row["cost_lost"],
        why=f"{row['with_loss']} of {counted(row['finished'], 'finished batch', 'finished batches')} lost something: "
        f"{percent(row['lost_share'])} of what is made.",
        statistics=f"95 % interval of the share lost {percent(row['low'])} to {percent(row['high'])}."
        if row["low"] is not None
        else "Too few finished batches for an interval.",
        weight=float(row["cost_lost"] or 0.0),
    )


def _reasons(batches: pl.DataFrame, events: pl.DataFrame) -> str:
    lost = events.filter(
        pl.col("event").is_in(["poured away", "spoiled"]),
        pl.col("batch").is_in(batches["batch"].to_list()),
        pl.col("reason").is_not_null(),
    )
    counts = Counter(reason.casefold() for reason in lost["reason"])
    return listed(
        [f"{reason} ({n})" for reason, n in sorted(counts.items(), key=lambda one: (-one[1], one[0]))], most=3
    )


def _unexplained(row: dict[str, Any], currency: str) -> Finding:
    share, much = row["unexplained"] / row["made"], amount(abs(row["unexplained"]), row["unit"])
    if row["cost_unexplained"] is not None:
        much += f", {money(abs(row['cost_unexplained']), currency)} at cost,"
    if share > 0:
        sentence = f"{row['preparation']}: {much} ({percent(share)} of what was made) is gone without a sale or a log."
        why = "Over-pouring, a sale that is not matched, or a loss nobody logged"
    else:
        sentence = (
            f"{row['preparation']}: sales took {much} more than its batches held ({percent(-share)} of what was made)."
        )
        why = "A batch nobody logged, or a spec that says more than is poured"
    return Finding(
        sentence=sentence,
        evidence=f"{why}; {counted(row['batches'], 'batch', 'batches')}, {amount(row['made'], row['unit'])} made.",
        sureness="likely",
        subject=row["preparation"],
        money=abs(row["cost_unexplained"]) if row["cost_unexplained"] is not None else None,
    )


def on_hand(ahead: pl.DataFrame, last_day: date, currency: str, *, sold: bool) -> list[Finding]:
    """Batches on hand that will not be used in time by the forecast; `sold`: the till tells of sales of late."""
    said = []
    for row in ahead.filter(pl.col("verdict").is_in([SURE, LIKELY, NO_USE])).iter_rows(named=True):
        unit, until = row["unit"], f"{day_text(row['use_by'])}, {counted(row['days_left'], 'day')} away"
        worth = f", worth {money(row['cost_left'], currency)}" if row["cost_left"] is not None else ""
        held = f"{row['preparation']}, batch {row['batch']}"
        if row["verdict"] == NO_USE:
            sentence = f"{held}: nothing has used it lately; all {amount(row['on_hand'], unit)} will be left{worth}."
            evidence = f"Use by {until} from {day_text(last_day)}, the last day in the data."
        else:
            sentence = (
                f"{held}: about {amount(row['left'], unit)} of the {amount(row['on_hand'], unit)} on hand "
                f"{row['verdict']}{worth}."
            )
            evidence = (
                f"Use by {until} from {day_text(last_day)}, the last day in the data; "
                f"{amount(row['per_day'], unit)} used a day; "
                f"{amount(row['left_least'], unit)} to {amount(row['left_most'], unit)} left, 19 times in 20."
            )
        said.append(
            Finding(
                sentence=sentence,
                evidence=evidence,
                sureness="cannot tell" if not sold else "likely" if row["verdict"] == LIKELY else "sure",
                act=sold and (row["verdict"] != LIKELY or row["left"] > MUCH_LEFT * row["on_hand"]),
                subject=row["preparation"],
                do=f"find a use for {amount(row['left'], unit)} of batch {row['batch']} by {short_day(row['use_by'])}",
                money=row["cost_left"],
                weight=float(row["cost_left"] or 0.0),
            )
        )
    return said


def unlogged(fate: pl.DataFrame, period: Period) -> list[Finding]:
    """Batches past their use-by of which nobody logged what became of the rest."""
    left = fate.filter(pl.col("left_at_use_by") > 0, pl.col("made_on").is_between(period.first, period.last))
    if left.is_empty():
        return []
    names = left.group_by("preparation").agg(pl.len()).sort("len", "preparation", descending=[True, False])
    return [
        Finding(
            sentence=f"{counted(left.height, 'batch', 'batches')} past use-by with something left and nothing logged: "
            f"{listed([f'{name} ({n})' for name, n in names.rows()], 4)}.",
            evidence="Taken as lost. Check that none is still in use, pour it away, and log it.",
            sureness="likely",
        )
    ]


def cannot_be(events: pl.DataFrame, fate: pl.DataFrame, period: Period) -> list[Finding]:
    """Amounts in the batch book that cannot be, each with what was made of it."""
    wrong = events.filter(pl.col("problem").is_not_null()).join(
        fate.filter(pl.col("made_on").is_between(period.first, period.last)).select("batch", "made"), on="batch"
    )
    return [_cannot_be(row) for row in wrong.sort("happened_on", "batch", "row_number").iter_rows(named=True)]


def _cannot_be(row: dict[str, Any]) -> Finding:
    recorded = amount(row["recorded"], row["recorded_unit"])
    made = f" of {amount(row['made'], row['unit'])} made" if row["made"] is not None else ""
    taken = "all that was left" if row["takes_all"] else "not said"
    return Finding(
        sentence=f"{row['preparation']}, batch {row['batch']}: {recorded} {row['event']}{made} cannot be.",
        evidence=f"{day_text(row['happened_on'])}: {row['problem']}. Taken as {taken} until it is corrected.",
        subject=row["preparation"],
    )


def _days(period: Period) -> str:
    return f"Made {day_text(period.first)} to {day_text(period.last)}"
