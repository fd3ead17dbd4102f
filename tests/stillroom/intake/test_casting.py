"""Text to numbers, dates and moments: what is read, and what is not guessed."""

from __future__ import annotations

import re
import unicodedata
from datetime import date, datetime, time

import polars as pl
import pytest
from babel.dates import format_date
from hypothesis import given
from hypothesis import strategies as st

from stillroom.intake import months
from stillroom.intake.casting import bare, cast, spelt_as, tidy, unreadable
from stillroom.intake.moments import Clock

ISO = Clock(date_format=None, house_zone="UTC", file_zone=None)
LISBON = "Europe/Lisbon"  # summer time from 29 March to 25 October 2026, an hour ahead of UTC


def read(cell: str, dtype: pl.DataType, clock: Clock = ISO, decimal: str | None = None) -> object:
    return cast(tidy(pl.Series([cell])), dtype, clock, decimal).item()


def number(cell: str, decimal: str | None = None) -> object:
    return read(cell, pl.Float64(), decimal=decimal)


def day(cell: str, date_format: str | None = None) -> object:
    return read(cell, pl.Date(), Clock(date_format=date_format, house_zone="UTC", file_zone=None))


def moment(cell: str, date_format: str | None = None, house: str = "UTC", file: str | None = None) -> object:
    return read(cell, pl.Datetime("us"), Clock(date_format=date_format, house_zone=house, file_zone=file))


@pytest.mark.parametrize(
    ("cell", "value"),
    [
        ("1234.5", 1234.5), (" .5 ", 0.5), ("+3", 3), ("-0", 0), ("1e3", 1000),
        ("1,234.50", 1234.5), ("1 234.50", 1234.5), ("1\u202f234\u00a0567", 1234567), ("1'234.50", 1234.5),
        ("€ 12.50", 12.5), ("12.50 €", 12.5), ("$12", 12), ("EUR 9", 9), ("9 EUR", 9),
        ("(12.50)", -12.5), ("(€ 12.50)", -12.5), ("€(12.50)", -12.5), ("(1,234.50)", -1234.5),
        ("12.50-", -12.5), ("- 9", -9), ("-€5", -5), ("€-5", -5), ("\u22129", -9),
        ("\u201312.50", -12.5), ("12.50 kr", 12.5), ("kr. 9", 9), ("-9 zł", -9), ("\u22129 Kč", -9), ("Fr. 9", 9),
        ("-R$ 9", -9), ("R$ -9", -9), ("US$9.50", 9.5), ("\uffe51200", 1200), ("₹ 9", 9),
        ("21.-", 21), ("Fr. 21.\u2013", 21), ("CHF 1'234.\u2014", 1234), ("9:- kr", 9), ("-21.-", -21), ("8,- €", 8),
    ],
)  # fmt: skip
def test_numbers_as_people_write_them(cell, value):
    assert number(cell) == value


@pytest.mark.parametrize(
    "cell",
    [
        "nan", "NaN", "inf", "-Infinity", "1e400", "-1e400",  # no amounts
        "1,234", "12,50", "1,23,456.7", "1.234,50", "1 2", "1 23.4", "12 34",  # of which mark is it?
        "(-3)", "-(3)", "3--", "--3", "(5)(6)",  # which sign?
        "0x10", "1_000", "12 ml", "9%", "½", "True", "()", "€", "-", "EUR",
    ],
)  # fmt: skip
def test_what_is_no_number_for_certain_is_none(cell):
    assert number(cell) is None


@pytest.mark.parametrize(
    ("cell", "value"),
    [
        ("1.234,50", 1234.5), ("1234,5", 1234.5), ("1,234", 1.234), ("1.234", 1234), ("1.234.567", 1234567),
        ("(1.234,50 €)", -1234.5), ("1 234,5", 1234.5), ("9", 9), ("12.50", 12.5), ("1.23", 1.23), ("1,234.5", None),
        ("0.125", 0.125), ("nan", None), ("1,2,3", None),
    ],
)  # fmt: skip
def test_a_decimal_comma(cell, value):
    assert number(cell, decimal=",") == value


@pytest.mark.parametrize(
    ("cell", "value"),
    [
        ("1,234", 1234),
        ("¥1,200", 1200),
        ("1,234,567", 1234567),
        ("1,234.5", 1234.5),
        ("12,50", 12.5),
        ("1,23,456", None),
    ],
)
def test_a_comma_parts_thousands_where_the_dot_is_known_to_part_decimals(cell, value):
    assert number(cell, decimal=".") == value


