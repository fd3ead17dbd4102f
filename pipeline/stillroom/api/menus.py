"""The menu, as it is and as it might be."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from stillroom.api.asking import Asking

if TYPE_CHECKING:
    from stillroom.answers.menu.choose import MenuChoice, Wish
    from stillroom.answers.menu.last_days import LastDays
    from stillroom.answers.menu.today import Today
    from stillroom.answers.menu.what_if import WhatIf
    from stillroom.objects import Caution, MenuChange, MenuVerdict


class Menus(Asking):
    """What is asked of another menu, and what was decided of today's."""

    def what_if(self, change: MenuChange) -> WhatIf:
        """Another menu beside today's: sales, money, waste, makings and work a week, each with its range.

        Raises:
            UsageError: the change names what is not there, or leaves no drink.
        """
        from stillroom.answers.menu.what_if import what_if

        today, cautions = self._today()
        return what_if(today, change, cautions)

    def choose_menu(self, wish: Wish, change: MenuChange) -> MenuChoice:
        """The menu that leaves most within the limits of a wish, of today's drinks as a what-if changes them.

        Raises:
            UsageError: something named is not there, or no menu keeps to the limits.
        """
        from stillroom.answers.menu.choose import choose_menu

        return choose_menu(self._today()[0], wish, change)

    def last_days(self, last_day: date, change: MenuChange) -> LastDays:
        """What to stop making when, so that little is left: of dropped drinks' preparations, else of all.

        Raises:
            UsageError: a drink is not on the menu, or the day is too near or too far.
        """
        from stillroom.answers.menu.last_days import last_days

        return last_days(self._today()[0], last_day, change)

    def verdicts(self) -> tuple[MenuVerdict, ...]:
        """What review meetings decided, oldest first."""
        from stillroom.house import verdicts

        return verdicts.taken(self.settings.folder)

    def take_verdict(self, name: str, decision: str, *, by: str, why: str) -> MenuVerdict:
        """Write down what was decided of a drink, preparation or garnish, in the house's `verdicts.jsonl`.

        Raises:
            UsageError: there is no such thing, the decision is none, or nobody or nothing is named.
        """
        from stillroom.answers.menu.deciding import take

        with self._reading() as con:
            return take(con, self.settings.folder, name, decision, by=by, why=why)

    def _what_ifs(self, changes: Sequence[MenuChange]) -> list[WhatIf]:
        if not changes:
            return []
        from stillroom.answers.menu.what_if import what_if

        today, cautions = self._today()
        return [what_if(today, change, cautions) for change in changes]

    def _today(self) -> tuple[Today, tuple[Caution, ...]]:
        """Today's menu, and all cautions there are."""
        from stillroom.answers.menu.today import NEEDS, Today

        with self._reading():
            return Today(self._frames(NEEDS), self.settings.facts), self._cautions()
