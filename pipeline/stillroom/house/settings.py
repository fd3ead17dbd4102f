"""Reads `stillroom.toml`; every complaint names the file and the setting, and says what would be right."""

from __future__ import annotations

import tomllib
from datetime import date, time
from pathlib import Path
from typing import Any, Final
from zoneinfo import ZoneInfo

from stillroom.analysis.specs.standard_drinks import STANDARD_DRINKS
from stillroom.errors import SettingsError
from stillroom.house import date_formats
from stillroom.house.house import SETTINGS_NAME, House, SourceSettings, Wide
from stillroom.objects import Period


def load_house(folder: Path) -> House:
    """Read and check a house's settings.

    Raises:
        SettingsError: the file is missing, is not TOML, or a setting is wrong; the sentence names the setting.
    """
    path = folder / SETTINGS_NAME
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise SettingsError(f"{path} is missing. Start a house with 'stillroom new FOLDER'.") from None
    except UnicodeDecodeError:
        raise SettingsError(f"{path} is not UTF-8: save it as UTF-8.") from None
    except OSError as error:
        raise SettingsError(f"{path} cannot be read: {error}.") from None
    return house_of(text, folder)


def house_of(text: str, folder: Path) -> House:
    """The house of which `text` are the settings.

    Raises:
        SettingsError: the text is not TOML, or a setting is wrong; the sentence names the setting.
    """
    path = folder / SETTINGS_NAME
    try:
        raw = tomllib.loads(text.removeprefix("\ufeff"))  # which some editors put first
    except tomllib.TOMLDecodeError as error:
        raise SettingsError(f"{path} cannot be read: {error}.") from None
    return _Reader(path).house(folder, raw)


