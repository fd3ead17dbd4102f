"""The season's figures, and every drink's row of the picture."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Final

from stillroom.answers.review.objects import DrinkRow, Figure, Word
from stillroom.names import key_of, name_key
from stillroom.objects import Period
from stillroom.words import short_day

if TYPE_CHECKING:
    import polars as pl

    from stillroom.analysis.menu.season import SeasonFigures

NEEDS: Final = (
    "daily_serves",
    "unmatched_days",
    "till_item_day",
    "current_spec",
    "spec_cost",
    "batch_fate",
    "last_day",
)
LATELY: Final = 7
"""Days after the period's first from which a drink counts as new in it."""
NAMED: Final = 2
"""Changes of a drink that are told beside its dot; its sheet has all."""


@dataclass(frozen=True, kw_only=True)
class Season:
    """What the picture and the figures are worked out from."""

    period: Period
    since: date
    """The first day looked at: the period's, or the first with a sale in the data where that is later."""
    upto: date
    """The last day looked at: the period's, or the last in the data where that is earlier."""
    figures: SeasonFigures
    weeks: tuple[date, ...]
    whole: tuple[date, ...]
    """Weeks of seven days, from which intervals are worked out."""
    frames: Mapping[str, pl.DataFrame]

    @property
    def weeks_long(self) -> float:
        """Weeks that the period has run, as far as the data tell, as a number."""
        return ((self.upto - self.since).days + 1) / 7


def season(frames: Mapping[str, pl.DataFrame], period: Period) -> Season:
    """Work a period out, up to the last day in the data.

    Args:
        frames: the views of `NEEDS`.
    """
    from stillroom.analysis.menu.season import season_figures
    from stillroom.analysis.menu.weekly_money import mondays, whole_weeks

    last_day: date | None = frames["last_day"].item()
    upto = min(period.last, last_day) if last_day and last_day >= period.first else period.last
    since = max(period.first, min(frames["daily_serves"]["business_date"].to_list(), default=period.first))
    since = period.first if since > upto else since
    return Season(
        period=period,
        since=since,
        upto=upto,
        figures=season_figures(
            frames["daily_serves"], frames["current_spec"], frames["spec_cost"], period.first, period.last
        ),
        weeks=mondays(since, upto),
        whole=whole_weeks(since, upto),
        frames=frames,
    )


def sums(one: Season, doubts: Mapping[str, str]) -> tuple[Figure, ...]:
    """The four figures: sales, what is left over, what was lost, what rests on doubtful rows.

    Args:
        doubts: drink -> why its figures are in doubt.
    """
    return (_sales(one), _left_over(one), _lost(one), _doubtful(one, doubts))


def _sold(one: Season) -> tuple[pl.DataFrame, str]:
    import polars as pl

    return one.frames["daily_serves"].select("business_date", pl.col("net_amount").cast(pl.Float64)), "net_amount"


def _left(one: Season) -> tuple[pl.DataFrame, str]:
    import polars as pl

    known = one.figures.drinks.filter(pl.col("cost_per_serve").is_not_null()).select("spec", "cost_per_serve")
    left = pl.col("net_amount").cast(pl.Float64) - pl.col("serves") * pl.col("cost_per_serve")
    return one.frames["daily_serves"].join(known, on="spec").select("business_date", left=left), "left"


def _cost_lost(one: Season) -> tuple[pl.DataFrame, str]:
    import polars as pl

    made = _made(one).filter(pl.col("cost_lost") > 0)
    gone = pl.min_horizontal(pl.coalesce("ended_on", "use_by", "made_on"), pl.lit(one.upto))
    return made.select(business_date=gone, cost_lost=pl.col("cost_lost").cast(pl.Float64)), "cost_lost"


def _made(one: Season) -> pl.DataFrame:
    import polars as pl

    return one.frames["batch_fate"].filter(pl.col("made_on").is_between(one.period.first, one.period.last))


def _sales(one: Season) -> Figure:
    return _figure(one, "sales", "Sales, net", *_sold(one))


def _left_over(one: Season) -> Figure:
    import polars as pl

    found = _figure(one, "contribution", "Left over after what is in the glass", *_left(one))
    known = one.figures.drinks.filter(pl.col("cost_per_serve").is_not_null())
    sold = float(known["net_amount"].sum())
    unknown = one.figures.drinks.filter(pl.col("contribution").is_null() & (pl.col("serves") > 0)).height
    if known.is_empty():
        found = replace(found, value=None, low=None, high=None)
    return replace(
        found,
        share=found.value / sold if found.value is not None and sold > 0 else None,
        share_of="of their sales" if unknown else "of sales",
        note=f"without {unknown} drink{'s' if unknown > 1 else ''}" if unknown else "",
    )


