"""What the season report has to say, in sentences."""

from __future__ import annotations

from typing import Any

import polars as pl

from stillroom.analysis.menu.going import FEWER, MORE, NO_TREND, in_words, venues_in_words
from stillroom.analysis.menu.season import SeasonFigures, off_the_menu
from stillroom.objects import Finding, Period
from stillroom.words import costs_at_least, counted, day_text, listed, money, number, percent

ADVICE = {
    "sells well, earns little": "Look at its price or at the cost of its build",
    "sells near the mark, earns little": "Look at its price or at the cost of its build",
    "sells little, earns well": "Worth telling guests about, or a better place on the menu",
    "sells little, earns near the mark": "Worth telling guests about, or giving its place away",
    "sells little, earns little": "Rework it, re-price it or give its place away",
}
NEITHER = "sells near the mark, earns near the mark"
SMALL_SHARE = 0.005
"""What is at stake below this share of the till's money, or of the contribution, is told but not put first."""


def findings(
    figures: SeasonFigures, till: pl.DataFrame, unmatched: pl.DataFrame, period: Period, currency: str
) -> tuple[Finding, ...]:
    """All findings; the page puts those to act on first."""
    said = _unmatched(till, unmatched, currency)
    if figures.open_days == 0:
        return (Finding(sentence=f"No sales of any drink in {period.label}.", evidence=_days(period)), *said)
    drinks = list(figures.drinks.with_columns(off_the_menu(period.last).alias("off")).iter_rows(named=True))
    said += [_total(figures, period, currency), _house_trend(figures)]
    said += [found for row in drinks if (found := _place(row, figures, currency))]
    said += _near(drinks) + _sold_nothing(drinks)
    said += [_trend(row, currency) for row in drinks if row["going"] in (*MORE, *FEWER)]
    said += _cannot_tell(drinks) + _without_cost(drinks, currency)
    return tuple(said)


def _days(period: Period) -> str:
    return f"{day_text(period.first)} to {day_text(period.last)}"


def _total(figures: SeasonFigures, period: Period, currency: str) -> Finding:
    drinks = figures.drinks
    serves, net = float(drinks["serves"].sum()), float(drinks["net_amount"].sum())
    known = drinks.filter(pl.col("total_contribution").is_not_null())
    sentence = (
        f"{counted(round(serves), 'serve')} for {money(net, currency)} net in {counted(figures.open_days, 'open day')}"
    )
    evidence = f"{_days(period)}, {counted(drinks.height, 'drink')} on the menu"
    if known.height and serves:
        ranked = known.sort("total_contribution", descending=True)
        top, bottom = ranked.row(0, named=True), ranked.row(-1, named=True)
        left = money(float(known["total_contribution"].sum()), currency)
        unknown = drinks.filter(pl.col("total_contribution").is_null() & (pl.col("serves") > 0)).height
        whose = f"the {counted(known.height, 'drink')} whose cost is known" if unknown else "the drinks"
        sentence += f"; {whose} left {left} over, {top['spec']} the most"
        sentence += f", {bottom['spec']} the least" if known.height > 1 else ""
        costed = percent(float((known["serves"] * known["costed_share"]).sum()) / serves)
        evidence += (
            f"; contribution known for {costed} of the serves; "
            f"{top['spec']} left {money(top['total_contribution'], currency)}, "
            f"{bottom['spec']} {money(bottom['total_contribution'], currency)}"
        )
    part = drinks.filter("part_season")["spec"].to_list()
    if part:
        evidence += f"; {listed(part)} on the menu for part of it, compared on its own days"
    return Finding(sentence=f"{sentence}.", evidence=f"{evidence}.")


def _house_trend(figures: SeasonFigures) -> Finding:
    house, trend = figures.house, figures.house.trend
    if trend.change is None or trend.low is None or trend.high is None:
        return Finding(
            sentence="Whether the house as a whole sells more or less from week to week: cannot tell yet.",
            evidence=f"{trend.why_not}.".capitalize(),
            sureness="cannot tell",
        )
    weeks = f"{counted(trend.weeks, 'week')}, weekdays and short weeks allowed for."
    slope = f"Between {_change(trend.low)} and {_change(trend.high)} a week; {weeks}"
    if house.going == NO_TREND:
        sentence = "The house as a whole shows no clear trend from week to week."
        return Finding(sentence=sentence, evidence=slope, sureness="likely")
    whose = venues_in_words(house, figures.venues)
    whose = f": {whose}" if whose else ""
    if trend.step is not None:
        step = trend.step
        sentence = (
            f"The house as a whole sells {percent(abs(step.ratio - 1))} {'more' if step.ratio > 1 else 'fewer'} drinks "
            f"a day since {house.step_week:%-d %b}{whose}."
        )
        evidence = f"Between {_change(step.low - 1)} and {_change(step.high - 1)}; {weeks}"
        return Finding(sentence=sentence, evidence=evidence)
    way = "more" if trend.change > 0 else "fewer"
    sentence = f"The house as a whole sells {percent(abs(trend.change), 1)} {way} drinks each week{whose}."
    return Finding(sentence=sentence, evidence=slope)


