"""Which version is meant on a day: as the store's views choose it."""

from __future__ import annotations

from datetime import date

import polars as pl
import pytest

from stillroom.analysis.specs.service import version_on

MARCH, APRIL, MAY, JUNE = (date(2026, month, 1) for month in (3, 4, 5, 6))


def specs(*spans: tuple[date | None, date | None]) -> pl.DataFrame:
    rows = [("Syrup", number, *span) for number, span in enumerate(spans, 1)]
    schema = {"spec": pl.String, "version": pl.Int64, "in_service_from": pl.Date, "in_service_until": pl.Date}
    return pl.DataFrame(rows, schema=schema, orient="row")


@pytest.mark.parametrize(
    ("spans", "version"),
    [
        ([(MARCH, None), (APRIL, None)], 2),  # both hold the day: the highest
        ([(MARCH, None), (APRIL, None), (None, None)], 2),  # one without dates beside dated ones is a trial
        ([(None, None), (None, None)], 2),
        ([(APRIL, date(2026, 4, 30)), (MARCH, date(2026, 3, 31))], 1),  # none holds it: the last begun
        ([(JUNE, None), (date(2026, 7, 1), None)], 1),  # none has begun: the first to come
    ],
)
def test_the_version_on_the_first_of_may(spans: list[tuple[date | None, date | None]], version: int) -> None:
    row = version_on(specs(*spans), "SYRUP", MAY)
    assert row is not None
    assert row["version"] == version


def test_no_such_spec() -> None:
    assert version_on(specs((MARCH, None)), "shrub", MAY) is None
