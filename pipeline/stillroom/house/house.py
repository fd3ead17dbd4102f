"""A house: its folder, and what its settings file says."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import time
from pathlib import Path
from typing import Any, Final

from stillroom.errors import SettingsError, UsageError
from stillroom.objects import HouseFacts, Period

SETTINGS_NAME: Final = "stillroom.toml"
STORE_NAME: Final = "stillroom.duckdb"


@dataclass(frozen=True, kw_only=True)
class Wide:
    """A file with a column for each day, panelist or item: every filled cell is a row."""

    headings_are: str
    """The table's column that the headings of those columns give."""
    cells_are: str
    """The table's column that their cells give."""


@dataclass(frozen=True, kw_only=True)
class SourceSettings:
    """One `[[source]]` of the settings: which plugin reads which files, and how they are written."""

    name: str
    plugin: str
    files: tuple[str, ...] = ()
    table: str | None = None
    columns: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """Column of the table -> heading in the file, or several whose cells are joined by a space."""
    constants: dict[str, str] = field(default_factory=dict)
    """Column of the table -> what it is in every row."""
    encoding: str = "utf-8"
    separator: str | None = None
    """What parts two cells; found from the headings when None."""
    sheet: tuple[str, ...] = ()
    """Sheets of a workbook, as names or patterns such as '2026-*'; the first that has the headings when empty."""
    decimal: str | None = None
    """What parts decimals: the other mark then parts thousands; a dot when None, and '1,234' is not guessed."""
    date_format: str | None = None
    """How dates and times are written, in strftime codes; ISO 8601 when None."""
    time_zone: str | None = None
    """The clock that times without an offset are on; the house's when None."""
    dates_are: str | None = None
    """'business days': the date beside a time is the day on which the evening began; the calendar's day when None."""
    venue_in_name: str | None = None
    """A piece of the file's name with {venue} in it."""
    names_end_at: tuple[str, ...] = ()
    """Marks at which a till's modifiers begin: the item's name ends before them."""
    tax_pct: float | None = None
    """Tax that net_amount still contains, %; it is taken out."""
    totals: tuple[str, ...] = ()
    """Words that begin a line of totals, besides the usual ones."""
    wide: Wide | None = None
    database: str | None = None
    """Name of the environment variable that holds a database's address; credentials are never written down."""
    query: str | None = None
    """The rows to read from that database, in SQL."""


@dataclass(frozen=True, kw_only=True)
class House:
    """A house folder and its settings."""

    folder: Path
    name: str
    currency: str
    time_zone: str = "UTC"
    day_starts_at: time = time(6)
    venues: tuple[str, ...] = ()
    standard_drink: str | None = None
    """Code of the national definition in which alcohol is counted; None = grams only."""
    seasons: tuple[Period, ...] = ()
    sources: tuple[SourceSettings, ...] = ()
    options: dict[str, dict[str, Any]] = field(default_factory=dict)

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
    def facts(self) -> HouseFacts:
        """What reports may know."""
        return HouseFacts(
            name=self.name,
            currency=self.currency,
            venues=self.venues,
            standard_drink=self.standard_drink,
            options=self.options,
        )

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
