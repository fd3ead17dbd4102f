"""A plan for a file with what its cells say of how dates and numbers are written."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from stillroom.house.house import House
from stillroom.intake import how_read, planning, source_rows
from stillroom.intake.planning import Candidate, Plan
from stillroom.intake.shaping import column_texts
from stillroom.looking.handwriting import Handwriting, Survey
from stillroom.looking.recognising import Recognised
from stillroom.plugins.registry import Registry

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
    columns = {name: one for name, one in plan.table.schema().columns.items() if name not in unseen}
    clock = how_read.clock_of(plan.settings, house)
    survey = Survey(types={name: column.dtype.type for name, column in columns.items()}, clock=clock)
    for batch in source_rows.batches(plan):
        survey.add(column_texts(batch.rows, plan.layout, plan.settings))
    told = survey.told()
    if recognised.kind in TYPED and "." in (told.decimal_open or ""):
        told = replace(told, decimal_open=None)
    settings = plan.settings
    if settings.date_format is None:
        settings = settings.model_copy(update={"date_format": told.date_format})
    else:
        told = replace(told, ways=())
    if settings.decimal is None:
        settings = settings.model_copy(update={"decimal": told.decimal})
    else:
        told = replace(told, decimal_open=None)
    return planning.plan(replace(candidate, settings=settings), registry), told
