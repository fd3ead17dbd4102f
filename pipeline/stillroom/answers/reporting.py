"""Runs reports: each view is fetched once and handed over; a report that fails is named, and the others go on."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from typing import TYPE_CHECKING, Final, Literal

from stillroom import guarded, model
from stillroom.answers.menu.as_if import as_if
from stillroom.errors import StoreError, UsageError, in_one_line
from stillroom.house import verdicts
from stillroom.house.house import House
from stillroom.objects import Caution, Finding, HouseFacts, Period, Report, ReportInputs, ReportResult
from stillroom.plugins.registry import BUILT_IN, Registry
from stillroom.store import frames

if TYPE_CHECKING:
    import duckdb
    import polars as pl

    from stillroom.answers.menu.what_if import WhatIf
    from stillroom.answers.review.objects import Review

_COUNTS: Final = (
    ("Till lines in force", "SELECT sum(lines) FROM till_day"),
    ("Batches", "SELECT count(*) FROM current_batch"),
    ("Tasting scores", "SELECT count(*) FROM current_tasting"),
    ("Rows set aside", "SELECT count(*) FROM row_aside"),
)


@dataclass(frozen=True, kw_only=True)
class Answers:
    """What the reports said, what the figures rest on, and which reports failed."""

    period: Period
    results: tuple[tuple[Report, ReportResult], ...]
    facts: tuple[tuple[str, object], ...]
    faults: tuple[str, ...]
    review: Review | None = None
    """The period at a glance; None where only some reports were asked for."""


def chosen_reports(registry: Registry, names: list[str], *, what_ifs: bool = False) -> list[Report]:
    """The reports of these names, or all; those on what-ifs with every what-if, and else none of them."""
    known = of_grain(registry, names, "house")
    lonely = [name for name in names if known[name].on == "what-if"]
    if lonely and not what_ifs:
        raise UsageError(f"Report '{lonely[0]}' answers what-ifs: name one, like --what-if 'drop NAME; add NAME'.")
    named = set(names or known)
    return [one for name, one in known.items() if (what_ifs if one.on == "what-if" else name in named)]


def of_grain(registry: Registry, names: list[str], grain: Literal["house", "group"]) -> dict[str, Report]:
    """The reports that answer for a house, or for a group.

    Raises:
        UsageError: one of the names is none of them.
    """
    known = {name: one for name, one in registry.reports.items() if one.grain == grain}
    for name in names:
        if name not in known and name in registry.reports:
            other = "group report" if grain == "house" else "report"
            whom = "a group" if grain == "house" else "a house"
            raise UsageError(f"Report '{name}' answers for {whom}: 'stillroom {other} {name}'.")
        if name not in known:
            raise UsageError(f"There is no report '{name}'; there are: {', '.join(known)}.")
    return known


def chosen_period(
    con: duckdb.DuckDBPyConnection, house: House, season: str | None, first: date | None, last: date | None
) -> Period:
    """The days to look at: a season, the days given, else the season that holds the last day of the data, else all."""
    if season is not None and (first or last):
        raise UsageError("Give --season or --from and --to, not both.")
    if season is not None:
        return house.season(season)
    begin, end = _days(con)
    if begin is None:
        begin, end = _strangers_days(con)
    if first or last:
        given, first, last = (first, last), first or begin or last, last or end or first
        assert first is not None
        assert last is not None
        if last < first:
            to = f"--to {last}" if given[1] else f"The last day in the files, {last},"
            raise UsageError(
                f"{to} is before {f'--from {first}' if given[0] else f'the first day in the files, {first}'}."
            )
        return Period(first=first, last=last, label=f"{first} to {last}")
    if begin is None or end is None:
        raise StoreError("The store holds no dated rows yet: take files in with 'stillroom intake'.")
    for one in house.seasons:
        if one.first <= end <= one.last:
            return one
    return Period(first=begin, last=end, label="everything taken in")


def other_season(house: House, period: Period, name: str | None) -> Period | None:
    """The season to hold a period against: that of the name, else the one before it."""
    from stillroom.answers.review.against import before

    return house.season(name) if name else before(house.seasons, period)


def answer(
    con: duckdb.DuckDBPyConnection,
    house: House,
    reports: list[Report],
    period: Period,
    cautions: Iterable[Caution],
    owners: Mapping[str, str],
    *,
    glance: bool = False,
    other: Period | None = None,
    what_ifs: Sequence[WhatIf] = (),
) -> Answers:
    """Build the reports; one that fails is named with its plugin, and the others go on.

    Args:
        reports: on the period and on what-ifs; those are built once for each what-if.
        owners: report -> the plugin that it comes from.
        glance: put the period at a glance together, too.
        other: the season to hold it against.
    """
    from stillroom.answers.review import build

    on_what_ifs = [report for report in reports if report.on == "what-if"]
    reports = [report for report in reports if report.on == "period"]

    empty = _nothing_in(con, period)
    silent = [] if empty is None else [report for report in reports if not _is_of_strangers(report)]
    results = [] if empty is None else [(report, ReportResult(findings=(empty,))) for report in silent[:1]]
    faults: list[str] = []
    cautions, facts = tuple(cautions), replace(house.facts, verdicts=verdicts.taken(house.folder))
    reports, glance = [report for report in reports if report not in silent], glance and empty is None
    # The store reads ahead, in another thread, while the reports are built.
    with ThreadPoolExecutor(max_workers=1) as ahead:
        needs = dict.fromkeys(need for report in reports for need in report.needs)
        needs |= dict.fromkeys(build.NEEDS if glance else ())
        read = {need: ahead.submit(_frame, con, need) for need in needs}
        ask = _Asking(house, facts, period, cautions, owners, faults)
        for report in reports:
            results += ask.built(report, lambda needs: {need: read[need].result().clone() for need in needs})
        seen = None
        if glance:
            views = {need: read[need].result() for need in build.NEEDS}
            seen = build.review(views, tuple(results), facts, period, cautions, other)
    for number, what_if in enumerate(what_ifs, 1):
        with as_if(con, what_if):
            for report in on_what_ifs:
                of_it = replace(report, name=f"{report.name}-{number}", title=f"{report.title}: {what_if.label}")
                results += [
                    (of_it, result) for _, result in ask.built(report, partial(view_frames, con), what_if=what_if)
                ]
    return Answers(period=period, results=tuple(results), facts=_facts(con), faults=tuple(faults), review=seen)


@dataclass(frozen=True)
class _Asking:
    """Asks reports; one that fails is named among the faults."""

    house: House
    facts: HouseFacts
    period: Period
    cautions: tuple[Caution, ...]
    owners: Mapping[str, str]
    faults: list[str]

    def built(
        self,
        report: Report,
        frames_of: Callable[[tuple[str, ...]], Mapping[str, pl.DataFrame]],
        what_if: WhatIf | None = None,
    ) -> list[tuple[Report, ReportResult]]:
        """The report with what it found; nothing where it failed."""
        try:
            inputs = ReportInputs(
                frames=frames_of(report.needs),
                period=self.period,
                house=self.facts,
                settings=self.house.reports[report.name],
                cautions=self.cautions,
                what_if=what_if,
            )
            result = guarded.called(partial(report.answer, inputs), self.house.plugin_seconds)
            if not isinstance(result, ReportResult):
                raise TypeError(f"its build returned {type(result).__name__}, not ReportResult")
        except Exception as error:
            of = f"'{report.name}' of plugin '{self.owners[report.name]}'"
            self.faults.append(f"Report {of} failed ({in_one_line(error)}): it is left out.")
            return []
        return [(report, result)]


def _is_of_strangers(report: Report) -> bool:
    """Whether it reads tables of plugins alone: they may have rows of days of which our own say nothing."""
    ours = {*model.names(), *(f"current_{name}" for name in BUILT_IN)}
    return not ours & set(report.needs)


def view_frames(con: duckdb.DuckDBPyConnection, names: Iterable[str]) -> dict[str, pl.DataFrame]:
    """Views by name, whole, as reports are handed them."""
    return {name: _frame(con, name) for name in names}


def _frame(con: duckdb.DuckDBPyConnection, need: str) -> pl.DataFrame:
    if not need.isidentifier():
        raise UsageError(f"'{need}' is not the name of a view")
    return frames.fetch(con, f'SELECT * FROM "{need}" ORDER BY ALL')


_DAYS: Final = """
    SELECT business_date AS day FROM till_day
    UNION ALL SELECT made_on FROM current_batch
    UNION ALL SELECT happened_on FROM current_batch_event
    UNION ALL SELECT tasted_on FROM current_tasting
    UNION ALL SELECT tasted_on FROM current_trial
