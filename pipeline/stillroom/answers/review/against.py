"""A season beside another: figure by figure, and what came, stayed and went."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from stillroom.answers.review import season
from stillroom.answers.review.objects import Against, Change, Figure, Gain
from stillroom.answers.review.season import Season
from stillroom.objects import Period

if TYPE_CHECKING:
    import polars as pl


def before(seasons: tuple[Period, ...], period: Period) -> Period | None:
    """The season that ended last before a period begins; None where there is none."""
    earlier = [one for one in seasons if one.last < period.first]
    return max(earlier, key=lambda one: one.last, default=None)


def against(one: Season, figures: tuple[Figure, ...], other: Period, doubts: Mapping[str, str]) -> Against | None:
    """A season held against another, both per week, so that seasons of unlike length compare; None without its data.

    Args:
        figures: of the season, as `season.sums` gives them.
        doubts: drink -> why its figures are in doubt.
    """
    earlier = season.season(one.frames, other)
    if earlier.figures.open_days == 0:
        return None
    sums = season.sums(earlier, doubts)
    now, then = (set(each.figures.drinks.filter(sold())["spec"]) for each in (one, earlier))
    return Against(
        label=other.label,
        first=other.first,
        last=other.last,
        figures=tuple((was, _change(one, earlier, figure.name)) for figure, was in zip(figures, sums, strict=True)),
        came=tuple(sorted(now - then)),
        stayed=tuple(sorted(now & then)),
        went=tuple(sorted(then - now)),
        gains=_gains(one, earlier, now & then),
    )


def sold() -> pl.Expr:
    """Whether a drink of `SeasonFigures.drinks` sold anything."""
    import polars as pl

    return pl.col("serves") > 0


def with_changes(figures: tuple[Figure, ...], found: Against | None) -> tuple[Figure, ...]:
    """The figures, each with its change against the other season."""
    if found is None:
        return figures
    return tuple(
        replace(figure, change=change, against=found.label)
        for figure, (_, change) in zip(figures, found.figures, strict=True)
    )


def _change(one: Season, earlier: Season, name: str) -> Change | None:
    """How much more a week brought; of what rests on doubtful rows nothing is said: its causes differ."""
    if name == "doubtful":
        return None
    return _ratio(season.weeks_of(one, name), season.weeks_of(earlier, name))


def _gains(one: Season, earlier: Season, stayed: set[str]) -> tuple[Gain, ...]:
    """Serves a week of the drinks that stayed, the largest change first."""
    import polars as pl

    found = []
    for name in stayed:
        weeks = [
            list(each.figures.weeks.filter(pl.col("spec") == name, pl.col("week").is_in(list(each.whole)))["serves"])
            for each in (one, earlier)
        ]
        change = _ratio(*weeks)
        if change is not None:
            found.append(Gain(name=name, change=change))
    return tuple(sorted(found, key=lambda gain: (-abs(gain.change.share), gain.name)))


def _ratio(now: list[float], then: list[float]) -> Change | None:
    from stillroom.analysis.menu.weekly_money import ratio_of_weeks

    found = ratio_of_weeks(now, then)
    if found is None:
        return None
    ratio, low, high = found
    return Change(share=ratio - 1, low=None if low is None else low - 1, high=None if high is None else high - 1)
