"""What `stillroom look` asks of one file on a terminal, and what has been said of it."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from stillroom.cli import asking
from stillroom.cli.speaking import progress_bar, say, show

if TYPE_CHECKING:
    from stillroom.api import OpenHouse
    from stillroom.looking.questions import Question
    from stillroom.looking.seen import Look

NUMBERS: Final = ("tax_pct",)
LATER: Final = ("l", "later")
SKIP: Final = ("s", "skip")


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
        with progress_bar(quiet=False) as progress:
            return place.look(self.path, answers=self.said, progress=progress, **self.how)


def ask(way: Way, question: Question) -> None:
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


def confirmed(place: OpenHouse, way: Way) -> str:
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
            way.as_table(table_asked(place))
            return "again"
        if equals and column and heading:
            way.said[column] = heading
            return "again"
        say("  Enter, t, s, or such as: note = Remarks.")


def table_asked(place: OpenHouse) -> str | None:
    """The table that is chosen from the list of all; None: none of them."""
    tables = list(place.registry.tables.values())
    say("What is a row of it?")
    said = asking.chosen([f"{table.name}: {table.title}" for table in tables], None, "Enter or l = none of these.")
    if said and said.isdecimal() and 1 <= int(said) <= len(tables):
        return tables[int(said) - 1].name
    return said if said in place.registry.tables else None
