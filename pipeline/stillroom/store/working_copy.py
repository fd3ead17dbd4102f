"""The store while it is written to: a copy beside it, which takes its place when it is whole.

So whoever reads has the last whole state and never waits, and what is killed in the middle leaves the store as it was.
One process writes at a time: it holds the folder of the copy.
"""

from __future__ import annotations

import errno
import filecmp
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

from stillroom.errors import StoreError
from stillroom.files import real

try:
    import fcntl
except ImportError:  # where there is none, no file can be written over that another process has open
    fcntl = None  # type: ignore[assignment]

FOLDER: Final = ".stillroom-writing"
HOLDER: Final = "process"
"""Tells others which process it is that holds the folder."""


class InUse(StoreError):
    """Another process writes to the store."""


@contextmanager
def working_copy(store: Path) -> Iterator[Path]:
    """Where to write: a copy of the store, or nothing yet where there is none. `take_its_place` keeps what was written.

    Raises:
        InUse: another process writes.
        StoreError: no copy can be made; the store is as it was.
    """
    with held(store) as folder:
        with _faults_named(store):
            if store.exists():
                shutil.copy(store, folder / real(store).name)
        yield folder / real(store).name


@contextmanager
def held(store: Path) -> Iterator[Path]:
    """The folder of the copy, empty; while it is held nobody else writes to the store.

    Raises:
        InUse, StoreError: as `working_copy`.
    """
    folder = real(store).parent / FOLDER
    with _faults_named(store):
        holding = _claimed(folder, store)
    try:
        with _faults_named(store):
            for left in folder.iterdir():  # of a process that was killed
                shutil.rmtree(left) if left.is_dir() else left.unlink()
            (folder / HOLDER).write_text(str(os.getpid()))
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)
        if holding is not None:
            os.close(holding)


def take_its_place(copy: Path, store: Path) -> None:
    """Put the copy in the store's place, at once; a store to which nothing was written stays the one it is.

    Raises:
        StoreError: it cannot be; the store is as it was.
    """
    with _faults_named(store):
        if not store.exists() or not filecmp.cmp(copy, store, shallow=False):
            copy.replace(real(store))


def _claimed(folder: Path, store: Path) -> int | None:
    """The folder, made and held; None where folders cannot be held."""
    if fcntl is None:
        folder.mkdir(exist_ok=True)
        return None
    while True:
        folder.mkdir(exist_ok=True)
        with suppress(FileNotFoundError):  # who held it has just taken it away
            holding = os.open(folder, os.O_RDONLY)
            try:
                fcntl.flock(holding, fcntl.LOCK_EX | fcntl.LOCK_NB)
                if os.path.samestat(os.fstat(holding), folder.stat()):
                    return holding
            except BlockingIOError:
                os.close(holding)
                raise InUse(_in_use(folder, store)) from None
            os.close(holding)


def _in_use(folder: Path, store: Path) -> str:
    who = ""
    with suppress(OSError):
        who = (folder / HOLDER).read_text()
    by = f"process {who}" if who else "another process"
    return f"{store} is in use by {by}: wait until it has finished, then try again."


@contextmanager
def _faults_named(store: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        what = "the disk is full" if error.errno in (errno.ENOSPC, errno.EDQUOT) else error.strerror or str(error)
        raise StoreError(f"{store} cannot be written: {what}. It is as it was.") from None
