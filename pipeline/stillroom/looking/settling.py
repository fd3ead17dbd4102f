"""Writes what a look settled into stillroom.toml."""

from __future__ import annotations

from stillroom.errors import SettingsError
from stillroom.house import settings_text
from stillroom.house.house import House
from stillroom.looking.questions import SETTINGS, answered
from stillroom.looking.seen import Look, found_by_intake
from stillroom.plugins.registry import Registry
from stillroom_schemas import fields


def write_settings(house: House, registry: Registry, seen: Look) -> House:
    """Write the proposed [[source]] into stillroom.toml, once it is certain that it takes the file in.

    Gives the house with these settings.

    Raises:
        SettingsError: something has to be said first, a source of that name is there, or the file cannot be written.
    """
    if seen.missing or seen.settings_text is None:
        raise SettingsError(f"{seen.file}: nothing was written: no heading fits {', '.join(seen.missing)}.")
    text, found = settings_text.with_source(house, registry, seen.source, seen.settings_text, seen.before)
    if seen.named and not found_by_intake(found, seen.path, seen.source):
        raise SettingsError(f"{seen.file}: no setting can name such a file; nothing was written. Rename it.")
    settings_text.replace_settings(house, text)
    return found


def write_answer(house: House, registry: Registry, seen: Look, key: str, said: str) -> House:
    """Write what is said of a file that a source reads already into that source's settings; gives the house with it.

    Raises:
        UsageError: it is no answer.
        SettingsError: the settings cannot be written; they are as they were.
    """
    before = next(source for source in house.sources if source.name == seen.source)
    columns = registry.tables[seen.table].schema().columns
    words = {name: fields.allowed(column) for name, column in columns.items()}
    after = answered(before, {key: said}, seen.recognised.headings, words)
    for table in ("columns", "constants"):
        for name, value in getattr(after, table).items():
            if getattr(before, table).get(name) != value:
                house = settings_text.write_setting(house, registry, seen.source, name, value, table)
    if key in SETTINGS:
        house = settings_text.write_setting(house, registry, seen.source, key, getattr(after, key))
    return house
