"""Which local times the clock tells twice: by walking through all minutes of UTC, in zones of the IANA database."""

from __future__ import annotations

from collections import Counter
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from stillroom.store.doubled_hour import doubled_hours


@pytest.mark.parametrize(
    ("day", "zone"),
    [
        (datetime(2026, 10, 25), "Europe/Amsterdam"),
        (datetime(2026, 10, 25), "Europe/Lisbon"),
        (datetime(2026, 11, 1), "America/New_York"),
        (datetime(2026, 4, 5), "Australia/Lord_Howe"),  # by half an hour
        (datetime(2026, 4, 5), "Pacific/Chatham"),  # from a quarter to three to a quarter to four
        (datetime(2026, 10, 25), "Antarctica/Troll"),  # by two hours
        (datetime(2026, 3, 29), "Europe/Amsterdam"),  # put forward
        (datetime(2026, 10, 25), "UTC"),
    ],
)
def test_the_minutes_told_twice(day: datetime, zone: str) -> None:
    began = day.replace(tzinfo=UTC) - timedelta(days=1)
    local = [(began + timedelta(minutes=n)).astimezone(ZoneInfo(zone)).replace(tzinfo=None) for n in range(3 * 24 * 60)]
    twice = sorted(at for at, times in Counter(local).items() if times > 1)
    found = list(doubled_hours(dict.fromkeys(local), zone))
    assert [at for at, _, _ in found] == twice
    ends = {(first, last + timedelta.resolution - timedelta(minutes=1)) for _, first, last in found}
    assert ends == ({(twice[0], twice[-1])} if twice else set())


@pytest.mark.parametrize("day", [datetime.min, datetime.max])
def test_nothing_is_told_twice_at_the_ends_of_time(day: datetime) -> None:
    assert not list(doubled_hours([day], "Europe/Amsterdam"))
