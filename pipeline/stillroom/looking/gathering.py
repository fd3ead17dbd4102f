"""Several files in one go: which there are in folders, which are alike, and copies of those outside the house."""

from __future__ import annotations

import filecmp
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase
from pathlib import Path
from typing import Any, Final

from stillroom.errors import FileRefused, StillroomError, UsageError
from stillroom.files import copy_all, is_litter, real
from stillroom.house.decisions import DECISIONS_NAME
from stillroom.house.house import SETTINGS_NAME, STORE_NAME, House
from stillroom.house.json_schema import SCHEMA_NAME
from stillroom.intake import planning
from stillroom.intake.outcome import Progress
from stillroom.intake.shaping import AROUND
from stillroom.looking import asked, patterns
from stillroom.looking.look import look
from stillroom.looking.patterns import Kin
from stillroom.looking.questions import SETTINGS, named_headings
from stillroom.looking.seen import Look
from stillroom.plugins.registry import Registry
from stillroom_schemas import fields

OURS: Final = (SETTINGS_NAME, STORE_NAME, DECISIONS_NAME, SCHEMA_NAME)
NO_TABLES: Final = frozenset({".md", ".toml", ".html", ".htm", ".pdf", ".wal", ".docx", ".odt", ".png", ".jpg"})
"""What else lies in a house's folder; a file of such a kind that is named is looked at all the same."""
COPIES: Final = "files"


@dataclass(frozen=True, kw_only=True)
class Alike:
    """Files that are read by one source."""

    looks: tuple[Look, ...]
    """The first is the one that leaves least open: its settings are proposed for all."""
    rivals: tuple[Path, ...] = ()
    """Files that are called so and have the same headings, but are written in other ways."""
    said: Mapping[str, str]
    """What was said of the lead."""

    @property
    def lead(self) -> Look:
        """The one whose settings are proposed."""
        return self.looks[0]

    @property
    def kin(self) -> Kin:
        """What the pattern of its source has to find, and what not."""
        return Kin(beside=tuple(seen.path for seen in self.looks[1:]), rivals=self.rivals)


@dataclass(frozen=True, kw_only=True)
class Gathered:
    """What looking at several files shows."""

    groups: tuple[Alike, ...]
    """In the order in which tables are taken in."""
    refused: Mapping[str, str]
    """File -> why it cannot be read."""


def gathered(
    house: House, registry: Registry, paths: Sequence[Path], answers: Mapping[str, Any], progress: Progress
) -> Gathered:
    """Look at each of some files, and put together those that are alike.

    Args:
        house: where they would be taken in.
        registry: the plugins.
        paths: files and folders.
        answers: what their keeper says, of all, and in tables by the file's name or pattern of those alone. What a
            file says itself, in its name or its cells, no answer of several is about.
        progress: as of an intake.
    """
    said = {key: str(value) for key, value in answers.items() if not isinstance(value, Mapping)}
    looks, refused, about, heard = [], {}, {}, {*SETTINGS}
    files = files_in(paths)
    alone = len(files) == 1
    for path in files:
        named, own = asked.by_name(house, planning.shown(house, path)), own_answers(path, answers)
        of_all = {key: value for key, value in said.items() if alone or value in (named.get(key) or [value])}
        of_file = {key: value for key, value in of_all.items() if key in SETTINGS} | own
        try:
            seen = look(house, registry, path, answers=of_file, progress=progress)
            columns = registry.tables[seen.table].schema().columns
            heard |= {*columns, *own}
            of_table = {
                key: value
                for key, value in of_all.items()
                if key in columns and (alone or _leaves_open(seen, columns[key], key, value))
            }
            if of_table.items() - of_file.items():
                of_file = of_table | of_file
                seen = look(house, registry, path, answers=of_file, progress=progress)
        except StillroomError as error:
            refused[str(path)] = str(error)
            continue
        looks.append(seen)
        about[path] = of_file
    if idle := sorted(said.keys() - heard):
        raise UsageError(f"'{idle[0]}' is no question of any of these files.")
    order = list(registry.tables)
    groups = sorted(_together(looks, about), key=lambda group: order.index(group.lead.table))
    return Gathered(groups=tuple(groups), refused=refused)


