"""What a program can ask of a house: all that the command line can, as frames and plain objects.

    >>> import stillroom
    >>> house = stillroom.open("my-house")        # doctest: +SKIP
    >>> house.view("daily_serves")                # doctest: +SKIP

Heavy imports live inside the methods, so that importing this costs a command nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import duckdb
    import polars as pl

    from stillroom.analysis.bench.edits import Edit
    from stillroom.analysis.bench.solving import Prefer
    from stillroom.answers.doubts.books import Doubt
    from stillroom.answers.draft.batch import Correction
    from stillroom.answers.draft.build import Draft
    from stillroom.answers.draft.to_book import Written
    from stillroom.answers.draft.what_next import WhatNext
    from stillroom.answers.matching.modifiers import Modifiers
    from stillroom.answers.matching.open_names import Drink, OpenName
    from stillroom.answers.matching.said import Answer
    from stillroom.answers.menu.choose import MenuChoice, Wish
    from stillroom.answers.menu.last_days import LastDays
    from stillroom.answers.menu.today import Today
    from stillroom.answers.menu.what_if import WhatIf
    from stillroom.answers.prep_list import PrepList
    from stillroom.answers.review.sheet_objects import Sheet
    from stillroom.answers.spec_answer import Spec
    from stillroom.house.house import House
    from stillroom.intake.deciding import Decided
    from stillroom.intake.outcome import Outcome, Progress
    from stillroom.looking.gathering import Gathered
    from stillroom.looking.patterns import Kin
    from stillroom.looking.seen import Look
    from stillroom.objects import Caution, MenuChange, MenuVerdict
    from stillroom.plugins.registry import Registry
    from stillroom.store.in_force import LedgerLine
    from stillroom.store.kept_answers import Worked
    from stillroom.verifying import Verdict
    from stillroom_reports.document import Document
    from stillroom_reports.notebook import ReportAnswer


def _silent(name: str, done: int, about: int) -> None:
    """No progress is shown."""


def open_house(folder: str | Path = ".") -> OpenHouse:
    """The house at or above a folder, with all plugins.

    Raises:
        SettingsError: there is no house, or its settings say what they may not.
    """
    from stillroom.house.house import find_house
    from stillroom.house.settings import load_house
    from stillroom.plugins.registry import load_registry

    found, registry = find_house(Path(folder)), load_registry()
    return OpenHouse(settings=load_house(found, registry), registry=registry)


def new_house(folder: str | Path) -> tuple[str, ...]:
    """Write a house to begin with: settings, blank templates, a guide; gives the faults of plugins left out."""
    from stillroom.house.new_house import write_house
    from stillroom.plugins.registry import load_registry

    registry = load_registry()
    write_house(Path(folder), registry)
    return registry.faults


def demo_house(folder: str | Path) -> None:
    """Write an invented house with a season of data."""
    from stillroom.demo import write_demo

    write_demo(Path(folder))


@dataclass(frozen=True)
class OpenHouse:
    """A house to ask. Every method opens the store for as long as it works, and raises a `StillroomError` in words."""

    settings: House
    registry: Registry

    @property
    def plugin_faults(self) -> tuple[str, ...]:
        """Plugins that were left out, a sentence each."""
        return self.registry.faults

    @cached_property
    def _tables(self) -> list[Any]:
        return list(self.registry.tables.values())

    @cached_property
    def _opened(self) -> list[duckdb.DuckDBPyConnection]:
        return []

    @contextmanager
    def _reading(self) -> Iterator[duckdb.DuckDBPyConnection]:
        """The store; opened once where one question is asked inside another."""
        from stillroom.store import opening

        if self._opened:
            yield self._opened[0]
            return
        with opening.reading(self.settings, self._tables) as con:
            self._opened.append(con)
            try:
                yield con
            finally:
                self._opened.clear()

    def kept(self, question: tuple[object, ...], work_out: Callable[[], Worked]) -> Mapping[str, str]:
        """An answer in words as it was worked out last, while all that it rests on is the same; else worked out anew.

        Args:
            question: all that was asked, and how the answer is to be written.
            work_out: asks this house, and puts the answer into words.
        """
        from stillroom.store import kept_answers

        with self._reading() as con:
            return kept_answers.kept_or_worked_out(con, self.settings, self.registry, question, work_out)

    # What is in the store ------------------------------------------------------------------------------

    def view(self, name: str) -> pl.DataFrame:
        """A view or table whole, in a fixed order: `daily_serves`, `batch_fate`, `current_spec` ..."""
        from stillroom.answers.reporting import view_frames

        with self._reading() as con:
            return view_frames(con, [name])[name]

    def sql(self, query: str, *parameters: object) -> pl.DataFrame:
        """The rows of one query on the store, which it cannot change; `?` in it stand for the parameters.

        Raises:
            UsageError: the query is not one that can be answered.
        """
        import duckdb

        from stillroom.errors import UsageError, in_one_line
        from stillroom.store.frames import fetch

        with self._reading() as con:
            try:
                return fetch(con, query, parameters)
            except (duckdb.ProgrammingError, duckdb.DataError, duckdb.NotSupportedError) as error:
                raise UsageError(f"The query cannot be answered: {in_one_line(error)}") from None

    # Answers -------------------------------------------------------------------------------------------

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
        from stillroom.answers import not_whole, reporting
        from stillroom.errors import UsageError
        from stillroom_reports.document import Document, Entry

        reports = reporting.chosen_reports(self.registry, list(names), what_ifs=bool(what_ifs))
        changed = self._what_ifs(what_ifs)
        with self._reading() as con:
            period = reporting.chosen_period(con, self.settings, season, first, last)
            cautions = not_whole.with_others(con, self.registry.cautions.values())
            other = reporting.other_season(self.settings, period, against)
            answers = reporting.answer(
                con,
                self.settings,
                reports,
                period,
                cautions,
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
        from stillroom.answers import not_whole, reporting
        from stillroom.answers.review import build

        with self._reading() as con:
            period = reporting.chosen_period(con, self.settings, season, None, None)
            cautions = tuple(not_whole.with_others(con, self.registry.cautions.values()))
            frames = reporting.view_frames(con, build.NEEDS)
        return build.one_sheet(frames, self.settings.facts, period, cautions, name)

    def prep_list(self, day: date | None = None, days: int | None = None) -> PrepList:
        """What to make on a day, else on the next open one, until the next making; and what to buy for it."""
        from stillroom.analysis.specs.views import VIEWS
        from stillroom.answers import prep_list
        from stillroom.answers.reporting import view_frames

        with self._reading() as con:
            frames = view_frames(con, {*prep_list.NEEDS, *VIEWS})
        return prep_list.with_to_buy(prep_list.prep_list(frames, self.settings.facts, day, days), frames)

    def spec(self, name: str, version: int | None = None) -> Spec:
        """A spec in one version, else in the one in service: its sheet at any size, and what to be careful of.

        Raises:
            UsageError: there is no such spec or version.
        """
        from stillroom.answers import not_whole, spec_answer
        from stillroom.answers.reporting import view_frames

        with self._reading() as con:
            frames = view_frames(con, spec_answer.NEEDS)
            cautions = not_whole.with_others(con, self.registry.cautions.values())
        return spec_answer.spec_answer(frames, cautions, self.settings.facts, name, version)

    def draft(
        self,
        name: str,
        *,
        version: int | None = None,
        edits: Sequence[Edit] = (),
        aims: Sequence[str] = (),
        free: Sequence[str] = (),
        prefer: Prefer = "near",
    ) -> Draft:
        """A spec with its lines changed or solved for, beside the version in service, with the drinks that use it.

        Raises:
            UsageError: a change or an aim names what is not there, or cannot be read.
        """
        from stillroom.answers import not_whole
        from stillroom.answers.draft.build import draft

        with self._reading() as con:
            cautions = not_whole.with_others(con, self.registry.cautions.values())
            return draft(
                con, name, cautions=cautions, version=version, edits=edits, aims=aims, free=free, prefer=prefer
            )

    def what_next(self, name: str, how_many: int = 3, *, step: float = 0.2, free: Sequence[str] = ()) -> WhatNext:
        """Two to four versions of a spec to taste next, from all panels so far.

        `step`: share of an amount by which it may move. `free`: items that may change; those in which the tasted
        versions differ when empty.

        Raises:
            UsageError: something named is not there, or nothing says what may change.
        """
        from stillroom.answers.draft.what_next import what_next

        with self._reading() as con:
            return what_next(con, name, how_many, step, free)

    def correct_batch(
        self, name: str, batch: str, *, aims: Sequence[str] = (), items: Sequence[str] = ()
    ) -> Correction:
        """What to add to a batch, as it was measured, to bring it to its °Brix.

        Raises:
            UsageError: there is no such batch, it was not measured, or its target is not known.
        """
        from stillroom.answers.draft.batch import correction

        with self._reading() as con:
            return correction(con, name, batch, aims, items)

    def write_draft(self, draft: Draft) -> Written:
        """Add a draft to the house's spec book as the next version, not in service; the next intake takes it in.

        Raises:
            UsageError: it holds what nobody lists, or would be in service at once.
            FileRefused: a file of the book has changed since, or cannot be written. Nothing is written.
        """
        from stillroom.answers.draft.to_book import write

        with self._reading() as con:
            return write(con, self.settings, self.registry, draft)

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
        from stillroom.answers import not_whole
        from stillroom.answers.menu.today import NEEDS, Today
        from stillroom.answers.reporting import view_frames

        with self._reading() as con:
            frames = view_frames(con, NEEDS)
            cautions = tuple(not_whole.with_others(con, self.registry.cautions.values()))
        return Today(frames, self.settings.facts), cautions

    # What goes into the store --------------------------------------------------------------------------

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
        progress: Progress = _silent,
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
        self, paths: Sequence[str | Path], *, answers: Mapping[str, Any] | None = None, progress: Progress = _silent
    ) -> Gathered:
        """How files, and all in folders, would be taken in: those alike in one, and what cannot be read with why."""
        from stillroom.looking.gathering import gathered

        return gathered(self.settings, self.registry, [Path(path) for path in paths], answers or {}, progress)

    def adopt(self, seen: Look) -> OpenHouse:
        """Write the proposed [[source]] into stillroom.toml; gives the house with it.

        Raises:
            SettingsError: something has to be said first, or the settings cannot be written; they are as they were.
        """
        from stillroom.looking.settling import write_settings

        return OpenHouse(settings=write_settings(self.settings, self.registry, seen), registry=self.registry)

    def answer(self, seen: Look, key: str, said: str) -> OpenHouse:
        """Write what is said of a file that a source reads already into its settings; gives the house with it.

        Raises:
            UsageError: it is no answer to that question.
            SettingsError: the settings cannot be written; they are as they were.
        """
        from stillroom.looking.settling import write_answer

        return OpenHouse(settings=write_answer(self.settings, self.registry, seen, key, said), registry=self.registry)

    def closed(self, days: Sequence[date]) -> OpenHouse:
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
        return OpenHouse(settings=write_closed(self.settings, self.registry, days), registry=self.registry)

    def intake(
        self,
        files: Sequence[str | Path] = (),
        *,
        source: str | None = None,
        progress: Progress = _silent,
        tell: Callable[[Outcome], None] = lambda outcome: None,
    ) -> list[Outcome]:
        """Take in these files, else all that the settings name; each file's outcome is told as it ends.

        Raises:
            StoreError: the store is held by another process, damaged, or of a newer version.
        """
        from stillroom.intake.run import run

        outcomes = []
        for outcome in run(self.settings, self.registry, [Path(file) for file in files], source, progress):
            tell(outcome)
            outcomes.append(outcome)
        return outcomes

    def undo(self, which: int | str) -> Decided:
        """Take an intake (its number, or the file's name) out of force; what it had superseded counts again."""
        from stillroom.intake.deciding import undo

        return undo(self.settings, self.registry, str(which))

    def redo(
        self,
        which: int | str,
        *,
        progress: Progress = _silent,
        tell: Callable[[Outcome], None] = lambda outcome: None,
    ) -> list[Outcome]:
        """Let a file count again that was undone (the intake's number, or the file's name); as `intake` besides."""
        from stillroom.intake.deciding import redo

        return redo(self.settings, self.registry, str(which), progress, tell)

    def gone(self, file: str) -> list[Decided]:
        """Confirm that a file which is missing is gone for good: its rows count no longer."""
        from stillroom.intake.deciding import gone

        return gone(self.settings, self.registry, file)

    def confirm(
        self,
        file: str,
        rows: Sequence[int] = (),
        *,
        progress: Progress = _silent,
        tell: Callable[[Outcome], None] = lambda outcome: None,
    ) -> tuple[tuple[int, ...], list[Outcome]]:
        """Confirm rows that are set aside for a doubtful day (all of the file, unless numbers are given); as `intake`.

        Returns:
            the numbers of the rows, and each file's outcome.
        """
        from stillroom.intake.deciding import confirm

        return confirm(self.settings, self.registry, file, rows, progress, tell)

    def put_right(
        self,
        file: str,
        days: Mapping[int, date],
        *,
        progress: Progress = _silent,
        tell: Callable[[Outcome], None] = lambda outcome: None,
    ) -> list[Outcome]:
        """Correct the days (by the numbers of their rows) of rows set aside for a doubtful day; as `intake`."""
        from stillroom.intake.deciding import put_right

        return put_right(self.settings, self.registry, file, days, progress, tell)

    def ledger(self) -> list[LedgerLine]:
        """Every intake: which file, how many rows, and whether it still stands."""
        from stillroom.store import in_force

        with self._reading() as con:
            return in_force.lines(con, self.settings, self.registry.tables)

    def aside(self, intake_id: int | None = None) -> pl.DataFrame:
        """Rows set aside that wait to be corrected, with the reason; of one intake or of all."""
        from stillroom.store import waiting

        with self._reading() as con:
            return waiting.open_rows(con, self.settings, intake_id).drop("source", "table_name")

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
        from stillroom.answers.reporting import view_frames

        with self._reading() as con:
            return find.at_once(view_frames(con, find.AT_ONCE))

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

    def end_names_at(self, found: Modifiers) -> OpenHouse:
        """Write where modifiers begin into the settings of their sources; gives the house with these settings.

        Raises:
            SettingsError: such a source is not in the settings, or they cannot be written.
        """
        from stillroom.house import settings_text

        for name in found.sources:
            source = next((one for one in self.settings.sources if one.name == name), None)
            marks = [*(source.names_end_at if source else ()), found.mark]
            settings_text.write_setting(self.settings, self.registry, name, "names_end_at", marks)
        return open_house(self.settings.folder)

    def drinks(self) -> list[Drink]:
        """Every drink of the spec book, with what a serve of it costs."""
        from stillroom.answers.matching.open_names import drinks

        with self._reading() as con:
            return drinks(con)

    def write_open_names(self, names: Sequence[OpenName]) -> tuple[Path, list[str]]:
        """Write till names into the match file, each as '?', to be decided there; gives those it did not have."""
        from stillroom.answers.matching.match_file import write_open

        return write_open(self.settings, names)

    def match(self, decided: Sequence[Answer]) -> tuple[Path, list[Outcome]]:
        """Write what was said of till names into the match file, and take it in; gives the file and its outcome."""
        from stillroom.answers.matching.match_file import write_decided

        path = write_decided(self.settings, decided)
        return path, self.intake([path])

    def verify(self, progress: Progress = _silent) -> Verdict:
        """Build the store once more beside the old one, and hold every figure against it; nothing is changed."""
        from stillroom.verifying import verify

        return verify(self.settings, self.registry, progress)
