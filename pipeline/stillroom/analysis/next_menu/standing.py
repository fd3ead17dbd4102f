"""Keep, rework or drop: the case of every drink and preparation in one line, with what would change the answer.

A drink is worth keeping for what would be lost without it: what its serves leave over, less what its guests would leave
over ordering another of the house's drinks, less what the preparations lose that only it takes. With n serves a season
of contribution c, a share r of guests who would stay, the other drinks' mean contribution m, and waste w:

    value = n (c - r m) - w,    nothing lost by dropping it where r >= (c - w / n) / m.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

import polars as pl

from stillroom.analysis.menu.going import in_words
from stillroom.analysis.next_menu.assumption import Assumption
from stillroom.analysis.next_menu.menu_week import SEASON_WEEKS
from stillroom.objects import Decision, Sureness
from stillroom.words import counted, listed, money, number, percent

LEAST_SURE: Final = 0.25
"""A value nearer to nothing than this part of its range is called neither way."""


@dataclass(frozen=True, kw_only=True)
class Standing:
    """One row of the table that a review meeting ends with."""

    subject: str
    kind: str
    case: str
    """What speaks for and against it, in one line."""
    decision: Decision
    """Proposed."""
    a_season: float | None
    """Money that the proposal keeps or brings over a season, house currency; None where that cannot be said."""
    low: float | None
    high: float | None
    sureness: Sureness
    would_change: str
    """What would change the answer."""


@dataclass(frozen=True, kw_only=True)
class Season:
    """What every row is held against."""

    weeks: float
    """That the period has run."""
    share: Assumption
    """Part of a drink's guests who would order another."""
    currency: str
    asks: Mapping[str, Mapping[str, Any]]
    """Subject -> its row of the shortlist of what to rework."""


def drink_standing(row: Mapping[str, Any], others: float | None, waste: float, season: Season) -> Standing:
    """A drink's row.

    Args:
        row: of `SeasonFigures.drinks`.
        others: mean contribution of a serve of the other drinks; None where it is not known.
        waste: money that the preparations lost over the period that only it takes.
    """
    if row["serves"] <= 0:
        nothing = "nothing sold" if row["serves"] == 0 else "more taken back than sold"
        return Standing(
            subject=row["spec"], kind="drink", case=nothing, decision="keep", a_season=None, low=None, high=None,
            sureness="cannot tell",
            would_change="a till name that stands for it, if it sells under another",
        )  # fmt: skip
    serves = row["serves"] / season.weeks
    going = in_words(row)
    said = f"{number(serves)} serves a week over {counted(round(season.weeks), 'week')}{', ' + going if going else ''}"
    asked = season.asks.get(row["spec"])
    if row["contribution"] is None or others is None:
        return Standing(
            subject=row["spec"], kind="drink", case=f"{said}; what it leaves over is not known", decision="keep",
            a_season=None, low=None, high=None, sureness="cannot tell",
            would_change=f"a price for {row['missing']}" if row["missing"] else "its cost",
        )  # fmt: skip
    case = f"{said}, {money(row['contribution'], season.currency)} contribution each"
    case += f", the others {money(others, season.currency)}"
    count, lost = SEASON_WEEKS * serves, waste * SEASON_WEEKS / season.weeks
    middle = float(season.share.quantile(0.5))
    value = count * (row["contribution"] - middle * others) - lost
    low = count * (row["contribution_low"] - season.share.high * others) - lost
    high = count * (row["contribution_high"] - season.share.low * others) - lost
    even = (row["contribution"] - lost / count) / others if others > 0 else 1.0
    sureness = _sure(value, low, high)
    if value < 0:
        return Standing(
            subject=row["spec"], kind="drink", case=_with_waste(case, lost, season), decision="drop",
            a_season=-value, low=-high, high=-low, sureness=sureness,
            would_change=f"fewer than {number(10 * max(even, 0.0), 1)} of 10 of its guests ordering another",
        )  # fmt: skip
    if asked and asked["sureness"] != "cannot tell":
        return _rework(row["spec"], "drink", case, asked, season)
    return Standing(
        subject=row["spec"], kind="drink", case=_with_waste(case, lost, season), decision="keep",
        a_season=value, low=low, high=high, sureness=sureness, would_change=_break_even(row, others, even, season),
    )  # fmt: skip


def _break_even(row: Mapping[str, Any], others: float, even: float, season: Season) -> str:
    if even < 1:
        return f"more than {number(10 * even, 1)} of 10 of its guests ordering another"
    fall = row["contribution"] - float(season.share.quantile(0.5)) * others
    return f"{money(fall, season.currency)} less left over a serve"


def _with_waste(case: str, lost: float, season: Season) -> str:
    return f"{case}; its own preparations lose {money(lost, season.currency)} a season" if lost >= 1 else case


def _sure(value: float, low: float, high: float) -> Sureness:
    if low > 0 or high < 0:
        return "sure"
    return "likely" if abs(value) >= LEAST_SURE * (high - low) / 2 else "cannot tell"


def _rework(subject: str, kind: str, case: str, asked: Mapping[str, Any], season: Season) -> Standing:
    at_stake = None if asked["money"] is None else asked["money"] * SEASON_WEEKS / season.weeks
    return Standing(
        subject=subject, kind=kind, case=f"{case}; asks for: {asked['do']}", decision="rework", a_season=at_stake,
        low=None, high=None, sureness=asked["sureness"], would_change="once that is done, keep it",
    )  # fmt: skip


def preparation_standing(
    name: str, kind: str, lost: Mapping[str, Any] | None, worth: Mapping[str, float | None], season: Season
) -> Standing:
    """The row of a preparation or garnish.

    Args:
        lost: its row of `fate_by_preparation`; None where none was made.
        worth: drink in service that takes it -> what it left over in the period; None where it sold nothing.
    """
    share = None if lost is None else lost["lost_share"]
    money_lost = 0.0 if lost is None else float(lost["cost_lost"] or 0.0)
    wasted = "none made" if lost is None else "none of it finished yet" if share is None else f"{percent(share)} lost"
    if money_lost >= 1:
        wasted += f", {money(money_lost * SEASON_WEEKS / season.weeks, season.currency)} a season"
    if not worth:
        return Standing(
            subject=name, kind=kind, case=f"no drink on the menu takes it; {wasted}", decision="drop",
            a_season=money_lost * SEASON_WEEKS / season.weeks, low=None, high=None, sureness="sure",
            would_change="a drink that takes it",
        )  # fmt: skip
    case = f"{wasted}; goes into {listed(sorted(worth), 3)}"
    left = [one for one in worth.values() if one is not None]
    if not left:
        case += ", which sold nothing" if len(worth) == 1 else ", none of which sold"
    asked = season.asks.get(name)
    if asked and asked["sureness"] != "cannot tell":
        return _rework(name, kind, case, asked, season)
    return Standing(
        subject=name, kind=kind, case=case, decision="keep",
        a_season=sum(left) * SEASON_WEEKS / season.weeks if left else None,
        low=None, high=None, sureness="cannot tell" if share is None or not left else "sure",
        would_change=f"{listed(sorted(worth), 3)} going" if len(worth) <= 3 else "most of these drinks going",
    )  # fmt: skip


def mean_of_others(drinks: pl.DataFrame, name: str) -> float | None:
    """Mean contribution of a serve of all drinks but one, weighted by serves; None where none is known."""
    known = drinks.filter(pl.col("spec") != name, pl.col("contribution").is_not_null(), pl.col("serves") > 0)
    if known.is_empty():
        return None
    return float((known["contribution"] * known["serves"]).sum()) / float(known["serves"].sum())
