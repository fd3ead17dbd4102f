"""Settings of a report, `[report.NAME]`, checked where they are read."""

from __future__ import annotations

from stillroom.errors import SettingsError
from stillroom.objects import HouseFacts


def number_option(house: HouseFacts, report: str, name: str, default: float, *, low: float, high: float) -> float:
    """A number from the settings, within low..high.

    Raises:
        SettingsError: it is something else.
    """
    value = house.options.get(report, {}).get(name, default)
    if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
        raise SettingsError(f"[report.{report}] {name} must be a number from {low:g} to {high:g}, not {value!r}.")
    return float(value)
