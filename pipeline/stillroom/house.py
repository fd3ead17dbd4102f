"""A house: its folder, and what its settings file says."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, field
from datetime import date, time
from pathlib import Path
from typing import Any, Final
from zoneinfo import ZoneInfo

from stillroom.analysis.standard_drinks import STANDARD_DRINKS
from stillroom.errors import SettingsError, UsageError
from stillroom.objects import HouseFacts, Period

SETTINGS_NAME: Final = "stillroom.toml"
STORE_NAME: Final = "stillroom.duckdb"


@dataclass(frozen=True, kw_only=True)
class SourceSettings:
    """One `[[source]]` of the settings: which plugin reads which files, and how they are written."""

    name: str
    plugin: str
    files: tuple[str, ...] = ()
    table: str | None = None
    columns: dict[str, str] = field(default_factory=dict)
    """Column of the table -> heading in the file."""
    encoding: str = "utf-8"
    separator: str = ","
    date_format: str | None = None
    """How dates and times are written, in strftime codes; ISO 8601 when None."""


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


def load_house(folder: Path) -> House:
    """Read and check a house's settings.

    Raises:
        SettingsError: the file is missing, is not TOML, or a setting is wrong; the sentence names the setting.
    """
    path = folder / SETTINGS_NAME
    try:
        raw = tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise SettingsError(f"{path} is missing. Start a house with 'stillroom new FOLDER'.") from None
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise SettingsError(f"{path} cannot be read: {error}.") from None
    return _Reader(path).house(folder, raw)


class _Reader:
    """Turns raw TOML into a House; every complaint names the file and the setting."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def wrong(self, setting: str, problem: str) -> SettingsError:
        return SettingsError(f"{self.path}: {setting} {problem}.")

    def house(self, folder: Path, raw: dict[str, Any]) -> House:
        self._only(raw, "the file", {"house", "season", "source", "report"})
        house = raw.get("house")
        if not isinstance(house, dict):
            raise self.wrong("[house]", "is missing")
        where = "[house]"
        self._only(house, where, {"name", "currency", "time_zone", "day_starts_at", "venues", "standard_drink"})
        name = self._text(house, where, "name")
        return House(
            folder=folder,
            name=name,
            currency=self._text(house, where, "currency"),
            time_zone=self._time_zone(house),
            day_starts_at=self._day_starts_at(house),
            venues=self._texts(house, where, "venues") or (name,),
            standard_drink=self._standard_drink(house),
            seasons=tuple(self._season(s, i) for i, s in enumerate(self._tables(raw, "season"), 1)),
            sources=self._sources(raw),
            options=raw.get("report", {}),
        )

    def _only(self, table: dict[str, Any], where: str, known: set[str]) -> None:
        for setting in table:
            if setting not in known:
                raise self.wrong(where, f"has no setting '{setting}'; there are: {', '.join(sorted(known))}")

    def _text(self, table: dict[str, Any], where: str, setting: str, default: str | None = None) -> str:
        value = table.get(setting, default)
        if not isinstance(value, str) or not value.strip():
            raise self.wrong(f"{where} {setting}", f"must be a text, not {value!r}")
        return value.strip()

    def _texts(self, table: dict[str, Any], where: str, setting: str) -> tuple[str, ...]:
        values = table.get(setting, [])
        if not isinstance(values, list) or not all(isinstance(v, str) and v.strip() for v in values):
            raise self.wrong(f"{where} {setting}", f"must be a list of texts, not {values!r}")
        return tuple(v.strip() for v in values)

    def _tables(self, raw: dict[str, Any], name: str) -> list[dict[str, Any]]:
        tables = raw.get(name, [])
        if not isinstance(tables, list) or not all(isinstance(t, dict) for t in tables):
            raise self.wrong(f"[[{name}]]", f"must be written with two brackets: [[{name}]]")
        return tables

    def _time_zone(self, house: dict[str, Any]) -> str:
        name = self._text(house, "[house]", "time_zone", "UTC")
        try:
            ZoneInfo(name)
        except Exception:
            raise self.wrong("[house] time_zone", f"'{name}' is not known; write it like 'Europe/Lisbon'") from None
        return name

    def _day_starts_at(self, house: dict[str, Any]) -> time:
        value = house.get("day_starts_at", "06:00")
        if isinstance(value, time):
            return value
        try:
            return time.fromisoformat(str(value))
        except ValueError:
            raise self.wrong("[house] day_starts_at", f"must be a time like '06:00', not {value!r}") from None

    def _standard_drink(self, house: dict[str, Any]) -> str | None:
        if "standard_drink" not in house:
            return None
        code = self._text(house, "[house]", "standard_drink")
        if code not in STANDARD_DRINKS:
            raise self.wrong(
                "[house] standard_drink", f"'{code}' is not known; there are: {', '.join(STANDARD_DRINKS)}"
            )
        return code

    def _season(self, raw: dict[str, Any], number: int) -> Period:
        where = f"[[season]] number {number}"
        self._only(raw, where, {"name", "from", "to"})
        first, last = raw.get("from"), raw.get("to")
        for setting, value in (("from", first), ("to", last)):
            if type(value) is not date:
                raise self.wrong(f"{where} {setting}", f"must be a date like 2026-03-02 without quotes, not {value!r}")
        assert isinstance(first, date)
        assert isinstance(last, date)
        if last < first:
            raise self.wrong(f"{where} to", f"{last} is before from {first}")
        return Period(first=first, last=last, label=self._text(raw, where, "name"))

    def _sources(self, raw: dict[str, Any]) -> tuple[SourceSettings, ...]:
        sources = tuple(self._source(s, i) for i, s in enumerate(self._tables(raw, "source"), 1))
        names = [source.name for source in sources]
        for name in names:
            if names.count(name) > 1:
                raise self.wrong("[[source]] name", f"'{name}' is given twice")
        return sources

    def _source(self, raw: dict[str, Any], number: int) -> SourceSettings:
        where = f"[[source]] number {number}"
        known = {"name", "plugin", "files", "table", "columns", "encoding", "separator", "date_format"}
        self._only(raw, where, known)
        columns = raw.get("columns", {})
        if not isinstance(columns, dict) or not all(isinstance(v, str) for v in columns.values()):
            raise self.wrong(f"{where} columns", 'must be column = "heading in the file"')
        separator = raw.get("separator", ",")
        if not isinstance(separator, str) or len(separator) != 1:
            raise self.wrong(f"{where} separator", f"must be one character, not {separator!r}")
        encoding = self._text(raw, where, "encoding", "utf-8")
        try:
            "".encode(encoding)
        except LookupError:
            raise self.wrong(f"{where} encoding", f"'{encoding}' is not known; write utf-8, cp1252, ...") from None
        return SourceSettings(
            name=self._text(raw, where, "name"),
            plugin=self._text(raw, where, "plugin"),
            files=self._texts(raw, where, "files"),
            table=self._text(raw, where, "table") if "table" in raw else None,
            columns=columns,
            encoding=encoding,
            separator=separator,
            date_format=self._text(raw, where, "date_format") if "date_format" in raw else None,
        )
