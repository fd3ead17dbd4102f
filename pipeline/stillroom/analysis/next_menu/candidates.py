"""Drinks to choose a menu from, and what a set of them comes to by the unsimplified plan."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from stillroom.analysis.demand.levels import WEEK
from stillroom.analysis.next_menu.menu_demand import moved_serves
from stillroom.analysis.next_menu.menu_week import Earning, Preparation, menu_week
from stillroom.analysis.next_menu.takings import Takings


@dataclass(frozen=True, kw_only=True)
class Candidates:
    """The drinks there are to choose from: today's first, then new ones."""

    names: tuple[str, ...]
    today: int
    """How many of them are on today's menu."""
    serves: np.ndarray
    """Draws by days by drinks: of today's on today's menu; of new ones beside it."""
    earning: Earning
    takes: Takings
    preparations: Mapping[str, Preparation]
    share: float
    """Part of the guests of a drink left out who order another of today's."""
    running_out: float
    scored: dict[tuple[int, ...], Scored] = field(default_factory=dict, repr=False)
    """Sets whose worth is known already."""

    @property
    def weekly(self) -> np.ndarray:
        """Mean serves a week of each drink."""
        return np.asarray(self.serves.mean(axis=(0, 1)) * WEEK)

    @property
    def whole(self) -> np.ndarray:
        """Drinks by preparations: amount a serve takes in the end, through all that is made for it."""
        count = len(self.takes.preparations)
        return np.asarray(self.takes.straight @ np.linalg.inv(np.eye(count) - self.takes.inner))

    def score(self, chosen: tuple[int, ...]) -> Scored:
        """What a set comes to a week, by the prep list's own plan for the demand that its drinks share."""
        if chosen not in self.scored:
            self.scored[chosen] = self._score(np.array(sorted(chosen), dtype=int))
        return self.scored[chosen]

    def _score(self, chosen: np.ndarray) -> Scored:
        kept = np.isin(np.arange(self.today), chosen)
        new = self.serves[:, :, chosen[chosen >= self.today]]
        draws = len(self.serves)
        ones, share = np.ones((draws, self.today)), np.full(draws, self.share)
        moved = moved_serves(self.serves[:, :, : self.today], kept, ones, new, share)
        stay = np.concatenate([np.flatnonzero(kept), self.today + np.arange(new.shape[2])])
        takes = Takings(
            preparations=self.takes.preparations,
            units=self.takes.units,
            straight=self.takes.straight[chosen],
            inner=self.takes.inner,
        )
        earning = Earning(net=self.earning.net[chosen], contribution=self.earning.contribution[chosen])
        week = menu_week(moved[:, :, stay], earning, takes, self.preparations, self.running_out)
        return Scored(
            left=float((week.left - week.work).mean()),
            contribution=float(week.contribution.mean()),
            minutes=float(week.minutes.mean()),
            makings=float(week.makings.mean()),
            preparations=tuple(week.preparations),
        )


@dataclass(frozen=True, kw_only=True)
class Scored:
    """What a set of drinks comes to a week, in the mean."""

    left: float
    """Contribution less what is poured away, missed by running out, and the work of makings."""
    contribution: float
    minutes: float
    makings: float
    preparations: tuple[str, ...]
    """Those it needs."""


@dataclass(frozen=True, kw_only=True)
class Limits:
    """What a chosen menu must keep to."""

    drinks: int
    """How many there are, exactly."""
    preparations: int | None = None
    """At most, garnishes included."""
    minutes: float | None = None
    """Of work a week, at most."""
    must: tuple[int, ...] = ()
    """Drinks that are on it."""
    one_of: tuple[tuple[int, ...], ...] = ()
    """Of each group exactly one is on it."""
