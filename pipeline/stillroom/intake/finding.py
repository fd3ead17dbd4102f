"""The files that a pattern of the settings means; what it means and cannot be read is told, never passed over."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from stillroom.errors import SettingsError
from stillroom.files import is_litter, real
from stillroom.house.house import House
from stillroom.naming import on_one_line


@dataclass(frozen=True, kw_only=True)
class Found:
    """A file, or what stands in the place of one."""

    path: Path
    """Where it really is; of what cannot be read, its place in the house."""
    name: str
    """How it is called in messages: its path inside the house."""
    problem: str = ""
    """Why it cannot be read, as a sentence; '' of a file."""


def found(house: House, source: str, pattern: str) -> Iterator[Found]:
    """What a pattern means, in no order; a file may come twice.

    Raises:
        SettingsError: the pattern leaves the house, or is none.
    """
    parts = Path(pattern).parts
    if Path(pattern).is_absolute() or ".." in parts:
        raise SettingsError(
            f"Source '{source}': files = '{pattern}' leaves the house folder; keep its files inside, "
            "or name them on the command line."
        )
    try:
        if not parts:
            raise ValueError("it names a folder")
        yield from (one for path in house.folder.glob(pattern) for one in _seen(house, path))
        yield from _linked_folders(house, pattern)
        yield from _closed_folders(house, parts[:-1])
    except (ValueError, RecursionError) as error:
        raise SettingsError(f"Source '{source}': files = '{pattern}' is no pattern of files ({error}).") from None
    except OSError as error:
        yield _cannot(house, house.folder / pattern, error)


def _seen(house: House, path: Path) -> Iterator[Found]:
    try:
        yield from _looked_at(house, path)
    except OSError as error:  # in a folder that may be listed, and no more
        yield _cannot(house, path, error)


def _looked_at(house: House, path: Path) -> Iterator[Found]:
    root = real(house.folder)
    if path.is_dir() or is_litter(path.name):
        return
    if path.is_file():
        if real(path).is_relative_to(root):
            yield Found(path=real(path), name=on_one_line(real(path).relative_to(root).as_posix()))
        else:
            link = next(one for one in _from_the_top(house, path) if not real(one).is_relative_to(root))
            yield _problem(
                house, link, "is a link that leads out of the house: put what it leads to into the house, or name the "
                "files on the command line",
            )  # fmt: skip
    elif path.is_symlink():
        yield _problem(house, path, "is a link that leads nowhere: mend or delete it")
    else:
        yield _problem(house, path, "is a pipe or a device; save what comes out of it as a file")


def _from_the_top(house: House, path: Path) -> Iterator[Path]:
    parts = path.relative_to(house.folder).parts
    return (house.folder.joinpath(*parts[:count]) for count in range(1, len(parts) + 1))


def _linked_folders(house: House, pattern: str) -> Iterator[Found]:
    """Folders behind links that '**' does not go into, though files lie there that the rest of the pattern means."""
    before, deep, rest = pattern.partition("**/")
    if not deep or "**" in rest:
        return
    for base in house.folder.glob(before) if before else [house.folder]:
        for folder, names, _ in os.walk(base):
            for link in (Path(folder, name) for name in names if Path(folder, name).is_symlink()):
                inside = real(link).is_relative_to(real(base))  # what it leads to is found there
                if not inside and any(file.is_file() for file in link.glob(rest)):
                    yield _problem(
                        house, link, "is a link to a folder, and '**' goes into none: name it in the pattern"
                    )


def _closed_folders(house: House, before: tuple[str, ...]) -> Iterator[Found]:
    """Folders on the way to a pattern's files that cannot be looked into: a search passes them by without a word."""
    for count in range(len(before) + 1):
        for folder in house.folder.glob("/".join(before[:count])) if count else [house.folder]:
            try:
                os.scandir(folder).close()
            except NotADirectoryError:
                continue
            except OSError as error:
                yield _cannot(house, folder, error)


def _cannot(house: House, path: Path, error: OSError) -> Found:
    return _problem(house, path, f"cannot be read ({error.strerror or error})")


def _problem(house: House, path: Path, what: str) -> Found:
    name = on_one_line(path.relative_to(house.folder).as_posix())
    return Found(path=path, name=name, problem=f"{name}: {what}.")
