"""A [[source]] as the text of stillroom.toml, and its way into the file: whole or not at all, and as the last thing."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import fields
from typing import Final

from stillroom.errors import SettingsError
from stillroom.files import replace_whole
from stillroom.house.house import SETTINGS_NAME, House, SourceSettings
from stillroom.house.settings import house_of

HEADER: Final = re.compile(r"^[ \t]*\[\[[ \t]*source[ \t]*\]\]", re.MULTILINE)
BARE_KEY: Final = re.compile(r"[A-Za-z0-9_-]+")
ESCAPED: Final = {'"': '\\"', "\\": "\\\\", "\t": "\\t", "\n": "\\n", "\r": "\\r"}


def quoted(text: str) -> str:
    """A TOML string; what does not show on a terminal is spelt out.

    >>> print(quoted('The "big" one'))
    "The \\"big\\" one"
    """
    return '"' + "".join(ESCAPED.get(c) or (c if c.isprintable() else f"\\U{ord(c):08X}") for c in text) + '"'


def source_text(settings: SourceSettings, suggested: frozenset[str] = frozenset(), remarks: Sequence[str] = ()) -> str:
    """The settings as a [[source]]; `suggested` columns are marked, `remarks` stand among the settings as comments."""
    blank = SourceSettings(name="", plugin="")
    lines = ["[[source]]"]
    for setting in fields(SourceSettings):
        value = getattr(settings, setting.name)
        if setting.name in ("columns", "constants", "wide") or value == getattr(blank, setting.name):
            continue
        one_sheet = setting.name == "sheet" and len(value) == 1
        lines.append(f"{setting.name} = {_value(value[0] if one_sheet else value)}")
    if settings.wide is not None:
        wide = settings.wide
        lines.append(f"wide = {{ headings_are = {quoted(wide.headings_are)}, cells_are = {quoted(wide.cells_are)} }}")
    lines += [f"# {remark}" for remark in remarks]
    if settings.columns:
        lines.append("[source.columns]")
        for column, headings in settings.columns.items():
            value = _value(headings if len(headings) > 1 else headings[0])
            lines.append(f"{_key(column)} = {value}" + ("    # suggested" if column in suggested else ""))
    if settings.constants:
        lines.append("[source.constants]")
        lines += [f"{_key(column)} = {quoted(value)}" for column, value in settings.constants.items()]
    return "\n".join(lines) + "\n"


def _key(name: str) -> str:
    return name if BARE_KEY.fullmatch(name) else quoted(name)


def _value(value: str | float | tuple[str, ...]) -> str:
    if isinstance(value, tuple):
        return "[" + ", ".join(map(quoted, value)) + "]"
    return quoted(value) if isinstance(value, str) else f"{value:g}"


def with_source(house: House, name: str, block: str, before: str | None) -> tuple[str, House]:
    """The text of stillroom.toml with one more [[source]] and nothing else changed, and the house as it is then.

    Args:
        house: as its settings are now.
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
    try:
        old = path.read_bytes().decode("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise SettingsError(f"{path} cannot be read: {error}.") from None
    if "\r\n" in old:
        block = block.replace("\n", "\r\n")
    names = [source.name for source in house.sources]
    place = len(names) if before is None else names.index(before)
    new = _with_block(old, block, None if before is None else place)
    try:
        found = house_of(new.replace("\r\n", "\n"), house.folder)
    except SettingsError as error:
        raise SettingsError(f"{path}: the new source does not fit in ({error}) Nothing was written.") from None
    if [source.name for source in found.sources] != [*names[:place], name, *names[place:]]:
        raise SettingsError(f"{path}: the new source finds no place in it; nothing was written. Add it by hand.")
    return new, found


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
