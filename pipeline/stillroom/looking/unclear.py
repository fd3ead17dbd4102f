"""What has to be said before any row can land: cells that would otherwise be read as another thing than they say.

Each gives a question where the cells of a planned file ask it and its settings do not answer it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

import polars as pl

from stillroom.intake import casting, parting, shaping, source_rows
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
BARE_SHARE: Final = r"^(?:0?[.,]\d+|[01](?:[.,]0*)?)$"
SMALL_FOR_PER_CENT: Final = ("abv_pct", "sugar_pct", "usable_pct")
"""Columns of which no common thing has less than 1 %; of acid many have."""


def unclear(plan: Plan) -> tuple[Question, ...]:
    """All such questions of a planned file."""
    return (*_of_ounces(plan), *_of_shares(plan), *_of_voids(plan))


def _batches(plan: Plan) -> Iterator[tuple[TextBatch, dict[str, pl.Series]]]:
    """Each batch, and its cells column by column, tidy and taken apart."""
    schema = plan.table.schema()
    for batch, _ in source_rows.batches(plan, {}):
        texts = column_texts(batch.rows, plan.layout, plan.settings)
        texts = {name: casting.tidy(text) for name, text in texts.items()}
        yield batch, parting.parted(texts, plan.layout, plan.settings, schema).texts


def _of_ounces(plan: Plan) -> Iterator[Question]:
    schema = plan.table.schema()
    units = [u for column in schema.columns.values() if (u := (column.metadata or {}).get("unit_in"))]
    if plan.settings.oz is not None or not units:
        return
    seen = {unit for _, texts in _batches(plan) for u in units if u in texts for unit in texts[u].drop_nulls().unique()}
    if parting.OUNCE in seen:
        weighed = {"lb", "g", "kg"} & seen
        yield replace(OF_OUNCES, default="oz", why="other amounts are weighed") if weighed else OF_OUNCES


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