@pytest.mark.parametrize(
    ("column", "cell", "plain"),
    [
        ("abv_pct", "40 %", "40"), ("abv_pct", "40%", "40"), ("brix", "52.5°", "52.5"), ("brix", "52.5 °Bx", "52.5"),
        ("version", "v2", "2"), ("version_a", "V. 12", "12"), ("version", "v2b", "v2b"),
        ("net_amount", "9%", "9%"), ("line", "v2", "v2"), ("keeps_days", "5 days", "5"),
        ("keeps_days", "2 weeks", "14"), ("keeps_days", "1 wk", "7"), ("keeps_days", "3 Wochen", "21"),
        ("keeps_days", "1 month", "30"), ("keeps_days", "3 Monate", "90"), ("keeps_days", "1 year", "365"),
        ("keeps_days", "2-3 days", "2-3"),
    ],
)  # fmt: skip
def test_what_the_columns_name_says_already_is_left_out(column, cell, plain):
    assert bare(pl.Series([cell]), column).item() == plain


def test_words_of_a_list_are_compared_without_case():
    cells = pl.Series(["Used Up", "COUNTED", "counted", "lost", None])
    assert spelt_as(cells, ["used up", "counted"]).to_list() == ["used up", "counted", "counted", "lost", None]
    cells = pl.Series(["TRUE", "n", "Yes", "1"])
    assert spelt_as(cells, ["yes", "no"]).to_list() == ["yes", "no", "yes", "1"]
    assert spelt_as(pl.Series(["Y", "A"]), ["a", "b"]).to_list() == ["Y", "a"]


@pytest.mark.parametrize(
    ("cell", "value"),
    [
        ("2", 2), ("2.0", 2), ("-3", -3), ("9007199254740993", 9007199254740993),
        ("2.5", None), ("two", None), ("nan", None), ("inf", None), ("99999999999999999999", None), ("1,000", None),
    ],
)  # fmt: skip
def test_whole_numbers(cell, value):
    assert read(cell, pl.Int64()) == value


@pytest.mark.parametrize(
    ("cell", "date_format", "value"),
    [
        ("2026-03-04", None, date(2026, 3, 4)),
        ("2026-03-04 00:00:00", None, date(2026, 3, 4)),  # a spreadsheet's date
        ("2026-03-04 10:00", None, date(2026, 3, 4)),  # a form's time stamp
        ("3/4/2026 19:05:11", "%m/%d/%Y %H:%M:%S", date(2026, 3, 4)),
        ("04/03/2026 9:05 p.m.", "%d/%m/%Y", date(2026, 3, 4)),
        ("04/03/2026", "%d/%m/%Y", date(2026, 3, 4)),
        ("04/03/2026", "%m/%d/%Y", date(2026, 4, 3)),
        ("4 Mar 26", "%d %b %y", date(2026, 3, 4)),
        ("2026-03-04", "%d/%m/%Y", date(2026, 3, 4)),  # a typed cell beside written ones
        ("2026-03-04", "%Y-%d-%m", date(2026, 4, 3)),
    ],
)
def test_dates(cell, date_format, value):
    assert day(cell, date_format) == value


@pytest.mark.parametrize(
    ("cell", "date_format"),
    [
        ("04/03/2026", None),  # the fourth of March, or the third of April: never guessed
        ("2026-02-30", None),
        ("26-03-04", None),
        ("0026-03-04", None),
        ("1899-12-31", None),
        ("13/13/2026", "%d/%m/%Y"),
        ("03/14/2026", "%d/%m/%Y"),
        ("04/03/26", "%d/%m/%Y"),
        ("2026-03-14", "%Y-%d-%m"),
    ],
)
def test_what_is_no_date_for_certain_is_none(cell, date_format):
    assert day(cell, date_format) is None


@pytest.mark.parametrize(
    ("cell", "value"),
    [
        ("2026-03-04 21:05", datetime(2026, 3, 4, 21, 5)),
        ("2026-03-04T21:05:30", datetime(2026, 3, 4, 21, 5, 30)),
        ("2026-03-04 21:05:30.25", datetime(2026, 3, 4, 21, 5, 30, 250_000)),
        ("2026-03-04", None),
        ("2026-03-04 24:00", None),
        ("2026-03-04 9:05 PM", None),
        ("0026-03-04 21:05", None),
    ],
)
def test_moments(cell, value):
    assert moment(cell) == value


