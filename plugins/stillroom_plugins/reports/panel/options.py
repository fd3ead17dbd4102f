"""What the settings say to the panel report: `[report.panel]`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from stillroom.analysis.trials.answers import ALIKE_BELOW
from stillroom.errors import SettingsError
from stillroom.house.options import only_known

KNOWN: Final = ("margin", "alike_below", "show_names", "samples_at_most")


@dataclass(frozen=True, kw_only=True)
class PanelOptions:
    """The settings, checked."""

    margin: float | None
    """Points by which a version may be worse and still count as as good; None: no such verdict is given."""
    alike_below: float
    """Share of people who notice below which a difference test reads 'alike'."""
    show_names: bool
    """Show panelists by name; by code unless set."""


def panel_options(settings: Mapping[str, object]) -> PanelOptions:
    """Read and check `[report.panel]`; `samples_at_most` is for drawing up sessions.

    Raises:
        SettingsError: a setting is not known, or has no meaning.
    """
    only_known("panel", settings, KNOWN)
    alike_below = _above_zero(settings, "alike_below") or ALIKE_BELOW
    if alike_below >= 1:
        raise SettingsError(f"[report.panel] alike_below must be a share below 1, not {alike_below!r}.")
    show_names = settings.get("show_names", False)
    if not isinstance(show_names, bool):
        raise SettingsError(f"[report.panel] show_names must be true or false, not {show_names!r}.")
    return PanelOptions(margin=_above_zero(settings, "margin"), alike_below=alike_below, show_names=show_names)


def _above_zero(settings: Mapping[str, object], name: str) -> float | None:
    value = settings.get(name)
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 < value < float("inf"):
        raise SettingsError(f"[report.panel] {name} must be a number above 0, not {value!r}.")
    return float(value)
