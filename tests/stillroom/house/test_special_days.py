"""Closed days and events from the settings."""

import tomllib
from datetime import date
from typing import Any

import pytest

from stillroom.errors import SettingsError
from stillroom.house.special_days import special_days
from stillroom.objects import HouseFacts


def house(toml: str) -> HouseFacts:
    options: dict[str, Any] = tomllib.loads(toml).get("report", {})
    return HouseFacts(name="Test", currency="EUR", options=options)


def test_closed_days_and_events_are_read() -> None:
    found = special_days(
        house("[report.demand]\nclosed = [2026-12-24]\n[[report.demand.event]]\nname = 'fair'\ndays = [2026-12-05]")
    )
    assert found.closed == {date(2026, 12, 24)}
    assert found.events == {date(2026, 12, 5): "fair"}
    assert special_days(house("")).events == {}


@pytest.mark.parametrize(
    ("toml", "said"),
    [
        ("[report.demand]\nclosed = ['Christmas']", "closed must be a list of dates"),
        ("[report.demand]\nclosed = [2026-12-24T10:00:00]", "closed must be a list of dates"),
        ("[report.demand]\nholiday = []", "no setting 'holiday'"),
        ("[report.demand]\nevent = ['fair']", "event must be tables"),
        ("[[report.demand.event]]\ndays = [2026-12-05]", "needs a name"),
        ("[[report.demand.event]]\nname = 'fair'", "days of event 'fair' must be a list"),
    ],
)
def test_what_is_wrong_is_named(toml: str, said: str) -> None:
    with pytest.raises(SettingsError, match=said.replace("[", "\\[")):
        special_days(house(toml))
