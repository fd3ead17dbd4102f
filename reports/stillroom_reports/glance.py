"""The first screen as the template shows it: figures as text, pictures as SVG."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from stillroom.answers.review.objects import DrinkRow, Figure, Item, Review, Today, Word
from stillroom.words import MINUS, day_text, percent
from stillroom_reports import pictures
from stillroom_reports.figures import grouped

if TYPE_CHECKING:
    from markupsafe import Markup

THIS_WEEK: Final = 3
"""Entries to decide that are shown before the rest is folded away."""
TO_MEND: Final = 2
FEW_DRINKS: Final = 18
"""Drinks up to which the picture is shown whole; of more, the first `SOME_DRINKS` and those marked."""
SOME_DRINKS: Final = 14
ON_A_PHONE: Final = 8
"""Drinks that a phone shows, beside those marked, before the rest is unfolded."""
LONG: Final = 24
"""Letters of a name from which the names have more room, and the rest less."""
LOSSES: Final = 4
MAKINGS: Final = 6
"""Of the prep list: the most urgent."""


@dataclass(frozen=True, kw_only=True)
class FigureOnPage:
    """One of the four figures."""

    label: str
    value: str
    unit: str
    is_loss: bool
    spark: Markup
    lines: tuple[str, ...]
    """Its range, its share, its change, in that order, as far as known."""


@dataclass(frozen=True, kw_only=True)
class RowOnPage:
    """One drink of the picture."""

    name: str
    dot: Markup
    spark: Markup
    money: str
    words: tuple[Word, ...]
    decide: bool


@dataclass(frozen=True, kw_only=True)
class ItemOnPage:
    """One entry of a list."""

    subject: str
    do: str
    money: str
    sureness: str
    why: str
    mend: str
    reports: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Glance:
    """The first screen."""

    sentence: str
    unknown: str
    last_week: str
    figures: tuple[FigureOnPage, ...]
    axis: Markup
    weeks: int
    long_names: bool
    drinks: tuple[RowOnPage, ...]
    more_drinks: tuple[RowOnPage, ...]
    lost: tuple[tuple[str, Markup, str], ...]
    today: Today | None
    today_text: str
    decide: tuple[ItemOnPage, ...]
    more_decide: tuple[ItemOnPage, ...]
    mend: tuple[ItemOnPage, ...]
    more_mend: tuple[ItemOnPage, ...]


def glance(review: Review, currency: str) -> Glance:
    """A review as the first screen shows it."""
    shown = [drink for drink in review.drinks if drink.contribution is not None]
    on = pictures.scale([end for one in shown for end in (one.contribution, one.low, one.high) if end is not None])
    rows = [_row(drink, on, currency) for drink in review.drinks]
    first = rows if len(rows) <= FEW_DRINKS else [row for n, row in enumerate(rows) if n < SOME_DRINKS or row.decide]
    decide, mend = ([_item(item, currency) for item in items] for items in (review.decide, review.mend))
    return Glance(
        sentence=review.sentence,
        unknown=review.unknown,
        last_week=""
        if review.last_week is None
        else f"Last week {signed(review.last_week.share)} % on the one before.",
        figures=tuple(_figure(figure, currency) for figure in review.figures),
        axis=pictures.axis(on, [grouped(tick) for tick in on.ticks]),
        weeks=len(review.weeks),
        long_names=any(len(row.name) > LONG for row in rows),
        drinks=tuple(first),
        more_drinks=tuple(row for row in rows if row not in first),
        lost=_lost(review.lost, currency),
        today=review.today,
        today_text=f"{review.today.day:%A} {day_text(review.today.day)}" if review.today else "",
        decide=tuple(decide[:THIS_WEEK]),
        more_decide=tuple(decide[THIS_WEEK:]),
        mend=tuple(mend[:TO_MEND]),
        more_mend=tuple(mend[TO_MEND:]),
    )


def _figure(figure: Figure, currency: str) -> FigureOnPage:
    ranged, told = [], []
    if figure.change is not None:
        ranged.append(
            f"{figure.against}: {change_text(figure.change.share, figure.change.low, figure.change.high)} a week"
        )
    if figure.low is not None and figure.high is not None:
        ranged.append(f"{grouped(figure.low)} to {grouped(figure.high)} by chance alone")
    if figure.share is not None:
        told.append(f"{100 * figure.share:.0f} % {figure.share_of}")
    if figure.note:
        told.append(figure.note)
    return FigureOnPage(
        label=figure.label,
        value="not known" if figure.value is None else grouped(figure.value),
        unit="" if figure.value is None else currency,
        is_loss=figure.is_loss and bool(figure.value),
        spark=pictures.spark(
            figure.weeks, label=f"{figure.label}: {_course(figure.weeks)}", lost=figure.is_loss, wide=150
        ),
        lines=tuple(" · ".join(line) for line in (ranged, told) if line),
    )


def change_text(share: float, low: float | None, high: float | None) -> str:
    """A change against another season, with its range in brackets.

    >>> change_text(0.06, 0.02, 0.09)
    '+6 % (2 to 9)'
    """
    text = f"{signed(share)} %"
    return text if low is None or high is None else f"{text} ({signed(low).lstrip('+')} to {signed(high).lstrip('+')})"


def signed(share: float) -> str:
    """A share in per cent with its sign."""
    number = f"{100 * share:+.0f}"
    return "0" if number in ("+0", "-0") else number.replace("-", MINUS)


def _course(weeks: Sequence[float | None]) -> str:
    known = [value for value in weeks if value is not None]
    if not known:
        return "nothing known"
    return f"{len(weeks)} weeks, from {grouped(known[0])} to {grouped(known[-1])} a week"


def _row(drink: DrinkRow, on: pictures.Scale, currency: str) -> RowOnPage:
    if drink.contribution is None:
        said, money = "what it left over is not known", "not known"
    else:
        money = grouped(drink.contribution) if drink.whole else f"at most {grouped(drink.contribution)}"
        said = f"{money} {currency}"
        if drink.low is not None and drink.high is not None:
            said += f", {grouped(drink.low)} to {grouped(drink.high)}"
    return RowOnPage(
        name=drink.name,
        dot=pictures.dot(
            on,
            drink.contribution,
            drink.low,
            drink.high,
            kind="decide" if drink.decide else "normal" if drink.whole else "unknown",
            label=f"{drink.name}: {said}",
        ),
        spark=pictures.spark(drink.weeks, label=f"{drink.name}, serves a day: {_course(drink.weeks)}"),
        money=money,
        words=drink.words,
        decide=drink.decide,
    )


def _lost(lost: Sequence[tuple[str, float]], currency: str) -> tuple[tuple[str, Markup, str], ...]:
    worth = [(name, money) for name, money in lost if money >= 0.5][:LOSSES]
    return tuple(
        (name, pictures.bar(money / worth[0][1], label=f"{name}: {currency} {money:.0f}"), f"{money:.0f}")
        for name, money in worth
    )


def _share(item: Item) -> str:
    return f"{percent(item.share, 1)} of the till" if item.share is not None and item.share >= 0.0005 else ""


def _item(item: Item, currency: str) -> ItemOnPage:
    money = "" if item.money is None or item.money < 0.5 else f"{currency} {grouped(item.money)}"
    return ItemOnPage(
        subject=item.subject,
        do=item.do,
        money=money,
        sureness=_share(item) if item.mend else item.sureness,
        why=item.why,
        mend=item.mend,
        reports=item.reports,
    )
