"""The local times that are told twice, when clocks are put back in autumn."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from typing import Final
from zoneinfo import ZoneInfo

MINUTE: Final = timedelta(minutes=1)


def doubled_hours(moments: Iterable[datetime], time_zone: str) -> Iterator[tuple[datetime, datetime, datetime]]:
    """Of some local times those that the clocks of a zone tell twice; each with the first and last moment told twice.

    Mostly it is an hour, by the hour; somewhere it is half of one, two, or one that begins at a quarter.

    >>> [(at, first, last)] = doubled_hours([datetime(2026, 10, 25, 2, 41)], "Europe/Amsterdam")
    >>> print(first, last)
    2026-10-25 02:00:00 2026-10-25 02:59:59.999999
    """
    zone = ZoneInfo(time_zone)
    for at in sorted(one for one in moments if _told_twice(one, zone)):
        first = last = at.replace(second=0, microsecond=0)
        while _told_twice(first - MINUTE, zone):
            first -= MINUTE
        while _told_twice(last, zone):
            last += MINUTE
        yield at, first, last - timedelta.resolution


def _told_twice(at: datetime, zone: ZoneInfo) -> bool:
    first, second = (zone.utcoffset(at.replace(tzinfo=zone, fold=fold)) or timedelta() for fold in (0, 1))
    return first > second  # in the hour that spring leaves out it is less
