"""A plan for a file with what its cells say of how dates and numbers are written."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

import polars as pl

from stillroom.house.house import House
from stillroom.house.model import WHOLE_DAYS
from stillroom.intake import amounts, casting, how_read, moments, parting, planning, source_rows
from stillroom.intake.moments import NAMED_YEAR, Clock
from stillroom.intake.planning import Candidate, Plan
from stillroom.intake.shaping import AROUND, column_texts
from stillroom.looking.handwriting import Handwriting, Survey
from stillroom.looking.recognising import Recognised
from stillroom.plugins.registry import Registry
from stillroom.reading.delimited import first_rows

YEAR_FIRST: Final = frozenset({"dátum", "nap", "időpont", "készült", "elkészítve"})
"""Hungarian headings of days, of which the month comes before the day."""
LONE_YEAR: Final = re.compile(r"(?<![\d./-])20\d\d(?![\d./-]?\d)")
"""A year that is no part of a day: that a file was written on a day says nothing of the days in it."""
TIME_ALONE: Final = r"^\s*\d{1,2}[:h]\d\d"
TYPED: Final = ("Parquet", "JSON lines")
"""Kinds whose numbers are none of people's handwriting: their dot parts decimals."""


def with_handwriting(
    house: House,
    registry: Registry,
    candidate: Candidate,
    plan: Plan,
    recognised: Recognised,
    unseen: Sequence[str] = (),
) -> tuple[Plan, Handwriting]:
    """The plan with the date format and decimal mark that the cells show, where the settings leave them open.

    `unseen`: columns whose cells say nothing.

    Raises:
        FileRefused: the file cannot be read so.
    """
    if plan.settings.dates_are is None and _are_whole_days(plan):
        settings = plan.settings.model_copy(update={"dates_are": WHOLE_DAYS})
        plan = planning.plan(replace(candidate, settings=settings), registry)
    columns = {name: one for name, one in plan.table.schema().columns.items() if name not in unseen}
    clock = how_read.clock_of(plan.settings, house)
    types = {name: one.dtype.type for name, one in columns.items()} | dict.fromkeys(_whole_days(plan), pl.Date())
    year_first = any(
        heading.casefold() in YEAR_FIRST for several in plan.layout.headings.values() for heading in several
    )
    survey = Survey(types=types, clock=clock, year_first=year_first)
    if recognised.kind == "a workbook" and plan.settings.decimal is None:
        dots, commas = (_texts(planning.plan(_with(candidate, plan, decimal=one), registry)) for one in (".", ","))
        for dot, comma in zip(dots, commas, strict=True):  # numbers come out otherwise: they are no handwriting
            survey.add({name: text.set(text != comma[name], None) for name, text in dot.items()})
    else:
        for texts in _texts(plan):
            survey.add(texts)
    told = survey.told()
    if told.date_format is not None and not names_year(told.date_format) and plan.settings.year is None:
        plan = replace(plan, settings=plan.settings.model_copy(update={"year": _year_said(plan, recognised)}))
    if recognised.kind in TYPED and "." in (told.decimal_open or ""):
        told = replace(told, decimal_open=None)
    settings = plan.settings
    if settings.date_format is None and (told.date_format is None or settings.year or names_year(told.date_format)):
        settings = settings.model_copy(update={"date_format": told.date_format})
    elif settings.date_format is not None:
        told = replace(told, ways=())
    if settings.decimal is None:
        settings = settings.model_copy(update={"decimal": told.decimal})
    else:
        told = replace(told, decimal_open=None)
    plan = planning.plan(replace(candidate, settings=settings), registry)
    clock = how_read.clock_of(settings, house)
    open_year = clock.year is not None and clock.year_turns is None and not names_year(settings.date_format or "%Y")
    return plan, replace(told, year_turns=open_year and _turns(plan, clock))


def _are_whole_days(plan: Plan) -> bool:
    """Whether all its moments are days without a time, and no column has times: rows of what was sold in a day."""
    names = planning.moments_filled(plan.table, plan.layout)
    found = False
    for texts in _texts(plan) if names else ():
        for cells in (casting.narrow(texts[name].drop_nulls()) for name in names):
            if moments.without_times(cells).has_nulls():
                return False
            found = found or len(cells) > 0
    return found and not any(_holds_times(batch.rows) for batch, _ in source_rows.batches(plan, {}))


def _whole_days(plan: Plan) -> list[str]:
    """The columns of moments whose cells are days alone, as the settings say."""
    return planning.moments_filled(plan.table, plan.layout) if plan.settings.dates_are == WHOLE_DAYS else []


def _holds_times(rows: pl.DataFrame) -> bool:
    return any((cells.drop_nulls().str.contains(TIME_ALONE).mean() or 0.0) > 0.5 for cells in rows)  # type: ignore[operator]


def _turns(plan: Plan, clock: Clock) -> bool:
    """Whether days without a year may go over New Year."""
    columns = [
        *_whole_days(plan),
        *(name for name, one in plan.table.schema().columns.items() if one.dtype.type == pl.Date),
    ]
    for texts in _texts(plan):
        for text in (texts[name] for name in columns if name in texts):
            days = moments.written(text, pl.Date(), replace(clock, year_turns=False))
            if days.ne_missing(moments.over_the_year(days)).any():
                return True
    return False


def _year_said(plan: Plan, seen: Recognised) -> int | None:
    """The year that stands in the name of the file or its sheet, or above its rows, if all of them name but one."""
    said = [plan.file.path.stem, plan.file.sheet or "", *_above(plan, seen)]
    for batch, _ in source_rows.batches(plan, {}):
        said += [cell for place in AROUND if place in batch.rows.columns for cell in batch.rows[place].unique()]
    years = {int(year) for text in said for year in LONE_YEAR.findall(text or "")}
    return years.pop() if len(years) == 1 else None


def _above(plan: Plan, seen: Recognised) -> Iterator[str]:
    """The cells above the headings of a table."""
    if plan.settings.book or seen.heading_row is None:
        return
    top = first_rows(plan.file) if seen.kind == "delimited text" else {}
    for number, cells in top.get(seen.separator or "", []):
        if number < seen.heading_row:
            yield from cells


def names_year(date_format: str) -> bool:
    """Whether dates of this format say their year."""
    return re.search(NAMED_YEAR, date_format) is not None


def _with(candidate: Candidate, plan: Plan, *, decimal: str) -> Candidate:
    return replace(candidate, settings=plan.settings.model_copy(update={"decimal": decimal}))


def _texts(plan: Plan) -> Iterator[dict[str, pl.Series]]:
    """The cells of each batch, column by column; of amounts their numbers."""
    schema = plan.table.schema()
    for batch, _ in source_rows.batches(plan, {}):
        texts = column_texts(batch.rows, plan.layout, plan.settings)
        texts = {name: casting.tidy(text) for name, text in texts.items()}
        texts = parting.shared_parted(texts, plan.layout, plan.settings, schema).texts
        for name, text in texts.items():
            if (schema.columns[name].metadata or {}).get("unit_in"):
                texts[name] = text.map_elements(_number, pl.String, skip_nulls=True)
        yield texts


def _number(cell: str) -> str:
    """The number of an amount that has decimals, or else its last one."""
    found = amounts.numbers_in(cell)
    return next((one for one in found if re.search("[.,]", one)), found[-1] if found else cell)
