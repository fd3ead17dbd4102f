"""The settings of the prep list, `[report.prep-list]`, checked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from stillroom.errors import SettingsError
from stillroom.house.options import checked_number, number_option, only_known
from stillroom.objects import HouseFacts

NAME: Final = "prep-list"
KNOWN: Final = ("work_per_making", "running_out_share", "next_making_days", "smallest_part", "most_makings", "parts")
WORK: Final = 5.0
"""Money for the work of one making unless the settings say otherwise: an assumption, to be set by the house."""
MOST: Final = 2.0
"""Makings at a time, at most, unless the settings say otherwise: common practice, no source."""
PART: Final = 0.5
"""The smallest part of a making that is made, unless the settings say otherwise."""


@dataclass(frozen=True, kw_only=True)
class PrepSettings:
    """What `[report.prep-list]` says."""

    work_per_making: float
    """Money for the work of one making."""
    running_out_share: float
    """Part of a drink's contribution that is lost when it cannot be served; below 1 where guests take another."""
    next_making_days: int
    """Days from one making day to the next."""
    smallest_part: float
    most_makings: float
    """Makings at a time that pots and fridge allow; more only where the use until the next making asks for it."""
    parts: Mapping[str, float]
    """Smallest part of a making, for single preparations."""

    def part(self, preparation: str) -> float:
        """The smallest part of a making of this preparation."""
        return self.parts.get(preparation.casefold(), self.smallest_part)


def prep_settings(house: HouseFacts) -> PrepSettings:
    """Read and check `[report.prep-list]`.

    Raises:
        SettingsError: a setting is not what it should be; the sentence names it.
    """
    raw = house.options.get(NAME, {})
    only_known(NAME, raw, KNOWN)
    parts = raw.get("parts", {})
    if not isinstance(parts, dict):
        raise SettingsError(f"[report.{NAME}.parts] must be a table: preparation = part of a making.")
    where = f"[report.{NAME}.parts]"
    return PrepSettings(
        work_per_making=number_option(house, NAME, "work_per_making", WORK, low=0, high=1e6),
        running_out_share=number_option(house, NAME, "running_out_share", 1.0, low=0, high=1),
        next_making_days=round(number_option(house, NAME, "next_making_days", 1, low=1, high=28)),
        smallest_part=number_option(house, NAME, "smallest_part", PART, low=0.01, high=1),
        most_makings=number_option(house, NAME, "most_makings", MOST, low=1, high=100),
        parts={name.casefold(): checked_number(value, f"{where} {name}", 0.01, 1) for name, value in parts.items()},
    )
