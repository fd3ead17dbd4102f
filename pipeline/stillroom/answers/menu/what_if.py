"""A changed menu beside today's: what it sells, leaves over, pours away and asks of work, each with its range."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from stillroom.analysis.next_menu.assumption import HIGH, LOW, Assumption
from stillroom.analysis.next_menu.menu_demand import moved_serves, new_serves, price_factors
from stillroom.analysis.next_menu.menu_week import MenuWeek, Range, menu_week, range_of
from stillroom.analysis.next_menu.newcomers import Newcomer, newcomer
from stillroom.analysis.next_menu.takings import Takings
from stillroom.answers.advice import DEFERRAL, Advice
from stillroom.answers.menu.request import Asked, asked
from stillroom.answers.menu.rests_on import lost_lately, price_response, return_share
from stillroom.answers.menu.today import Serve, Today, Venue, changed_serve, earning_of
from stillroom.answers.spec_answer import spec_answer
from stillroom.objects import Caution, MenuChange
from stillroom.words import to_price

if TYPE_CHECKING:
    from stillroom.analysis.specs.book import SpecVersion

FIGURES: Final = ("serves", "sales", "contribution", "wasted", "missed", "left", "makings", "minutes")
"""The figures of a week, in the order in which they are told."""


@dataclass(frozen=True, kw_only=True)
class DrinkChange:
    """A drink on either menu; serves a week."""

    drink: str
    serves: Range
    contribution: float | None
    """Of a serve then (today, of one that goes); None where what it costs is not wholly known."""


@dataclass(frozen=True, kw_only=True)
class PreparationChange:
    """A preparation that either menu takes."""

    preparation: str
    unit: str
    makings: Range
    wasted: Range
    """Money a week."""
    needed: bool
    """The changed menu takes it."""
    was_needed: bool
    on_hand: float
    """In its unit, of what may still be used."""
    on_hand_cost: float


@dataclass(frozen=True, kw_only=True)
class Coming:
    """A drink that is new on the menu: how it may sell, and what rides along."""

    drink: str
    version: int
    low: float
    high: float
    """Serves a week, 8 times in 10."""
    sold_before: bool
    """The range is the forecast from its own past sales."""
    allergens: tuple[str, ...]
    cautions: tuple[Advice, ...]


@dataclass(frozen=True, kw_only=True)
class WhatIf:
    """A changed menu beside today's: what a report plugin may be handed."""

    change: MenuChange
    label: str
    last_day: date
    """Last day in the files: today's menu is that of this day."""
    figures: Mapping[str, Range]
    """`FIGURES`, a week; sales and after are house currency."""
    drinks: tuple[DrinkChange, ...]
    preparations: tuple[PreparationChange, ...]
    coming: tuple[Coming, ...]
    return_share: Assumption
    swept: tuple[tuple[float, float], ...]
    """A share of guests who stay, and the mean change of money left over a week at it."""
    price_response: Assumption | None
    """None where no price changes."""
    newcomers: Newcomer | None
    """None where no new drink comes."""
    minutes_unknown: tuple[str, ...]
    """Preparations whose minutes of work are not known."""
    lost_lately: float
    """Money a week that was poured away or spoiled in the last `SEASON_WEEKS` weeks, as the batch book has it."""
    warnings: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def gone(self) -> tuple[PreparationChange, ...]:
        """Preparations no longer needed."""
        return tuple(one for one in self.preparations if one.was_needed and not one.needed)


def what_if(today: Today, change: MenuChange, cautions: tuple[Caution, ...] = ()) -> WhatIf:
    """Hold a changed menu against today's.

    Raises:
        UsageError: it names what is not there, or leaves no drink.
    """
    return _WhatIf(today, change, cautions).answer()


class _Weeks(NamedTuple):
    """A venue's mean week of today's menu, and of the changed one."""

    venue: Venue
    drinks: list[str]
    """Of both menus."""
    before: MenuWeek
    after: MenuWeek