@pytest.mark.parametrize(
    ("cell", "hour"),
    [
        ("12:05 AM", 0),
        ("01:05 am", 1),
        ("12:05 PM", 12),
        ("9:05 pm", 21),
        ("9:05 p.m.", 21),
        ("1:05 a. m.", 1),
        ("13:05 PM", None),
        ("00:05 AM", None),
    ],
)
def test_a_clock_of_twelve_hours(cell, hour):
    found = moment(f"04/03/2026 {cell}", "%d/%m/%Y %I:%M %p")
    assert found == (None if hour is None else datetime(2026, 3, 4, hour, 5))


@pytest.mark.parametrize(
    "cell", ["2026-07-01 20:00Z", "2026-07-01T20:00:00+00:00", "2026-07-01 22:00+02:00", "2026-07-01 22:00:00+02"]
)
def test_a_moment_with_an_offset_is_moved_to_the_houses_clock(cell):
    assert moment(cell, house=LISBON) == datetime(2026, 7, 1, 21)
    assert moment(cell, house=LISBON, file="Asia/Tokyo") == datetime(2026, 7, 1, 21)
    assert moment(cell, "%d/%m/%Y %H:%M", house=LISBON) == datetime(2026, 7, 1, 21)


def test_an_offset_in_the_format_is_heeded_too():
    assert moment("01/07/2026 22:00 +0200", "%d/%m/%Y %H:%M %z", house=LISBON) == datetime(2026, 7, 1, 21)


def test_a_file_on_another_clock_is_moved_to_the_houses():
    assert moment("2026-07-02 05:00", house=LISBON, file="Asia/Tokyo") == datetime(2026, 7, 1, 21)
    assert moment("2026-01-02 05:00", house=LISBON, file="Asia/Tokyo") == datetime(2026, 1, 1, 20)


def test_of_the_doubled_hour_of_autumn_the_earlier_is_taken():
    # 01:30 comes at 00:30 UTC, and again at 01:30 UTC.
    assert moment("2026-10-25 01:30", house="UTC", file=LISBON) == datetime(2026, 10, 25, 0, 30)
    assert moment("2026-10-25 02:30", house="UTC", file=LISBON) == datetime(2026, 10, 25, 2, 30)


def test_the_hour_that_spring_skips_is_no_time():
    assert moment("2026-03-29 01:30", house="UTC", file=LISBON) is None
    assert moment("2026-03-29 00:59", house="UTC", file=LISBON) == datetime(2026, 3, 29, 0, 59)
    assert moment("2026-03-29 02:00", house="UTC", file=LISBON) == datetime(2026, 3, 29, 1)


def test_cells_of_one_column_are_read_each_by_itself():
    cells = pl.Series(["9", "(9)", "x", None, "€ 1,000.00", "inf"])
    assert cast(tidy(cells), pl.Float64(), ISO).to_list() == [9, -9, None, None, 1000, None]
    cells = pl.Series(["2026-03-04 21:05", "2026-03-04T21:05:30Z", "soon", None])
    known = [datetime(2026, 3, 4, 21, 5), datetime(2026, 3, 4, 21, 5, 30), None, None]
    assert cast(tidy(cells), pl.Datetime("us"), ISO).to_list() == known


@pytest.mark.parametrize("date_format", [None, "%d/%m/%Y %H:%M"])
def test_which_cell_comes_first_changes_nothing(date_format):
    cells = ["2026-03-02 20:00", "2026-03-02T19:00Z", "2026-03-02 20:00:00+01", "x", None, "2026-03-02 20:00:00.0"]
    clock = Clock(date_format=date_format, house_zone="Europe/Madrid", file_zone=None)
    evening = datetime(2026, 3, 2, 20)
    for start in range(len(cells)):
        turned = cells[start:] + cells[:start]
        read = cast(pl.Series(turned, dtype=pl.String), pl.Datetime("us"), clock)
        assert read.to_list() == [None if cell in (None, "x") else evening for cell in turned]


