"""How a file's cells tell the way in which its dates and numbers are written, and when they do not."""

from __future__ import annotations

import re

import polars as pl
import pytest
from babel import Locale, localedata

from stillroom.intake import months
from stillroom.intake.moments import Clock
from stillroom.looking.handwriting import Handwriting, Survey


def told(cells: list[str], dtype: pl.DataType) -> Handwriting:
    clock = Clock(date_format=None, house_zone="UTC", file_zone=None)
    survey = Survey(types={"x": dtype}, clock=clock)
    for cell in cells:  # batch by batch, as from a long file
        survey.add({"x": pl.Series([cell])})
    return survey.told()


@pytest.mark.parametrize(
    ("cells", "orders"),
    [
        (["03/04/26"], ["day, month, year", "month, day, year", "year, month, day"]),
        (["03/04/45"], ["day, month, year", "month, day, year"]),
        (["13/04/2026", "04/13/2026"], ["day, month, year", "month, day, year"]),
    ],
)
def test_dates_that_leave_their_order_open(cells: list[str], orders: list[str]) -> None:
    assert [way.order for way in told(cells, pl.Date()).ways] == orders


def test_no_locale_puts_the_month_first_between_full_stops_or_beside_a_decimal_comma() -> None:
    """Unicode CLDR, as babel brings it, of all languages read: '02.03.2026', or '02/03/2026' by '1,5', is clear."""
    month_first = []
    for name in localedata.locale_identifiers():
        locale = Locale.parse(name)
        if locale.language in months.LANGUAGES and re.match(r"M+\W", locale.date_formats["short"].pattern):
            month_first.append(name)
            assert "." not in locale.date_formats["short"].pattern
            assert locale.number_symbols["latn"]["decimal"] == "."
    assert {"en_US", "es_PR"} <= {*month_first}
    assert told(["02.03.2026"], pl.Date()).date_format == "%d.%m.%Y"


@pytest.mark.parametrize(
    ("cells", "date_format"),
    [
        (["2026-03-04"], None),
        (["2026-03-04", "13.03.2026"], "%d.%m.%Y"),
        (["4 Mar 2026", "not a date"], "%d %b %Y"),
        (["12/31/2026", "01/02/2026", "77/77/2026"], "%m/%d/%Y"),
        (["20260304"], "%Y%m%d"),
        (["3. März 2026", "4. Dez. 2026"], "%d. %B %Y"),
        (["3 mars 2026", "14 févr. 2026"], "%d %b %Y"),
        (["14-ene-2026"], "%d-%b-%Y"),
        (["3 de maio de 2026"], "%d de %B de %Y"),
        (["soon"], None),
    ],
)
def test_dates_that_tell_how_they_are_written(cells: list[str], date_format: str | None) -> None:
    found = told(cells, pl.Date())
    assert (found.date_format, found.ways) == (date_format, ())


@pytest.mark.parametrize(
    ("cells", "date_format"),
    [
        (["31/03/2026 21h05"], "%d/%m/%Y %Hh%M"),
        (["31.03.2026, 21:05 Uhr"], "%d.%m.%Y, %H:%M Uhr"),
        (["03/31/2026 9:05 p.m."], "%m/%d/%Y %I:%M %p"),
        (["2026-03-04 21.05"], "%Y-%m-%d %H.%M"),
        (["2026-03-04 9:05 PM", "2026-03-04 10:05 AM"], "%Y-%m-%d %I:%M %p"),
    ],
)
def test_moments_that_tell_how_they_are_written(cells: list[str], date_format: str | None) -> None:
    found = told(cells, pl.Datetime("us"))
    assert (found.date_format, found.ways) == (date_format, ())


@pytest.mark.parametrize(
    ("cells", "decimal", "open_cell"),
    [
        (["9.50", "1,234"], ".", None),
        (["9,50", "1,234"], ",", None),
        (["€ 1.234,50"], ",", None),
        (["1,234", "7"], None, "1,234"),
        (["$12.500", "7"], None, "$12.500"),
        (["1.000", "9.50"], ".", None),
        (["12.500", "1.234.500"], ",", None),
        (["0.125", "7"], None, None),
        (["9.50", "8.25", "9,50"], None, None),
    ],
)
def test_decimal_marks(cells: list[str], decimal: str | None, open_cell: str | None) -> None:
    found = told(cells, pl.Float64())
    assert (found.decimal, found.decimal_open) == (decimal, open_cell)
