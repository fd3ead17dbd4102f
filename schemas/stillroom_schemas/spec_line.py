"""What goes into one making of a spec, a line each."""

from __future__ import annotations

import pandera.polars as pa

from stillroom_schemas import fields
from stillroom_schemas.table import Reference, Table
from stillroom_schemas.units import KNOWN


class SpecLine(pa.DataFrameModel):
    """One line of a spec: an item and how much of it."""

    spec: str = fields.text("name of the spec the line belongs to")
    version: int = fields.integer("version of that spec", ge=1)
    line: int = fields.integer("place of the line in the spec, from 1", ge=1)
    item: str = fields.text("an ingredient, or another spec")
    amount: float = fields.number("how much goes into one making", gt=0)
    unit: str = fields.text("unit of amount", isin=list(KNOWN))


SPEC_LINE = Table(
    name="spec_line",
    title="a line of a spec: what goes into one making",
    model=SpecLine,
    key=("spec", "version", "line"),
    ground=("spec", "version"),
    references=(
        Reference(
            columns=("spec", "version"),
            table="spec",
            table_columns=("spec", "version"),
            missing="there is no spec {value}: take in the spec itself, or correct the name or version",
        ),
    ),
)