def _change(share: float) -> str:
    return f"{'+' if share > 0 else '−' if share < 0 else ''}{percent(abs(share), 1)}"


def _place(row: dict[str, Any], figures: SeasonFigures, currency: str) -> Finding | None:
    """Where a drink stands among the others, if that asks for something (its contribution is then known)."""
    if row["does"] not in ADVICE or row["daily_share"] is None:
        return None
    average = figures.average_contribution or 0.0
    at_stake, gained = _at_stake(row, average)
    worth = SMALL_SHARE * average * float(figures.drinks["sold"].sum())
    advice = _advice(row)
    sure = row["costed_share"] == 1  # what is said of either axis is clear: 'near the mark' claims nothing
    return Finding(
        sentence=f"{row['spec']} {row['does'].replace(', ', ' and ')}: "
        f"{number(row['serves_per_day'], 1)} serves a day, "
        f"{money(row['contribution'], currency)} contribution a serve. {advice}.",
        evidence=f"{percent(row['daily_share'], 1)} of the serves on its days ({percent(row['share_low'], 1)} to "
        f"{percent(row['share_high'], 1)}), the mark is {percent(row['share_mark'], 1)}; "
        f"{_contribution(row, currency)}, the average is {money(average, currency)}; "
        f"{number(row['serves'])} serves in {counted(round(row['days']), 'day')} on the menu.",
        statistics="Jeffreys' interval for the share, with overdispersion; contribution by day-to-day takings and the "
        "range of cost; 95 %. Within 5 % of a mark is near it.",
        sureness="sure" if sure and not _may_fall(row) else "likely",
        act=not row["off"] and at_stake > worth,
        subject=row["spec"],
        do="" if row["off"] else f"{advice[0].lower()}{advice[1:]}",
        money=at_stake,
        why=f"Sells {number(row['serves_per_day'], 1)} a day; a serve leaves {money(row['contribution'], currency)}, "
        f"the average {money(average, currency)}."
        + (f" {_reach(row)}: it may be falling." if _may_fall(row) else "")
        + (f" {gained.format(money(row['contribution'] - average, currency))}" if gained and at_stake else ""),
        weight=at_stake,
    )


def _contribution(row: dict[str, Any], currency: str) -> str:
    """Of a serve, with its ends where they differ in print."""
    said = f"{money(row['contribution'], currency)} contribution a serve"
    low, high = money(row["contribution_low"], currency), money(row["contribution_high"], currency)
    return said if low == high else f"{said} ({low} to {high})"


def _advice(row: dict[str, Any]) -> str:
    """What to do with a drink in its place; one that falls is looked into before anything is built on what it sold."""
    if row["off"]:
        return f"It left the menu after {day_text(row['last_day'])}"
    if row["going"] in FEWER or _may_fall(row):
        return "Find out first why it sells less than it did"
    return ADVICE[row["does"]]


def _may_fall(row: dict[str, Any]) -> bool:
    """Its own weeks say that it sells less each week, though among so many drinks that may be chance."""
    return row["going"] not in FEWER and row["high"] is not None and row["high"] < 0


def _near(drinks: list[dict[str, Any]]) -> list[Finding]:
    """Drinks of which neither axis can be told."""
    names = [row["spec"] for row in drinks if row["does"] == NEITHER and row["serves"] > 0]
    if not names:
        return []
    return [
        Finding(
            sentence=f"Near the mark both in what it sells and in what it earns: {listed(names)}.",
            evidence="Chance, or a slip of the pour, could put it on either side; no place is given.",
            sureness="cannot tell",
            subject=names[0] if len(names) == 1 else "",
        )
    ]


def _sold_nothing(drinks: list[dict[str, Any]]) -> list[Finding]:
    """Drinks that are on the menu by the spec book, of which the till knows nothing."""
    return [
        Finding(
            sentence=f"{row['spec']} is on the menu and sold nothing.",
            evidence="On the menu by the spec book; "
            f"{'no till line is matched to it' if row['serves'] == 0 else 'more was taken back than sold'}.",
            act=bool(row["mark_clear"]),
            subject=row["spec"],
            do="match the name that the till has for it, or give its place away",
        )
        for row in drinks
        if row["sold"] == 0 and not row["off"]
    ]


def _at_stake(row: dict[str, Any], average: float) -> tuple[float, str]:
    """Money in the period, and what it is.

    A place on the menu brings no guest: serves that a drink gains, others lose. So to sell as much as the mark is worth
    what these serves leave above the average; a drink that leaves less is short of what its own serves leave below it.
    """
    more = row["contribution"] - average
    if more > 0 and row["mark_clear"] and row["daily_share"]:
        moved = row["sold"] * max(0.0, row["share_mark"] / row["daily_share"] - 1)
        return (
            moved * more,
            f"{number(moved)} serves, taken from others, would sell it at the mark: each leaves {{}} more.",
        )
    return (max(0.0, -more * row["sold"]) if row["earns_clear"] else 0.0), ""


