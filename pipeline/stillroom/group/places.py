"""Where houses are: folders and object stores alike, by fsspec; their files are only ever read."""

from __future__ import annotations

import hashlib
import json
import os
import re
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, Any, Final

from stillroom.errors import SettingsError, StillroomError
from stillroom.files import replace_whole
from stillroom.house.house import SETTINGS_NAME

if TYPE_CHECKING:
    from fsspec import AbstractFileSystem

    from stillroom.group.settings import Group

BROUGHT: Final = "brought.json"
"""Beside the copy of a house: which state of each file was copied."""


class Unreachable(StillroomError):
    """A folder or an address cannot be read."""


@dataclass(frozen=True)
class Place:
    """A folder or an address."""

    address: str

    def _opened(self) -> tuple[AbstractFileSystem, str]:
        from fsspec.core import url_to_fs

        system, root = url_to_fs(self.address)
        return system, str(root).rstrip("/")

    def text(self, name: str) -> str | None:
        """A file in it as text; None where there is none.

        Raises:
            Unreachable: it cannot be read.
        """
        with _named(self.address):
            system, root = self._opened()
            try:
                return bytes(system.cat_file(f"{root}/{name}")).decode("utf-8-sig")
            except FileNotFoundError:
                return None

    def listing(self, patterns: Iterable[str]) -> dict[str, dict[str, Any]]:
        """File, by its path inside -> all that the file system says of it, of those that patterns mean.

        Raises:
            Unreachable: it cannot be read.
        """
        found: dict[str, dict[str, Any]] = {}
        with _named(self.address):
            system, root = self._opened()
            inside = (one for one in patterns if ".." not in PurePosixPath(one).parts and not one.startswith("/"))
            for pattern in inside:
                for path, seen in system.glob(f"{_bare(root)}/{pattern}", detail=True).items():
                    if seen["type"] != "directory":
                        found[str(path)[len(root) + 1 :]] = seen
        return found

    def bring(self, listing: Mapping[str, Mapping[str, Any]], folder: Path) -> None:
        """Copy what has changed since it was last copied, with its time of change; take away what is not there now.

        Raises:
            Unreachable: it cannot be read.
            OSError: it cannot be written.
        """
        notes = folder.with_name(f"{folder.name}-{BROUGHT}")
        before = json.loads(notes.read_bytes()) if notes.exists() else {}
        now = {name: stamp(seen) for name, seen in listing.items()}
        system, root = self._opened()
        for name in before.keys() - now.keys():
            (folder / name).unlink(missing_ok=True)
        for name in (one for one in now if before.get(one) != now[one] or not (folder / one).exists()):
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            with _named(f"{self.address}/{name}", OSError):  # a full disk is one
                system.get_file(f"{root}/{name}", str(folder / name))
            with suppress(NotImplementedError):  # not every store knows; the order of new files is then by name
                changed = system.modified(f"{root}/{name}").timestamp()
                os.utime(folder / name, (changed, changed))
        replace_whole(notes, json.dumps(now).encode())


def stamp(seen: Mapping[str, Any]) -> str:
    """A short text that changes with whatever a file system says of a file: size, times, tag."""
    said = json.dumps(sorted((key, str(value)) for key, value in seen.items()))
    return hashlib.sha256(said.encode()).hexdigest()[:24]


def houses(group: Group) -> dict[str, str]:
    """House, by its name in the group -> its address; in the order of names.

    Raises:
        SettingsError: two houses have one name, or there is none where one is said to be.
    """
    found: dict[str, str] = {}
    for pattern in group.at:
        addresses = sorted(_addresses(pattern))
        if not addresses:  # a disk that is not there today looks so, too: its houses are not to be let go
            raise SettingsError(
                f"{group.folder / 'group.toml'}: no house is at {pattern}; take it out of the list if that is right."
            )
        for address in addresses:
            name = PurePosixPath(address).name
            if found.setdefault(name, address) != address:
                raise SettingsError(
                    f"{found[name]} and {address} are both called {name}: give one of the folders another name."
                )
    return dict(sorted(found.items()))


def _addresses(pattern: str) -> Iterator[str]:
    """What a pattern means: places with settings in them; a place that is named whole is meant in any case."""
    from fsspec.core import url_to_fs

    if not set(pattern) & set("*?["):
        yield pattern.rstrip("/")
        return
    with _named(pattern):
        system, path = url_to_fs(pattern)
        for settings in system.glob(f"{path}/{SETTINGS_NAME}"):
            folder = str(PurePosixPath(settings).parent)
            yield system.unstrip_protocol(folder) if "://" in pattern else folder


def _bare(root: str) -> str:
    """A path whose own brackets and stars mean themselves in a pattern."""
    return "".join(f"[{c}]" if c in "*?[" else c for c in root)


@contextmanager
def _named(address: str, *but: type[Exception]) -> Iterator[None]:
    """Whatever a file system raises, as a sentence that names the place; `but` some."""
    try:
        yield
    except Exception as error:
        if isinstance(error, (StillroomError, *but)):
            raise
        raise Unreachable(f"{address} cannot be read ({said(error)}).") from None


def said(error: BaseException) -> str:
    """What went wrong, on one line: the last words of what a store's client says, or those of the store's answer."""
    text = re.sub(r"\x1b\[[0-9;]*m", "", str(error))
    answer = re.search(r"<Message>(.*?)</Message>", text, re.DOTALL)
    words = answer[1] if answer else text.split("↳")[-1].strip().partition("\n")[0]
    return f"{type(error).__name__}: {words}" if words else type(error).__name__
