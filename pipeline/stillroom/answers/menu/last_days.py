"""The last days of a menu: what to stop making when, so that little is left, and what that saves."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from datetime import date, timedelta
from typing import Any, Final

import numpy as np

from stillroom.analysis.batches.making_way import Costs
from stillroom.analysis.batches.use_ahead import FARTHEST
from stillroom.analysis.demand.levels import WEEK
from stillroom.analysis.next_menu.last_making import LastMaking, last_making
from stillroom.analysis.next_menu.menu_week import worth_of
from stillroom.answers.menu.request import asked
from stillroom.answers.menu.today import Today, Venue, earning_of
from stillroom.errors import UsageError
from stillroom.objects import MenuChange
from stillroom.words import amount, money, percent, short_day, wrapped

DRAWS: Final = 200
UNTIL: Final = "Until then as the prep list says, but never for more than will still be used."
KEEPING: Final = (
    "Use-by dates hold to the end: local food codes and the person responsible decide. Never use what is past its "
    "use-by, or smells, looks or measures wrong before it."
)


@dataclass(frozen=True, kw_only=True)
class LastLine:
    """A preparation on the last days."""

    venue: str
    preparation: str
    unit: str
    on_hand: float
    plan: LastMaking
    last_made_on: date | None
    """About when it is made for the last time; None where likely no more is needed."""
    stop_after: date | None
    """None where none is made at all."""
    saves_waste: float
    """Money's worth of it that is not poured away."""


@dataclass(frozen=True, kw_only=True)
class LastDays:
    """What to stop making when."""

    last_day: date
    """Last day on which it is served."""
    lines: tuple[LastLine, ...]
    """What saves most first."""
    untold: tuple[str, ...]
    """Preparations of which neither spec nor batch says how they are made."""


def last_days(today: Today, last_day: date, change: MenuChange) -> LastDays:
    """The plan for the preparations that go with dropped drinks; for all where none is dropped.

    Raises:
        UsageError: a drink is not on the menu, or the day is too near or too far.
    """
    wanted = asked(change, today.book, today.menu) if change.label else None
    days = (last_day - today.last_day).days
    if not 1 <= days <= FARTHEST:
        raise UsageError(
            f"--ends {last_day} must be 1 to {FARTHEST} days after {today.last_day}, the last day in the data."
        )
    gone = _gone(today, wanted.drop if wanted else ())
    lines, untold = [], set[str]()
    for venue in today.venues:
        for line in _venue(today, venue, last_day, gone):
            if isinstance(line, str):
                untold.add(line)
            else:
                lines.append(line)
    return LastDays(
        last_day=last_day,
        lines=tuple(sorted(lines, key=lambda line: (-line.plan.saves, line.preparation))),
        untold=tuple(sorted(untold)),
    )


def _gone(today: Today, drop: Sequence[str]) -> set[str] | None:
    """Preparations that no drink takes once these are dropped; None for all."""
    if not drop:
        return None
    kept = [name for name in today.menu if name not in drop]
    needs = [today.takes({name: today.serve[name] for name in drinks}) for drinks in (today.menu, kept)]
    return {*needs[0].preparations} - {*needs[1].preparations}


def _venue(today: Today, venue: Venue, last_day: date, gone: set[str] | None) -> Iterator[LastLine | str]:
    first = today.last_day + timedelta(days=1)
    served = {name: today.serve[name] for name in venue.menu}
    takes = today.takes(served)
    preparations = today.preparations(venue, takes.preparations, takes.units)
    serves = venue.serves[:DRAWS, : (last_day - first).days + 1]
    weekly = serves.sum(axis=1).mean(axis=0) * WEEK / serves.shape[1]
    worth = worth_of(weekly, earning_of(served.values()), takes, today.prep.running_out_share)
    whole = takes.straight @ np.linalg.inv(np.eye(len(takes.preparations)) - takes.inner)
    for place, name in enumerate(takes.preparations):
        one = preparations[name]
        if gone is not None and name not in gone:
            continue
        if one.made is None:
            yield name
            continue
        stock = today.stock(venue, name, takes.units[place])
        costs = Costs(waste=one.waste, short=float(worth[place]), making=one.making)
        plan = last_making(stock.shelf(first), serves @ whole[:, place], one.made, costs)
        yield LastLine(
            venue=venue.name,
            preparation=name,
            unit=takes.units[place],
            on_hand=stock.on_hand,
            plan=plan,
            last_made_on=None if plan.day is None else first + timedelta(days=plan.day),
            stop_after=None if plan.stop is None else first + timedelta(days=plan.stop),
            saves_waste=one.waste * (plan.lost_usual - plan.lost),
        )


# In words ------------------------------------------------------------------------------------------------


def last_days_text(found: LastDays, currency: str) -> str:
    """The whole plan for people."""
    wasted, saves = sum(one.saves_waste for one in found.lines), sum(one.plan.saves for one in found.lines)
    lines = wrapped(
        f"Last day {short_day(found.last_day)}: {money(wasted, currency)} less poured away than when all is made as "
        f"usual to the end; {money(saves, currency)} saved, work and what runs out counted.",
    )
    several = len({one.venue for one in found.lines}) > 1
    for one in found.lines:
        lines += ["", *wrapped(_line(one, currency, several), "  ", "    ")]
    if found.untold:
        said = f"Not told, as nobody says how they are made: {', '.join(found.untold)}."
        lines += ["", *wrapped(said, then="  ")]
    lines += ["", *wrapped(f"{UNTIL} {KEEPING}")]
    return "\n".join(lines) + "\n"


def _line(one: LastLine, currency: str, several: bool) -> str:
    plan = one.plan
    where = f" ({one.venue})" if several else ""
    if one.last_made_on is not None:
        what = f"last making about {short_day(one.last_made_on)}, {amount(plan.size, one.unit)}"
        if one.stop_after is not None and one.stop_after > one.last_made_on:
            what += f"; none after {short_day(one.stop_after)}"
    else:
        what = f"make no more; {amount(one.on_hand, one.unit)} on hand"
        if one.stop_after is not None:
            what += f" (if some is lost, up to {amount(plan.up_to, one.unit)} by {short_day(one.stop_after)})"
    return (
        f"{one.preparation}{where}: {what}. Left at the end {amount(plan.left, one.unit)}, as usual "
        f"{amount(plan.left_usual, one.unit)}; runs out {percent(plan.chance_short)} of the time; saves "
        f"{money(plan.saves, currency)}."
    )


def last_days_values(found: LastDays, currency: str) -> dict[str, Any]:
    """The plan as plain values."""
    return asdict(found) | {"currency": currency}
