"""What the settings say to the panel report: `[report.panel]`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from stillroom.errors import SettingsError

KNOWN: Final = ("margin",)


@dataclass(frozen=True, kw_only=True)
class PanelOptions:
    """The settings, checked."""

    margin: float | None
    """Points by which a version may be worse and still count as as good; None: no such verdict is given."""


def panel_options(settings: Mapping[str, object]) -> PanelOptions:
    """Read and check `[report.panel]`.

    Raises:
        SettingsError: a setting is not known, or not a number above 0.
    """
    unknown = [name for name in settings if name not in KNOWN]
    if unknown:
        raise SettingsError(f"[report.panel] has no setting '{unknown[0]}'; there are: {', '.join(KNOWN)}.")
    return PanelOptions(margin=_above_zero(settings, "margin"))


def _above_zero(settings: Mapping[str, object], name: str) -> float | None:
    value = settings.get(name)
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 < value < float("inf"):
        raise SettingsError(f"[report.panel] {name} must be a number above 0, not {value!r}.")
    return float(value)
