"""What only the keeper of a file knows: questions with what they may be, a best guess, and answers put into settings.

A question's key is what answers it: a setting of the source (`date_format`, `decimal`, `year`, `tax_pct`), or a column,
for which a heading of the file may be named or what every row says. Answers come from flags, from a file, or from a
conversation; all go through `answered`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from pydantic import ValidationError

from stillroom.errors import UsageError
from stillroom.house.model import SourceSettings
from stillroom.house.toml import toml
from stillroom.looking.handwriting import SOME_YEAR

NONE: Final = "none"
"""An answer that names none of several."""
YES_OR_NO: Final = {"yes": True, "no": False, "true": True, "false": False}
Setter = Callable[[str], Any]


def _several(said: str) -> tuple[str, ...]:
    return tuple(word for part in said.split(";") if (word := part.strip()))


SETTINGS: Final[dict[str, Setter]] = {
    "date_format": str,
    "decimal": str,
    "year": int,
    "year_turns": lambda said: YES_OR_NO[said.casefold()],
    "oz": str,
    "gallon": str,
    "tax_pct": float,
    "time_zone": str,
    "dates_are": str,
    "voids": str,
    "shares": lambda said: () if said == NONE else _several(said),
    "totals": _several,
    "sheet": _several,
    "headings_are": str,
}
"""Settings of a source that an answer may be: how its text is read; of several, with a semicolon between."""
FEW: Final = 8  # words to choose from
BY_ROW: Final = ("kind", "(by row)")
"""Some rows are of drinks and some of preparations, and tell which."""
ONE_SERVE: Final = ("kind", "drink")
"""What makes one serve, unless something else is said."""


@dataclass(frozen=True, kw_only=True)
class Option:
    """One thing that it may be."""

    value: str
    label: str
    """The same for people."""


@dataclass(frozen=True, kw_only=True)
class Question:
    """What only the file's keeper knows."""

    key: str
    text: str
    options: tuple[Option, ...] = ()
    """Empty where anything may be said."""
    default: str | None = None
    """The best guess, for a person to confirm: it counts for nothing until somebody says it."""
    why: str = ""
    """What speaks for the best guess."""
    needed: bool = True
    """False: unless it is answered, the file is read as the default says."""

    @property
    def guess(self) -> str | None:
        """The best guess for people."""
        return next((option.label for option in self.options if option.value == self.default), self.default)

    @property
    def choices(self) -> tuple[str, ...]:
        """The options for people, with the setting that each is."""
        if self.key not in SETTINGS:
            return tuple(option.label for option in self.options)
        return tuple(
            f"{option.label}: {self.key} = {toml(SETTINGS[self.key](option.value))}" for option in self.options
        )


def answered(
    settings: SourceSettings,
    answers: Mapping[str, str],
    headings: Sequence[str],
    columns: Mapping[str, Sequence[str]],
) -> SourceSettings:
    """The settings with what was answered.

    Args:
        settings: as proposed.
        answers: question's key -> what was said.
        headings: the file's.
        columns: the table's, each with the words that it may hold (none: any may stand); such a word is no heading.

    Raises:
        UsageError: an answer to what is no question, or one that cannot be right.
    """
    by_name = {heading.casefold(): heading for heading in headings}
    for key, said in answers.items():
        if key == "headings_are":
            continue  # which the guess has heeded: it tells what else is asked
        if (key, said) == BY_ROW:
            settings = settings.model_copy(update={"kinds_by_row": True})
            continue
        if key in SETTINGS:
            settings = _with_setting(settings, key, said)
        elif key in columns:
            mapped = {name: several for name, several in settings.columns.items() if name != key}
            constants = {name: value for name, value in settings.constants.items() if name != key}
            several = None if said in columns[key] else named_headings(said, by_name)
            if several is not None:
                mapped[key] = several
            else:
                constants[key] = said
            if (key, said.casefold()) == ONE_SERVE and "yield_amount" not in {*mapped, *constants, *answers}:
                constants["yield_amount"] = "1 serve"
            settings = settings.model_copy(update={"columns": mapped, "constants": constants})
        else:
            known = ", ".join((*SETTINGS, *columns))
            raise UsageError(f"'{key}' is no question of this file; there are: {known}.")
    return settings


def named_headings(said: str, by_name: Mapping[str, str]) -> tuple[str, ...] | None:
    """The heading that is named, or several with a + between them; None where it is none."""
    if said.casefold() in by_name:
        return (by_name[said.casefold()],)
    parts = [by_name.get(part.strip().casefold()) for part in said.split("+")]
    return tuple(part for part in parts if part) if len(parts) > 1 and all(parts) else None


def _with_setting(settings: SourceSettings, key: str, said: str) -> SourceSettings:
    """The settings with one more, checked as those of the file are."""
    try:
        value = SETTINGS[key](said)
    except ValueError:
        raise UsageError(f"'{said}' is no answer to {key}: write a number.") from None
    except KeyError:
        raise UsageError(f"'{said}' is no answer to {key}: write yes or no.") from None
    try:
        SourceSettings(**{"name": "x", "plugin": "x", "year": settings.year or SOME_YEAR, key: value})
    except ValidationError as error:
        what = str(error.errors()[0]["msg"]).removeprefix("Value error, ")
        raise UsageError(f"'{said}' is no answer to {key}: {what}.") from None
    return settings.model_copy(update={key: value})


def of_missing(
    name: str, about: str, allowed: Sequence[str], unused: Sequence[str], default: str | None = None
) -> Question:
    """Ask for a column that no heading fits: one of its few words, else a heading, or what every row says."""
    few = [word for word in allowed if len(allowed) <= FEW]
    options = [Option(value=word, label=word) for word in few]
    options += [Option(value=heading, label=f"the column '{heading}'") for heading in unused if not few]
    return Question(key=name, text=f"what is {name} ({about})?", options=tuple(options), default=default)
