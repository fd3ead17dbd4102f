"""Files written as a whole or not at all; folders for the time being; where paths lead."""

from __future__ import annotations

import contextlib
import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from stillroom.errors import UsageError

SCRATCH: Final = "stillroom-scratch-"
IN_USE: Final = ".in-use"
"""Locked by the process whose scratch folder it is in, for as long as that lives."""


@contextlib.contextmanager
def scratch_folder() -> Iterator[Path]:
    """A folder for the time being, outside the house; what killed processes have left of theirs is taken away."""
    try:
        import fcntl  # not there on every system
    except ImportError:
        with tempfile.TemporaryDirectory(prefix=SCRATCH) as folder:
            yield Path(folder)
        return
    for left in Path(tempfile.gettempdir()).glob(f"{SCRATCH}*/{IN_USE}"):
        with contextlib.suppress(OSError), left.open("rb") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
            shutil.rmtree(left.parent, ignore_errors=True)
    with tempfile.TemporaryDirectory(prefix=SCRATCH) as folder, Path(folder, IN_USE).open("wb") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield Path(folder)


def real(path: Path) -> Path:
    """Where a path really leads; of links that lead round in a circle, the path itself."""
    return Path(os.path.realpath(path))


def replace_whole(path: Path, content: bytes) -> None:
    """Write a file so that nobody ever sees half of it: beside the old one first, then in its place, with its rights.

    Raises:
        OSError: it cannot be written; what was there is as it was.
    """
    path = path.resolve()
    partial = path.with_name(f".{path.name}.{os.getpid()}.partial")
    try:
        with partial.open("wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        if path.exists():
            shutil.copymode(path, partial)
        partial.replace(path)
    finally:
        with contextlib.suppress(OSError):
            partial.unlink()


def write_whole(path: Path, content: str | bytes) -> None:
    """Write what the user asked for, as `replace_whole` does.

    Raises:
        UsageError: the folder is missing or cannot be written to, or the path is a folder.
    """
    path = path.resolve()
    if path.is_dir():
        raise UsageError(f"{path} is a folder; name a file in it.")
    if not path.parent.is_dir():
        raise UsageError(f"{path} cannot be written: there is no folder {path.parent}.")
    try:
        replace_whole(path, content.encode("utf-8") if isinstance(content, str) else content)
    except OSError as error:
        raise UsageError(f"{path} cannot be written: {error.strerror or error}.") from None


@contextlib.contextmanager
def new_folder(folder: Path, what: str) -> Iterator[None]:
    """A folder to write something new into (`what`: 'demo house'), made if it is missing.

    Raises:
        UsageError: it is there and is not empty, or it cannot be written to.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if any(folder.iterdir()):
            raise UsageError(f"{folder} is not empty: name a new folder for the {what}.")
        yield
    except OSError as error:
        raise UsageError(f"The {what} cannot be written to {folder}: {error.strerror or error}.") from None


def existing_folder(folder: Path) -> Path:
    """The folder, made if it is missing.

    Raises:
        UsageError: it cannot be made, or a file of that name is in the way.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise UsageError(f"The folder {folder} cannot be made: {error.strerror or error}.") from None
    return folder
