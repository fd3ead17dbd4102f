"""What goes into one making of a spec, a line each."""

from __future__ import annotations

from stillroom_schemas import fields
from stillroom_schemas.polars_alone import pa


class SpecLine(pa.DataFrameModel):
    """One line of a spec: an item and how much of it."""

    spec: str = fields.text("name of the spec the line belongs to")
    version: int = fields.integer("version of that spec", made="the name, or 1", ge=1)
    line: int = fields.integer("place of the line in the spec, from 1", made="its place", ge=1)
    item: str = fields.text("an ingredient, or another spec")
    amount: float = fields.number("how much goes into one making", unit_in="unit", gt=0)
    unit: str = fields.unit("unit of amount")
