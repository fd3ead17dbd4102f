"""What reports, sheets and lists answer."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from stillroom.api.menus import Menus

if TYPE_CHECKING:
    from stillroom.answers.prep_list import PrepList
    from stillroom.answers.review.sheet_objects import Sheet
    from stillroom.objects import MenuChange
    from stillroom_reports.document import Document
    from stillroom_reports.notebook import ReportAnswer


class Reports(Menus):
    """What is asked about a season, a thing or a day."""

    def document(
        self,
        names: Sequence[str] = (),
        *,
        season: str | None = None,
        first: date | None = None,
        last: date | None = None,
        against: str | None = None,
        what_ifs: Sequence[MenuChange] = (),
    ) -> Document:
        """The answers of these reports, or of all, over a season or some days: what the page is drawn from.

        With all reports the season is held against another, `against`, else the one before. Each what-if is answered
        by every report on what-ifs, in a section of its own.

        Raises:
            UsageError: there is no such report or season, a what-if names what is not there, or none could be built.
        """
        from stillroom.answers import reporting
        from stillroom.errors import UsageError
        from stillroom_reports.document import Document, Entry

        reports = reporting.chosen_reports(self.registry, list(names), what_ifs=bool(what_ifs))
        changed = self._what_ifs(what_ifs)
        with self._reading() as con:
            period = reporting.chosen_period(con, self.settings, season, first, last)
            other = reporting.other_season(self.settings, period, against)
            answers = reporting.answer(
                con,
                self.settings,
                reports,
                period,
                self._cautions(),
                self.registry.owners,
                glance=not names,
                other=other,
                what_ifs=changed,
            )
        if reports and not answers.results:
            raise UsageError("\n".join([*answers.faults, "No report could be built."]))
        return Document(
            house=self.settings.facts,
            period=answers.period,
            entries=tuple(Entry(report=report, result=result) for report, result in answers.results),
            facts=answers.facts,
            faults=(*self.plugin_faults, *answers.faults),
            review=answers.review,
        )

    def report(
        self, name: str, *, season: str | None = None, first: date | None = None, last: date | None = None
    ) -> ReportAnswer:
        """One report's findings, tables and charts; a notebook shows them by themselves."""
        from stillroom_reports.notebook import ReportAnswer

        return ReportAnswer(self.document([name], season=season, first=first, last=last))

    def sheet(self, name: str, *, season: str | None = None) -> Sheet:
        """All that is known of a drink, preparation or garnish, in one place.

        Raises:
            UsageError: there is no such thing in the spec book.
        """
        from stillroom.answers import reporting
        from stillroom.answers.review import build

        with self._reading() as con:
            period = reporting.chosen_period(con, self.settings, season, None, None)
            frames, cautions = self._frames(build.NEEDS), self._cautions()
        return build.one_sheet(frames, self.settings.facts, period, cautions, name)

    def prep_list(self, day: date | None = None, days: int | None = None) -> PrepList:
        """What to make on a day, else on the next open one, until the next making; and what to buy for it."""
        from stillroom.analysis.specs.views import VIEWS
        from stillroom.answers import prep_list

        frames = self._frames({*prep_list.NEEDS, *VIEWS})
        return prep_list.with_to_buy(prep_list.prep_list(frames, self.settings.facts, day, days), frames)
