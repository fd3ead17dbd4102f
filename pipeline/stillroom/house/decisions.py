"""What was decided about the house's files, kept beside them in `decisions.jsonl`: one decision a line, in order.

Files, settings and decisions give the same figures on any machine. A decision names an edition of a file by its source,
its name, and a hash of its content, never by a number of the store. New lines are only ever added, so that two copies
of the file merge line by line.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from reprlib import repr as short
from typing import Any, Final, NamedTuple, NoReturn

from stillroom.errors import DecisionsError
from stillroom.files import replace_whole

DECISIONS_NAME: Final = "decisions.jsonl"
HALF: Final = re.compile("[\ud800-\udfff]")
"""Half of a character beyond U+FFFF, which JSON can spell and no file can hold."""
NUMBER: Final = re.compile("[0-9]{1,18}")

Cells = Mapping[str, str | None]
"""Heading of a file -> the cell's text."""


class Edition(NamedTuple):
    """One content of one file, as one source reads it."""

    source: str
    file: str
    """Its name in messages: its path in the house; of a sheet, with the sheet's name."""
    content: str
    """sha256 of its bytes, or of a query's rows; for a sheet of a workbook, its name follows after a space."""


def is_text(value: object) -> bool:
    """Whether it is a text of whole characters."""
    return isinstance(value, str) and not HALF.search(value)


def _are_cells(row: object) -> bool:
    if not isinstance(row, dict):
        return False
    return all(is_text(heading) and (cell is None or is_text(cell)) for heading, cell in row.items())


def _are_numbers(rows: object) -> bool:
    return isinstance(rows, list) and all(type(row) is int for row in rows)


def _are_rows(rows: object) -> bool:
    return isinstance(rows, list) and all(map(_are_cells, rows))


def _are_corrections(rows: object) -> bool:
    if not isinstance(rows, dict):
        return False
    return all(NUMBER.fullmatch(number) and _are_cells(row) for number, row in rows.items())


@dataclass(frozen=True)
class Kind:
    """What a decision of one kind holds besides its kind and day: field -> whether a value may stand there."""

    fields: Mapping[str, Callable[[Any], bool]]

    def fault(self, record: Mapping[str, Any]) -> str | None:
        """What is wrong with a record of this kind."""
        for name, fits in ({"day": is_text} | dict(self.fields)).items():
            value = record.get(name)
            if not fits(value):
                return f"its '{name}' is missing" if value is None else f"its '{name}' cannot be {short(value)}"
        try:
            date.fromisoformat(record["day"])
        except ValueError:
            return f"its 'day' cannot be {short(record['day'])}: write it like 2026-03-01"
        return None


EDITION: Final = {"source": is_text, "file": is_text, "content": is_text}
KINDS: Final = {
    "taken": Kind({**EDITION, "reading": is_text}),
    "renamed": Kind({**EDITION, "reading": is_text, "was_source": is_text, "was": is_text}),
    "by hand": Kind({"source": is_text, "plugin": is_text, "file": is_text}),
    "corrected": Kind({**EDITION, "rows": _are_corrections}),
    "withdrawn": Kind({**EDITION, "rows": _are_numbers}),
    "undone": Kind(EDITION),
    "redone": Kind(EDITION),
    "gone": Kind(EDITION),
    "confirmed": Kind({**EDITION, "rows": _are_rows}),
}
"""Every kind of decision there is. The order in which editions are first `taken` or `renamed` is the order of files."""


