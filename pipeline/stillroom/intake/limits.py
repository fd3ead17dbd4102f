"""Which rows break which limit of a table's pandera model: all limits in one pass over a batch.

pandera makes a frame of its own for each check, of clean rows too, and takes half a second to be made ready. Here the
model's checks are expressions, which find the same rows for the same reasons; where a check is no such limit, pandera
is asked.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
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
MISSING: Final = "not_nullable"
"""pandera's name of the check that a cell is filled."""


@dataclass(frozen=True)
class Broken:
    """A limit that some rows break."""

    column: str
    """Of which it is a limit; '' where it is one of whole rows."""
    check: str
    """What pandera calls it: 'greater_than(0)'; of whole rows, what the model says of it."""
    places: pl.Series
    """The rows, by their places in the batch."""


def broken(frame: pl.DataFrame, schema: Any, table: Table) -> list[Broken]:
    """The limits that typed rows break, in the order of the model.

    Raises:
        FileRefused: a check of the model cannot be run.
    """
    found = in_one_pass(frame, schema)
    return by_pandera(frame, schema, table) if found is None else found


def in_one_pass(frame: pl.DataFrame, schema: Any) -> list[Broken] | None:
    """As `broken`; None where the model has a check that is no limit of a cell or row by itself."""
    from pandera.api.polars.types import PolarsData

    columns = schema.columns.values()
    if schema.unique or any(column.unique or not all(map(_is_of_a_cell, column.checks)) for column in columns):
        return None
    if not all(map(_is_plain, schema.checks)):
        return None
    limits = [(name, check, limit) for name, column in schema.columns.items() for check, limit in _limits(name, column)]
    rows = frame.lazy()
    places = [limit.fill_null(False).arg_true().implode().alias(str(n)) for n, (_, _, limit) in enumerate(limits)]
    try:
        looks = [check._check_fn(PolarsData(rows), **check._check_kwargs) for check in schema.checks]
        kept = [one.select(pl.all_horizontal(pl.all()).fill_null(True).alias("")) for one in looks]
        of_cells, *of_rows = pl.collect_all([rows.select(places), *kept])
    except Exception:  # whatever goes wrong in a check that is not ours, pandera tells
        return None
    if any(one.height != frame.height for one in of_rows):
        return None
    found = [Broken(name, check, of_cells[str(n)][0]) for n, (name, check, _) in enumerate(limits)]
    found += [
        Broken("", _called(check), (~one[""]).arg_true()) for check, one in zip(schema.checks, of_rows, strict=True)
    ]
    return [one for one in found if len(one.places)]


def _limits(name: str, column: Any) -> Iterator[tuple[str, pl.Expr]]:
    """The name of each limit of a column, and whether a cell breaks it."""
    if not column.nullable:
        yield MISSING, pl.col(name).is_null()
    for check in column.checks:
        yield _called(check), ~KEPT[check.name](pl.col(name), **check.statistics)


def _called(check: Any) -> str:
    return str(check.error if check.error is not None else check.name)


def _is_of_a_cell(check: Any) -> bool:
    return check.name in KEPT and _is_plain(check)


def _is_plain(check: Any) -> bool:
    """A check of whole columns, to which an empty cell is no fault, and which tells all faults."""
    return check.ignore_na and not check.element_wise and check.n_failure_cases is None and not check.groupby


def by_pandera(frame: pl.DataFrame, schema: Any, table: Table) -> list[Broken]:
    """As `broken`, by pandera alone."""
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
        groups = found.group_by("schema_context", "column", "check", maintain_order=True)
        return [
            Broken(str(column) if context == "Column" else "", str(check), group["index"].unique(maintain_order=True))
            for (context, column, check), group in groups
        ]
    return []
