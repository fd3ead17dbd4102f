"""One answer in a difference or preference test."""

from __future__ import annotations

import polars as pl

from stillroom_schemas import fields
from stillroom_schemas.polars_alone import PolarsData, pa

METHODS = [
    "triangle", "duo-trio", "two-out-of-five", "paired-preference", "paired-difference", "2-AFC", "3-AFC", "tetrad",
    "A-not-A",
]  # fmt: skip
PREFERENCE = "paired-preference"
A_NOT_A = "A-not-A"


class Trial(pa.DataFrameModel):
    """One answer on a trial sheet: `correct` in a difference test, `chosen` in a preference test."""

    session: str = fields.text("one sitting")
    tasted_on: pl.Date = fields.day("day of the sitting", past=True)
    panelist: str = fields.text("who tasted: a code or a name")
    method: str = fields.text(", ".join(METHODS), isin=METHODS)
    spec: str = fields.text("the spec on trial")
    version_a: int = fields.integer("one version", ge=1)
    version_b: int = fields.integer("the other version", ge=1)
    correct: str = fields.text("difference tests: yes or no", optional=True, isin=["yes", "no"])
    chosen: str = fields.text("preference tests: a, b or none", optional=True, isin=["a", "b", "none"])
    given: str = fields.text("A-not-A tests: which was in the glass: a or b", optional=True, isin=["a", "b"])

    @pa.dataframe_check(error="correct|is missing: a difference test needs yes or no")
    def difference_has_answer(cls, data: PolarsData) -> pl.LazyFrame:
        """A difference test is answered by correct = yes or no."""
        answered = pl.col("correct").is_not_null() | (pl.col("method") == PREFERENCE)
        return data.lazyframe.select(answered.fill_null(True).alias("correct"))

    @pa.dataframe_check(error="chosen|is missing: a preference test needs a, b or none")
    def preference_has_answer(cls, data: PolarsData) -> pl.LazyFrame:
        """A preference test is answered by chosen = a, b or none."""
        answered = pl.col("chosen").is_not_null() | (pl.col("method") != PREFERENCE)
        return data.lazyframe.select(answered.fill_null(True).alias("chosen"))

    @pa.dataframe_check(error="given|is missing: an A-not-A test needs a or b, whichever was in the glass")
    def a_not_a_has_a_glass(cls, data: PolarsData) -> pl.LazyFrame:
        """An answer of an A-not-A test is about one glass."""
        known = pl.col("given").is_not_null() | (pl.col("method") != A_NOT_A)
        return data.lazyframe.select(known.fill_null(True).alias("given"))

    @pa.dataframe_check(error="version_b|is the same as version_a")
    def versions_differ(cls, data: PolarsData) -> pl.LazyFrame:
        """Two versions are on trial, not one."""
        return data.lazyframe.select((pl.col("version_a") != pl.col("version_b")).fill_null(True).alias("version_b"))
