"""What only the keeper of a file knows: questions with what they may be, a best guess, and answers put into settings.

A question's key is what answers it: a setting of the source (`date_format`, `decimal`, `year`, `tax_pct`), or a column,
for which a heading of the file may be named or what every row says. Answers come from flags, from a file, or from a
conversation; all go through `answered`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from stillroom.errors import UsageError
from stillroom.house.model import SourceSettings

Setter = Callable[[str], Any]
SETTINGS: Final[dict[str, Setter]] = {
    "date_format": str,
    "decimal": str,
    "year": int,
    "tax_pct": float,
    "time_zone": str,
    "dates_are": str,
}
"""Settings of a source that an answer may be: how its text is read."""


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

    @property
    def choices(self) -> tuple[str, ...]:
        """The options for people."""
        return tuple(option.label for option in self.options)


def answered(
    settings: SourceSettings, answers: Mapping[str, str], headings: Sequence[str], columns: Sequence[str]
) -> SourceSettings:
    """The settings with what was answered.

    Args:
        settings: as proposed.
        answers: question's key -> what was said.
        headings: the file's.
        columns: the table's.

    Raises:
        UsageError: an answer to what is no question, or one that cannot be right.
    """
    by_name = {heading.casefold(): heading for heading in headings}
    for key, said in answers.items():
        if key in SETTINGS:
            settings = settings.model_copy(update={key: _value(key, said)})
        elif key in columns:
            mapped = {name: several for name, several in settings.columns.items() if name != key}
            constants = {name: value for name, value in settings.constants.items() if name != key}
            if (heading := by_name.get(said.casefold())) is not None:
                mapped[key] = (heading,)
            else:
                constants[key] = said
            settings = settings.model_copy(update={"columns": mapped, "constants": constants})
        else:
            known = ", ".join((*SETTINGS, *columns))
            raise UsageError(f"'{key}' is no question of this file; there are: {known}.")
    return settings


def _value(key: str, said: str) -> Any:
    try:
        return SETTINGS[key](said)
    except ValueError:
        raise UsageError(f"'{said}' is no answer to {key}: write a number.") from None


def of_missing(
    name: str, about: str, allowed: Sequence[str], unused: Sequence[str], default: str | None = None
) -> Question:
    """Ask for a column that no heading fits: one of its words, a heading of the file, or what every row says."""
    options = [Option(value=word, label=word) for word in allowed if len(allowed) <= FEW]
    options += [Option(value=heading, label=f"the column '{heading}'") for heading in unused]
    return Question(key=name, text=f"what is {name} ({about})?", options=tuple(options), default=default)


FEW: Final = 8