SEPARATORS: Final = (",", ";", "\t", "|")
SOURCE_SETTINGS: Final = frozenset(SourceSettings.__dataclass_fields__)


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
            time_zone=self._time_zone(house, where, "UTC") or "UTC",
            day_starts_at=self._day_starts_at(house),
            venues=self._texts(house, where, "venues") or (name,),
            standard_drink=self._standard_drink(house),
            seasons=tuple(self._season(s, i) for i, s in enumerate(self._tables(raw, "season"), 1)),
            sources=self._sources(raw),
            options=raw.get("report", {}),
        )

    def _only(self, table: dict[str, Any], where: str, known: set[str] | frozenset[str]) -> None:
        for setting in table:
            if setting not in known:
                raise self.wrong(where, f"has no setting '{setting}'; there are: {', '.join(sorted(known))}")

    def _text(self, table: dict[str, Any], where: str, setting: str, default: str | None = None) -> str:
        value = table.get(setting, default)
        if not isinstance(value, str) or not value.strip():
            raise self.wrong(f"{where} {setting}", f"must be a text, not {value!r}")
        return value.strip()

    def _texts(self, table: dict[str, Any], where: str, setting: str, *, strip: bool = True) -> tuple[str, ...]:
        values = table.get(setting, [])
        if not isinstance(values, list) or not all(isinstance(v, str) and v.strip() for v in values):
            raise self.wrong(f"{where} {setting}", f"must be a list of texts, not {values!r}")
        return tuple(v.strip() if strip else v for v in values)

    def _tables(self, raw: dict[str, Any], name: str) -> list[dict[str, Any]]:
        tables = raw.get(name, [])
        if not isinstance(tables, list) or not all(isinstance(t, dict) for t in tables):
            raise self.wrong(f"[[{name}]]", f"must be written with two brackets: [[{name}]]")
        return tables

    def _time_zone(self, table: dict[str, Any], where: str, default: str | None) -> str | None:
        if "time_zone" not in table:
            return default
        name = self._text(table, where, "time_zone")
        try:
            ZoneInfo(name)
        except (KeyError, ValueError, OSError):  # no such zone; no name of one; a folder of them
            raise self.wrong(f"{where} time_zone", f"'{name}' is not known; write it like 'Europe/Lisbon'") from None
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
        self._only(raw, where, SOURCE_SETTINGS)
        return SourceSettings(
            name=self._text(raw, where, "name"),
            plugin=self._text(raw, where, "plugin"),
            files=self._texts(raw, where, "files"),
            table=self._maybe_text(raw, where, "table"),
            columns=self._columns(raw, where),
            constants=self._constants(raw, where),
            encoding=self._encoding(raw, where),
            separator=self._one_of(raw, where, "separator", SEPARATORS, None),
            sheet=self._sheet(raw, where),
            decimal=self._one_of(raw, where, "decimal", (".", ","), None),
            date_format=self._date_format(raw, where),
            time_zone=self._time_zone(raw, where, None),
            dates_are=self._one_of(raw, where, "dates_are", ("business days",), None),
            venue_in_name=self._venue_in_name(raw, where),
            names_end_at=self._texts(raw, where, "names_end_at", strip=False),
            tax_pct=self._tax_pct(raw, where),
            totals=self._texts(raw, where, "totals"),
            wide=self._wide(raw, where),
            database=self._maybe_text(raw, where, "database"),
            query=self._maybe_text(raw, where, "query"),
        )

    def _sheet(self, raw: dict[str, Any], where: str) -> tuple[str, ...]:
        if isinstance(raw.get("sheet"), list):
            return self._texts(raw, where, "sheet")
        one = self._maybe_text(raw, where, "sheet")
        return () if one is None else (one,)

    def _columns(self, raw: dict[str, Any], where: str) -> dict[str, tuple[str, ...]]:
        columns = raw.get("columns", {})
        if not isinstance(columns, dict):
            raise self.wrong(f"{where} columns", 'must be a table: column = "heading in the file"')
        found = {}
        for column, headings in columns.items():
            several = headings if isinstance(headings, list) else [headings]
            if not several or not all(isinstance(h, str) and h.strip() for h in several):
                raise self.wrong(f"{where} columns {column}", f"must be a heading, or a list of them, not {headings!r}")
            found[column] = tuple(" ".join(h.split()) for h in several)
        return found

    def _constants(self, raw: dict[str, Any], where: str) -> dict[str, str]:
        constants = raw.get("constants", {})
        if not isinstance(constants, dict) or not all(isinstance(v, str | int | float) for v in constants.values()):
            raise self.wrong(f"{where} constants", 'must be a table: column = "what every row says"')
        return {column: str(value) for column, value in constants.items()}

    def _encoding(self, raw: dict[str, Any], where: str) -> str:
        encoding = self._text(raw, where, "encoding", "utf-8")
        try:
            "".encode(encoding)
        except LookupError:
            raise self.wrong(f"{where} encoding", f"'{encoding}' is not known; write utf-8, cp1252, ...") from None
        return encoding

    def _date_format(self, raw: dict[str, Any], where: str) -> str | None:
        date_format = self._maybe_text(raw, where, "date_format")
        if date_format is not None and (what := date_formats.fault(date_format)):
            where = f"{where} ('{self._text(raw, where, 'name')}') date_format"
            raise self.wrong(where, f"= '{date_format}' {what}; write it like '%d/%m/%Y' or '%d/%m/%Y %H:%M'")
        return date_format

    def _venue_in_name(self, raw: dict[str, Any], where: str) -> str | None:
        pattern = self._maybe_text(raw, where, "venue_in_name")
        if pattern is not None and pattern.count("{venue}") != 1:
            raise self.wrong(
                f"{where} venue_in_name", f"must hold {{venue}} once, like 'sales-{{venue}}-', not {pattern!r}"
            )
        return pattern

    def _tax_pct(self, raw: dict[str, Any], where: str) -> float | None:
        value = raw.get("tax_pct")
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value < 100:
            raise self.wrong(f"{where} tax_pct", f"must be a number from 0 to below 100, not {value!r}")
        return float(value)

    def _wide(self, raw: dict[str, Any], where: str) -> Wide | None:
        wide = raw.get("wide")
        if wide is None:
            return None
        if not isinstance(wide, dict):
            raise self.wrong(f"{where} wide", "must be a table with headings_are and cells_are")
        self._only(wide, f"{where} wide", {"headings_are", "cells_are"})
        return Wide(
            headings_are=self._text(wide, f"{where} wide", "headings_are"),
            cells_are=self._text(wide, f"{where} wide", "cells_are"),
        )

    def _maybe_text(self, table: dict[str, Any], where: str, setting: str) -> str | None:
        return self._text(table, where, setting) if setting in table else None

    def _one_of(
        self, table: dict[str, Any], where: str, setting: str, allowed: tuple[str, ...], default: str | None
    ) -> str | None:
        value = table.get(setting, default)
        if value is not None and value not in allowed:
            raise self.wrong(f"{where} {setting}", f"must be one of {', '.join(map(repr, allowed))}, not {value!r}")
        return value