def _trend(row: dict[str, Any], currency: str) -> Finding:
    fewer = row["going"] in FEWER
    stepped = row["step_week"] is not None
    change = row["step_ratio"] - 1 if stepped else row["change"]
    do = f"find out what changed in the week of {row['step_week']:%-d %b}" if stepped else "find out why it falls"
    asks = fewer and not row["off"] and not row["with_house"]
    return Finding(
        sentence=_stepped(row) if stepped else f"{row['spec']} is {in_words(row)}.",
        evidence=f"{_reach(row)}; {number(row['serves'])} serves in {counted(round(row['days']), 'day')} on the menu; "
        f"sales {money(row['net_amount'], currency)}.",
        statistics="Level, slope and steps compared by penalised likelihood, 95 % interval by quasi-Poisson fit; told "
        "where a permutation test, adjusted for the number of drinks (Holm), is below 5 %.",
        act=asks,
        subject=row["spec"],
        do=do if asks else "",
        money=abs(change * row["net_amount"]),
        weight=abs(change * row["net_amount"]),
    )


def _stepped(row: dict[str, Any]) -> str:
    why = ", when its version or its price changed" if row["step_known"] else ""
    return f"{row['spec']} sells {in_words(row)}{why}."


def _reach(row: dict[str, Any]) -> str:
    """What the change may be, with 95 % confidence."""
    if row["step_week"] is not None:
        ends = f"Between {_change(row['step_low'] - 1)} and {_change(row['step_high'] - 1)}"
    else:
        ends = f"Between {_change(row['low'])} and {_change(row['high'])} a week"
    return f"{ends}, with whatever the whole house did"


def _cannot_tell(drinks: list[dict[str, Any]]) -> list[Finding]:
    rows = [row for row in drinks if row["going"] == "cannot tell" and row["sold"] > 0]
    if not rows:
        return []
    way = "rises or falls" if len(rows) == 1 else "rise or fall"
    return [
        Finding(
            sentence=f"Whether {listed([row['spec'] for row in rows])} {way}: cannot tell yet.",
            evidence="; ".join(f"{row['spec']}: {row['why_not']}" for row in rows[:6]) + ".",
            sureness="cannot tell",
        )
    ]


def _without_cost(drinks: list[dict[str, Any]], currency: str) -> list[Finding]:
    said = _partly_priced([row for row in drinks if row["missing"] is not None and row["contribution"] is not None])
    for row in drinks:
        if row["missing"] is None or row["contribution"] is not None:
            continue
        sentence = costs_at_least(row["spec"], row["cost_at_least"], currency)
        said.append(
            Finding(
                sentence=f"{sentence}: no price for {listed(row['missing'].split('; '))}.",
                evidence="Its contribution is left out until its cost is whole.",
                sureness="cannot tell",
                subject=row["spec"],
            )
        )
    unknown = [
        row["spec"] for row in drinks if row["missing"] is None and row["contribution"] is None and row["serves"]
    ]
    if unknown:
        said.append(
            Finding(
                sentence=f"No cost, so no contribution, for {listed(unknown)}.",
                evidence="On most of its days no version was in service, or its version has no lines.",
                sureness="cannot tell",
            )
        )
    return said


def _partly_priced(drinks: list[dict[str, Any]]) -> list[Finding]:
    """Drinks with a price on most days and none on some, all in one sentence: one price list began too late."""
    if not drinks:
        return []
    missing = sorted({item for row in drinks for item in row["missing"].split("; ")})
    shares = [f"{percent(row['costed_share'])} of {row['spec']}" for row in drinks]
    return [
        Finding(
            sentence=f"Part of the period has no price for {listed(missing)}: cost and contribution of "
            f"{listed([row['spec'] for row in drinks])} are those of the serves that have one.",
            evidence=f"{listed(shares)} {'has' if len(shares) == 1 else 'have'} a price; the other serves are taken to "
            "leave as much over, which they may not.",
            sureness="likely",
        )
    ]


def _unmatched(till: pl.DataFrame, unmatched: pl.DataFrame, currency: str) -> list[Finding]:
    if unmatched.is_empty():
        return []
    row = till.filter(pl.col("what") == "matched to nothing yet").row(0, named=True)
    names = unmatched.group_by("till_item").agg(pl.col("net_amount").sum()).sort("net_amount", descending=True)
    share = row["share"]
    said = f" ({percent(share, 1)} of the till)" if share is not None else ""
    return [
        Finding(
            sentence=f"{counted(names.height, 'till item')} worth {money(row['net_amount'], currency)}{said} "
            f"match{'es' if names.height == 1 else ''} no drink: {listed(names['till_item'].to_list(), 3)}. "
            "'stillroom match' asks what they are.",
            evidence=f"{counted(round(row['lines']), 'till line')}, all days; they are in the till total, in no drink.",
            weight=abs(row["net_amount"]),
        )
    ]
