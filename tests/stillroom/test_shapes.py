"""A format that the marks of a cell rule out never reads it: held to on every way of writing a day that is known."""

from __future__ import annotations

from datetime import datetime

import polars as pl

from stillroom.intake import moments
from stillroom.intake.moments import Clock
from stillroom.looking.handwriting import DAYS
from stillroom.looking.shapes import may_be_in, shape

MOMENTS = (datetime(2026, 3, 4, 8, 5, 9), datetime(2026, 11, 23, 20, 15, 40))
TAILS = ("", " %H:%M Uhr", ", %I:%M %p", "T%H:%M:%S%.f")
FORMATS = [day + tail for days in DAYS.values() for day in days for tail in TAILS]
AS_PEOPLE_WRITE = [
    *("3. März 2026", "4. Dez. 2026 20:15", "14 févr. 2026", "14-ene-2026", "3 de maio de 2026", "mån 2/3"),
    *("Friday 13 March 2026", "sáb., 3/1", "2/3/26 8:05 p. m.", "2/3/2026 8:05 a.m.", "1.2.26, 08:05 AM", "4/3"),
    *("Mar 4, 2026", "20260304", "20260304 20:15", " 4  Mar 2026 ", "2026-03-04T20:15:40.250", "soon", "4,5", "12"),
]


def test_what_is_ruled_out_is_never_read() -> None:
    written = [f"{at:{one.replace('%.f', '.250')}}" for one in FORMATS for at in MOMENTS]
    cells = pl.Series(list(dict.fromkeys([*written, *AS_PEOPLE_WRITE])))
    read = ruled_out = 0
    for one in FORMATS:
        clock = Clock(date_format=one, house_zone="UTC", file_zone=None, year=2000, year_turns=False)
        kind = pl.Datetime("us") if "%M" in one else pl.Date()
        found = moments.written(cells, kind, clock).is_not_null()
        seen = cells if kind == pl.Datetime else moments.day_alone(cells)
        may = pl.Series([may_be_in(one, shape(cell)) for cell in seen])
        assert cells.filter(found & ~may).to_list() == [], one
        read, ruled_out = read + int(found.sum()), ruled_out + int((~may).sum())
    assert read >= 2 * len(FORMATS)
    assert ruled_out > 0.85 * len(FORMATS) * len(cells)
