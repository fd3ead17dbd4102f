"""One score of one panelist for one attribute of one sample."""

from __future__ import annotations

import polars as pl

from stillroom_schemas import fields
from stillroom_schemas.polars_alone import PolarsData, pa

SCALE_KINDS = ["intensity", "liking", "just-about-right"]


class Tasting(pa.DataFrameModel):
    """One score on a tasting sheet."""

    session: str = fields.text("one sitting")
    tasted_on: pl.Date = fields.day("day of the sitting", past=True)
    panelist: str = fields.text("who tasted: a code or a name")
    spec: str = fields.text("the sample: its spec")
    version: int = fields.integer("the sample: its version", made="the name, or 1", ge=1)
    attribute: str = fields.text("liking, sweetness, sourness, aroma, balance, bitterness, body, finish, ...")
    score: float = fields.number("the score, from scale_low to scale_high")
    scale_low: float = fields.number("low end of the scale", default=1.0)
    scale_high: float = fields.number("high end of the scale", default=9.0)
    scale_kind: str = fields.text(
        "intensity, liking or just-about-right", optional=True, default="intensity", isin=SCALE_KINDS
    )
    position: int = fields.integer("place in the order this panelist got the samples", optional=True, ge=1)
    code: str = fields.text("blind code of the sample", optional=True)
    replicate: int = fields.integer("which repeat of the same sample", optional=True, ge=1)
    comment: str = fields.text("what the panelist said of the sample, in words", optional=True)
    looks: int = fields.integer("sittings planned beforehand for this comparison, this one too", optional=True, ge=1)

    @pa.dataframe_check(error="scale_high|is not above scale_low")
    def scale_has_width(cls, data: PolarsData) -> pl.LazyFrame:
        """A scale runs from a low to a higher end."""
        return data.lazyframe.select((pl.col("scale_low") < pl.col("scale_high")).fill_null(True).alias("scale_high"))

    @pa.dataframe_check(error="score|is off the scale of the row (scale_low to scale_high)")
    def score_on_scale(cls, data: PolarsData) -> pl.LazyFrame:
        """A score lies on its own scale."""
        return data.lazyframe.select(
            pl.col("score").is_between("scale_low", "scale_high").fill_null(True).alias("score")
        )
