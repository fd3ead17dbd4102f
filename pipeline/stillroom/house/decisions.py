"""What was decided about the house's files, kept beside them in `decisions.jsonl`: one decision a line, in order.

Files, settings and decisions give the same figures on any machine. A decision names an edition of a file by its source,
its name, and a hash of its content, never by a number of the store. New lines are only ever added, so that two copies
of the file merge line by line.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Mapping
from datetime import date, datetime
from pathlib import Path
from reprlib import repr as short
from typing import Any, Final, NamedTuple, NoReturn

from stillroom.errors import DecisionsError
from stillroom.files import replace_whole
from stillroom.house.decision_kinds import KINDS

DECISIONS_NAME: Final = "decisions.jsonl"

Cells = Mapping[str, str | None]
"""Heading of a file -> the cell's text."""
Name = tuple[str, str]
"""A source, and a file as it is called."""


class Edition(NamedTuple):
    """One content of one file, as one source reads it."""

    source: str
    file: str
    """Its name in messages: its path in the house; of a sheet, with the sheet's name."""
    content: str
    """sha256 of its bytes, or of a query's rows; for a sheet of a workbook, its name follows after a space."""


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
        self.moved: set[Edition] = set()
        """Editions under a name that is no longer the file's, or of a source that no longer reads it."""
        self._files: dict[Edition, Name] = {}
        self._editions: dict[Name, list[Edition]] = {}
        """The other way round; an edition may stand under names, too, that its file has no more."""
        self._readers: dict[str, set[str]] = {}
        """File -> sources that have read it."""
        self._heirs: dict[str, str] = {}
        """Source -> the one to which the last file went that it gave up."""
        self.latest: dict[tuple[str, str], Edition] = {}
        """(source, file) -> the edition that was taken in last under that name."""
        self.by_hand: dict[str, tuple[str, str]] = {}
        """File -> (source, plugin) by which it is read, though no pattern of the settings names it."""
        self._corrections: dict[Edition, Mapping[int, Cells]] = {}
        self._earlier_corrections: dict[Edition, dict[str, Mapping[int, Cells]]] = {}
        self._withdrawn: dict[Edition, set[tuple[int, str]]] = {}
        """Corrections that were taken back and not given again: the row's number, and what it said (`said_by`)."""
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
        withdrawn = self._withdrawn.setdefault(edition, set())
        if record["kind"] == "corrected":
            new = {int(row): cells for row, cells in record["rows"].items()}
            rows |= new
            withdrawn -= {(row, said_by(cells)) for row, cells in new.items()}
        else:
            withdrawn |= {(row, said_by(rows[row])) for row in record["rows"] if row in rows}
            rows = {row: cells for row, cells in rows.items() if row not in record["rows"]}
        self._corrections[edition] = rows
        self._earlier_corrections.setdefault(edition, {})[self.corrections_id(edition)] = rows

    def _take(self, edition: Edition, record: dict[str, Any], number: int) -> None:
        self.gone.discard(edition)
        if self.latest.get(edition[:2]) != edition or not self._has_its_name(edition):
            self._places[edition] = number
        self.moved.discard(edition)
        self.latest[edition[:2]] = edition
        self._readers.setdefault(edition.file, set()).add(edition.source)
        if self._files.get(edition) != edition[:2]:
            self._put(edition, edition[:2])
        self.first_days.setdefault(edition, date.fromisoformat(record["day"]))
        if record["kind"] == "renamed":
            before = Edition(record["was_source"], record["was"], edition.content)
            if before not in self._places:
                self._refuse(number, f"it says 'renamed' of {before.file}, which was never taken in")
            if before != edition:
                self.moved.add(before)
                self._follow(before[:2], edition[:2])
            if before in self.undone:
                self.undone[edition] = self.undone.pop(before)
            self._places[edition] = self._places[before]
            self.first_days[edition] = self.first_days[before]
            self._corrections[edition] = self.corrections(before)
            self._earlier_corrections[edition] = {**self._earlier_corrections.get(before, {})}
            self._withdrawn[edition] = {*self._withdrawn.get(before, ())}
            self._confirmed.setdefault(edition[:2], set()).update(self._confirmed.get(before[:2], ()))
        elif record.get("was_source") is not None:
            self._follow((record["was_source"], edition.file), edition[:2])
        if record.get("was_source") not in (None, edition.source):
            self._heirs[record["was_source"]] = edition.source

    def _put(self, edition: Edition, name: Name) -> None:
        self._files[edition] = name
        self._editions.setdefault(name, []).append(edition)

    def _follow(self, before: Name, now: Name) -> None:
        """All editions of a file go with it where it has another name, or another source reads it."""
        for edition in self._editions.pop(before, []) if before != now else ():
            if self._files[edition] == before:
                self._put(edition, now)

    # What follows --------------------------------------------------------------------------------------

    def place(self, edition: Edition) -> int | None:
        """Its place in the order of files: the later one counts where two tell of the same; None of an unknown one."""
        return self._places.get(edition)

    def file_of(self, edition: Edition) -> Name:
        """The name that its file has by now, and the source that reads it: those of the editions after it."""
        return self._files.get(edition, edition[:2])

    def reader(self, source: str, known: Collection[str]) -> str:
        """The source itself where it is known; else the one that is called in its place, as its files have shown."""
        passed = set(known)
        while source not in passed and source in self._heirs:
            passed.add(source)
            source = self._heirs[source]
        return source

    def editions(self, name: Name) -> list[Edition]:
        """All of the file that has a name by now, whatever it was called before, in the order of files."""
        ours = dict.fromkeys(one for one in self._editions.get(name, ()) if self._files[one] == name)
        return sorted(ours, key=self._places.__getitem__)

    def lateness(self, edition: Edition) -> tuple[bool, int]:
        """Greater of the edition that a file's name means by now: not that of a file which has another name."""
        return edition not in self.moved, self._places.get(edition, 0)

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
        """Whether older editions of its file do not count beside it: unless it is undone, or has another name by now.

        So it is with one that is gone, too: what was gone before it does not come back.
        """
        return edition in self._places and not (edition in self.undone or edition in self.moved)

    def with_older(self, edition: Edition) -> list[Edition]:
        """It, and those of its file before it that stand, under whatever names the file had: all that goes with it."""
        ours, place = self.editions(self.file_of(edition)), self._places[edition]
        return [one for one in ours if self._places[one] <= place and self.stands(one)]

    def elsewhere(self, edition: Edition) -> list[Edition]:
        """Editions of the same content under other names or of other sources, that stand or are undone."""
        same = [one for one in self._places if one.content == edition.content and one != edition]
        return [one for one in same if one not in self.gone and self.latest[one[:2]] == one and self._has_its_name(one)]

    def read_by_others(self, name: Name) -> list[Edition]:
        """The last editions of a file as other sources read it, that stand."""
        source, file = name
        others = [self.latest[one, file] for one in sorted(self._readers.get(file, ())) if one != source]
        return [one for one in others if self.stands(one) and self._has_its_name(one)]

    def is_newest(self, edition: Edition) -> bool:
        """Whether it stands, and nothing has been taken in of its file since, whatever that was called."""
        return self.stands(edition) and self.latest.get(edition[:2]) == edition and self._has_its_name(edition)

    def _has_its_name(self, edition: Edition) -> bool:
        """Whether its file is called and read as it was by now."""
        return edition not in self.moved and self.file_of(edition) == edition[:2]

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

    def withdraw(self, edition: Edition, now: str, before: str) -> tuple[int, ...]:
        """Take back what was corrected between two states of an edition's corrections, each by its `corrections_id`.

        Returns:
            the rows that are again as they were, whether corrected otherwise or as the file has them.
        """
        states, today = self._earlier_corrections.get(edition, {}), self.corrections(edition)
        old, new = states.get(before, {}), states.get(now, {})
        rows = tuple(n for n, cells in new.items() if old.get(n) != cells and today.get(n) != old.get(n))
        if rows:
            self.add("withdrawn", edition, rows=list(rows))
        if again := {row: old[row] for row in rows if row in old}:
            self.add("corrected", edition, rows=again)
        return rows

    def is_withdrawn(self, edition: Edition, row: int, cells: Cells) -> bool:
        """Whether a row was once corrected so, and that was taken back since."""
        return (row, said_by(cells)) in self._withdrawn.get(edition, ())

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
        record = {"kind": kind, "day": datetime.now().astimezone().date().isoformat(), **about, **fields}
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
