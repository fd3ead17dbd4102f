"""One house of a group, from its files to files of facts: what a task does, on whichever machine it runs.

The very code of one house takes its files in, into a store of its own.
"""

from __future__ import annotations

import errno
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Final

from stillroom.errors import (
    DecisionsError,
    FileRefused,
    PluginError,
    SettingsError,
    StillroomError,
    StoreError,
    in_one_line,
)
from stillroom.group import facts, house_copy, tables
from stillroom.group.places import Unreachable
from stillroom.group.settings import BookTable

REASONS: Final = {
    Unreachable: "unreachable",
    SettingsError: "settings",
    DecisionsError: "decisions",
    FileRefused: "file",
    PluginError: "plugin",
    StoreError: "store",
}
"""Why a house failed, as a word that the group's tables keep; besides there are 'disk', 'fault' and 'killed'."""
FULL: Final = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)


@dataclass(frozen=True, kw_only=True)
class Job:
    """A house to be done."""

    house: str
    house_at: str
    """Its folder or address."""
    kept: str
    """The folder of what is kept of it."""
    facts: str
    run_id: str
    digest: str | None
    """Of the files whose facts count; None where the house is to be done in any case."""
    book: BookTable | None
    own_versions: bool


@dataclass(frozen=True, kw_only=True)
class Done:
    """What became of a house."""

    house: str
    state: str
    """landed, unchanged or failed."""
    reason_code: str | None = None
    reason: str = ""
    """Why it failed, as a sentence; it is told, and never kept."""
    digest: str | None = None
    first_day: date | None = None
    last_day: date | None = None
    rows_read: int = 0
    landed: int = 0
    aside: int = 0
    passed_over: int = 0
    written: list[tables.Written] = field(default_factory=list)


def do(job: Job) -> Done:
    """Take the house's files in and write its facts, if any file has changed; what fails is a state, never raised."""
    try:
        return _done(job)
    except StillroomError as error:
        full = "disk is full" in str(error)
        code = "disk" if full else next(code for kind, code in REASONS.items() if isinstance(error, kind))
        reason = str(error).replace(str(house_copy.folder_of(Path(job.kept))), job.house_at)  # which people know
        return Done(house=job.house, state="failed", reason_code=code, reason=reason)
    except OSError as error:
        full = error.errno in FULL
        reason = f"nothing can be written for it in {job.kept}" if full else f"{job.house_at} or {job.kept}"
        said = error.strerror or in_one_line(error)
        code = "disk" if full else "unreachable"
        return Done(house=job.house, state="failed", reason_code=code, reason=f"{reason}: {said}.")
    except Exception as error:
        reason = f"this is a fault in Stillroom ({in_one_line(error)}), please report it."
        return Done(house=job.house, state="failed", reason_code="fault", reason=reason)


def _done(job: Job) -> Done:
    from stillroom.intake.run import run
    from stillroom.plugins.registry import load_registry
    from stillroom.store import frames, opening

    registry = load_registry()
    seen = house_copy.look(job.house_at, Path(job.kept), job.book, registry, own_versions=job.own_versions)
    if seen.digest == job.digest:
        return Done(house=job.house, state="unchanged")
    house = house_copy.brought_up_to_date(seen, registry)
    for outcome in run(house, registry):
        house_copy.refuse_unless_whole(outcome)
    with opening.reading(house, registry.tables.values()) as con:
        found = facts.of_store(con, job.house, job.run_id)
        [counts] = frames.fetch(con, facts.OF_THE_HOUSE).to_dicts()
    written = tables.write(job.facts, job.house, job.run_id, found)
    return Done(house=job.house, state="landed", digest=seen.digest, written=written, **counts)
