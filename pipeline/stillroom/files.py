"""Files written as a whole or not at all; folders for the time being; where paths lead."""

from __future__ import annotations

import contextlib
import os
import shutil
import tempfile
import zlib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Final

from stillroom.errors import UsageError

SCRATCH: Final = "stillroom-scratch-"
IN_USE: Final = ".in-use"
"""Locked by the process whose scratch folder it is in, for as long as that lives."""
PARTIAL: Final = ".partial"
LITTER: Final = frozenset({".ds_store", "thumbs.db", "desktop.ini"})
LITTER_BEGINS: Final = ("~$", ".~lock.", "._", ".#")
"""How spreadsheets name the lock of a book that is open, macOS what it keeps of a file, and Emacs a lock."""


def is_litter(name: str) -> bool:
    """Whether a file of that name is what a program leaves beside a person's files, and none of theirs.

    >>> [is_litter(name) for name in ("~$book.xlsx", ".~lock.book.ods#", ".1f2e3d4c.77.partial", "till.csv")]
    [True, True, True, False]
    """
    ours = name.startswith(".") and name.endswith(PARTIAL)
    return ours or name.startswith(LITTER_BEGINS) or name.casefold() in LITTER


@contextlib.contextmanager
def scratch_folder() -> Iterator[Path]:
    """A folder for the time being, outside the house; what killed processes have left of theirs is taken away.

    Raises:
        UsageError: there is nowhere to write it, or the disk is full.
    """
    try:
        with _scratch() as folder:
            yield folder
    except OSError as error:
        if error.filename and not str(error.filename).startswith(tempfile.tempdir or ""):
            raise
        where = tempfile.tempdir or "any folder for the time being"
        raise UsageError(
            f"Nothing can be written to {where} ({error.strerror or error}): make room, or name another in TMPDIR."
        ) from None


@contextlib.contextmanager
def _scratch() -> Iterator[Path]:
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
    replace_all({path: content})


def replace_all(contents: Mapping[Path, bytes]) -> None:
    """Write several files, each as `replace_whole` does: all of them, or none.

    Raises:
        OSError: one cannot be written; what was there is as it was.
    """
    with contextlib.ExitStack() as at_the_end:
        partials = {}
        for path, content in contents.items():
            path = path.resolve()
            partials[path] = at_the_end.enter_context(_partial(path))
            with partials[path].open("wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            if path.exists():
                shutil.copymode(path, partials[path])
        _put_in_place(partials)


def _put_in_place(partials: Mapping[Path, Path]) -> None:
    before: dict[Path, bytes | None] = {}
    try:
        for path, partial in partials.items():
            was = path.read_bytes() if len(partials) > 1 and path.exists() else None
            partial.replace(path)
            before[path] = was
    except OSError:
        for path, content in before.items():
            path.unlink() if content is None else replace_whole(path, content)
        raise


@contextlib.contextmanager
def _partial(path: Path) -> Iterator[Path]:
    """Where a file is written before it is whole; what is there at the end is taken away."""
    name = zlib.crc32(os.fsencode(path.name))  # a name that is as long as can be leaves no room for more
    partial = path.with_name(f".{name:08x}.{os.getpid()}{PARTIAL}")
    try:
        yield partial
    finally:
        with contextlib.suppress(OSError):
            partial.unlink()


def copy_all(copies: Mapping[Path, Path]) -> None:
    """Copy files (each -> where to) with their times, into folders that are made; nobody ever sees half of one.

    Raises:
        OSError: one cannot be copied; none was.
    """
    made: list[Path] = []
    try:
        for one, copy in copies.items():
            copy.parent.mkdir(parents=True, exist_ok=True)
            with _partial(copy) as partial:
                shutil.copy2(one, partial)
                partial.replace(copy)
            made.append(copy)
    except BaseException:
        for copy in made:
            copy.unlink(missing_ok=True)
        raise


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
    """A folder to write something new into (`what`: 'demo house'), made if it is missing; all of it, or nothing.

    Raises:
        UsageError: it is there and is not empty, or it cannot be written to.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if any(folder.iterdir()):
            raise UsageError(f"{folder} is not empty: name a new folder for the {what}.")
        try:
            yield
        except BaseException:
            for left in folder.iterdir():
                shutil.rmtree(left) if left.is_dir() else left.unlink()
            raise
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