"""


def _days(con: duckdb.DuckDBPyConnection) -> tuple[date | None, date | None]:
    row = frames.one_row(con, f"SELECT min(day), max(day) FROM ({_DAYS})")
    return (row[0], row[1]) if row else (None, None)


def _strangers_days(con: duckdb.DuckDBPyConnection) -> tuple[date | None, date | None]:
    """The first and last day in the tables of plugins."""
    columns = con.execute(
        "SELECT table_name, column_name FROM duckdb_columns() WHERE data_type IN ('DATE', 'TIMESTAMP') "
        "AND table_name LIKE 'current#_%' ESCAPE '#' AND NOT list_contains(?, table_name)",
        [[*model.names(), *(f"current_{name}" for name in BUILT_IN)]],
    ).fetchall()
    days = " UNION ALL ".join(f'SELECT CAST("{column}" AS DATE) AS day FROM "{table}"' for table, column in columns)
    row = frames.one_row(con, f"SELECT min(day), max(day) FROM ({days})") if days else None
    return (row[0], row[1]) if row else (None, None)


def _nothing_in(con: duckdb.DuckDBPyConnection, period: Period) -> Finding | None:
    """What to say of a period of which no file speaks: figures of other months are no answer."""
    days = [period.first, period.last]
    if frames.one_row(con, f"SELECT 1 FROM ({_DAYS}) WHERE day BETWEEN ? AND ? LIMIT 1", days) is not None:
        return None
    first, last = _days(con)
    held = "no dated rows at all" if first is None else f"what they hold runs from {first} to {last}"
    return Finding(
        sentence=f"The files say nothing of {period.first} to {period.last}: {held}.",
        evidence="No sale, batch, event, tasting or trial in these days; nothing of other days is shown.",
        sureness="cannot tell",
        act=True,
        do="look at other days, or take in the files of these",
    )


def _facts(con: duckdb.DuckDBPyConnection) -> tuple[tuple[str, object], ...]:
    files = frames.one_value(con, "SELECT count(*) FROM standing")
    facts: list[tuple[str, object]] = [("Files taken in", files)]
    for label, query in _COUNTS:
        facts.append((label, int(frames.one_value(con, query) or 0)))
    last = frames.one_value(con, "SELECT last_day FROM last_day")
    if last is not None:
        facts.append(("Last day in the files", last))
    return tuple(facts)
