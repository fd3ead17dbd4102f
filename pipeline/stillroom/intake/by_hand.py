"""Files that no pattern of the settings names: what lies outside the house is copied into it, and stays."""

from __future__ import annotations

import filecmp
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import count
from pathlib import Path
from typing import Final

from stillroom.errors import FileRefused
from stillroom.files import copy_all, real
from stillroom.house.house import House

FOLDER: Final = "by-hand"


@contextmanager
def brought_in(house: House, path: Path, beside: tuple[Path, ...]) -> Iterator[Path]:
    """The file in the house: itself if it lies there, else a copy, with those beside it that it is read with.

    A copy is taken away again where an error is raised inside.

    Raises:
        FileRefused: it cannot be copied.
    """
    root = real(house.folder)
    if real(path).is_relative_to(root):
        yield path
        return
    for number in count(1):  # files of the same name stand side by side
        folder = root / FOLDER / ("" if number == 1 else str(number))
        copies = {one: folder / one.relative_to(path.parent) for one in (path, *beside)}
        if all(not copy.exists() or filecmp.cmp(one, copy, shallow=False) for one, copy in copies.items()):
            break
    made = {one: copy for one, copy in copies.items() if not copy.exists()}
    try:
        copy_all(made)
    except OSError as error:
        raise FileRefused(f"{path}: cannot be copied into {root / FOLDER} ({error.strerror or error}).") from None
    try:
        yield copies[path]
    except BaseException:
        for copy in made.values():
            copy.unlink(missing_ok=True)
        raise
