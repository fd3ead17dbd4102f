"""What an intake of all that the settings name said when it found nothing new, while there still is nothing new.

An intake that leaves all that it reads as it found it says the same as long as all of that is the same. So what it said
is kept, with all of that: the files that the patterns mean, settings, decisions, plugins, the day, the code, the store.
It is said again where every file is the same by place, size and times, and then by its content, too. Where in doubt the
files are taken in as ever.
"""

from __future__ import annotations

import hashlib
import json
import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import stillroom
from stillroom.errors import StillroomError
from stillroom.files import real, replace_whole
from stillroom.house.decisions import DECISIONS_NAME, Decisions
from stillroom.house.house import SETTINGS_NAME, House
from stillroom.intake import finding
from stillroom.plugins.registry import Registry
from stillroom.store import kept_answers
from stillroom.store.working_copy import held

AT_REST_NS: Final = 100_000_000
"""A file that was changed so long ago shows by its times if it is changed again: they tell some milliseconds apart."""
AT_REST_BY_SECONDS_NS: Final = 3_000_000_000
"""Where times are kept in whole seconds, or in every second one."""

Said = Mapping[str, Any]


def watched(house: House, registry: Registry, form: str) -> Watch:
    """An intake about to be asked for; `form`: how it is to be told, since what is kept of each form is another."""
    return Watch(house=house, registry=registry, form=form, before=_state(house, registry))


@dataclass(frozen=True, kw_only=True)
class Watch:
    """An intake of a house, as it stood before."""

    house: House
    registry: Registry
    form: str
    before: State | None

    @property
    def _path(self) -> Path:
        return self.house.folder / kept_answers.FOLDER / f"{self.form}.intake"

    def said(self) -> Said | None:
        """What the intake would say, where that is known.

        Raises:
            StoreError: another process holds the store, or nothing can be written beside it.
        """
        if self.before is None:
            return None
        try:
            kept = json.loads(self._path.read_bytes())
            if kept["state"] != self.before.digest or not kept_answers.is_code(kept["code"]):
                return None
            with held(self.house.store_path):
                return dict(kept["said"]) if kept["contents"] == self.before.contents() else None
        except (OSError, ValueError, KeyError, TypeError, AttributeError):  # nothing is kept, or it is damaged
            return None

    def keep(self, said: Said) -> None:
        """Keep what an intake has said that found nothing new, unless anything has changed meanwhile."""
        before, code = self.before, kept_answers.code()
        if before is None or code is None or not before.at_rest or _state(self.house, self.registry) != before:
            return
        with suppress(OSError):  # of a house that cannot be written to nothing is kept
            kept = {"state": before.digest, "contents": before.contents(), "code": code, "said": dict(said)}
            self._path.parent.mkdir(exist_ok=True)
            replace_whole(self._path, json.dumps(kept, default=str).encode())


@dataclass(frozen=True)
class State:
    """All that an intake reads, as far as it can be told without reading files of rows."""

    digest: str
    files: tuple[Path, ...]
    at_rest: bool
    """Nothing was changed so lately that another change might not show."""

    def contents(self) -> list[str]:
        """A digest of each file.

        Raises:
            OSError: one cannot be read.
        """
        return [_content(path) for path in self.files]


def _state(house: House, registry: Registry) -> State | None:
    """None where it cannot be told by files alone what an intake reads, or where something of it cannot be read."""
    began = time.time_ns()
    try:
        decisions = Decisions.load(house.folder)
        if not all(_reads_files_alone(plugin, registry) for plugin in _plugins(house, decisions)):
            return None
        if any(source.query is not None for source in house.sources):
            return None
        read = list(_found(house, decisions))
        found = sorted({one for _, one in read}, key=lambda one: (one.name, one.path))
        if any(one.problem for one in found):
            return None
        beside_them = {path for plugin, one in read for path in registry.sources[plugin].beside_of(one.path)}
        paths = (*(one.path for one in found), *sorted(beside_them))
        decided = house.folder / DECISIONS_NAME
        beside = [house.store_path, house.folder / SETTINGS_NAME, *([decided] if decided.exists() else [])]
        stamps = [kept_answers.stamp(path) for path in (*beside, *paths)]
        parts = (
            (stillroom.__version__, sys.version, house.today(), house.folder, repr(house)),
            [_content(path) for path in (*beside[1:], *house.common_ingredients)],
            kept_answers.plugins(registry),
            [one.name for one in found],
            paths,
            stamps,
        )
    except (OSError, StillroomError):
        return None
    return State(
        digest=hashlib.sha256(repr(parts).encode()).hexdigest(),
        files=paths,
        at_rest=all(_is_at_rest(stamp[:2], began) for stamp in stamps),
    )


def _found(house: House, decisions: Decisions) -> Iterator[tuple[str, finding.Found]]:
    """All that patterns mean, and the files that were taken in by hand, with the plugin that reads each."""
    for source in house.sources:
        for pattern in source.files:
            yield from ((source.plugin, one) for one in finding.found(house, source.name, pattern))
    for name, (_, plugin) in decisions.by_hand.items():
        path = real(house.folder / name)
        if path.is_file():
            yield plugin, finding.Found(path=path, name=name)


def _plugins(house: House, decisions: Decisions) -> Iterator[str]:
    yield from (source.plugin for source in house.sources)
    yield from (plugin for _, plugin in decisions.by_hand.values())


def _reads_files_alone(plugin: str, registry: Registry) -> bool:
    """Whether a source reads headings as ours do: a stranger's way may ask anything."""
    source = registry.sources.get(plugin)
    return source is not None and not source.has_own_reader


def _is_at_rest(times: list[int], began: int) -> bool:
    whole = all(one % 1_000_000_000 == 0 for one in times)
    return max(times) < began - (AT_REST_BY_SECONDS_NS if whole else AT_REST_NS)


def _content(path: Path) -> str:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()
