"""How commands speak: all that they print passes here, so that nothing in a file or a name steers a terminal.

While a house is open, what anyone else prints (a plugin, a program that it starts) goes to standard error: what is on
standard output is the command's own, and JSON there is whole.
"""

from __future__ import annotations

import json
import os
import sys
import textwrap
from collections.abc import Collection, Iterator
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING, Any, TextIO

from stillroom.errors import UsageError
from stillroom.naming import harmless
from stillroom.words import WIDTH

if TYPE_CHECKING:
    from pathlib import Path

    from stillroom.intake.outcome import Progress
    from stillroom_reports.paper.typesetting import Printed


def say(text: str, *, err: bool = False) -> None:
    """Sentences for people: parted between words where a terminal shows them, whole where a file or a program reads."""
    if _Kept.noted is not None:
        _Kept.noted.append((text, err))
    text = harmless(text)
    if is_terminal(err=err):
        text = "\n".join(map(filled, text.splitlines()))
    _write(f"{text}\n", err=err)


@contextmanager
def noting() -> Iterator[list[tuple[str, bool]]]:
    """Within it sentences that are said are noted, too, with whether on standard error: to be said again."""
    noted: list[tuple[str, bool]] = []
    _Kept.noted = noted
    try:
        yield noted
    finally:
        _Kept.noted = None


def show(text: str, *, colours: Collection[str] = (), nl: bool = True, err: bool = False) -> None:
    """Text for people whose lines are laid out already; `colours` are our own codes in it, `nl` ends it with a line."""
    _write(harmless(text, colours) + "\n" * nl, err=err)


def ask(prompt: str) -> str:
    """The line that is typed behind a prompt.

    Raises:
        EOFError: input has ended.
    """
    _write(harmless(prompt))
    return input()


def hand_over(text: str) -> None:
    """What a program reads, such as CSV: as it is, unless it is a terminal that reads it."""
    _write((harmless(text) if is_terminal() else text) + "\n")


def write_json(value: Any) -> None:
    """One JSON document on standard output."""
    hand_over_json(json.dumps(value, ensure_ascii=False, indent=2, default=str, allow_nan=False))


def hand_over_json(text: str) -> None:
    """A JSON document as text: in JSON every character can be spelt out, and is then the same one."""
    if _fitting(text, _stream(err=False)) != text:
        text = "".join(c if c.isascii() else json.dumps(c)[1:-1] for c in text)
    _write("".join(c if c == "\n" or harmless(c) == c else json.dumps(c)[1:-1] for c in text) + "\n")


def write_paper(printed: Printed, out: Path) -> None:
    """Write what is to be printed; signs that no font has are named on standard error."""
    from stillroom.files import write_whole

    write_whole(out, printed.pdf)
    for fault in printed.faults:
        say(fault, err=True)
    show(f"Wrote {out.resolve()}")


def wants_colour() -> bool:
    """Whether standard output is a terminal that may be coloured: see no-color.org."""
    return is_terminal() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


@contextmanager
def progress_bar(*, quiet: bool) -> Iterator[Progress]:
    """A bar on a terminal; nothing elsewhere, where the lines themselves are enough."""
    if quiet or not is_terminal(err=True):
        yield lambda name, done, about: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn

    columns = (TextColumn("{task.description}", markup=False), BarColumn(bar_width=30), TaskProgressColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bars:
        task = bars.add_task("", total=None)

        def show(name: str, done: int, about: int) -> None:
            bars.update(task, description=harmless(name), completed=done, total=max(about, done))

        yield show


def filled(line: str) -> str:
    """A line as lines of 80 columns, parted between words."""
    return textwrap.fill(line, WIDTH, subsequent_indent="    ", break_long_words=False, break_on_hyphens=False)


def is_terminal(*, err: bool = False) -> bool:
    """Whether somebody looks at standard output (or error) as it is written."""
    stream = _stream(err=err)
    return stream is not None and stream.isatty()


def _write(text: str, *, err: bool = False) -> None:
    stream = _stream(err=err)
    if stream is None:  # the caller has closed it
        return
    try:
        stream.write(_fitting(text, stream))
        stream.flush()
    except OSError as error:
        _say_no_more(stream)  # and go on: a reader that has heard enough stops no intake
        if not err and not isinstance(error, BrokenPipeError):
            raise UsageError(f"Standard output cannot be written: {error.strerror or error}.") from None


def _fitting(text: str, stream: TextIO | None) -> str:
    """The text with the characters spelt out that a stream cannot hold, such as one of an old terminal."""
    encoding = getattr(stream, "encoding", None) or "utf-8"
    return text.encode(encoding, "backslashreplace").decode(encoding)


def _say_no_more(stream: TextIO) -> None:
    with suppress(OSError, ValueError):  # it is no file of the system's
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)


# Who has standard output -------------------------------------------------------------------------------------


class _Kept:
    """Standard output as we have it, once it has been taken from the others; whether it may be. What is noted."""

    ours: TextIO | None = None
    may_be: bool = False
    noted: list[tuple[str, bool]] | None = None


def _stream(*, err: bool) -> TextIO | None:
    return sys.stderr if err else _Kept.ours or sys.stdout


@contextmanager
def standard_output() -> Iterator[None]:
    """Within it `keep_to_ourselves` has an effect; at its end all is as before."""
    theirs, _Kept.may_be = sys.stdout, True
    try:
        yield
    finally:
        ours, _Kept.ours, _Kept.may_be, sys.stdout = _Kept.ours, None, False, theirs
        if ours is not None and ours is not theirs:
            os.dup2(ours.fileno(), theirs.fileno())
            with suppress(OSError):  # what it could not hold has been told
                ours.close()


def keep_to_ourselves() -> None:
    """From now on what others print goes to standard error, also from programs that they start."""
    theirs, others = sys.stdout, sys.stderr
    if not _Kept.may_be or _Kept.ours is not None or theirs is None or others is None:
        return
    _Kept.ours, sys.stdout = theirs, others
    with suppress(OSError, ValueError):  # it is no file of the system's, as in a notebook
        theirs.flush()
        to, away = theirs.fileno(), others.fileno()
        _Kept.ours = os.fdopen(os.dup(to), "w", encoding=theirs.encoding, errors=theirs.errors)
        os.dup2(away, to)
