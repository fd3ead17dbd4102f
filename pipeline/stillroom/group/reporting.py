"""Runs the reports that answer for a group: each view is rolled up by Spark once, and handed over as a frame."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from functools import partial
from typing import TYPE_CHECKING, Any

from stillroom import guarded
from stillroom.answers.house_sheet import Member
from stillroom.answers.reporting import of_grain
from stillroom.answers.review.sheet_objects import Note
from stillroom.errors import StoreError, UsageError, in_one_line
from stillroom.group import views
from stillroom.objects import HouseFacts, Period, Report, ReportInputs, ReportResult
from stillroom.words import counted, day_text, number, percent

if TYPE_CHECKING:
    import polars as pl

    from stillroom.group.settings import Group
    from stillroom.plugins.registry import Registry
    from stillroom_reports.document import Document

Ask = Callable[[str], "pl.DataFrame"]
"""Answers a statement on the tables of facts."""


def of_group(group: Group, names: list[str], first: date | None = None, last: date | None = None) -> Document:
    """The answers of a group's reports, by Spark; as of `document`.

    Raises:
        UsageError: something is to be installed first; and as of `document`.
        StoreError: as of `document`.
    """
    from stillroom.group import reading, session, tables
    from stillroom.plugins.registry import load_registry

    registry = load_registry()
    of_grain(registry, names, "group")  # a wrong name is told before Spark is started
    facts = HouseFacts(name=group.name, currency=group.currency)
    with session.opened(group):
        ask = partial(reading.rolled, group, files=tables.files(group.facts))  # one state, though an intake is at work
        return document(ask, registry, facts, names, first, last)


def document(
    ask: Ask,
    registry: Registry,
    house: HouseFacts,
    names: list[str],
    first: date | None = None,
    last: date | None = None,
) -> Document:
    """The answers of these reports, or of all that answer for a group: what the page is drawn from.

    Args:
        ask: answers a statement, as `reading.rolled` does for a group.
        house: the group's name and currency.
        names: reports; all when empty.
        first, last: days to look at; all that the facts hold unless given.

    Raises:
        UsageError: there is no such report, the days are none, or no report could be built.
        StoreError: the group has no facts yet.
    """
    from stillroom_reports.document import Document, Entry

    known = of_grain(registry, names, "group")
    reports = [one for name, one in known.items() if name in set(names or known)]
    period = _period(ask, first, last)
    frames = _Frames(ask, period)
    entries, faults = [], []
    for report in reports:
        try:
            entries.append(Entry(report=report, result=_built(report, frames, house, period)))
        except Exception as error:
            of = f"'{report.name}' of plugin '{registry.owners[report.name]}'"
            faults.append(f"Report {of} failed ({in_one_line(error)}): it is left out.")
    if not entries:
        raise UsageError("\n".join([*faults, "No report could be built."]))
    books = frames["house_books"]
    return Document(
        house=house,
        period=period,
        entries=tuple(entries),
        facts=_facts(books),
        faults=tuple(faults),
        members=tuple(_member(row, house.currency) for row in books.iter_rows(named=True)) if not names else (),
    )


class _Frames:
    """Views by name, each asked for once."""

    def __init__(self, ask: Ask, period: Period) -> None:
        self._ask, self._period = ask, period
        self._known: dict[str, pl.DataFrame] = {}

    def __getitem__(self, name: str) -> pl.DataFrame:
        if name not in self._known:
            try:
                self._known[name] = self._ask(views.statement(name, self._period))
            except KeyError:
                raise UsageError(f"a group has no view or table '{name}'") from None
        return self._known[name]


def _built(report: Report, frames: _Frames, house: HouseFacts, period: Period) -> ReportResult:
    handed: Mapping[str, pl.DataFrame] = {name: frames[name] for name in report.needs}
    inputs: ReportInputs[Any] = ReportInputs(frames=handed, period=period, house=house, settings=report.settings())
    result = guarded.called(lambda: report.answer(inputs), guarded.PATIENT)
    if not isinstance(result, ReportResult):
        raise TypeError(f"its build returned {type(result).__name__}, not ReportResult")
    return result


def _period(ask: Ask, first: date | None, last: date | None) -> Period:
    begin, end = ask("SELECT min(first_day) AS first_day, max(last_day) AS last_day FROM houses").row(0)
    if begin is None:
        raise StoreError("The group has no facts yet: take its houses in with 'stillroom group intake'.")
    given, first, last = first or last, first or begin, last or end
    if last < first:
        raise UsageError(f"The last day, {last}, is before the first, {first}: the facts run from {begin} to {end}.")
    return Period(first=first, last=last, label=f"{first} to {last}" if given else "everything taken in")


def _facts(books: pl.DataFrame) -> tuple[tuple[str, object], ...]:
    failed = books.filter(books["state"] != "landed").height
    return (
        ("Houses", books.height),
        ("Houses whose last intake failed", failed),
        ("Rows read", int(books["rows_read"].sum() or 0)),
        ("Rows set aside", int(books["aside"].sum() or 0)),
        ("Last day in the facts", books["last_day"].max()),
    )


def _member(row: dict[str, Any], currency: str) -> Member:
    """One house: its sales, what it lost, and how whole its books are."""
    days, serves = row["days"] or 0, row["serves"] or 0.0
    lost, made = row["lost_money"] or 0.0, row["made_money"] or 0.0
    notes = [
        Note(
            label="Serves",
            value=number(serves / days, 1) if days else "none",
            unit="a day" if days else "",
            small=f"{number(serves)} in {counted(days, 'day')} with sales",
        ),
        Note(label="Takings", value=number(row["net_takings"] or 0.0), unit=currency, small="net, in these days"),
        Note(
            label="Lost, at cost",
            value=number(lost),
            unit=currency,
            small=f"{percent(lost / made)} of what making cost" if made else "no price of what was made",
            is_loss=lost > 0,
        ),
        Note(
            label="Unexplained, at cost",
            value=number(row["unexplained_money"] or 0.0),
            unit=currency,
            small=f"{counted(row['aside'] or 0, 'row')} of {number(row['rows_read'] or 0)} set aside",
        ),
    ]
    facts = [f"sales from {day_text(row['first_day'])} to {day_text(row['last_day'])}"] if row["first_day"] else []
    failed = row["state"] != "landed"
    return Member(
        name=row["house"],
        says=f"last intake failed ({row['reason_code']})" if failed else "",
        facts=tuple(facts),
        notes=tuple(notes),
    )
