"""What the demand report has to say, in sentences."""

from __future__ import annotations

from typing import Final

import numpy as np

from stillroom.analysis.demand.ahead import HIGH, LOW, DemandAhead
from stillroom.analysis.demand.backtest import POOLED
from stillroom.analysis.demand.departed import LATELY, Departure, departures
from stillroom.analysis.demand.levels import WEEK
from stillroom.objects import Finding, Sureness
from stillroom.words import counted, day_text, number, percent

NEAR: Final = 0.06
"""How far the coverage may lie from what it should be without a warning."""
NEEDS_NEAR: Final = 0.1
"""The same for the needs of preparations, which are few."""
WORTH_TELLING: Final = 0.01
"""A smaller gain over the simple ways is none."""


def findings(one: DemandAhead, covered: tuple[int, int], several: bool) -> list[Finding]:
    """All findings of one venue."""
    where = f" at {one.venue}" if several else ""
    left = departures(one.replay)
    return [_coming(one, where), *(_left(each, where) for each in left), _trusted(one, covered, bool(left), where)]


def _coming(one: DemandAhead, where: str) -> Finding:
    totals = one.draws[:, :WEEK].sum(axis=(1, 2))
    low, high = np.quantile(totals, [LOW, HIGH])
    days = one.made.ahead.days[:WEEK]
    is_open = sum(bool(row.any()) for row in one.made.ahead.on_menu[:WEEK])
    drinks = int(one.made.ahead.on_menu.any(axis=0).sum())
    events = sorted({event for event in one.made.ahead.events[:WEEK] if event})
    assumed = "; how much days vary is assumed, the history is too short to measure it" if one.made.assumed else ""
    return Finding(
        sentence=f"About {counted(round(totals.mean()), 'serve')}{where} in the {counted(len(days), 'day')} from "
        f"{day_text(days[0])} "
        f"(8 times in 10 between {number(low)} and {number(high)}).",
        evidence=f"{counted(one.history.days, 'day')} from the first sale to the last, "
        f"{counted(drinks, 'drink')} on the menu, {counted(is_open, 'open day')} ahead, way: {one.way}"
        f"{'; events: ' + ', '.join(events) if events else ''}{assumed}.",
        sureness="cannot tell" if one.made.assumed else "likely",
    )


def _left(one: Departure, where: str) -> Finding:
    more, low = ("more", "low") if one.more else ("less", "high")
    return Finding(
        sentence=f"{one.drink} has left its forecast{where}: {number(one.served)} serves in the last {LATELY} days, "
        f"where about {number(one.expected)} were expected. The forecast follows, and may still be too {low}.",
        evidence=f"Before these days, between {number(one.low)} and {number(one.high)} were expected of it.",
        statistics="Outside the predictive distribution of the sum, two-sided; adjusted for the number of drinks "
        "(Holm, 5 %).",
        act=True,
        subject=one.drink,
        do=f"make for {more} of it than before, and look at it again in a week",
        why=f"It sold {number(one.served)} in {LATELY} days, not {number(one.expected)}.",
    )


def _trusted(one: DemandAhead, covered: tuple[int, int], left: bool, where: str) -> Finding:
    if one.tested is None:
        return Finding(
            sentence=f"How far these forecasts{where} can be trusted: cannot tell yet.",
            evidence=f"{counted(one.history.days, 'day')} of sales; the test needs four weeks.",
            sureness="cannot tell",
        )
    scores = {row["way"]: row for row in one.tested.scores.iter_rows(named=True)}
    used = scores[one.tested.best]
    others = [row for way, row in scores.items() if way != one.tested.best]
    beside = ", ".join(f"{row['way']} {number(row['loss'], 3)}" for row in others)
    statistics = f"Pinball loss {number(used['loss'], 3)} serves; {beside}."
    evidence = f"{counted(used['forecasts'], 'forecast')} in {counted(used['weeks'], 'week')}."
    if covered[1]:
        evidence += (
            f" Of the week's need of preparations {percent(covered[0] / covered[1])} lay inside their 80 % interval."
        )
    held = f"its ranges held {percent(used['coverage'])} of what came ({percent(used['due'])} would be right)"
    if one.tested.best != POOLED:
        sentence = f"The model does not beat '{one.tested.best}'{where}, so that is used: {held}."
        return Finding(sentence=sentence, evidence=evidence, statistics=statistics, sureness="likely")
    best = min(row["loss"] for row in others)
    gain = 1 - used["loss"] / best if best > 0 else 0.0
    if gain >= WORTH_TELLING:
        sentence = (
            f"Tested on past weeks{where}, the forecast beats the simple ways by at least {percent(gain)}; {held}."
        )
    else:
        sentence = f"Tested on past weeks{where}, the forecast is as good as the simple ways; {held}."
    near = abs(used["coverage"] - used["due"]) <= NEAR and gain > 0 and _held(covered)
    sure: Sureness = "sure" if near and not left else "likely"
    return Finding(sentence=sentence, evidence=evidence, statistics=statistics, sureness=sure)


def _held(covered: tuple[int, int]) -> bool:
    """Whether the needs of preparations lay inside their 80 % interval about as often as they should."""
    inside, total = covered
    return total == 0 or inside / total >= HIGH - LOW - NEEDS_NEAR
