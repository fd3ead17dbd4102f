"""A house: its folder, and what its settings file says."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from pathlib import Path
from typing import Final
from zoneinfo import ZoneInfo

from pydantic import Field

from stillroom.errors import SettingsError, UsageError
from stillroom.house.base import Settings
from stillroom.house.model import HouseTable, SourceSettings
from stillroom.house.report_settings import DemandSettings, MenuSettings
from stillroom.objects import HouseFacts, Period

SETTINGS_NAME: Final = "stillroom.toml"
STORE_NAME: Final = "stillroom.duckdb"


class House(HouseTable):
    """A house folder and its settings."""

    folder: Path
    seasons: tuple[Period, ...] = ()
    sources: tuple[SourceSettings, ...] = ()
    reports: Mapping[str, Settings] = Field(default_factory=dict)
    """`[report.NAME]`, by name; all there are, those that the file does not mention, too."""
    menu: MenuSettings = Field(default_factory=MenuSettings)
    common_ingredients: tuple[Path, ...] = ()
    """Tables of what is commonly in ingredients that plugins add to the built-in one."""

    @property
    def store_path(self) -> Path:
        """Where the store is."""
        return self.folder / STORE_NAME

    @property
    def day_starts_minutes(self) -> int:
        """Minutes after midnight at which a business day begins."""
        return self.day_starts_at.hour * 60 + self.day_starts_at.minute

    @property
    def only_venue(self) -> str | None:
        """The venue an empty cell means; None where the house has several."""
        return self.venues[0] if len(self.venues) == 1 else None

    @property
    def closed(self) -> tuple[date, ...]:
        """The days on which it was or will be closed, as the settings of the demand report say."""
        return self.facts.settings(DemandSettings).closed

    @property
    def facts(self) -> HouseFacts:
        """What reports may know."""
        return HouseFacts(
            name=self.name,
            currency=self.currency,
            venues=self.venues,
            standard_drink=self.standard_drink,
            reports={**self.reports, "[menu]": self.menu},
        )

    def today(self) -> date:
        """The day it is by the clock, in the house or where its files are taken in, whichever is later."""
        return max(datetime.now(ZoneInfo(self.time_zone)).date(), datetime.now().astimezone().date())

    def season(self, name: str) -> Period:
        """The season of that name, compared without case."""
        for season in self.seasons:
            if season.label.casefold() == name.casefold():
                return season
        known = ", ".join(f"'{season.label}'" for season in self.seasons) or "none"
        raise UsageError(f"There is no season '{name}' in {SETTINGS_NAME}; there are: {known}.")


def find_house(start: Path) -> Path:
    """The nearest folder at or above `start` that holds the settings file."""
    start = start.resolve()
    for folder in (start, *start.parents):
        if (folder / SETTINGS_NAME).is_file():
            return folder
    raise SettingsError(
        f"{start} is not inside a house: no {SETTINGS_NAME} here or above. "
        "Start one with 'stillroom new FOLDER', or name it with --house."
    )
