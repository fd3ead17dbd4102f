"""Settings of a report or command, `[report.NAME]`, checked where they are read."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from stillroom.errors import SettingsError
from stillroom.objects import HouseFacts


def only_known(report: str, settings: Mapping[str, object], known: Iterable[str]) -> None:
    """Refuse a setting of `[report.NAME]` that nobody reads: it is misspelt.

    Raises:
        SettingsError: there is one; the sentence names those there are.
    """
    known = sorted(known)
    unknown = sorted(set(settings).difference(known))
    if unknown:
        raise SettingsError(f"[report.{report}] has no setting '{unknown[0]}'; there are: {', '.join(known)}.")


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
