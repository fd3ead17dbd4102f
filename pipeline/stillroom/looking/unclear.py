"""What has to be said before any row can land: cells that would otherwise be read as another thing than they say.

Each gives a question where the cells of a planned file ask it and its settings do not answer it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import time, timedelta
from typing import Final

import polars as pl

from stillroom.intake import casting, moments, parting, shaping, source_rows
from stillroom.intake.moments import Clock
from stillroom.intake.planning import Plan
from stillroom.intake.shaping import column_texts
from stillroom.looking.questions import NONE, Option, Question
from stillroom.objects import TextBatch

OF_OUNCES: Final = Question(
    key="oz",
    text="its amounts are in oz: which is it?",
    options=(
        Option(value="fl oz", label="US fluid ounces (29.57 ml)"),
        Option(value="imp fl oz", label="imperial fluid ounces (28.41 ml)"),
        Option(value="bar oz", label="30 ml, rounded as bars do"),
        Option(value="oz", label="the weight (28.35 g)"),
    ),
    default="fl oz",
    why="bars mostly measure by volume",
)
"""Without an answer, no row can land."""
OF_GALLONS: Final = Question(
    key="gallon",
    text="its amounts are in gallons or pints: of which kind?",
    options=(
        Option(value="US", label="US (a gallon is 3.785 l, a pint 473 ml)"),
        Option(value="imperial", label="imperial (a gallon is 4.546 l, a pint 568 ml)"),
    ),
    default="US",
    why="nothing in the file tells",
)
BUSINESS: Final = r"(?i)business|trading|shift|geschäftstag|boekdag|jour d'exploitation"
BARE_SHARE: Final = r"^(?:0?[.,]\d+|[01](?:[.,]0*)?)$"
SMALL_FOR_PER_CENT: Final = ("abv_pct", "sugar_pct", "usable_pct")
"""Columns of which no common thing has less than 1 %; of acid many have."""


def unclear(plan: Plan) -> tuple[Question, ...]:
    """All such questions of a planned file."""
    return (*_of_ounces(plan), *_of_gallons(plan), *_of_shares(plan), *_of_voids(plan))


def _batches(plan: Plan) -> Iterator[tuple[TextBatch, dict[str, pl.Series]]]:
    """Each batch, and its cells column by column, tidy and taken apart."""
    schema = plan.table.schema()
    for batch, _ in source_rows.batches(plan, {}):
        texts = column_texts(batch.rows, plan.layout, plan.settings)
        texts = {name: casting.tidy(text) for name, text in texts.items()}
        yield batch, parting.parted(texts, plan.layout, plan.settings, schema).texts


def _of_ounces(plan: Plan) -> Iterator[Question]:
    if plan.settings.oz is None and parting.OUNCE in (seen := _units_in(plan)):
        weighed = {"lb", "g", "kg"} & seen
        yield replace(OF_OUNCES, default="oz", why="other amounts are weighed") if weighed else OF_OUNCES


def _of_gallons(plan: Plan) -> Iterator[Question]:
    """Gallons and pints that may be US or imperial.

    Beside cups, quarts or dollars they are American: common practice, no source.
    """
    if plan.settings.gallon is not None or plan.settings.oz == "fl oz":
        return
    seen = _units_in(plan)
    if {"gallon", "pint"} & seen and not {"cup", "quart"} & seen and not _in_dollars(plan):
        british = plan.settings.oz == "imp fl oz" or any(unit.startswith("imp ") for unit in seen)
        yield replace(OF_GALLONS, default="imperial", why="others are imperial") if british else OF_GALLONS


def _in_dollars(plan: Plan) -> bool:
    rows = (batch.rows for batch, _ in _batches(plan))
    return any(some.select(pl.any_horizontal(pl.all().str.contains("$", literal=True).any())).item() for some in rows)


def _units_in(plan: Plan) -> set[str]:
    """The units of all its amounts."""
    schema = plan.table.schema()
    units = [u for column in schema.columns.values() if (u := (column.metadata or {}).get("unit_in"))]
    if not units:
        return set()
    return {unit for _, texts in _batches(plan) for u in units if u in texts for unit in texts[u].drop_nulls().unique()}


def of_evenings(plan: Plan, clock: Clock, ends: time) -> Iterator[Question]:
    """Whether the date beside a time is the day on which the evening began.

    Asked where times after midnight stand under a heading that says so, or below those of the evening before.
    """
    several = plan.layout.headings.get("sold_at", ())
    if plan.settings.dates_are is not None or len(several) < 2:
        return
    moments_read = [moments.read(texts["sold_at"], pl.Datetime(), clock) for _, texts in _batches(plan)]
    sold = pl.concat(moments_read).drop_nulls() if moments_read else pl.Series(dtype=pl.Datetime)
    late = sold.filter(sold.dt.time() < ends)
    if late.is_empty():
        return
    moved = pl.select(pl.when(sold.dt.time() < ends).then(sold.dt.offset_by("1d")).otherwise(sold)).to_series()
    back, moved_back = (int((one.diff() < timedelta()).sum()) for one in (sold, moved))
    named = re.search(BUSINESS, " ".join(several))
    if not named and moved_back >= back:
        return
    day = f"{late[0]:%Y-%m-%d}"
    yield Question(
        key="dates_are",
        text=f"{len(late)} {'sale is' if len(late) == 1 else 'sales are'} after midnight ({late[0]:%H:%M} on {day}): "
        f"is {day} the day on which the evening began?",
        options=(
            Option(value="business days", label="yes: they were the morning after"),
            Option(value="calendar days", label="no: it is the day on the calendar"),
        ),
        default="business days",
        why=f"'{several[0]}' says so" if named else "so read, fewer rows go back in time",
    )


def _of_shares(plan: Plan) -> Iterator[Question]:
    """Percentages of which all are at most 1: '0.4' may be 40 %."""
    columns = [name for name in plan.layout.headings if name.endswith("_pct")]
    if plan.settings.shares is not None or not columns:
        return
    cells: dict[str, list[str]] = {name: [] for name in columns}
    for _, texts in _batches(plan):
        for name in columns:
            bare = casting.narrow(texts[name].drop_nulls())
            cells[name] += bare.filter(~bare.str.contains("%")).unique().to_list()
    small = {
        name: _numbers(some) for name, some in cells.items() if some and pl.Series(some).str.contains(BARE_SHARE).all()
    }
    small = {name: numbers for name, numbers in small.items() if any(0 < number < 1 for number in numbers)}
    if not small:
        return
    name, numbers = next(iter(small.items()))
    [heading, *_] = plan.layout.headings[name]
    shares, most = ";".join(small), max(numbers)
    likely = any(name in SMALL_FOR_PER_CENT for name in small)
    yield Question(
        key="shares",
        text=f"'{heading}' has no number above {most:g}: {most:g} is",
        options=(
            Option(value=shares, label=f"a share of one: {100 * most:g} %"),
            Option(value=NONE, label=f"per cent as it stands: {most:g} %"),
        ),
        default=shares if likely else NONE,
        why="few things have less than 1 %" if likely else "little acid is common",
    )


def _numbers(cells: list[str]) -> list[float]:
    return [float(cell.replace(",", ".")) for cell in cells]


def _of_voids(plan: Plan) -> Iterator[Question]:
    """Lines that are marked as voids or refunds, with numbers that have no minus."""
    if plan.table.name != "sale" or plan.settings.voids is not None or not plan.layout.unused:
        return
    marked, sold = [], set()
    for batch, texts in _batches(plan):
        hit = shaping.are_voids(batch.rows, plan.layout)
        hit &= ~texts["quantity"].str.contains(shaping.MINUS).fill_null(False)
        hit &= ~texts["net_amount"].str.contains(shaping.MINUS).fill_null(False)
        marked += texts["till_item"].filter(hit).to_list()
        sold |= {*texts["till_item"].filter(~hit)}
    if not marked:
        return
    what = "line is a void or refund" if len(marked) == 1 else "lines are voids or refunds"
    both = sum(item in sold for item in marked) > len(marked) / 2
    yield Question(
        key="voids",
        text=f"{len(marked)} {what} without a minus (such as {marked[0]}): count",
        options=(
            Option(value="negative", label="negative: a sale is taken back"),
            Option(value="left out", label="not at all: nothing was sold"),
            Option(value="as they stand", label="as sold, as they stand"),
        ),
        default="negative" if both else "left out",
        why="the same was sold beside" if both else "nothing of the kind was sold beside",
    )
