"""Closed days and events, as the settings write them.

[report.demand]
closed = [2026-12-24, 2026-12-25]

[[report.demand.event]]
name = "harbour fair"
days = [2026-09-12, 2026-12-05]
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Final

from stillroom.analysis.demand.sales_history import Calendar
from stillroom.errors import SettingsError
from stillroom.house.options import only_known
from stillroom.objects import HouseFacts

WHERE: Final = "[report.demand]"


def special_days(house: HouseFacts) -> Calendar:
    """The house's closed days and events.

    Raises:
        SettingsError: a setting is not what it should be; the sentence names it.
    """
    settings = house.options.get("demand", {})
    only_known("demand", settings, ("closed", "event"))
    raw = settings.get("event", [])
    if not isinstance(raw, list) or not all(isinstance(one, dict) for one in raw):
        raise SettingsError(f"{WHERE} event must be tables: [[report.demand.event]] with name and days.")
    events = {}
    for one in raw:
        name = one.get("name")
        if not isinstance(name, str) or not name.strip():
            raise SettingsError(f"{WHERE} every event needs a name, not {name!r}.")
        for day in _days(one.get("days"), f"days of event '{name}'"):
            events[day] = name.strip()
    return Calendar(closed=frozenset(_days(settings.get("closed", []), "closed")), events=events)


def _days(value: object, what: str) -> list[date]:
    if not isinstance(value, list) or not all(isinstance(day, date) and not isinstance(day, datetime) for day in value):
        raise SettingsError(f"{WHERE} {what} must be a list of dates such as [2026-12-24], not {value!r}.")
    return value
