"""Questions on a terminal: a line to answer, Enter for the best guess; a file, a pipe or a script is asked nothing."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from stillroom.cli.speaking import ask, is_terminal, say
from stillroom.errors import UsageError
from stillroom.house.toml import parsed

AnswerOption = Annotated[
    list[str] | None, typer.Option("--answer", help="What you say to a question: KEY=WHAT; several times.")
]
AnswersOption = Annotated[
    Path | None, typer.Option("--answers", help='A TOML file of answers: KEY = "WHAT" in each line.')
]


def on_a_terminal() -> bool:
    """Whether somebody is there to be asked."""
    return sys.stdin is not None and sys.stdin.isatty() and is_terminal()


def asked(prompt: str = "  > ") -> str | None:
    """The line that is typed; None where input ends."""
    try:
        return ask(prompt).strip()
    except EOFError:
        say("")
        return None


def yes(question: str, *, default: bool = True) -> bool:
    """Whether a person says yes; Enter takes the default, and an end of input is a no."""
    while True:
        say(f"{question} [{'Y/n' if default else 'y/N'}]")
        said = asked()
        if said is None:
            return False
        if said.casefold() in ("", "y", "yes", "n", "no"):
            return said.casefold() in ("y", "yes") or (not said and default)
        say("  y or n.")


def chosen(options: Sequence[str], default: int | None = None, hint: str = "") -> str | None:
    """The number of one of several things, or what else is typed; Enter takes the default. None: input has ended."""
    for number, option in enumerate(options, 1):
        say(f"  {'>' if number - 1 == default else ' '} {number}  {option}")
    if hint:
        say(f"  {hint}")
    return asked()


def answers_of(file: Path | None, said: Sequence[str]) -> dict[str, object]:
    """Answers from a file, and over them those of the command line."""
    found: dict[str, object] = {}
    if file is not None:
        try:
            found = parsed(file.read_text(encoding="utf-8"))
        except (OSError, ValueError) as error:
            raise UsageError(
                f'{file}: cannot be read as answers, such as date_format = "%d/%m/%Y" ({error}).'
            ) from None
    for one in said:
        key, equals, value = one.partition("=")
        if not equals or not key.strip():
            raise UsageError(f"--answer '{one}' is no answer: write it like --answer decimal=,")
        found[key.strip()] = value.strip()
    return found
