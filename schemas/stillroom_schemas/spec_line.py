"""What goes into one making of a spec, a line each."""

from __future__ import annotations

import pandera.polars as pa

from stillroom_schemas import fields
from stillroom_schemas.units import KNOWN


class SpecLine(pa.DataFrameModel):
    """One line of a spec: an item and how much of it."""

    spec: str = fields.text("name of the spec the line belongs to")
    version: int = fields.integer("version of that spec", ge=1)
    line: int = fields.integer("place of the line in the spec, from 1", ge=1)
    item: str = fields.text("an ingredient, or another spec")
    amount: float = fields.number("how much goes into one making", gt=0)
    unit: str = fields.text("unit of amount", isin=list(KNOWN))
