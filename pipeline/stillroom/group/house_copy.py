"""What a group keeps of a house: a copy of its files, with the group's spec book beside them, to be taken in there.

A house's own folder is only read. Its `decisions.jsonl` holds here, too; of a house that has none the copy keeps its
own, so that its files stay in their order.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, Any, Final

from stillroom import __version__
from stillroom.errors import FileRefused, SettingsError
from stillroom.files import replace_whole
from stillroom.group import facts
from stillroom.group.places import Place, stamp
from stillroom.house.decisions import DECISIONS_NAME
from stillroom.house.house import SETTINGS_NAME, STORE_NAME, House

if TYPE_CHECKING:
    from stillroom.group.settings import BookTable
    from stillroom.house.model import SourceSettings
    from stillroom.intake.outcome import Outcome
    from stillroom.plugins.registry import Registry

Listing = Mapping[str, Mapping[str, Any]]

BOOK: Final = "group-book"
"""The folder of the shared spec book in the copy; the names of its sources begin so, too."""
BOOK_TABLES: Final = frozenset({"spec", "spec_line"})
BOOK_DECISIONS: Final = f"{BOOK}.jsonl"
"""Beside the copy: what was decided as the shared book was taken in, which comes before all else."""
BOOK_DIGEST: Final = f"{BOOK}.digest"
"""Beside the copy: which state of the shared book its store begins with."""


@dataclass(frozen=True, kw_only=True)
class Seen:
    """A house as it is found, before anything is copied."""

    place: Place
    kept: Path
    settings: House
    """As its file says, with the copy as its folder; without its own spec book where that does not count."""
    files: Listing
    book: BookTable | None
    book_files: Listing
    digest: str
    """Of all that its facts depend on."""

    @property
    def folder(self) -> Path:
        """The copy."""
        return folder_of(self.kept)


def folder_of(kept: Path) -> Path:
    """The copy of a house, in the folder of what is kept of it."""
    return kept / "house"


def look(house_at: str, kept: Path, book: BookTable | None, registry: Registry, *, own_versions: bool) -> Seen:
    """What a house has now.

    Args:
        house_at: its folder or address.
        kept: the folder of what the group keeps of it.
        book: the spec book that the group's houses share.
        registry: the plugins.
        own_versions: whether the house's own spec book counts.

    Raises:
        Unreachable: its place, or the book's, cannot be read.
        SettingsError: it is no house, or its settings say what they may not.
    """
    from stillroom.house.settings import house_of

    place = Place(house_at)
    text = place.text(SETTINGS_NAME)
    if text is None:
        raise SettingsError(f"{house_at} is no house: there is no {SETTINGS_NAME} in it.")
    house = house_of(text, folder_of(kept), registry)
    if not own_versions:
        house = house.model_copy(update={"sources": tuple(s for s in house.sources if not _is_book(s, registry))})
    files = place.listing([SETTINGS_NAME, DECISIONS_NAME, *_patterns(house.sources)])
    files |= _beside(place, house.sources, registry)
    book_files = Place(book.folder).listing(_patterns(book.source)) if book else {}
    parts = [__version__, repr(facts.COLUMNS), repr(facts.QUERIES), str(own_versions), _state(files)]
    parts += [book.model_dump_json(), _state(book_files)] if book else []
    return Seen(
        place=place,
        kept=kept,
        settings=house,
        files=files,
        book=book,
        book_files=book_files,
        digest=hashlib.sha256("\n".join(parts).encode()).hexdigest(),
    )


def _is_book(source: SourceSettings, registry: Registry) -> bool:
    """Whether a source fills the spec book."""
    plugin = registry.sources.get(source.plugin)
    return bool(BOOK_TABLES & ({source.table} if source.table else set(plugin.tables if plugin else ())))


def _beside(place: Place, sources: Iterable[SourceSettings], registry: Registry) -> dict[str, dict[str, Any]]:
    """What may be read with the files of sources that read more than one, such as the key of a session.

    Which files those are only a source can say, once they are here: all that lie in the same folder, or one below.
    """
    plugins = [(source, registry.sources.get(source.plugin)) for source in sources]
    some = [source for source, plugin in plugins if plugin is not None and plugin.beside is not None]
    folders = {PurePosixPath(name).parent for name in place.listing(_patterns(some))}
    found = place.listing(str(folder / below) for folder in folders for below in ("*", "*/*"))
    return {name: seen for name, seen in found.items() if not _is_ours(PurePosixPath(name))}


def _is_ours(path: PurePosixPath) -> bool:
    """Whether a house has the file from Stillroom: its store, and what is kept beside it."""
    return any(part.startswith((STORE_NAME, ".")) for part in path.parts)


def _patterns(sources: Iterable[SourceSettings]) -> list[str]:
    return [pattern for source in sources for pattern in source.files]


def _state(files: Listing) -> str:
    return "\n".join(f"{name} {stamp(seen)}" for name, seen in sorted(files.items()))


def brought_up_to_date(seen: Seen, registry: Registry) -> House:
    """Copy what has changed; gives the house to take in, with the shared book's sources before its own.

    Raises:
        Unreachable, OSError: something cannot be read or written.
        StillroomError: the shared book cannot be taken in.
    """
    seen.folder.mkdir(parents=True, exist_ok=True)
    decisions = seen.folder / DECISIONS_NAME
    seen.place.bring({name: file for name, file in seen.files.items() if name != DECISIONS_NAME}, seen.folder)
    theirs = seen.place.text(DECISIONS_NAME)
    if seen.book is None:
        if theirs is not None:
            replace_whole(decisions, theirs.encode())
        return seen.settings
    ours = _lines(decisions)
    own = (
        theirs.splitlines() if theirs is not None else [o for o in ours if o not in _lines(seen.kept / BOOK_DECISIONS)]
    )
    _take_in_the_book(seen, registry)
    lines = [*_lines(seen.kept / BOOK_DECISIONS), *own]
    replace_whole(decisions, "".join(f"{line}\n" for line in lines if line.strip()).encode())
    return seen.settings.model_copy(update={"sources": (*_book_sources(seen.book), *seen.settings.sources)})


def _take_in_the_book(seen: Seen, registry: Registry) -> None:
    """Where the shared book has changed, begin the store anew with it: what the house says comes later, and counts."""
    from stillroom.intake.run import run

    assert seen.book is not None
    noted = seen.kept / BOOK_DIGEST
    state = hashlib.sha256(f"{seen.book.model_dump_json()}\n{_state(seen.book_files)}".encode()).hexdigest()
    if noted.exists() and noted.read_text() == state:
        return
    noted.unlink(missing_ok=True)
    for old in (seen.settings.store_path, seen.folder / DECISIONS_NAME):
        old.unlink(missing_ok=True)
    Place(seen.book.folder).bring(seen.book_files, seen.folder / BOOK)
    alone = seen.settings.model_copy(update={"sources": _book_sources(seen.book)})
    for outcome in run(alone, registry):
        refuse_unless_whole(outcome)
    replace_whole(seen.kept / BOOK_DECISIONS, (seen.folder / DECISIONS_NAME).read_bytes())
    replace_whole(noted, state.encode())


def _book_sources(book: BookTable) -> tuple[SourceSettings, ...]:
    return tuple(
        one.model_copy(update={"name": f"{BOOK} {one.name}", "files": tuple(f"{BOOK}/{f}" for f in one.files)})
        for one in book.source
    )


def _lines(file: Path) -> list[str]:
    return file.read_text(encoding="utf-8").splitlines() if file.exists() else []


def refuse_unless_whole(outcome: Outcome) -> None:
    """A house is all or nothing: one file that cannot be read, and nothing of this run counts.

    Raises:
        FileRefused: as the outcome says.
    """
    if outcome.status == "refused":
        raise FileRefused(outcome.problem)
