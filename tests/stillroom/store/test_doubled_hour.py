"""Which hours the clock tells twice. Changes of clocks from memory, and as the IANA time zone database has them."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from stillroom.store.doubled_hour import doubled_hours


@pytest.mark.parametrize(
    ("day", "zone", "hours"),
    [
        (datetime(2026, 10, 25), "Europe/Amsterdam", [2]),
        (datetime(2026, 10, 25), "Europe/Lisbon", [1]),
        (datetime(2026, 11, 1), "America/New_York", [1]),
        (datetime(2026, 4, 5), "Australia/Lord_Howe", [1]),  # by half an hour
        (datetime(2026, 3, 29), "Europe/Amsterdam", []),  # put forward
        (datetime(2026, 10, 25), "UTC", []),
        (datetime(1, 1, 1), "Europe/Amsterdam", []),
        (datetime(9999, 12, 31), "Europe/Amsterdam", []),
    ],
)
def test_the_hours_told_twice(day: datetime, zone: str, hours: list[int]) -> None:
    every_hour = [day + timedelta(hours=hour, minutes=59) for hour in range(24)]
    assert [hour - day for hour in doubled_hours(every_hour, zone)] == [timedelta(hours=hour) for hour in hours]
