"""The conversation of `stillroom look` on a terminal: each file as it would land, what to ask, and the settings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from stillroom.cli import asking
from stillroom.cli.common import counted
from stillroom.cli.speaking import progress_bar, say, show
from stillroom.errors import StillroomError

if TYPE_CHECKING:
    from stillroom.api import OpenHouse
    from stillroom.looking.gathering import Alike, Gathered
    from stillroom.looking.look import Look
    from stillroom.looking.questions import Question

NUMBERS: Final = ("tax_pct",)
LATER: Final = ("l", "later")
SKIP: Final = ("s", "skip")
PARTNERS: Final = {"spec_line": ("spec",), "batch": ("batch_event",)}
"""Table -> tables that the rows of one book fill, too."""
ASKED_OF_ALL: Final = {"kind", "yield_amount"}
"""What of such rows may be said of all at once; where more is missing, they are none of that table."""
NEEDS_TABLE: Final = "--table"
"""Stands in the sentence by which a file is refused that no table is near."""


@dataclass
class Way:
    """How a file is to be looked at, as far as its keeper has said."""

    path: Path
    how: dict[str, Any]
    """source, plugin, table, sheets, kin."""
    said: dict[str, str] = field(default_factory=dict)
    passed: set[str] = field(default_factory=set)
    """Questions that were left for later."""

    def as_table(self, table: str | None) -> None:
        """Look at it as another table: what was said of columns holds no more."""
        from stillroom.looking.questions import SETTINGS

        if table is not None:
            self.how["table"] = table
            self.said = {key: said for key, said in self.said.items() if key in SETTINGS}
            self.passed = set()

    def look(self, place: OpenHouse) -> Look:
        """Look at it so."""
        return place.look(self.path, answers=self.said, **self.how)


def talk(place: OpenHouse, paths: list[Path], said: Mapping[str, Any], how: dict[str, Any]) -> int:
    """Go through files and folders; gives the exit code: 0 where all are settled, 1 where something is left."""
    from stillroom.looking.gathering import answers_for

    paths = _brought_in(place, paths)
    if any(how.values()):
        way = Way(path=paths[0], how=how, said=answers_for(paths[0], said))
        place, done = _settled(place, way, way.look(place))
        return _take_in(place) if done else 1
    with progress_bar(quiet=False) as progress:
        found = place.look_at_several(paths, answers=said, progress=progress)
    new = [group for group in found.groups if not group.lead.there_already]
    _tell_summary(found)
    left, settled = 0, len(found.groups) - len(new)
    for number, group in enumerate(new, 1):
        show(f"\n{f' {number} of {len(new)} ':-^80}")
        way = Way(path=group.lead.path, how={"kin": group.kin}, said=answers_for(group.lead.path, said))
        place, done = _settled(place, way, way.look(place), group)
        left, settled = left + (not done), settled + done
    for path, reason in found.refused.items():
        if NEEDS_TABLE in reason:
            show(f"\n{'':-^80}")
            place, done = _of_unknown_kind(place, Path(path), reason)
            left, settled = left + (not done), settled + done
    code = _take_in(place) if settled else 1
    return 1 if left else code


def _brought_in(place: OpenHouse, paths: list[Path]) -> list[Path]:
    """The paths in the house; what lies outside is copied into it, if that is wanted."""
    from stillroom.looking import gathering, patterns

    outside = [path for path in paths if path.exists() and not patterns.inside(place.settings, path)]
    if not outside:
        return paths
    files = gathering.files_in(outside)
    names = ", ".join(f"'{path.resolve().name}'" for path in outside)
    lie = "lies" if len(outside) == 1 else "lie"
    if not asking.yes(f"{names} {lie} outside the house. Copy {counted(len(files), 'file')} into it?"):
        return paths
    return gathering.copied_in(place.settings, paths)


def _tell_summary(found: Gathered) -> None:
    files = sum(len(group.looks) for group in found.groups) + len(found.refused)
    say(f"{counted(files, 'file')}.")
    for group in found.groups:
        lead = group.lead
        open_ones = len(lead.questions)
        state = "there already" if lead.there_already else counted(open_ones, "question") if open_ones else "clear"
        more = f" and {len(group.looks) - 1} alike" if len(group.looks) > 1 else ""
        say(f"  {lead.file + more:<44} {lead.table:<12} {state}")
    for reason in found.refused.values():
        say(f"  NOT READ  {reason}")


def _settled(place: OpenHouse, way: Way, seen: Look, group: Alike | None = None) -> tuple[OpenHouse, bool]:
    """Ask until a file is settled, and write its settings; then the same of the sheets that it leaves."""
    from stillroom.looking.card import facts_text

    show(facts_text(seen))
    if group and len(group.looks) > 1:
        say(f"  Read alike: {', '.join(one.file for one in group.looks[1:])}.\n")
    place, seen, done = _asked_and_written(place, way, seen)
    if done and seen.sheets_left:
        place, done = _other_sheets(place, way, seen.sheets_left)
    if done and "table" not in way.how:
        place = _other_tables(place, way, seen)
    return place, done


def _asked_and_written(place: OpenHouse, way: Way, seen: Look) -> tuple[OpenHouse, Look, bool]:
    from stillroom.looking.card import facts_text, result_text

    while True:
        before = (dict(way.how), dict(way.said))
        open_ones = [one for one in seen.questions if one.key not in way.said.keys() | way.passed]
        if open_ones:
            _ask(way, open_ones[0])
        else:
            show(result_text(seen))
            if seen.missing:
                say(f"Left out: nothing can land without {', '.join(seen.missing)}.")
                return place, seen, False
            word = _confirmed(place, way)
            if word == "skip":
                say("Left out; nothing was written for it.")
                return place, seen, False
            if word == "yes":
                place = place.adopt(seen)
                names = ", ".join(seen.files) or str(seen.path)
                say(f"Written to stillroom.toml: source '{seen.source}' reads {names} into {seen.table}.")
                return place, seen, True
        try:
            again = way.look(place)
        except StillroomError as error:
            say(f"  {error}")
            way.how, way.said = before
            continue
        if (again.table, again.columns) != (seen.table, seen.columns):
            show(facts_text(again))
        seen = again


def _ask(way: Way, question: Question) -> None:
    """Put what is said of a question with the answers; Enter takes the best guess."""
    say(f"? {question.text}")
    values = [option.value for option in question.options]
    default = values.index(question.default) if question.default in values else None
    if question.key in NUMBERS:  # a number that is typed is the answer itself, and no choice
        say("  " + "; ".join(f"{option.value} = {option.label}" for option in question.options))
        said = asking.chosen([], default, _hint(question))
        said = said.rstrip("% ").replace(",", ".") if said else said
    else:
        said = asking.chosen([option.label for option in question.options], default, _hint(question))
        if said and said.isdecimal() and 1 <= int(said) <= len(values):
            said = values[int(said) - 1]
    if said is None or said.casefold() in LATER or (said == "" and question.default is None):
        way.passed.add(question.key)
    else:
        way.said[question.key] = said or str(question.default)
    show("")


def _hint(question: Question) -> str:
    if question.default is None:
        return "Enter or l = later." if question.options else "Write it; Enter or l = later."
    return f"Enter = {question.guess}{f' ({question.why})' if question.why else ''}; l = later."


def _confirmed(place: OpenHouse, way: Way) -> str:
    """'yes', 'skip', or 'again' where something else was said of it."""
    while True:
        say("Right? Enter = write it; t = another table; COLUMN = HEADING; s = leave it out.")
        said = asking.asked()
        if said is None or said.casefold() in SKIP:
            return "skip"
        column, equals, heading = (part.strip() for part in said.partition("="))
        if said.casefold() in ("", "y", "yes"):
            return "yes"
        if said.casefold() == "t":
            way.as_table(_table(place))
            return "again"
        if equals and column and heading:
            way.said[column] = heading
            return "again"
        say("  Enter, t, s, or such as: note = Remarks.")


def _table(place: OpenHouse) -> str | None:
    tables = list(place.registry.tables.values())
    say("What is a row of it?")
    said = asking.chosen([f"{table.name}: {table.title}" for table in tables], None, "Enter or l = none of these.")
    if said and said.isdecimal() and 1 <= int(said) <= len(tables):
        return tables[int(said) - 1].name
    return said if said in place.registry.tables else None


def _other_sheets(place: OpenHouse, way: Way, sheets: tuple[str, ...]) -> tuple[OpenHouse, bool]:
    """The sheets of a workbook that the first source leaves: each kind by a source of its own."""
    other = Way(path=way.path, how={**way.how, "sheets": sheets})
    names = ", ".join(f"'{sheet}'" for sheet in sheets)
    try:
        seen = other.look(place)
    except StillroomError as error:
        say(f"Not read: sheet {names}. {error}")
        return place, True
    show(f"\n{'':-^80}")
    return _settled(place, other, seen)


def _other_tables(place: OpenHouse, way: Way, first: Look) -> OpenHouse:
    """What the same rows say of other tables: the specs of lines, and what became of batches."""
    for table in PARTNERS.get(first.table, ()):
        other = Way(path=way.path, how={**way.how, "table": table})
        try:
            seen = other.look(place)
        except StillroomError:
            continue
        if seen.there_already or not set(seen.missing) <= ASKED_OF_ALL:
            continue
        show(f"\nThe same rows say more, of the table {table}:")
        place, _ = _settled(place, other, seen)
    return place


def _of_unknown_kind(place: OpenHouse, path: Path, reason: str) -> tuple[OpenHouse, bool]:
    say(reason)
    table = _table(place)
    if table is None:
        say("Left out; nothing was written for it.")
        return place, False
    way = Way(path=path, how={"table": table})
    try:
        return _settled(place, way, way.look(place))
    except StillroomError as error:
        say(str(error))
        return place, False


def _take_in(place: OpenHouse) -> int:
    """Take the files in, if that is wanted, and ask of the till's names what no drink explains."""
    from stillroom.cli import intakes, matching

    show("")
    if not asking.yes("Take the files in now?"):
        show("Next: stillroom intake")
        return 0
    code = intakes.take_in(place)
    if place.unmatched() and asking.yes("Say now what these till names are?"):
        matching.talk(place)
    return code