def _lost(one: Season) -> Figure:
    found = _figure(one, "lost", "Poured away or spoiled, at cost", *_cost_lost(one))
    if one.frames["batch_fate"].is_empty():
        return replace(found, value=None, low=None, high=None, note="no batch in the batch book", is_loss=True)
    cost = float(_made(one)["cost_made"].sum() or 0.0)
    share = (found.value or 0.0) / cost if cost > 0 else None
    return replace(found, share=share, share_of="of what was made", is_loss=True)


def _doubtful(one: Season, doubts: Mapping[str, str]) -> Figure:
    import polars as pl

    unmatched = one.frames["unmatched_days"]
    drinks = one.figures.drinks.filter(pl.col("spec").is_in(list(doubts)))
    daily = pl.concat(
        [
            unmatched.select("business_date", pl.col("net_amount").cast(pl.Float64)),
            one.frames["daily_serves"]
            .filter(pl.col("spec").is_in(drinks["spec"].to_list()))
            .select("business_date", pl.col("net_amount").cast(pl.Float64)),
        ]
    )
    found = _figure(one, "doubtful", "Rests on doubtful rows", daily, "net_amount")
    every = one.frames["till_item_day"].filter(pl.col("business_date").is_between(one.period.first, one.period.last))
    till = float(every["net_amount"].sum() or 0)
    said = [f"{drinks.height} drink{'s' if drinks.height > 1 else ''} in it"] if drinks.height else []
    return replace(
        found,
        low=None,
        high=None,
        share=(found.value or 0.0) / till if till > 0 else None,
        share_of="of the till",
        note=", ".join(said),
    )


def weeks_of(one: Season, name: str) -> list[float]:
    """The whole weeks of one of the sums: sales, contribution or lost."""
    from stillroom.analysis.menu.weekly_money import by_week

    daily, column = {"sales": _sold, "contribution": _left, "lost": _cost_lost}[name](one)
    weeks = by_week(daily, column, one.period.first, one.upto)
    return [weeks[week] for week in one.whole]


def _figure(one: Season, name: str, label: str, daily: pl.DataFrame, column: str) -> Figure:
    """A sum over the period with its weeks and the interval from their scatter."""
    from stillroom.analysis.menu.weekly_money import by_week, reach_of_sum

    weeks = by_week(daily, column, one.period.first, one.upto)
    value = sum(weeks.values())
    reach = reach_of_sum([weeks[week] for week in one.whole], one.weeks_long)
    return Figure(
        name=name,
        label=label,
        value=value,
        low=None if reach is None else max(value - reach, 0.0 if value >= 0 else value - reach),
        high=None if reach is None else value + reach,
        weeks=_per_week(one, weeks),
    )


def _per_week(one: Season, weeks: Mapping[date, float]) -> tuple[float | None, ...]:
    """Each week as if it had seven days, so that a week cut off at an end does not look like a fall."""
    shown = []
    for week in one.weeks:
        first, last = max(week, one.since), min(week + timedelta(days=6), one.upto)
        shown.append(weeks[week] * 7 / ((last - first).days + 1))
    return tuple(shown)


def drink_rows(one: Season, deciding: Mapping[str, str]) -> tuple[DrinkRow, ...]:
    """Every drink on the menu, most money left over first.

    Args:
        deciding: drink -> what there is to decide, of the entries shown under this week.
    """
    dated = changes_of_drinks(one.frames["current_spec"], one.period)
    rows = [_drink(one, row, dated.get(row["spec"], ()), deciding) for row in one.figures.drinks.iter_rows(named=True)]
    return tuple(sorted(rows, key=lambda row: (-(row.contribution or 0.0), row.name)))


def _drink(
    one: Season, row: dict[str, Any], dated: Sequence[tuple[date, str]], deciding: Mapping[str, str]
) -> DrinkRow:
    left = row["total_contribution"]
    whole = left is not None
    if not whole and row["cost_at_least"] is not None:
        left = row["net_amount"] - row["cost_at_least"] * max(row["serves"], 0.0)
    low, high = _range(one, row, left if whole else None)
    return DrinkRow(
        name=row["spec"],
        contribution=left,
        low=low,
        high=high,
        whole=whole,
        serves=row["serves"],
        net_amount=row["net_amount"],
        serves_per_day=row["serves_per_day"],
        cost_per_serve=row["cost_per_serve"] if whole else row["cost_at_least"],
        does=row["does"],
        weeks=_weeks(one, row["spec"]),
        dated=tuple(dated),
        words=_words(one, row, dated, deciding.get(row["spec"])),
        decide=row["spec"] in deciding,
    )


