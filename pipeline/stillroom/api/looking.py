"""How files are read, and what the settings say of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, Self

from stillroom.api.asking import Asking, silent

if TYPE_CHECKING:
    from stillroom.intake.outcome import Progress
    from stillroom.looking.gathering import Gathered
    from stillroom.looking.patterns import Kin
    from stillroom.looking.seen import Look


class Looking(Asking):
    """What a house has to be told before files are taken in."""

    def look(
        self,
        file: str | Path,
        *,
        source: str | None = None,
        plugin: str | None = None,
        table: str | None = None,
        sheets: tuple[str, ...] = (),
        kin: Kin | None = None,
        answers: Mapping[str, str] | None = None,
        progress: Progress = silent,
    ) -> Look:
        """How a file would be taken in, and the settings for it; nothing is taken in.

        `answers`: what its keeper says to `Look.questions`, by their keys; `sheets`: the only ones to look at;
        `kin`: other files that the pattern of its source has to find, or not.
        """
        from stillroom.looking.look import NO_KIN, look

        return look(
            self.settings,
            self.registry,
            Path(file),
            source=source,
            plugin=plugin,
            table=table,
            sheets=sheets,
            kin=kin or NO_KIN,
            answers=answers,
            progress=progress,
        )

    def look_at_several(
        self, paths: Sequence[str | Path], *, answers: Mapping[str, Any] | None = None, progress: Progress = silent
    ) -> Gathered:
        """How files, and all in folders, would be taken in: those alike in one, and what cannot be read with why."""
        from stillroom.looking.gathering import gathered

        return gathered(self.settings, self.registry, [Path(path) for path in paths], answers or {}, progress)

    def adopt(self, seen: Look) -> Self:
        """Write the proposed [[source]] into stillroom.toml; gives the house with it.

        Raises:
            SettingsError: something has to be said first, or the settings cannot be written; they are as they were.
        """
        from stillroom.looking.settling import write_settings

        return replace(self, settings=write_settings(self.settings, self.registry, seen))

    def answer(self, seen: Look, key: str, said: str) -> Self:
        """Write what is said of a file that a source reads already into its settings; gives the house with it.

        Raises:
            UsageError: it is no answer to that question.
            SettingsError: the settings cannot be written; they are as they were.
        """
        from stillroom.looking.settling import write_answer

        return replace(self, settings=write_answer(self.settings, self.registry, seen, key, said))

    def closed(self, days: Sequence[date]) -> Self:
        """Say that the house was (or will be) closed on some days; gives the house with it.

        Raises:
            UsageError: the till has lines of one of them.
            SettingsError: the settings cannot be written; they are as they were.
        """
        from stillroom.errors import UsageError
        from stillroom.house.settings_text import write_closed

        with self._reading() as con:
            sold = {day for (day,) in con.execute("SELECT DISTINCT business_date FROM till_day").fetchall()}
        if busy := sorted(sold & {*days}):
            raise UsageError(f"The till has lines of {busy[0]}: it was no day off; nothing was written.")
        return replace(self, settings=write_closed(self.settings, self.registry, days))
