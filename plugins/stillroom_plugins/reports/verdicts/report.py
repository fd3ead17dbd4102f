"""Report: keep, rework or drop: the table that a review meeting ends with, and what became of the last verdicts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import asdict, replace
from typing import TYPE_CHECKING, Any, Final

import polars as pl

from stillroom.analysis.next_menu.assumption import Assumption, pooled
from stillroom.analysis.next_menu.became import became
from stillroom.analysis.next_menu.standing import (
    Season,
    Standing,
    drink_standing,
    mean_of_others,
    preparation_standing,
)
from stillroom.house.report_settings import DemandSettings, MenuSettings
from stillroom.names import name_key
from stillroom.objects import Column, Finding, ReportInputs, ReportResult, ReportTable
from stillroom.words import counted, day_text, listed, number

if TYPE_CHECKING:
    from datetime import date

    from stillroom.analysis.menu.season import SeasonFigures

ORDER: Final = ("drop", "rework", "keep")
NOTES: Final = (
    "Money a season: of a drink that is kept, what would be lost over 13 weeks without it, as a part of its guests "
    "order another of ours ([menu] return_share); of one that is dropped, what is saved; of one to rework, what is at "
    "stake; of a preparation that is kept, what the drinks that take it leave over.",
    "Proposals, not verdicts: 'stillroom verdict NAME keep|rework|drop --by WHO --why TEXT' writes what is decided.",
)


def build(inputs: ReportInputs) -> ReportResult:
    """The table of all drinks and preparations, with the last verdict on each."""
    standings = sorted(_standings(inputs), key=_place)
    if not standings:
        return ReportResult(notes=("Nothing is on the menu in this period.",))
    counts = Counter(one.decision for one in standings)
    by = {decision: [one.subject for one in standings if one.decision == decision] for decision in ORDER}
    named = [f"{decision} {listed(by[decision])}" for decision in ORDER[:2] if by[decision]]
    unsure = sum(one.sureness == "cannot tell" for one in standings)
    finding = Finding(
        sentence=f"Proposed: keep {counts['keep']}, rework {counts['rework']}, drop {counts['drop']}.",
        evidence=f"{'; '.join(named) or 'nothing to rework or drop'}. Of {counted(unsure, 'row')} it cannot be told.",
        sureness="cannot tell" if unsure == len(standings) else "likely",
    )
    return ReportResult(findings=(finding,), tables=(_table(standings, inputs),), notes=NOTES)


def _place(one: Standing) -> tuple[int, bool, float, str]:
    return ORDER.index(one.decision), one.kind != "drink", -(one.a_season or 0.0), one.subject


def _standings(inputs: ReportInputs) -> list[Standing]:
    """Every row; nothing can be told of a season from less than a week, which has other weekdays than all."""
    from stillroom.analysis.batches.waste import fate_by_preparation
    from stillroom.analysis.menu.rework import shortlist
    from stillroom.analysis.menu.season import off_the_menu, season_figures
    from stillroom_plugins.reports.rework.report import evidence

    frames, period = inputs.frames, inputs.period
    sold_on = frames["daily_serves"]["business_date"].to_list()
    last = min(period.last, max([period.first, *sold_on]))
    first = min(last, max(period.first, min(sold_on, default=period.first)))
    figures = season_figures(frames["daily_serves"], frames["current_spec"], frames["spec_cost"], period.first, last)
    season = Season(
        weeks=((last - first).days + 1) / 7,
        share=_share(inputs),
        currency=inputs.house.currency,
        asks={row["subject"]: row for row in shortlist(evidence(inputs)).to_dicts()},
    )
    fates = fate_by_preparation(frames["batch_fate"], period.first, period.last)
    lost = {row["preparation"]: row for row in fates.to_dicts()}
    on_menu = figures.drinks.filter(~off_the_menu(last))
    takers = _takers(inputs, figures.drinks, last)
    found = [*_drinks(on_menu, takers, lost, season), *_preparations(inputs, figures, takers, lost, season)]
    return found if season.weeks >= 1 else [replace(one, sureness="cannot tell") for one in found]


def _drinks(
    on_menu: pl.DataFrame, takers: dict[str, set[str]], lost: dict[str, dict[str, Any]], season: Season
) -> Iterator[Standing]:
    """Of every drink that is on the menu still."""
    for row in on_menu.iter_rows(named=True):
        own = [name for name, drinks in takers.items() if drinks == {row["spec"]}]
        waste = sum(float(lost[name]["cost_lost"] or 0.0) for name in own if name in lost)
        yield drink_standing(row, mean_of_others(on_menu, row["spec"]), waste, season)


def _preparations(
    inputs: ReportInputs,
    figures: SeasonFigures,
    takers: dict[str, set[str]],
    lost: dict[str, dict[str, object]],
    season: Season,
) -> Iterator[Standing]:
    """Of every preparation and garnish that was made or used in the period."""
    sold = figures.drinks.filter(pl.col("serves") > 0)
    left = dict(sold.select("spec", pl.col("total_contribution").fill_null(0.0)).rows())
    kinds = dict(inputs.frames["current_spec"].sort("version").select("spec", "kind").rows())
    use = inputs.frames["preparation_use"]
    used = use.filter(pl.col("business_date").is_between(inputs.period.first, inputs.period.last))["preparation"]
    for name in sorted({*used, *lost}):
        worth = {drink: left.get(drink) for drink in takers.get(name, ())}
        yield preparation_standing(name, kinds.get(name, "preparation"), lost.get(name), worth, season)


def _takers(inputs: ReportInputs, drinks: pl.DataFrame, last: date) -> dict[str, set[str]]:
    """Preparation -> drinks in service that take it, straight or inside others, by the spec book.

    What sold has no say: returns alone, or an export that is lacking, take a drink off no menu.

    Args:
        drinks: of the season; those that left the menu in it take nothing any more.
        last: the day that counts, but of a drink that left the menu a few days before.
    """
    from stillroom.analysis.menu.season import off_the_menu

    gone = [name_key(name) for name in drinks.filter(off_the_menu(last))["spec"]]
    days = {name_key(name): day for name, day in drinks.select("spec", "last_day").rows()}
    day = pl.col("name_key").replace_strict(days, default=last, return_dtype=pl.Date)
    holds = day.is_between(pl.col("first_day"), pl.col("last_day"))
    made_of = inputs.frames["part_span"].filter(pl.col("item_kind").is_in(["preparation", "garnish"]), holds)
    in_service = inputs.frames["version_span"].filter(pl.col("state") == "service", "in_service", holds)
    named = inputs.frames["current_spec"].filter(pl.col("kind") == "drink")["spec"].unique().to_list()
    drink_names = {name_key(name): name for name in named}
    taken = made_of.join(in_service, on=["name_key", "version"], how="semi").filter(
        pl.col("name_key").is_in(list(drink_names)), ~pl.col("name_key").is_in(gone)
    )
    found: dict[str, set[str]] = {}
    for item, key in taken.select("item", "name_key").unique().rows():
        found.setdefault(item, set()).add(drink_names[key])
    return found


def _share(inputs: ReportInputs) -> Assumption:
    """The part of a drink's guests who would order another, as far as the house's own menu changes tell."""
    from stillroom.analysis.demand.sales_history import sales_history
    from stillroom.analysis.next_menu.returning import return_estimates

    daily, last = inputs.frames["daily_serves"], inputs.period.last
    calendar = inputs.house.settings(DemandSettings).calendar()
    venues = daily["venue"].drop_nulls().unique().sort().to_list()
    histories = [sales_history(daily, inputs.frames["current_spec"], venue, last, calendar) for venue in venues]
    estimates = [one for history in histories if history is not None for one in return_estimates(history)]
    return pooled(*inputs.house.settings(MenuSettings).return_share, estimates)


def _table(standings: list[Standing], inputs: ReportInputs) -> ReportTable:
    frames, last = inputs.frames, inputs.period.last
    verdicts = {name_key(one.subject): one for one in inputs.house.verdicts}
    rows = []
    for one in standings:
        verdict = verdicts.get(name_key(one.subject))
        said = "" if verdict is None else f"{verdict.decision}, {day_text(verdict.day)}, {verdict.by}: {verdict.why}"
        then = "" if verdict is None else became(
            verdict, frames["daily_serves"], frames["current_spec"], frames["batch_fate"], last
        )  # fmt: skip
        rows.append({**asdict(one), "season_range": _range(one), "verdict": said or None, "became": then or None})
    types = dict.fromkeys(("a_season", "low", "high"), pl.Float64()) | dict.fromkeys(
        ("verdict", "became", "season_range"), pl.String()
    )
    return ReportTable(
        name="verdicts",
        title="Keep, rework or drop",
        frame=pl.DataFrame(rows, schema_overrides=types),
        columns={
            "subject": Column(label="Drink or preparation"),
            "decision": Column(label="Proposed"),
            "a_season": Column(label="Money a season", unit=inputs.house.currency, decimals=0),
            "season_range": Column(label="between"),
            "sureness": Column(label="How sure"),
            "case": Column(label="Its case"),
            "would_change": Column(label="What would change it"),
            "verdict": Column(label="Last verdict"),
            "became": Column(label="What became of it"),
        },
        subjects="subject",
        hand_out=("subject", "decision", "a_season", "sureness", "case"),
    )


def _range(one: Standing) -> str | None:
    return None if one.low is None or one.high is None else f"{number(one.low)} and {number(one.high)}"
