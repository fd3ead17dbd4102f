"""Puts the review together from views and the reports' findings."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Final

from stillroom.answers import prep_list
from stillroom.answers.doubts import find
from stillroom.answers.review import against, lists, season, sheets
from stillroom.answers.review.objects import Change, Figure, Review
from stillroom.errors import StillroomError
from stillroom.names import name_key
from stillroom.objects import Caution, HouseFacts, Period, Report, ReportResult
from stillroom.words import number

if TYPE_CHECKING:
    import polars as pl

    from stillroom.answers.doubts.books import Doubt
    from stillroom.answers.prep_list import PrepList
    from stillroom.answers.review.sheet_objects import Sheet

NEEDS: Final = tuple(dict.fromkeys((*season.NEEDS, *prep_list.NEEDS, *sheets.NEEDS, *find.NEEDS)))
"""Views a review reads."""
BEND: Final = ("rows set aside", "prices", "amounts")
"""Doubts by which what a drink costs is not whole."""
THIS_WEEK: Final = 3
"""Entries to decide that are shown; more decisions than that are none."""


def review(
    frames: Mapping[str, pl.DataFrame],
    results: tuple[tuple[Report, ReportResult], ...],
    house: HouseFacts,
    period: Period,
    cautions: tuple[Caution, ...] = (),
    other: Period | None = None,
) -> Review:
    """A period at a glance.

    Args:
        frames: the views of `NEEDS`.
        results: of all reports.
        cautions: what there is to be careful of, for the sheets.
        other: the season to hold it against.
    """
    one = season.season(frames, period)
    in_doubt = find.doubts(frames, Period(first=period.first, last=one.upto, label=period.label))
    decide, mend = lists.to_decide(results), lists.to_mend(in_doubt, results)
    doubts = _of_drinks(in_doubt)
    sums = season.sums(one, doubts)
    held = against.against(one, sums, other, doubts) if other else None
    figures = against.with_changes(sums, held)
    prep = _prep_list(frames, house)
    marked = lists.deciding(decide[:THIS_WEEK], _in_few_words(one))
    return Review(
        sentence=_sentence(figures, one, house.currency),
        unknown=_unknown(one),
        weeks=one.weeks,
        figures=figures,
        drinks=season.drink_rows(one, marked),
        lost=_lost(one),
        today=lists.today(prep),
        decide=decide,
        mend=mend,
        against=held,
        last_week=_last_week(one),
        sheets=sheets.sheets(
            sheets.Bench(
                season=one,
                frames=frames,
                house=house,
                cautions=cautions,
                said={name_key(item.subject): item for item in (*mend, *decide) if item.subject},
                prep=prep,
            )
        ),
    )


def one_sheet(
    frames: Mapping[str, pl.DataFrame], house: HouseFacts, period: Period, cautions: tuple[Caution, ...], name: str
) -> Sheet:
    """The sheet of one thing, without what reports say of it.

    Raises:
        UsageError: there is no such thing in the spec book.
    """
    from stillroom.analysis.specs.request import chosen_version

    one = season.season(frames, period)
    bench = sheets.Bench(
        season=one, frames=frames, house=house, cautions=cautions, said={}, prep=_prep_list(frames, house)
    )
    return sheets.sheet_of(bench, chosen_version(bench.composition.book, name, None).spec)


def _last_week(one: season.Season) -> Change | None:
    """Sales of the last whole week beside the one before, while the season runs."""
    weeks = season.weeks_of(one, "sales")
    if one.upto >= one.period.last or len(weeks) < 2 or weeks[-2] <= 0:
        return None
    return Change(share=weeks[-1] / weeks[-2] - 1)


def _prep_list(frames: Mapping[str, pl.DataFrame], house: HouseFacts) -> PrepList | None:
    """What to make next; None where the data do not allow a list."""
    try:
        return prep_list.prep_list(frames, house)
    except StillroomError:
        return None


def _of_drinks(doubts: Iterable[Doubt]) -> dict[str, str]:
    """Drink -> what is in doubt of its figures, the gravest first."""
    found: dict[str, str] = {}
    for doubt in doubts:
        for drink in doubt.drinks if doubt.kind in BEND else ():
            found.setdefault(drink, doubt.what)
    return found


def _in_few_words(one: season.Season) -> dict[str, str]:
    """Where each drink goes, else how it does."""
    from stillroom.analysis.menu.going import FEWER, in_words

    return {
        row["spec"]: in_words(row) if row["going"] in FEWER else row["does"]
        for row in one.figures.drinks.iter_rows(named=True)
    }


def _sentence(figures: tuple[Figure, ...], one: season.Season, currency: str) -> str:
    sales, left = figures[0].value or 0.0, figures[1].value
    if one.figures.open_days == 0:
        return "No drink was sold in these days."
    said = f"{currency} {number(sales)} sold"
    if left is not None:
        said += f" and {currency} {number(left)} left over"
    return f"{said}{_way(one)}."


def _way(one: season.Season) -> str:
    """Which way the house goes, where chance is an unlikely reason."""
    from stillroom.analysis.menu.going import NO_TREND, told, venues_in_words

    house = one.figures.house
    if house.trend.change is None:
        return "; too few weeks to tell which way it goes"
    if house.going == NO_TREND:
        return ", with no clear trend"
    whose = venues_in_words(house, one.figures.venues)
    return f", {told(house, ' drinks')}{f' ({whose})' if whose else ''}"


def _unknown(one: season.Season) -> str:
    import polars as pl

    names = one.figures.drinks.filter(pl.col("contribution").is_null() & (pl.col("serves") > 0))["spec"].to_list()
    if not names:
        return ""
    if len(names) == 1:
        return f"What {names[0]} costs is not known."
    return f"What {len(names)} drinks cost is not known."


def _lost(one: season.Season) -> tuple[tuple[str, float], ...]:
    import polars as pl

    made = one.frames["batch_fate"].filter(
        pl.col("made_on").is_between(one.period.first, one.period.last), pl.col("cost_lost") > 0
    )
    summed = made.group_by("preparation").agg(pl.col("cost_lost").cast(pl.Float64).sum())
    return tuple((str(name), float(money)) for name, money in summed.sort("cost_lost", descending=True).rows())
