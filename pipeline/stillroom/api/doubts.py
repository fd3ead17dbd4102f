"""What is in doubt, and till names that no drink explains."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Self

from stillroom.api.intakes import Intakes

if TYPE_CHECKING:
    from stillroom.answers.doubts.books import Doubt
    from stillroom.answers.matching.modifiers import Modifiers
    from stillroom.answers.matching.open_names import Drink, OpenName
    from stillroom.answers.matching.said import Answer
    from stillroom.intake.outcome import Outcome


class Doubts(Intakes):
    """What a person has to say before figures can be trusted."""

    def doubts(self, *, season: str | None = None) -> tuple[Doubt, ...]:
        """All that is in doubt in the data, each with what mends it and the money of a season that it touches."""
        from stillroom.answers import reporting
        from stillroom.answers.doubts import find

        with self._reading() as con:
            period = reporting.chosen_period(con, self.settings, season, None, None)
            return find.doubts(reporting.view_frames(con, find.NEEDS), period)

    def remarks(self) -> tuple[str, ...]:
        """Names that the spec book does not have, and improbable amounts: each in a sentence with its file and row."""
        from stillroom.answers.doubts import find

        return find.at_once(self._frames(find.AT_ONCE))

    def unmatched(self) -> list[OpenName]:
        """Till names that no drink explains, with what each may be; a guess counts for nothing until it is said."""
        from stillroom.answers.matching.open_names import open_names

        with self._reading() as con:
            return open_names(con)

    def modifiers(self) -> list[Modifiers]:
        """Marks at which the till's modifiers seem to begin, of sources in the settings; `end_names_at` says so."""
        from stillroom.answers.matching.modifiers import modifiers

        there = {source.name for source in self.settings.sources}
        with self._reading() as con:
            return [found for found in modifiers(con) if there.issuperset(found.sources)]

    def end_names_at(self, found: Modifiers) -> Self:
        """Write where modifiers begin into the settings of their sources; gives the house with these settings.

        Raises:
            SettingsError: such a source is not in the settings, or they cannot be written.
        """
        from stillroom.house import settings_text

        settings = self.settings
        for name in found.sources:
            source = next((one for one in settings.sources if one.name == name), None)
            marks = [*(source.names_end_at if source else ()), found.mark]
            settings = settings_text.write_setting(settings, self.registry, name, "names_end_at", marks)
        return replace(self, settings=settings)

    def drinks(self) -> list[Drink]:
        """Every drink of the spec book, with what a serve of it costs."""
        from stillroom.answers.matching.open_names import drinks

        with self._reading() as con:
            return drinks(con)

    def write_open_names(self, names: Sequence[OpenName]) -> tuple[Path, list[str] | None]:
        """Write till names into the match file, each as '?', to be decided there; gives those it did not have.

        None instead of them where the house keeps that file under headings of its own: no '?' is written there.
        """
        from stillroom.answers.matching.match_file import write_open

        return write_open(self.settings, self.registry, names)

    def match(self, decided: Sequence[Answer]) -> tuple[Path, list[Outcome]]:
        """Write what was said of till names into the match file, and take it in; gives the file and its outcome.

        Raises:
            FileRefused: it cannot be written as it is kept; nothing was written.
        """
        from stillroom.answers.matching.match_file import write_decided

        path = write_decided(self.settings, self.registry, decided)
        return path, self.intake([path])