class Decisions:
    """All decisions of a house, in their order, and what follows from them.

    What is added counts at once, and is kept by `save`; `forget_unsaved` takes it back.
    """

    def __init__(self, path: Path, lines: list[str] | None = None) -> None:
        self.path = path
        self._lines = lines or []
        self._saved = len(self._lines)
        self._work_out()

    @classmethod
    def load(cls, folder: Path) -> Decisions:
        """The decisions of the house in a folder; none where it has no such file.

        Raises:
            DecisionsError: the file cannot be read, a line of it is damaged, or contradicts those before it.
        """
        path = folder / DECISIONS_NAME
        return cls(path, [line for line in written_in(path).split("\n") if line.strip()])

    def _work_out(self) -> None:
        self._places: dict[Edition, int] = {}
        self.first_days: dict[Edition, date] = {}
        """The day on which an edition was first taken in; a renamed file keeps its own."""
        self.undone: dict[Edition, str] = {}
        """Editions that are undone, and since which day."""
        self.gone: set[Edition] = set()
        self.moved: dict[Edition, Edition] = {}
        """Editions under a name that is no longer the file's -> under the one it had next."""
        self.latest: dict[tuple[str, str], Edition] = {}
        """(source, file) -> the edition that was taken in last under that name."""
        self.by_hand: dict[str, tuple[str, str]] = {}
        """File -> (source, plugin) by which it is read, though no pattern of the settings names it."""
        self._corrections: dict[Edition, Mapping[int, Cells]] = {}
        self._earlier_corrections: dict[Edition, dict[str, Mapping[int, Cells]]] = {}
        self._confirmed: dict[tuple[str, str], set[str]] = {}
        """(source, file) -> rows that are right though doubtful, in whatever edition they stand."""
        for number, line in enumerate(self._lines, start=1):
            self._apply(self._record(line, number), number)

    def _record(self, line: str, number: int) -> dict[str, Any]:
        try:
            record = json.loads(line)
        except (ValueError, RecursionError):
            record = None
        if not isinstance(record, dict):
            self._refuse(number, "it is no JSON object")
        named = record.get("kind")
        kind = KINDS.get(named) if isinstance(named, str) else None
        if kind is None:
            self._refuse(number, f"of its kind, {short(named)}, this Stillroom knows nothing")
        if (fault := kind.fault(record)) is not None:
            self._refuse(number, fault)
        return record

    def _refuse(self, number: int, problem: str) -> NoReturn:
        raise DecisionsError(
            f"{self.path}, decision {number}: {problem}. Nothing was done: mend that line, or put back an earlier copy."
        )

    def _apply(self, record: dict[str, Any], number: int) -> None:
        kind = record["kind"]
        if kind == "by hand":
            self.by_hand[record["file"]] = (record["source"], record["plugin"])
            return
        edition = Edition(record["source"], record["file"], record["content"])
        if kind in ("taken", "renamed"):
            self._take(edition, record, number)
            return
        if edition not in self._places:
            self._refuse(number, f"it says '{kind}' of an edition of {edition.file} that was never taken in")
        if kind == "undone":
            self.undone[edition] = record["day"]
        elif kind == "redone":
            self.undone.pop(edition, None)  # two copies that were merged may both say so
        elif kind == "gone":
            self.gone.add(edition)
        elif kind in ("corrected", "withdrawn"):
            self._correct(edition, record)
        elif kind == "confirmed":
            self._confirmed.setdefault(edition[:2], set()).update(map(said_by, record["rows"]))

    def _correct(self, edition: Edition, record: dict[str, Any]) -> None:
        """Corrections as they are from now on; earlier ones are kept, so that it can be told what came since."""
        rows = dict(self.corrections(edition))
        if record["kind"] == "corrected":
            rows |= {int(row): cells for row, cells in record["rows"].items()}
        else:
            rows = {row: cells for row, cells in rows.items() if row not in record["rows"]}
        self._corrections[edition] = rows
        self._earlier_corrections.setdefault(edition, {})[self.corrections_id(edition)] = rows

    def _take(self, edition: Edition, record: dict[str, Any], number: int) -> None:
        self.gone.discard(edition)
        moved = self.moved.pop(edition, None)
        if moved is not None or self.latest.get((edition.source, edition.file)) != edition:
            self._places[edition] = number
        self.latest[edition.source, edition.file] = edition
        self.first_days.setdefault(edition, date.fromisoformat(record["day"]))
        if record["kind"] == "renamed":
            before = Edition(record["was_source"], record["was"], edition.content)
            if before not in self._places:
                self._refuse(number, f"it says 'renamed' of {before.file}, which was never taken in")
            if before != edition:
                self.moved[before] = edition
            self._places[edition] = self._places[before]
            self.first_days[edition] = self.first_days[before]
            self._corrections[edition] = self.corrections(before)
            self._confirmed.setdefault(edition[:2], set()).update(self._confirmed.get(before[:2], ()))

    # What follows --------------------------------------------------------------------------------------

    def place(self, edition: Edition) -> int | None:
        """Its place in the order of files: the later one counts where two tell of the same; None of an unknown one."""
        return self._places.get(edition)

    def file_places(self) -> Mapping[str, int]:
        """File -> the place of the edition that was taken in last under that name."""
        return {edition.file: self._places[edition] for edition in self.latest.values()}

    @property
    def any_corrections(self) -> bool:
        """Whether any row of any file is corrected."""
        return any(self._corrections.values())

    def stands(self, edition: Edition) -> bool:
        """Whether its rows may count: it is neither undone, nor gone, nor under another name by now."""
        return edition in self._places and not (edition in self.undone or edition in self.gone or edition in self.moved)

    def replaces_older(self, edition: Edition) -> bool:
        """Whether older editions of its file do not count beside it: unless it is undone, under whatever name it has.

        So it is with one that is gone, too: what was gone before it does not come back.
        """
        now = self._now(edition)
        return now in self._places and now not in self.undone

    def with_older(self, edition: Edition) -> list[Edition]:
        """It, and those of its file before it that stand, under whatever names the file had: all that goes with it."""
        names = {one[:2] for one in self.moved if self._now(one) == edition} | {edition[:2]}
        before = [one for one, place in self._places.items() if place <= self._places[edition]]
        return [one for one in before if one[:2] in names and self.stands(one)]

    def _now(self, edition: Edition) -> Edition:
        """The edition under the name that it has by now."""
        while edition in self.moved:
            edition = self.moved[edition]
        return edition

    def elsewhere(self, edition: Edition) -> list[Edition]:
        """Editions of the same content under other names or of other sources, that stand."""
        same = [one for one in self._places if one.content == edition.content and one != edition]
        return [one for one in same if self.stands(one) and self.latest[one.source, one.file] == one]

    def corrections(self, edition: Edition) -> Mapping[int, Cells]:
        """Row number -> the row as it was corrected by hand."""
        return self._corrections.get(edition, {})

    def confirmed(self, edition: Edition) -> frozenset[str]:
        """Rows of a file that were confirmed, each as `said_by` gives it."""
        return frozenset(self._confirmed.get(edition[:2], ()))

    def corrections_id(self, edition: Edition) -> str:
        """A short text that tells one state of an edition's corrections from others; '' where there is none."""
        rows = self.corrections(edition)
        return _hash(json.dumps(sorted(rows.items())))[:16] if rows else ""

    def corrections_since(self, edition: Edition, now: str, before: str) -> tuple[int, ...]:
        """Rows that were corrected between two states of an edition's corrections, each by its `corrections_id`."""
        states = self._earlier_corrections.get(edition, {})
        old, new = states.get(before, {}), states.get(now, {})
        return tuple(row for row, cells in new.items() if old.get(row) != cells and row in self.corrections(edition))

    @property
    def digest(self) -> str:
        """A text that changes with every decision."""
        return _hash("\n".join(self._lines))

    # New decisions -------------------------------------------------------------------------------------

    def add(self, kind: str, *edition: Edition, **fields: object) -> None:
        """Note a decision of today; `edition` is the one that it is about, if it is about one.

        Raises:
            DecisionsError: it contradicts those before it.
        """
        about = edition[0]._asdict() if edition else {}
        record = {"kind": kind, "day": datetime.now(UTC).date().isoformat(), **about, **fields}
        line = json.dumps(record, ensure_ascii=False)
        self._apply(self._record(line, len(self._lines) + 1), len(self._lines) + 1)
        self._lines.append(line)

    @property
    def unsaved(self) -> bool:
        """Whether anything was added that is not kept yet."""
        return len(self._lines) > self._saved

    def save(self) -> None:
        """Keep what was added.

        Raises:
            DecisionsError: the file cannot be written.
        """
        if self.unsaved:
            write_into(self.path, "".join(f"{line}\n" for line in self._lines))
            self._saved = len(self._lines)

    def forget_unsaved(self) -> None:
        """Take back what was added since they were last saved."""
        if self.unsaved:
            del self._lines[self._saved :]
            self._work_out()


def written_in(path: Path) -> str:
    """What a file of what was decided says; nothing where there is none.

    Raises:
        DecisionsError: it cannot be read.
    """
    try:
        return path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        return ""
    except (OSError, UnicodeDecodeError) as error:
        raise DecisionsError(f"{path} cannot be read ({error}): put back an earlier copy of it.") from None


def write_into(path: Path, text: str) -> None:
    """Make it all that the file says.

    Raises:
        DecisionsError: it cannot be written; it is as it was.
    """
    try:
        replace_whole(path, text.encode())
    except OSError as error:
        raise DecisionsError(f"{path} cannot be written: {error.strerror or error}.") from None


def said_by(cells: Cells) -> str:
    """What a row says, as one text that is the same wherever its filled cells are."""
    return json.dumps({heading: cell for heading, cell in cells.items() if cell}, ensure_ascii=False, sort_keys=True)


def _hash(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()
