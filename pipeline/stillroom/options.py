"""Settings of a report or command, `[report.NAME]`, checked where they are read."""

from __future__ import annotations

from stillroom.errors import SettingsError
from stillroom.objects import HouseFacts


def number_option(house: HouseFacts, report: str, name: str, default: float, *, low: float, high: float) -> float:
    """A number from the settings, within low..high.

    Raises:
        SettingsError: it is something else.
    """
    return checked_number(house.options.get(report, {}).get(name, default), f"[report.{report}] {name}", low, high)


def checked_number(value: object, where: str, low: float, high: float) -> float:
    """The value as a number within low..high.

    Raises:
        SettingsError: it is something else; `where` names the setting.
    """
    if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
        raise SettingsError(f"{where} must be a number from {low:g} to {high:g}, not {value!r}.")
    return float(value)
