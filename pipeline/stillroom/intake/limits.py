"""Which rows break a limit of a table's pandera model: all limits in one pass over a batch.

pandera makes a frame of its own for each check, of clean rows too. Here the model's checks are expressions; pandera
then says of the rows that break one what is wrong with them, and of all rows where a check cannot be seen so.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

import polars as pl

from stillroom.errors import FileRefused
from stillroom_schemas.table import Table

KEPT: Final[dict[str, Callable[..., pl.Expr]]] = {
    "greater_than": lambda cell, min_value: cell > min_value,
    "greater_than_or_equal_to": lambda cell, min_value: cell >= min_value,
    "less_than": lambda cell, max_value: cell < max_value,
    "less_than_or_equal_to": lambda cell, max_value: cell <= max_value,
    "not_equal_to": lambda cell, value: cell != value,
    "isin": lambda cell, allowed_values: cell.is_in(list(allowed_values)),
}
"""pandera's name of a check -> whether a cell keeps it, by its `statistics`."""


def failures(frame: pl.DataFrame, schema: Any, table: Table) -> pl.DataFrame | None:
    """What pandera finds wrong in typed rows (its `failure_cases`); None where nothing is.

    Raises:
        FileRefused: a check of the model cannot be run.
    """
    masks = broken(frame, schema)
    if masks is None:
        return by_pandera(frame, schema, table)
    places = masks.select(pl.any_horizontal(pl.all())).to_series().arg_true()
    if not len(places):
        return None
    few = frame[places]
    # A check may look at more than its row: then it finds other faults among few rows than among all.
    again = broken(few, schema)
    if again is not None and again.equals(masks[places]):
        found = by_pandera(few, schema, table)
        if found is not None and found["index"].n_unique() == len(places):
            return found.with_columns(places.gather(found["index"]).cast(found["index"].dtype).alias("index"))
    return by_pandera(frame, schema, table)


def broken(frame: pl.DataFrame, schema: Any) -> pl.DataFrame | None:
    """Which rows break which limit, a mask for each; None where the model has a check that is no such limit."""
    from pandera.api.polars.types import PolarsData

    limits = []
    for name, column in schema.columns.items():
        if column.unique or any(check.name not in KEPT or not _is_plain(check) for check in column.checks):
            return None
        if not column.nullable:
            limits.append(pl.col(name).is_null())
        limits += [~KEPT[check.name](pl.col(name), **check.statistics) for check in column.checks]
    if schema.unique or not all(map(_is_plain, schema.checks)):
        return None
    rows = frame.lazy()
    try:
        looks = [check._check_fn(PolarsData(rows), **check._check_kwargs) for check in schema.checks]
        kept = pl.collect_all([one.select(pl.all_horizontal(pl.all())) for one in looks])
    except Exception:  # whatever goes wrong in a check that is not ours, pandera tells
        return None
    if any(one.height != frame.height for one in kept):
        return None
    columns = [
        *frame.select(limit.alias(str(n)) for n, limit in enumerate(limits)),
        *(~one.to_series() for one in kept),
    ]
    return pl.DataFrame([one.fill_null(False).alias(str(n)) for n, one in enumerate(columns)])


def _is_plain(check: Any) -> bool:
    """A check of whole columns, to which an empty cell is no fault, and which tells all faults."""
    return check.ignore_na and not check.element_wise and check.n_failure_cases is None and not check.groupby


def by_pandera(frame: pl.DataFrame, schema: Any, table: Table) -> pl.DataFrame | None:
    """As `failures`, by pandera alone."""
    from pandera.errors import SchemaErrors

    try:
        schema.validate(frame, lazy=True)
    except SchemaErrors as errors:
        found: pl.DataFrame = errors.failure_cases
        if found["index"].has_nulls():
            fault = found.filter(pl.col("index").is_null()).row(0, named=True)
            raise FileRefused(
                f"table '{table.name}': the check {fault['check']} of {fault['column']} could not be run "
                f"({fault['failure_case']}); nothing was taken in."
            ) from None
        return found
    return None