def _leaves_open(seen: Look, column: Any, name: str, said: str) -> bool:
    """Whether a file does not tell by itself what fills a column, or has the heading that is named for it."""
    headings = {heading.casefold(): heading for heading in (*seen.recognised.headings, *AROUND)}
    if said not in fields.allowed(column) and named_headings(said, headings):
        return True
    open_ones = {*seen.missing, *(question.key for question in seen.questions)}
    return name in open_ones or not (name in seen.columns or fields.needed(column))


def files_in(paths: Sequence[Path]) -> list[Path]:
    """The files named, and all in the folders named, at any depth, that may hold rows; each once, by name."""
    found: dict[Path, None] = {}
    for path in paths:
        inside = sorted(one for one in path.rglob("*") if _may_hold_rows(one, path)) if path.is_dir() else [path]
        found |= dict.fromkeys(inside)
    return list(found)


def _may_hold_rows(path: Path, folder: Path) -> bool:
    hidden = any(part.startswith(".") for part in path.relative_to(folder).parts) or is_litter(path.name)
    return path.is_file() and not hidden and path.name not in OURS and path.suffix.casefold() not in NO_TABLES


def answers_for(path: Path, answers: Mapping[str, Any]) -> dict[str, str]:
    """What was said of a file alone: what is said of all, and over it what stands in a table under its name."""
    return {key: str(value) for key, value in answers.items() if not isinstance(value, Mapping)} | own_answers(
        path, answers
    )


def own_answers(path: Path, answers: Mapping[str, Any]) -> dict[str, str]:
    """What stands in tables under a file's name, or a pattern of it."""
    tables = [own for name, own in answers.items() if isinstance(own, Mapping) and _means(name, path)]
    return {key: str(value) for own in tables for key, value in own.items()}


def _means(name: str, path: Path) -> bool:
    return fnmatchcase(path.name, name) or fnmatchcase(path.as_posix(), name)


def _together(looks: Sequence[Look], said: Mapping[Path, Mapping[str, str]]) -> list[Alike]:
    found: dict[Any, list[Look]] = {}
    for seen in looks:
        kind = patterns.of_its_kind(str(seen.path))
        headings = frozenset(heading.casefold() for heading in seen.recognised.headings)
        found.setdefault((kind, seen.table, headings, seen.source if seen.there_already else ""), []).append(seen)
    return [
        Alike(
            looks=tuple(part),
            rivals=tuple(one.path for one in several if one not in part),
            said=said[part[0].path],
        )
        for several in found.values()
        for part in _of_one_mind(several)
    ]


def _of_one_mind(several: Sequence[Look]) -> Iterator[list[Look]]:
    """Those that leave least open first; files whose dates are written otherwise, or of another year, stand apart."""
    parts: list[list[Look]] = []
    for seen in sorted(several, key=lambda one: (len(one.missing), sum(question.needed for question in one.questions))):
        for part in parts:
            written, own = ((one.date_format, one.year) for one in (part[0], seen))
            if written == own or None in (written[0], own[0]):
                part.append(seen)
                break
        else:
            parts.append([seen])
    yield from parts


def copied_in(house: House, paths: Sequence[Path]) -> list[Path]:
    """The files and folders in the house: those that lie outside are copied into it, the originals stay.

    Raises:
        FileRefused: another file of that name is there, or one cannot be copied; nothing was copied then.
    """
    wanted: dict[Path, Path] = {}
    given = []
    for path in paths:
        if patterns.inside(house, path):
            given.append(path)
            continue
        under = house.folder / (real(path).name if path.is_dir() else COPIES)
        given.append(under if path.is_dir() else under / path.name)
        for one in files_in([path]):
            wanted[one] = under / (one.relative_to(path) if path.is_dir() else one.name)
    for one, copy in wanted.items():
        if copy.exists() and not filecmp.cmp(one, copy, shallow=False):
            raise FileRefused(f"{one}: {copy} is there already and is another file; rename one of them.")
    try:
        copy_all({one: copy for one, copy in wanted.items() if not copy.exists()})
    except OSError as error:
        raise FileRefused(f"Nothing can be copied into {house.folder} ({error.strerror or error}).") from None
    return given
