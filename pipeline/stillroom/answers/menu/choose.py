"""Which drinks to put on the next menu: the house's own drinks, limits and plan, and the choice that follows."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stillroom.analysis.next_menu.assumption import Assumption
from stillroom.analysis.next_menu.candidates import Candidates, Limits, Scored
from stillroom.analysis.next_menu.choosing import Choice, choose
from stillroom.analysis.next_menu.menu_demand import new_serves
from stillroom.analysis.next_menu.newcomers import newcomer
from stillroom.answers.menu.request import asked, on_menu
from stillroom.answers.menu.rests_on import return_share
from stillroom.answers.menu.today import Serve, Today, changed_serve, earning_of
from stillroom.errors import UsageError
from stillroom.objects import MenuChange
from stillroom.words import listed

DRAWS = 60
"""Draws of the demand on which plans are made; as the scale of a week's plan, not of its tails."""


@dataclass(frozen=True, kw_only=True)
class Wish:
    """What is asked of the next menu, as options say it."""

    drinks: int
    preparations: int | None = None
    work: str | None = None
    """Such as '9 hours'."""
    must: tuple[str, ...] = ()
    one_of: tuple[str, ...] = ()
    """Such as 'Ninth Buoy, Cold Letter'."""


@dataclass(frozen=True, kw_only=True)
class MenuChoice:
    """The menu chosen, with names."""

    wish: Wish
    found: Candidates
    choice: Choice
    share: Assumption
    today: Scored
    """All candidates of today's menu together, reckoned alike."""
    notes: tuple[str, ...]

    def names(self, chosen: Sequence[int]) -> list[str]:
        """Drinks by name."""
        return [self.found.names[place] for place in chosen]


def choose_menu(today: Today, wish: Wish, change: MenuChange) -> MenuChoice:
    """Choose among today's drinks and those added, but for those dropped.

    Raises:
        UsageError: something named is not there, or no menu keeps to the limits.
    """
    found, share, notes = _candidates(today, change)
    limits = _limits(wish, found)
    choice = choose(found, limits)
    if choice is None:
        raise UsageError(f"No menu of {wish.drinks} drinks keeps to all of these limits: loosen one of them.")
    return MenuChoice(
        wish=wish,
        found=found,
        choice=choice,
        share=share,
        today=found.score(tuple(range(found.today))),
        notes=notes,
    )


def _candidates(today: Today, change: MenuChange) -> tuple[Candidates, Assumption, tuple[str, ...]]:
    wanted = asked(change, today.book, today.menu)
    kept = [name for name in today.menu if name not in wanted.drop]
    serve = {name: changed_serve(today.serve[name], wanted.prices.get(name), name) for name in kept}
    new = {spec.spec: today.new_serve(spec.spec, spec.version, wanted.prices.get(spec.spec)) for spec in wanted.add}
    serves = _serves(today, kept, len(new))
    serve |= new
    takes = today.takes(serve)
    venue = today.venues[0]
    share = return_share(today)
    found = Candidates(
        names=tuple(serve),
        today=len(kept),
        serves=serves,
        earning=earning_of(serve.values()),
        takes=takes,
        preparations=today.preparations(venue, takes.preparations, takes.units, wanted),
        share=float(share.quantile(0.5)),
        running_out=today.prep.running_out_share,
    )
    return found, share, tuple(_notes(today, serve, len(today.venues)))


def _serves(today: Today, kept: Sequence[str], new: int) -> np.ndarray:
    """Draws by days by drinks of all venues together; new drinks as the house's new drinks may sell."""
    every = np.zeros((DRAWS, today.venues[0].serves.shape[1], len(kept)))
    for venue in today.venues:
        for place, name in enumerate(kept):
            if name in venue.menu:
                every[:, :, place] += venue.serves[:DRAWS, :, venue.menu.index(name)]
    if not new:
        return every
    levels = newcomer([venue.ahead.history for venue in today.venues])
    generator = np.random.default_rng(today.seed)
    factors = np.stack([levels.draws(DRAWS, generator) for _ in range(new)], axis=1)
    return np.concatenate([every, new_serves(every, factors, today.seed)], axis=2)


def _notes(today: Today, serve: dict[str, Serve], venues: int) -> list[str]:
    notes = [f"{name}: its contribution is the most it can be." for name, one in serve.items() if one.missing]
    if venues > 1:
        notes.append("The venues are planned as one.")
    return notes


def _limits(wish: Wish, found: Candidates) -> Limits:
    names = found.names
    if not 1 <= wish.drinks <= len(names):
        raise UsageError(f"--choose must be 1 to {len(names)}, the drinks there are to choose from, not {wish.drinks}.")
    if wish.preparations is not None and wish.preparations < 1:
        raise UsageError(f"--preparations must be 1 or more, not {wish.preparations}.")
    must = tuple(dict.fromkeys(names.index(on_menu("--must", name, names)) for name in wish.must))
    groups = [[part.strip() for part in text.split(",") if part.strip()] for text in wish.one_of]
    for text, group in zip(wish.one_of, groups, strict=True):
        if len(group) < 2:
            raise UsageError(f"--one-of '{text}': name two drinks or more, with commas.")
    if len(must) > wish.drinks:
        raise UsageError(f"--must names {len(must)} drinks, and --choose takes {wish.drinks}.")
    return Limits(
        drinks=wish.drinks,
        preparations=wish.preparations,
        minutes=None if wish.work is None else _minutes(wish.work, found),
        must=must,
        one_of=tuple(tuple(names.index(on_menu("--one-of", name, names)) for name in group) for group in groups),
    )


def _minutes(text: str, found: Candidates) -> float:
    match = re.fullmatch(r"(\d+(?:[.,]\d+)?)\s*(h|hours?|min|minutes?)", text.strip().casefold())
    if match is None or float(match[1].replace(",", ".")) <= 0:
        raise UsageError(f"--work '{text}': write it like --work '9 hours'.")
    unknown = [name for name in found.takes.preparations if found.preparations[name].minutes is None]
    if unknown:
        raise UsageError(
            f"--work: minutes of work are not known of {listed(unknown, 3)}: write making_minutes in the spec book."
        )
    return float(match[1].replace(",", ".")) * (60 if match[2].startswith("h") else 1)
