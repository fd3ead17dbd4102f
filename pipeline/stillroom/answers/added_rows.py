"""Rows to be added to a file that the house keeps by hand: what is to be written is read back first.

That is done by the intake's own steps; where the file would not say just these rows more than it says now, nothing is
written.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

from stillroom.errors import FileRefused
from stillroom.files import scratch_folder
from stillroom.names import name_key
from stillroom_schemas.units import conversions

if TYPE_CHECKING:
    import polars as pl

    from stillroom.house.house import House
    from stillroom.intake.planning import Plan

CLOSE: Final = 1e-4
"""Share by which an amount may differ when it is read back: digits that a cell has."""


def refuse_unless_list(plan: Plan, what: str) -> None:
    """Unless the file is a list, to which `what` can be added as rows."""
    if plan.settings.wide or plan.settings.book or plan.file.query:
        kept = "a grid" if plan.settings.wide else "blocks" if plan.settings.book else "a database"
        raise FileRefused(
            f"{plan.file.name}: is kept as {kept}: rows are added to lists, so write {what} there by hand. "
            "Nothing was written."
        )


def cells(plan: Plan) -> dict[int, dict[str, str]]:
    """Row number -> heading -> cell, as it stands in the file."""
    return {
        number: {heading: cell or "" for heading, cell in row.items()}
        for batch in plan.source.batches_of(plan.file)
        for number, row in zip(batch.row_numbers, batch.rows.iter_rows(named=True), strict=True)
    }


def refuse_other(plan: Plan, house: House, content: bytes, expected: Sequence[Mapping[str, Any]], what: str) -> None:
    """Unless the file, read with what is added, says all that it says now, and the rows that are expected.

    Args:
        content: of the file, with `what` added.
        expected: column -> value of each row.
    """
    before, bad_before = _good_rows(plan, house)
    with scratch_folder() as folder:
        path = folder / plan.file.path.name
        path.write_bytes(content)
        after, bad_after = _good_rows(replace(plan, file=replace(plan.file, path=path)), house)
    added = after.slice(before.height).to_dicts()
    same = bad_before == bad_after and after.head(before.height).equals(before)
    if not (same and len(added) == len(expected) and all(map(_agree, added, expected))):
        raise FileRefused(
            f"{plan.file.name}: is kept in a way in which {what} cannot be added safely: write it there by hand. "
            "Nothing was written."
        )


def _good_rows(plan: Plan, house: House) -> tuple[pl.DataFrame, int]:
    import polars as pl

    from stillroom.intake import checking, how_read, source_rows

    schema, wording = plan.table.schema(), how_read.wording(plan, house)
    checked = [checking.check(rows, wording, schema, lines) for rows, lines in source_rows.batches(plan, {})]
    return pl.concat([one.good for one in checked]), sum(one.rows_bad for one in checked)


def _agree(read: Mapping[str, Any], expected: Mapping[str, Any]) -> bool:
    if "item" in read:
        base, factor = conversions()[read["unit"]]
        read = {**read, "unit": base, "amount": read["amount"] * factor}
    columns = [column for column in read if column in expected and column != "row_number"]
    return all(_alike(read[column], expected[column]) for column in columns)


def _alike(one: Any, other: Any) -> bool:
    if isinstance(one, float) and isinstance(other, float):
        return abs(one - other) <= max(CLOSE * abs(other), 1e-9)
    return name_key(one) == name_key(other) if isinstance(one, str) and isinstance(other, str) else bool(one == other)