class _WhatIf:
    """The work of one what-if, venue by venue."""

    def __init__(self, today: Today, change: MenuChange, cautions: tuple[Caution, ...]) -> None:
        self.today, self.change, self.cautions = today, change, cautions
        self.asked: Asked = asked(change, today.book, today.menu)
        self.generator = np.random.default_rng(today.seed)
        draws = len(today.venues[0].serves)
        self.share = return_share(today)
        self.shares = self.share.draws(draws, self.generator)
        self.response = (
            price_response(today.house, today.frames, today.book, today.last_day) if self.asked.prices else None
        )
        self.elasticity = self.response.draws(draws, self.generator) if self.response else np.zeros(draws)
        self.newcomers = newcomer([venue.ahead.history for venue in today.venues])
        self.levels = {spec.spec: self.newcomers.draws(draws, self.generator) for spec in self.asked.add}
        self.new = {spec.spec: self._new_serve(spec) for spec in self.asked.add}
        self.then = {
            name: changed_serve(serve, self.asked.prices.get(name), name) for name, serve in today.serve.items()
        } | self.new
        self.untold: set[str] = set()

    def _new_serve(self, spec: SpecVersion) -> Serve:
        return self.today.new_serve(spec.spec, spec.version, self.asked.prices.get(spec.spec))

    # Venue by venue ------------------------------------------------------------------------------------

    def serves(self, venue: Venue, share: np.ndarray) -> np.ndarray:
        """Draws by days by drinks of today's menu and new ones."""
        kept = np.array([name not in self.asked.drop for name in venue.menu])
        prices = [(self.today.serve[name].price or 1.0, self.then[name].price or 1.0) for name in venue.menu]
        old, new = np.array(prices).T if prices else np.zeros((2, 0))
        return moved_serves(venue.serves, kept, price_factors(self.elasticity, old, new), self._coming(venue), share)

    def _coming(self, venue: Venue) -> np.ndarray:
        if not self.new:
            return np.zeros((*venue.serves.shape[:2], 0))
        drawn = []
        for place, name in enumerate(self.new):
            drinks = venue.ahead.made.drinks
            if name in drinks:  # it sold here before: its own forecast is better than that of a new drink
                drawn.append(self._returning(venue, drinks.index(name)))
            else:
                factors = self.levels[name][:, None]
                drawn.append(new_serves(venue.serves, factors, venue.ahead.history.seed + place)[:, :, 0])
        return np.stack(drawn, axis=2)

    def _returning(self, venue: Venue, place: int) -> np.ndarray:
        """Of a drink that sold here before: its share of trade when it last did, of today's trade."""
        serves = venue.ahead.history.serves
        on = ~np.isnan(serves[:, place])
        level = float(serves[on, place].sum() / max(np.nansum(serves[on]), 1e-9))
        sold = max(float(serves[on, place].sum()), 1.0)
        unsure = self.generator.gamma(sold / 4, 4 / sold, size=len(venue.serves))
        mean = venue.serves.sum(axis=2) * level / max(1 - level, 0.05) * unsure[:, None]
        return np.asarray(self.generator.poisson(mean), dtype=float)

    def week(self, venue: Venue, serves: np.ndarray, drinks: list[str], serve: Mapping[str, Serve]) -> MenuWeek:
        """A mean week of a menu at one venue."""
        changed = serve is not self.today.serve
        served = {name: serve[name] for name in drinks}
        takes = self.takes(served)
        return menu_week(
            serves,
            earning_of(served.values()),
            takes,
            self.today.preparations(venue, takes.preparations, takes.units, self.asked if changed else None),
            self.today.prep.running_out_share,
        )

    def takes(self, served: Mapping[str, Serve]) -> Takings:
        """What drinks take of each preparation; what cannot be told of it is noted."""
        found = self.today.takes(served)
        self.untold |= {*found.untold}
        return found

    # The answer ----------------------------------------------------------------------------------------

    def answer(self) -> WhatIf:
        """Today's menu and the changed one, and what lies between."""
        both = [self._both(venue) for venue in self.today.venues]
        figures = {name: range_of(*_sums(both, name)) for name in FIGURES}
        preparations = self._preparations(both)
        return WhatIf(
            change=self.change,
            label=self.change.label,
            last_day=self.today.last_day,
            figures=figures,
            drinks=self._drinks(both),
            preparations=preparations,
            coming=tuple(self._told(spec, both) for spec in self.asked.add),
            return_share=self.share,
            swept=self._swept(),
            price_response=self.response,
            newcomers=self.newcomers if self._any_new() else None,
            minutes_unknown=self._minutes_unknown(preparations),
            lost_lately=lost_lately(self.today),
            warnings=tuple(self._warnings()),
            notes=tuple(self._notes()),
        )

    def _both(self, venue: Venue) -> _Weeks:
        menu = list(venue.menu)
        drinks = [*menu, *self.new]
        before = self.week(venue, venue.serves, menu, self.today.serve)
        after = self.week(venue, self.serves(venue, self.shares), drinks, self.then)
        return _Weeks(venue, drinks, before, after)

    def _swept(self) -> tuple[tuple[float, float], ...]:
        """The change of contribution a week at both ends of the share that stays, waste and work as at its middle."""
        ends = [self.share.low, self.share.high]
        found = []
        for end in ends if ends[0] < ends[1] else ends[:1]:
            more = 0.0
            for venue in self.today.venues:
                drinks = [*venue.menu, *self.new]
                then = self.serves(venue, np.full(len(self.shares), end)).sum(axis=1).mean(axis=0)
                now = venue.serves.sum(axis=1).mean(axis=0)
                weeks = venue.serves.shape[1] / 7
                more += float(then @ [self.then[name].contribution for name in drinks]) / weeks
                more -= float(now @ [self.today.serve[name].contribution for name in venue.menu]) / weeks
            found.append((end, more))
        return tuple(found)

    def _any_new(self) -> bool:
        sold = {name for venue in self.today.venues for name in venue.ahead.made.drinks}
        return any(name not in sold for name in self.new)

    def _drinks(self, both: list[_Weeks]) -> tuple[DrinkChange, ...]:
        none = np.zeros(len(self.shares))
        found = []
        for name in [*self.today.menu, *self.new]:
            before, after = none, none
            for venue, drinks, now, then in both:
                before = before + (now.drinks[:, venue.menu.index(name)] if name in venue.menu else none)
                after = after + (then.drinks[:, drinks.index(name)] if name in drinks else none)
            serve = self.then[name]
            known = None if serve.missing else serve.contribution
            found.append(DrinkChange(drink=name, serves=range_of(before, after), contribution=known))
        return tuple(found)

    def _preparations(self, both: list[_Weeks]) -> tuple[PreparationChange, ...]:
        stays = {name: one for name, one in self.then.items() if name not in self.asked.drop}
        needs = [self.takes(self.today.serve), self.takes(stays)]
        units = {name: unit for one in needs for name, unit in zip(one.preparations, one.units, strict=True)}
        found = []
        for name in sorted(units):
            makings, wasted, on_hand, cost = [], [], 0.0, 0.0
            for venue, _, before, after in both:
                one = self.today.preparations(venue, [name], [units[name]])[name]
                weeks = [week.preparations.get(name) for week in (before, after)]
                none = np.zeros(len(self.shares))
                makings.append([none if week is None else week.makings for week in weeks])
                wasted.append([none if week is None else one.waste * week.wasted for week in weeks])
                stock = self.today.stock(venue, name, units[name])
                on_hand += stock.on_hand
                cost += stock.on_hand * one.waste
            found.append(
                PreparationChange(
                    preparation=name,
                    unit=units[name],
                    makings=range_of(*np.sum(makings, axis=0)),
                    wasted=range_of(*np.sum(wasted, axis=0)),
                    was_needed=name in needs[0].preparations,
                    needed=name in needs[1].preparations,
                    on_hand=on_hand,
                    on_hand_cost=cost,
                )
            )
        return tuple(found)

    def _told(self, spec: SpecVersion, both: list[_Weeks]) -> Coming:
        serves = np.sum([one.after.drinks[:, one.drinks.index(spec.spec)] for one in both], axis=0)
        low, high = np.quantile(serves, [LOW, HIGH])
        answer = spec_answer(self.today.frames, self.cautions, self.today.house, spec.spec, spec.version)
        return Coming(
            drink=spec.spec,
            version=spec.version,
            low=float(low),
            high=float(high),
            sold_before=any(spec.spec in venue.ahead.made.drinks for venue in self.today.venues),
            allergens=answer.sheet().allergens,
            cautions=answer.advice,
        )

    def _minutes_unknown(self, preparations: tuple[PreparationChange, ...]) -> tuple[str, ...]:
        venue = self.today.venues[0]
        names, units = [one.preparation for one in preparations], [one.unit for one in preparations]
        made = self.today.preparations(venue, names, units)
        return tuple(name for name in names if made[name].minutes is None)

    def _warnings(self) -> list[str]:
        found, currency = [], self.today.house.currency
        for name in self.asked.prices:
            serve = self.then[name]
            if serve.contribution <= 0:
                found.append(
                    f"At {currency} {serve.price:g} a serve of {name} brings {currency} {serve.net:.2f} and costs "
                    f"{currency} {serve.cost:.2f}: each one sold loses money."
                )
        return found

    def _notes(self) -> list[str]:
        missing = {name: serve.missing for name, serve in sorted(self.then.items()) if serve.missing}
        notes = [f"{name}: its contribution is the most it can be; {to_price(what)}." for name, what in missing.items()]
        notes += [
            f"{what}: how much, in the unit it is made in, is not known: left out." for what in sorted(self.untold)
        ]
        notes += [
            f"{spec} has not been shown to keep for {days} days: that is the what-if's word, no label. {DEFERRAL}"
            for spec, days in self._longer()
        ]
        return notes

    def _longer(self) -> list[tuple[str, int]]:
        """Preparations that are to keep longer than today."""
        found = []
        for key, days in self.asked.keeps.items():
            spec = self.today.book.in_service(key)
            stock = self.today.stock(self.today.venues[0], spec.spec, spec.yield_base)
            if stock.keeps is None or days > stock.keeps:
                found.append((spec.spec, days - 1))
        return found


def _sums(both: list[_Weeks], name: str) -> tuple[np.ndarray, np.ndarray]:
    before = np.sum([getattr(one.before, name) for one in both], axis=0)
    after = np.sum([getattr(one.after, name) for one in both], axis=0)
    return before, after