def test_texts_are_trimmed_folded_and_composed():
    cells = pl.Series([" Fig   Sour ", "Fig\t\u00a0Sour", "Cre\u0300me", "", " ", None])
    assert tidy(cells).to_list() == ["Fig Sour", "Fig Sour", "Cr\u00e8me", None, None, None]


@given(
    st.lists(st.text(alphabet=" \t\n\v\r\x00\x1f\x7f\x85\u00a0\u2003\u200b\u3000aA~!:e\u0301\u00e9\u212b", max_size=6))
)
def test_the_look_for_untidy_cells_misses_none(cells):
    """Held to the standard library; of its white space, polars (by Unicode's White_Space) leaves out the separators."""
    separators = "\x1c\x1d\x1e\x1f"
    white = re.compile(rf"[^\S{separators}]+")
    expected = [unicodedata.normalize("NFC", white.sub(" ", cell).strip(" ")) or None for cell in cells]
    assert tidy(pl.Series([*cells, None], dtype=pl.String)).to_list() == [*expected, None]


@pytest.mark.parametrize(
    ("cell", "moment"),
    [
        ("2026-03-02 23:50", datetime(2026, 3, 2, 23, 50)),
        ("2026-03-02 00:10", datetime(2026, 3, 3, 0, 10)),
        ("2026-03-02 05:59:59", datetime(2026, 3, 3, 5, 59, 59)),
        ("2026-03-02 06:00", datetime(2026, 3, 2, 6, 0)),
        ("soon", None),
    ],
)
def test_beside_a_business_day_a_time_after_midnight_is_of_the_day_after(cell, moment):
    clock = Clock(date_format=None, house_zone="Europe/Paris", file_zone=None, evening_ends=time(6))
    assert read(cell, pl.Datetime("us"), clock) == moment


def test_a_complaint_shows_how_the_file_says_it_is_written():
    clock = Clock(date_format="%d/%m/%Y", house_zone="UTC", file_zone=None)
    assert unreadable(pl.Date(), clock) == "cannot be read as a date (written like %d/%m/%Y)"
    assert unreadable(pl.Date(), ISO) == "cannot be read as a date (written like 2026-03-31)"


@pytest.mark.parametrize("language", ["de", "fr", "es", "it", "pt", "nl", "da", "sv", "nb", "pl", "cs"])
@pytest.mark.parametrize("pattern", ["d MMMM y", "d MMM y", "d LLLL y", "d LLL y"])
def test_months_are_read_in_the_languages_of_those_who_write_them(language: str, pattern: str) -> None:
    days = [date(2026, month, 3) for month in range(1, 13)]
    cells = [format_date(one, pattern, language) for one in days]
    assert [day(cell, "%d %B %Y") for cell in cells] == days
    assert [day(cell.upper().replace(".", ""), "%d %b %Y") for cell in cells] == days


@pytest.mark.parametrize(
    ("cell", "date_format", "value"),
    [
        ("3. Mrz. 2026 21:05", "%d. %B %Y %H:%M", datetime(2026, 3, 3, 21, 5)),
        ("3 févr. 2026, 9:05 PM", "%d %b %Y, %I:%M %p", datetime(2026, 2, 3, 21, 5)),
        ("3.Mär.2026 21:05", "%d.%b.%Y %H:%M", datetime(2026, 3, 3, 21, 5)),
        ("Sept. 3, 2026 21:05", "%b %d, %Y %H:%M", datetime(2026, 9, 3, 21, 5)),
        ("3 Marzipan 2026 21:05", "%d %b %Y %H:%M", None),
        ("31 juin 2026 21:05", "%d %b %Y %H:%M", None),
        ("3 mars 2026 21:05", "%d %m %Y %H:%M", None),
    ],
)
def test_names_of_months_in_moments(cell: str, date_format: str, value: datetime | None) -> None:
    assert moment(cell, date_format) == value


def test_a_name_of_two_months_is_none(monkeypatch: pytest.MonkeyPatch) -> None:
    """Listopad is October in Croatian, and November in Polish and Czech."""
    monkeypatch.setattr(months, "LANGUAGES", ("pl", "hr"))
    months._names.cache_clear()
    assert day("3 listopad 2026", "%d %B %Y") is None
    assert day("3 maj 2026", "%d %B %Y") == date(2026, 5, 3)
    monkeypatch.undo()
    months._names.cache_clear()
    assert day("3 listopad 2026", "%d %B %Y") == date(2026, 11, 3)
