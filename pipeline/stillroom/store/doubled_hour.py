"""The hour that local time tells twice, when clocks are put back in autumn."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

HALF_AN_HOUR = timedelta(minutes=30)


def doubled_hours(moments: Iterable[datetime], time_zone: str) -> list[datetime]:
    """The hours around some local times that the clocks of a zone tell twice, each by its beginning.

    >>> autumn = datetime(2026, 10, 25, 2, 41)
    >>> doubled_hours([autumn, autumn + timedelta(hours=1)], "Europe/Amsterdam")
    [datetime.datetime(2026, 10, 25, 2, 0)]
    """
    zone = ZoneInfo(time_zone)
    hours = {at.replace(minute=0, second=0, microsecond=0) for at in moments}
    # Somewhere clocks are put back by half an hour only: then its second half is told twice.
    return sorted(hour for hour in hours if _told_twice(hour, zone) or _told_twice(hour + HALF_AN_HOUR, zone))


def _told_twice(at: datetime, zone: ZoneInfo) -> bool:
    first, second = (zone.utcoffset(at.replace(tzinfo=zone, fold=fold)) or timedelta() for fold in (0, 1))
    return first > second  # in the hour that spring leaves out it is less