def _range(one: Season, row: dict[str, Any], left: float | None) -> tuple[float | None, float | None]:
    """95 % range of a drink's sum, from the scatter of its own whole weeks on the menu."""
    import polars as pl

    from stillroom.analysis.menu.weekly_money import by_week, reach_of_sum

    if left is None:
        return None, None
    daily = one.frames["daily_serves"].filter(pl.col("spec") == row["spec"])
    weeks = by_week(
        daily.select(
            "business_date",
            (pl.col("net_amount").cast(pl.Float64) - pl.col("serves") * row["cost_per_serve"]).alias("left"),
        ),
        "left",
        one.period.first,
        one.upto,
    )
    on_menu = [week for week in one.whole if row["first_day"] <= week and row["last_day"] >= week + timedelta(days=5)]
    reach = reach_of_sum([weeks[week] for week in on_menu], len(on_menu))
    return (None, None) if reach is None else (left - reach, left + reach)


def _weeks(one: Season, name: str) -> tuple[float | None, ...]:
    import polars as pl

    own = one.figures.weeks.filter(pl.col("spec") == name).select("week", "serves_per_day")
    found = dict(own.iter_rows())
    return tuple(found.get(week) for week in one.weeks)


def _words(
    one: Season, row: dict[str, Any], dated: Sequence[tuple[date, str]], decision: str | None
) -> tuple[Word, ...]:
    """What happened to a drink: what to decide, what is in doubt, where it goes, dated changes."""
    from stillroom.analysis.menu.going import in_words
    from stillroom.analysis.menu.season import SOLD_NOTHING

    words = [Word(text=decision, tone="decide")] if decision else []
    if row["does"] == SOLD_NOTHING:
        words.append(Word(text=SOLD_NOTHING))
    elif row["contribution"] is None:
        words.append(Word(text=_not_whole(row["missing"])))
    if (goes := in_words(row)) and not decision:
        words.append(Word(text=goes))
    if row["first_day"] > one.period.first + timedelta(days=LATELY):
        words.append(Word(text=f"new, {short_day(row['first_day'])}", tone="dated"))
    elif row["last_day"] <= one.upto - timedelta(days=LATELY):
        words.append(Word(text=f"off the menu, {short_day(row['last_day'])}", tone="dated"))
    told = [(day, text) for day, text in dated if decision or day > one.period.first]
    words += [Word(text=f"{text}, {short_day(day)}", tone="dated") for day, text in told]
    trial = trial_version(one.frames["current_spec"], row["spec"])
    if trial is not None:
        words.append(Word(text=f"version {trial} on trial"))
    return tuple(words[: NAMED + bool(decision)])


def _not_whole(missing: str | None) -> str:
    first = (missing or "").split("; ")[0]
    if not first:
        return "cost not known"
    return "cost not whole: a line set aside" if "set aside" in first else f"cost not whole: no price for {first}"


def trial_version(spec: pl.DataFrame, name: str) -> int | None:
    """The highest version of a drink where that is a trial: without dates, beside others that have some."""
    import polars as pl

    own = spec.filter(key_of(pl.col("spec")) == name_key(name)).sort("version")
    dated = own["in_service_from"].is_not_null() | own["in_service_until"].is_not_null()
    if own.is_empty() or not dated.any() or bool(dated[-1]):
        return None
    return int(own["version"][-1])


def changes_of_drinks(spec: pl.DataFrame, period: Period) -> dict[str, list[tuple[date, str]]]:
    """Versions and prices that came into force within the period, after an earlier one: drink -> (day, words)."""
    import polars as pl

    found: dict[str, list[tuple[date, str]]] = {}
    dated = spec.filter(pl.col("in_service_from").is_not_null()).sort("in_service_from", "version")
    for (name,), rows in dated.group_by("spec", maintain_order=True):
        versions = list(rows.iter_rows(named=True))
        for old, new in pairwise(versions):
            if not period.first <= new["in_service_from"] <= period.last or new["version"] == old["version"]:
                continue
            said = f"version {new['version']}"
            if new["price"] is not None and old["price"] is not None and new["price"] != old["price"]:
                said += ", dearer" if new["price"] > old["price"] else ", cheaper"
            found.setdefault(str(name), []).append((new["in_service_from"], said))
    return found
