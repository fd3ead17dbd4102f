"""What a new version says, as cells of the book it is written into: its headings, its units, its ways of writing."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from stillroom.errors import UsageError
from stillroom.safecsv import number_text
from stillroom.writing.new_row import Cell
from stillroom_schemas.units import conversions

if TYPE_CHECKING:
    from stillroom.intake.planning import Plan

NUMBER: Final = re.compile(r"[\d½⅓⅔¼¾⅛](?:[\d.,'’½⅓⅔¼¾⅛]|[ /](?=[\d½⅓⅔¼¾⅛]))*")
PLAIN: Final = re.compile(r"\d+(?:[.,]\d+)?")
UNIT_OF: Final = {"amount": "unit", "yield_amount": "yield_unit"}


@dataclass(frozen=True, kw_only=True)
class Quantity:
    """How much, in place of what stands in a row."""

    amount: float
    unit: str
    """As the draft has them."""
    stands: tuple[float, str] | None
    """What the row says now, with its unit as in the unit table; None where the row is of another item."""

    def within(self, unit: str) -> float | None:
        """The amount in another unit; None where there is no way to it."""
        base, factor = conversions()[unit]
        own_base, own_factor = conversions()[self.unit]
        return self.amount * own_factor / factor if base == own_base else None


Said = str | int | Quantity
"""A text, a whole number, an amount with its unit."""


def cells_for(plan: Plan, row: Mapping[str, str], said: Mapping[str, Said], old: Mapping[str, str]) -> dict[str, Cell]:
    """Heading -> what stands there so that a row like `row` says this.

    Args:
        row: heading -> cell of the row that the new one is like.
        said: column -> what it shall say.
        old: column of text -> what the row says there now.

    Raises:
        UsageError: a column stands under several headings.
    """
    found: dict[str, Cell] = {}
    for column, value in said.items():
        headings = plan.layout.headings.get(column, ())
        if len(headings) > 1:
            raise UsageError(f"{plan.file.name}: {column} stands under several headings: write the version by hand.")
        if headings and column not in plan.layout.counted:
            shared = sum(several == headings for several in plan.layout.headings.values()) > 1
            stands = str(found.get(headings[0], row[headings[0]]))
            found |= _cell(plan, column, headings[0], stands, value, row, old.get(column), shared=shared)
    return found


def _cell(
    plan: Plan,
    column: str,
    heading: str,
    stands: str,
    value: Said,
    row: Mapping[str, str],
    old: str | None,
    *,
    shared: bool,
) -> dict[str, Cell]:
    if isinstance(value, Quantity):
        return _quantity(plan, column, heading, stands, value, row, shared=shared)
    if isinstance(value, int):
        return {heading: _whole_number(stands, value, shared=shared)}
    if shared and old:
        return {heading: re.sub(re.escape(old), lambda _: value, stands, count=1, flags=re.IGNORECASE)}
    return {heading: value}


def _whole_number(stands: str, value: int, *, shared: bool) -> Cell:
    """A version or a line: 2 in place of 1, 'v2' of 'v1', 'Fig Sour v2' of 'Fig Sour'."""
    from stillroom.intake.parting import VERSION

    if not shared:
        last = re.search(r"\d+(?=\D*$)", stands)
        whole = last is None or last[0] == stands.strip() or re.fullmatch(r"\d+\.0", stands.strip())
        return float(value) if whole or last is None else f"{stands[: last.start()]}{value}{stands[last.end() :]}"
    there = VERSION.search(stands)
    return f"{stands[: there.start(1)]}{value}{stands[there.end(1) :]}" if there else f"{stands} v{value}"


def _quantity(
    plan: Plan, column: str, heading: str, stands: str, value: Quantity, row: Mapping[str, str], *, shared: bool
) -> dict[str, Cell]:
    """An amount in the unit that the row has, where there is a way to it; else in its own."""
    unit_headings = plan.layout.headings.get(UNIT_OF[column], ())
    unit_heading = unit_headings[0] if unit_headings and unit_headings[0] != heading else None
    of_heading = plan.layout.units.get(column)
    now = value.stands[1] if value.stands else of_heading if unit_heading is None else None
    amount = value.within(now) if now else None
    kept = amount is not None
    number = round(value.amount if amount is None else amount, 6)
    text = number_text(number, plan.settings.decimal)
    if shared or not (PLAIN.fullmatch(stands.strip()) or not stands.strip()):
        return {heading: _dressed(plan, stands, text, value, kept=kept, shared=shared)}
    if kept or unit_heading is not None:
        unit = {unit_heading: value.unit} if unit_heading is not None and not kept else {}
        return {heading: float(number), **unit}
    return {heading: f"{text} {value.unit}"}


def _dressed(plan: Plan, stands: str, text: str, value: Quantity, *, kept: bool, shared: bool) -> str:
    """'50 ml gin' of '45 ml gin', '4 g' of '45 ml'."""
    from stillroom.intake.parting import quantity_in

    piece = quantity_in(stands, plan.settings.decimal, whole=not shared)[0] or stands
    new = NUMBER.sub(text, piece, count=1) if kept and value.stands else f"{text} {value.unit}"
    return stands.replace(piece, new, 1)
