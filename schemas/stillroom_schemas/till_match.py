"""The till's spelling of a drink -> the spec's."""

from __future__ import annotations

from stillroom_schemas import fields
from stillroom_schemas.polars_alone import pa


class TillMatch(pa.DataFrameModel):
    """What a till item is; an empty spec means it is not one of ours."""

    till_item: str = fields.text("the item as the till spells it")
    venue: str = fields.text("the venue it holds for; empty = all", optional=True)
    spec: str = fields.text("the drink; empty = not one of ours", optional=True, ne="?")
    serves: float = fields.number("serves in one; a jug of four = 4", default=1.0, gt=0, le=10_000)
