"""By which pattern the settings name a file and those that follow it: by its name without its day, month or number."""

from __future__ import annotations

import glob
import re
from dataclasses import dataclass, replace
from pathlib import Path, PurePosixPath
from typing import Final

from stillroom.errors import StillroomError
from stillroom.files import real
from stillroom.house.house import House
from stillroom.house.model import SourceSettings
from stillroom.intake import months, planning
from stillroom.intake.planning import Candidate
from stillroom.naming import as_text
from stillroom.plugins.registry import Registry

ENDINGS: Final = re.compile(r"((?:\.(?:csv|tsv|txt|gz|zip|jsonl|xlsx|xlsm|xls|ods|parquet))+)$", re.IGNORECASE)
WORDS: Final = re.compile(r"[^\W\d_]+|\d+|.", re.DOTALL)
STARS: Final = re.compile(r"\*(?:[-_. ]*\*)+")
SEVERED: Final = re.compile("[-_. ]*(?:\0[-_. ]*)+")


@dataclass(frozen=True)
class Kin:
    """Other files that matter to a file's pattern."""

    beside: tuple[Path, ...] = ()
    """To be read by the same source."""
    rivals: tuple[Path, ...] = ()
    """Not to be read by it."""


def inside(house: House, path: Path) -> bool:
    """Whether a file lies in the house's folder."""
    return real(path).is_relative_to(real(house.folder))


def exact(house: House, path: Path) -> str:
    """The pattern of just this file."""
    return glob.escape(as_text(real(path).relative_to(real(house.folder)).as_posix()))


def of_its_kind(name: str, year: int | None = None) -> str:
    """The pattern of all files that are called so but for days, months and numbers; with none, of what begins so.

    `year`: of the dates in it that are written without one; a file of another year is none of its kind.

    >>> of_its_kind("till/sales 3 March 2026.csv"), of_its_kind("kasse-2026-03.csv.gz"), of_its_kind("prices.xlsx")
    ('till/sales *.csv', 'kasse-*.csv.gz', 'prices*.xlsx')
    >>> of_its_kind("prep 2026-03.csv", 2026), of_its_kind("prep 2026.csv", 2026)
    ('prep 2026-*.csv', 'prep 2026*.csv')
    """
    path = PurePosixPath(as_text(name))
    ending = ENDINGS.search(path.name)
    stem = path.name[: ending.start()] if ending else path.name
    words = ["*" if _changes(word) and word != str(year) else glob.escape(word) for word in WORDS.findall(stem)]
    starred = STARS.sub("*", "".join(words))
    starred = starred if "*" in words else f"{starred}*"
    return (PurePosixPath(glob.escape(path.parent.as_posix())) / (starred + (ending[0] if ending else ""))).as_posix()


def called(path: Path) -> str:
    """What such files are called, whatever their day, month or number; '' where their name is nothing else.

    >>> called(Path("till/Front-2026-08-31.csv")), called(Path("2026 prep log 3.xlsx")), called(Path("2026-08.csv"))
    ('Front', 'prep log', '')
    """
    words = ["\0" if _changes(word) else word for word in WORDS.findall(ENDINGS.sub("", path.name))]
    return SEVERED.sub(" ", "".join(words)).strip()


def _changes(word: str) -> bool:
    return word.isdecimal() or months.is_month(word)


def proposed(
    house: House, registry: Registry, candidate: Candidate, settings: SourceSettings, kin: Kin
) -> tuple[str, ...]:
    """The pattern that names a file and its kind, where all that it finds can be read alike; else those files alone.

    None where the file lies outside the house.
    """
    if not inside(house, candidate.path):
        return ()
    ours = [real(one) for one in (candidate.path, *kin.beside)]
    wide = of_its_kind(ours[0].relative_to(real(house.folder)).as_posix(), settings.year)
    found = {real(one) for one in house.folder.glob(wide) if one.is_file()}
    others = found - {*ours} - {one.path for one in planning.named_by_settings(house)}
    rivals = {real(one) for one in kin.rivals}
    if found >= {*ours} and not found & rivals and all(_reads(registry, candidate, settings, one) for one in others):
        return (wide,)
    return tuple(exact(house, one) for one in ours)


def _reads(registry: Registry, candidate: Candidate, settings: SourceSettings, other: Path) -> bool:
    try:
        planning.plan(replace(candidate, path=other, name=other.name, settings=settings), registry)
    except StillroomError:
        return False
    return True
