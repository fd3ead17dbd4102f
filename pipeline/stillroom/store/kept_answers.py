"""Answers in words, kept beside the store for as long as nothing changes that they rest on.

An answer rests on the rows in force (the ledger, what is derived from it, and the store's own file), the settings, the
decisions, the plugins there are, the day, the code that worked it out, and what was asked. It is kept with all of that,
and is worked out anew where any of it is another. Where in doubt nothing is kept: a slow answer is better than a stale
one.
"""

from __future__ import annotations

import hashlib
import json
import os
import sys
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Final

import stillroom
from stillroom.files import replace_whole
from stillroom.house.house import SETTINGS_NAME, House
from stillroom.plugins.registry import Registry
from stillroom.store import frames, ledger

if TYPE_CHECKING:
    import duckdb

FOLDER: Final = ".stillroom-answers"
MOST: Final = 24
"""Answers that are kept at a time: of each command in some ways of asking."""
OUR_PACKAGES: Final = ("stillroom", "stillroom_plugins", "stillroom_reports", "stillroom_schemas")
BEGAN: Final = time.time_ns()

Texts = Mapping[str, str]
Stamp = list[int]


@dataclass(frozen=True, kw_only=True)
class Worked:
    """An answer that was worked out."""

    texts: Texts
    whole: bool = True
    """Nothing failed on the way: what is not whole is not kept."""


def kept_or_worked_out(
    con: duckdb.DuckDBPyConnection,
    house: House,
    registry: Registry,
    question: tuple[object, ...],
    work_out: Callable[[], Worked],
) -> Texts:
    """The answer to a question, from the last time it was asked where it still holds.

    Args:
        con: the store, open to read and up to date. Where an intake puts another in its place meanwhile, the answer is
            kept under a state that never comes again.
        question: all that was asked, and how the answer is to be written.
    """
    state = _state(con, house, registry)
    name = hashlib.sha256(repr(question).encode()).hexdigest()[:32]
    path = house.folder / FOLDER / f"{name}.answer"
    found = _read(path, state)
    if found is not None:
        return found
    worked = work_out()
    if worked.whole and (ran := code()) is not None:
        with suppress(OSError):  # of a house that cannot be written to nothing is kept
            _write(path, {"state": state, "code": ran, "texts": dict(worked.texts)})
    return worked.texts


def _state(con: duckdb.DuckDBPyConnection, house: House, registry: Registry) -> str:
    """All that answers rest on but the code of modules; decisions are in what the store is made for."""
    parts = (
        (stillroom.__version__, sys.version, house.today()),
        (repr(house), (house.folder / SETTINGS_NAME).read_bytes()),
        plugins(registry),
        frames.one_value(con, "SELECT made_for FROM stillroom_store"),
        ledger.entries(con),
        stamp(house.store_path),
    )
    return hashlib.sha256(repr(parts).encode()).hexdigest()


def plugins(registry: Registry) -> tuple[object, ...]:
    """All that plugins offer, by name, and what was wrong with those left out."""
    names = (registry.sources, registry.tables, registry.reports, registry.cautions)
    return (*(sorted(some) for some in names), sorted(registry.owners.items()), registry.faults)


def stamp(path: Path | str) -> Stamp:
    """What tells one state of a file from another without reading it; the first two are times, in nanoseconds."""
    found = os.stat(path)
    return [found.st_mtime_ns, found.st_ctime_ns, found.st_size, found.st_ino]


def code() -> dict[str, Stamp] | None:
    """The code that has run here; None where some may have been changed while it ran."""
    found = dict(_modules())
    # What was changed since this process began may be other code than that which ran.
    return found if all(changed < BEGAN for one in found.values() for changed in one[:2]) else None


def is_code(ran: Mapping[str, Stamp]) -> bool:
    """Whether that code is what there is now.

    Raises:
        OSError: some of it is gone.
    """
    return all(stamp(file) == one for file, one in ran.items())


def _modules() -> Iterator[tuple[str, Stamp]]:
    """Every module that is loaded, and what lies beside our own: SQL, tables, scripts, styles."""
    paths = {file for module in [*sys.modules.values()] if (file := getattr(module, "__file__", None))}
    for package in OUR_PACKAGES:
        for top in import_module(package).__path__:
            for folder, _, names in os.walk(top):
                paths |= {os.path.join(folder, name) for name in names if not name.endswith((".py", ".pyc"))}
    for path in sorted(paths):
        with suppress(FileNotFoundError):  # of a module that is part of the interpreter
            yield path, stamp(path)


def _read(path: Path, state: str) -> Texts | None:
    """What is kept, where it is whole and still holds."""
    try:
        kept = json.loads(path.read_bytes())
        if kept["state"] == state and is_code(kept["code"]):
            return dict(kept["texts"])
    except (OSError, ValueError, KeyError, TypeError, AttributeError):  # not there, or damaged
        pass
    return None


def _write(path: Path, kept: Mapping[str, object]) -> None:
    """Keep an answer, and drop those of another state, or the oldest where they are too many."""
    path.parent.mkdir(exist_ok=True)
    others = sorted(path.parent.glob("*.answer"), key=lambda one: one.stat().st_mtime_ns, reverse=True)
    for place, other in enumerate(others):
        if place >= MOST - 1 or f'{{"state": "{kept["state"]}"'.encode() != _beginning(other):
            other.unlink(missing_ok=True)
    replace_whole(path, json.dumps(kept).encode())


def _beginning(path: Path) -> bytes:
    with path.open("rb") as file:
        return file.read(len('{"state": ""') + 64)
