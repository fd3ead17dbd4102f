"""Which files to take in, by which source, into which table, and under which headings."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from stillroom.errors import FileRefused, SettingsError
from stillroom.house import House, SourceSettings
from stillroom.objects import Source, SourceFile
from stillroom.registry import Registry
from stillroom_schemas.table import Table


@dataclass(frozen=True, kw_only=True)
class Plan:
    """One file to take in."""

    file: SourceFile
    source: Source
    settings: SourceSettings
    table: Table
    headings: dict[str, str]
    """Column of the table -> heading in the file."""
    unused: tuple[str, ...]
    """Headings that fill no column."""


@dataclass(frozen=True, kw_only=True)
class Candidate:
    """A file that is named, before it has been looked into."""

    path: Path
    name: str
    settings: SourceSettings | None


def named_by_settings(house: House) -> list[Candidate]:
    """Every file that the settings name, oldest first within a source (then by name)."""
    found: dict[Path, Candidate] = {}
    for source in house.sources:
        for pattern in source.files:
            for path in _matching(house, source, pattern):
                found.setdefault(path, Candidate(path=path, name=_shown(house, path), settings=source))
    return sorted(found.values(), key=lambda c: (c.path.stat().st_mtime_ns, c.name))


def named_by_user(house: House, paths: list[Path], source: str | None) -> list[Candidate]:
    """The files a user named, each with the settings' source that names it too, if one does."""
    settings = {c.path: c.settings for c in named_by_settings(house)}
    chosen = None
    if source is not None:
        chosen = next((s for s in house.sources if s.name == source), SourceSettings(name=source, plugin=source))
    return [
        Candidate(path=path, name=_shown(house, path.absolute()), settings=chosen or settings.get(path.resolve()))
        for path in dict.fromkeys(paths)
    ]


def plan(candidate: Candidate, registry: Registry) -> Plan:
    """Look into a file and settle how it is read.

    Raises:
        FileRefused: the file cannot be read, or no source (or more than one) knows its headings.
    """
    if candidate.settings is not None:
        return _plan_for(candidate, candidate.settings, registry)
    fits, refusals = [], []
    for source in registry.sources.values():
        try:
            fits.append(_plan_for(candidate, SourceSettings(name=source.name, plugin=source.name), registry))
        except _WrongHeadings as refusal:
            refusals.append(refusal)
    if len(fits) == 1:
        return fits[0]
    if fits:
        names = ", ".join(fit.source.name for fit in fits)
        raise FileRefused(f"{candidate.name}: may be any of {names}; say which with --source NAME.")
    if not refusals:
        raise FileRefused(f"{candidate.name}: no source plugin is there to read it.")
    nearest = min(refusals, key=lambda refusal: (len(refusal.missing), refusal.table))
    raise FileRefused(
        f"{nearest} If the file has headings of its own, name them under its [[source]] in stillroom.toml."
    )


class _WrongHeadings(FileRefused):
    def __init__(self, name: str, table: str, missing: list[str], wanted: str, found: list[str]) -> None:
        self.table, self.missing = table, missing
        shown = ", ".join(found[:20]) + (", ..." if len(found) > 20 else "")
        super().__init__(f"{name}: not a file of table '{table}': headings missing: {wanted}; found: {shown}.")


def _plan_for(candidate: Candidate, settings: SourceSettings, registry: Registry) -> Plan:
    source = registry.sources.get(settings.plugin)
    if source is None:
        known = ", ".join(sorted(registry.sources))
        raise SettingsError(f"Source '{settings.name}' wants a plugin '{settings.plugin}'; there are: {known}.")
    names = source.tables if settings.table is None else (settings.table,)
    if not set(names) <= set(source.tables):
        raise SettingsError(
            f"Source '{settings.name}': plugin '{source.name}' does not fill a table '{settings.table}'; "
            f"it fills: {', '.join(source.tables)}."
        )
    file = SourceFile(
        path=candidate.path, name=candidate.name, encoding=settings.encoding, separator=settings.separator
    )
    found = source.headings(file)
    fits, refusals = [], []
    for name in names:
        try:
            fits.append((registry.tables[name], _matched(file, registry.tables[name], settings, found)))
        except _WrongHeadings as refusal:
            refusals.append(refusal)
    if not fits:
        raise min(refusals, key=lambda refusal: len(refusal.missing))
    # A spec line has most headings of a spec: the table that uses most of the file's headings is meant.
    table, headings = max(fits, key=lambda fit: len(fit[1]))
    unused = tuple(heading for heading in found if heading not in headings.values())
    return Plan(file=file, source=source, settings=settings, table=table, headings=headings, unused=unused)


def _matched(file: SourceFile, table: Table, settings: SourceSettings, found: list[str]) -> dict[str, str]:
    schema = table.model.to_schema()
    unknown = [column for column in settings.columns if column not in schema.columns]
    if unknown and settings.table is not None:
        raise SettingsError(
            f"Source '{settings.name}': table '{table.name}' has no column '{unknown[0]}'; "
            f"it has: {', '.join(schema.columns)}."
        )
    by_name = {heading.casefold(): heading for heading in found}
    headings, missing = {}, []
    for name, column in schema.columns.items():
        wanted = " ".join(settings.columns.get(name, name).split())
        heading = by_name.get(wanted.casefold())
        if heading is not None:
            headings[name] = heading
        elif name in settings.columns or not (column.nullable or (column.metadata or {}).get("default") is not None):
            missing.append(name if wanted == name else f"{name} (looked for '{wanted}')")
    if missing:
        raise _WrongHeadings(file.name, table.name, missing, ", ".join(missing), found)
    return headings


def _matching(house: House, source: SourceSettings, pattern: str) -> list[Path]:
    if Path(pattern).is_absolute() or ".." in Path(pattern).parts:
        raise SettingsError(
            f"Source '{source.name}': files = '{pattern}' leaves the house folder; keep its files inside, "
            "or name them on the command line."
        )
    root = house.folder.resolve()
    paths = [path.resolve() for path in house.folder.glob(pattern) if path.is_file()]
    return [path for path in paths if path.is_relative_to(root)]


def _shown(house: House, path: Path) -> str:
    """A file's name in messages and in the ledger: its path inside the house, else as it stands."""
    resolved, root = path.resolve(), house.folder.resolve()
    return resolved.relative_to(root).as_posix() if resolved.is_relative_to(root) else str(path)
