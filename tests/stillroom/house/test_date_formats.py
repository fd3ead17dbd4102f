"""A format that can say no date is refused with the settings, by its source and name; no other is."""

from __future__ import annotations

import re
from pathlib import Path

import polars as pl
import pytest

from house_builder import HOUSE, plugins
from stillroom.errors import SettingsError
from stillroom.house.date_formats import fault
from stillroom.house.settings import house_of
from stillroom.intake.moments import NAMED_YEAR, SERIAL
from stillroom.looking.handwriting import BETWEEN, DAYS, TIMES

GOOD = (
    *("%F", "%F %T", "%D", "%c", "%+", "%s", "%y%j", "%G-W%V-%u", "%e.%-m.%Y", "%d %b %y", "100 %% %d.%m.%Y"),
    *("%Y-%m-%dT%H:%M:%S%.f%:z", "%d.%m.%Y %l:%M %P", "%d/%m/%Y %I:%M:%S %p", "%d.%m.%Y, %R Uhr"),
)
BAD = {
    "%H:%M": "has no year (%Y), month (%m) and day (%d)",
    "dd/mm/yyyy": "has no year (%Y), month (%m) and day (%d)",
    "%d.%m. %H:%M": "has no year (%Y)",
    "%m/%Y": "has no day (%d)",
    "%Y": "has no month (%m) and day (%d)",
    "%d/%m/%Q": "has a code that there is not: %Q",
    "%d/%m/%Y %": "has a code that there is not: %",
    "%d/%m/%Y %H": "has hours without minutes (%H:%M)",
    "%d/%m/%Y %M": "has minutes without hours (%H:%M)",
    "%d/%m/%Y %I:%M": "has no half of the day (%p) beside %I",
    "%d/%m/%Y %H:%M %p": "has a half of the day (%p) without %I",
}


@pytest.mark.parametrize(("date_format", "what"), BAD.items())
def test_a_format_that_says_no_date_is_refused(tmp_path: Path, date_format: str, what: str) -> None:
    text = HOUSE + f'[[source]]\nname = "till"\nplugin = "till-export"\ndate_format = "{date_format}"\n'
    with pytest.raises(SettingsError) as refused:
        house_of(text, tmp_path, plugins())
    assert str(refused.value) == (
        f"{tmp_path / 'stillroom.toml'}, line 7: [[source]] 'till' date_format = '{date_format}' {what}; "
        "write it like '%d/%m/%Y' or '%d/%m/%Y %H:%M'."
    )


@pytest.mark.parametrize("date_format", GOOD)
def test_a_format_that_says_a_date_is_one_that_can_be_read_by(date_format: str) -> None:
    assert fault(date_format) is None
    assert pl.Series(["x"]).str.to_datetime(date_format, strict=False).to_list() == [None]


def test_no_format_that_is_proposed_is_refused() -> None:
    # A day without a year is proposed together with the setting `year`, which adds it.
    days = [day if re.search(NAMED_YEAR, day) else f"{day} %Y" for several in DAYS.values() for day in several]
    assert [day for day in days if fault(day)] == []
    moments = [f"{day}{gap}{time}" for day in days if day != SERIAL for gap in BETWEEN for time in TIMES]
    assert [moment for moment in moments if fault(moment)] == []
