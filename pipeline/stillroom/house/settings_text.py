"""A [[source]] as the text of stillroom.toml, and its way into the file: whole or not at all, and as the last thing.

tomlkit writes the text. It is put in its place as text, too: tomlkit would join tables that stand apart, and part
remarks from what they are about.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Final

from stillroom.errors import SettingsError
from stillroom.files import replace_whole
from stillroom.house.house import SETTINGS_NAME, House
from stillroom.house.model import SourceSettings
from stillroom.house.settings import house_of
from stillroom.house.toml import spelt_out

if TYPE_CHECKING:
    from stillroom.plugins.registry import Registry

HEADER: Final = re.compile(r"^[ \t]*\[\[[ \t]*source[ \t]*\]\]", re.MULTILINE)
OTHER_TABLE: Final = re.compile(r"^[ \t]*\[(?![ \t]*source[ \t]*\.)", re.MULTILINE)
ANY_TABLE: Final = re.compile(r"^[ \t]*\[", re.MULTILINE)
DEMAND: Final = re.compile(r"^[ \t]*\[[ \t]*report[ \t]*\.[ \t]*demand[ \t]*\][^\n]*\n?", re.MULTILINE)
TABLES: Final = ("columns", "constants")
"""Settings of a source that are tables of their own."""


def source_text(settings: SourceSettings, suggested: frozenset[str] = frozenset(), remarks: Sequence[str] = ()) -> str:
    """The settings as a [[source]]; `suggested` columns are marked, `remarks` stand among the settings as comments."""
    import tomlkit

    source, set_ones = tomlkit.table(), settings.model_dump(exclude_defaults=True)
    tables = {name: set_ones.pop(name) for name in TABLES if name in set_ones}
    for name, value in set_ones.items():
        if isinstance(value, dict):
            value, cells = tomlkit.inline_table(), value
            value.update(cells)
        source.add(name, _one_or_several(value) if name == "sheet" else value)
    for remark in remarks:
        source.add(tomlkit.comment(remark))
    for name, columns in tables.items():
        table = tomlkit.table()
        for column, value in columns.items():
            table.add(column, _one_or_several(value))
            if name == "columns" and column in suggested:
                table[column].comment("suggested")
        source.add(name, table)
    sources = tomlkit.aot()
    sources.append(source)
    return spelt_out(tomlkit.dumps({"source": sources}))


def _one_or_several(value: str | tuple[str, ...]) -> str | tuple[str, ...]:
    return value[0] if isinstance(value, tuple) and len(value) == 1 else value


def with_source(house: House, registry: Registry, name: str, block: str, before: str | None) -> tuple[str, House]:
    """The text of stillroom.toml with one more [[source]] and nothing else changed, and the house as it is then.

    Args:
        house: as its settings are now.
        registry: whose settings the file may hold.
        name: the new source's.
        block: its text.
        before: a source that it has to stand before, since the first that names a file reads it; else it comes last.

    Raises:
        SettingsError: a source of that name is there; or the text with it is not to be read.
    """
    path = (house.folder / SETTINGS_NAME).resolve()
    if any(source.name == name for source in house.sources):
        raise SettingsError(
            f"{path}: a source '{name}' is there already; nothing was written. Name another with --source."
        )
    old = _as_it_is(path)
    if "\r\n" in old:
        block = block.replace("\n", "\r\n")
    names = [source.name for source in house.sources]
    place = len(names) if before is None else names.index(before)
    new = _with_block(old, block, None if before is None else place)
    try:
        found = house_of(new.replace("\r\n", "\n"), house.folder, registry)
    except SettingsError as error:
        raise SettingsError(f"{path}: the new source does not fit in ({error}) Nothing was written.") from None
    if [source.name for source in found.sources] != [*names[:place], name, *names[place:]]:
        raise SettingsError(f"{path}: the new source finds no place in it; nothing was written. Add it by hand.")
    return new, found


def write_setting(house: House, registry: Registry, name: str, key: str, value: object, table: str = "") -> House:
    """Set one setting of a [[source]] in stillroom.toml; all else in the file stays as it is, remarks too.

    `table`: 'columns' or 'constants', where it stands in one of these. Gives the house with it.

    Raises:
        SettingsError: there is no such source, or the file cannot be written; it is as it was.
    """
    import tomlkit

    path, names = (house.folder / SETTINGS_NAME).resolve(), [source.name for source in house.sources]
    if name not in names:
        raise SettingsError(f"{path}: no [[source]] there is called '{name}'; nothing was written.")
    text = _as_it_is(path)
    place = names.index(name)
    starts = [found.start() for found in HEADER.finditer(text)]
    start = starts[place] if len(starts) == len(names) else len(text)
    end = next((found.start() for found in OTHER_TABLE.finditer(text, start + 1)), len(text))
    block = tomlkit.parse(text[start:end])
    if "source" in block:
        source = block["source"][0]
        if table and table not in source:
            source[table] = tomlkit.table()
        (source[table] if table else source)[key] = value
    new = text[:start] + tomlkit.dumps(block) + text[end:]
    found = house_of(new.replace("\r\n", "\n"), house.folder, registry)
    changed = table or key
    if found.sources[place] != house.sources[place].model_copy(
        update={changed: getattr(found.sources[place], changed)}
    ):
        raise SettingsError(f"{path}: source '{name}' is written in a way that cannot be added to; add {key} by hand.")
    replace_settings(house, new)
    return found


def write_closed(house: House, registry: Registry, days: Sequence[date]) -> House:
    """Add days on which the house was closed to stillroom.toml; all else in the file stays as it is.

    Gives the house with them.

    Raises:
        SettingsError: the file cannot be written, or added to; it is as it was.
    """
    import tomlkit

    path = (house.folder / SETTINGS_NAME).resolve()
    text, closed = _as_it_is(path), sorted({*house.closed, *days})
    own = DEMAND.search(text)
    start = own.start() if own else len(text)
    end = next((found.start() for found in ANY_TABLE.finditer(text, own.end())), len(text)) if own else len(text)
    block = tomlkit.parse(text[start:end] if own else "\n[report.demand]\n")
    block["report"]["demand"]["closed"] = closed
    new = text[:start] + tomlkit.dumps(block) + text[end:]
    found = house_of(new.replace("\r\n", "\n"), house.folder, registry)
    if [*found.closed] != closed or found.sources != house.sources:
        raise SettingsError(f"{path}: is written in a way that cannot be added to; add closed under [report.demand].")
    replace_settings(house, new)
    return found


def _as_it_is(path: Path) -> str:
    try:
        return path.read_bytes().decode("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise SettingsError(f"{path} cannot be read: {error}.") from None


def _with_block(old: str, block: str, place: int | None) -> str:
    """The text with the block before its source number `place`, above the remarks on that one; else at its end."""
    end = "\r\n" if "\r\n" in old else "\n"
    headers = [found.start() for found in HEADER.finditer(old)]
    if place is None or place >= len(headers):
        return old.rstrip() + (end * 2 if old.strip() else "") + block
    lines = old[: headers[place]].splitlines(keepends=True)
    remarks: list[str] = []
    while lines and lines[-1].lstrip().startswith("#"):
        remarks.insert(0, lines.pop())
    return "".join(lines) + block + end + "".join(remarks) + old[headers[place] :]


def replace_settings(house: House, text: str) -> None:
    """Make `text` the house's stillroom.toml, all at once.

    Raises:
        SettingsError: it cannot be written; it is as it was.
    """
    path = (house.folder / SETTINGS_NAME).resolve()
    try:
        replace_whole(path, text.encode("utf-8"))
    except OSError as error:
        raise SettingsError(f"{path}: cannot be written ({error.strerror}); it is as it was.") from None
