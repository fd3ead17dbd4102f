"""The command line: `stillroom COMMAND`. Heavy imports live inside the commands, so that --help is instant."""

from __future__ import annotations

import atexit
import gc
import io
import os
import signal
import sys
import traceback
from collections.abc import Callable
from contextlib import suppress
from typing import Annotated, Final, NoReturn

import typer

from stillroom import __version__
from stillroom.cli import speaking
from stillroom.errors import StillroomError, in_one_line
from stillroom.guarded import INSTANT, Failed, called

NOTHING_DONE: Final = 2
INTERRUPTED: Final = 130


def _tell_version(wanted: bool) -> None:
    if wanted:
        speaking.say(f"stillroom {__version__}")
        raise typer.Exit


def app() -> typer.Typer:
    """The command line with all its commands, in the order in which help lists them."""
    from stillroom.cli import (
        answers,
        deciding,
        doubts,
        draft,
        group,
        houses,
        intakes,
        looking,
        matching,
        menu,
        panel,
        prep_list,
        specs,
        verdict,
        verifying,
    )

    line = typer.Typer(name="stillroom", no_args_is_help=True, pretty_exceptions_enable=False, rich_markup_mode=None)
    line.callback()(_whole)
    commands: tuple[tuple[str, Callable[..., None], str], ...] = (
        ("new", houses.new, "Start a house: settings, blank templates, a short guide."),
        ("demo", houses.demo, "Write an invented house with a season of data to try things on."),
        ("look", looking.look, "Go through your files: how each would be taken in, and the settings."),
        ("intake", intakes.intake, "Take files in; bad rows are set aside with the reason."),
        ("ledger", intakes.ledger, "List every intake: which file, how many rows."),
        ("aside", intakes.aside, "List the rows set aside and why; write them out to correct."),
        ("undo", deciding.undo, "Take an intake out of force."),
        ("redo", deciding.redo, "Let a file count again that was undone."),
        ("gone", deciding.gone, "Confirm that a missing file is gone for good."),
        ("closed", deciding.closed, "Say that the house was closed on a day without sales."),
        ("confirm", deciding.confirm, "Confirm rows that were set aside for a doubtful day."),
        ("doubts", doubts.doubts, "List all that is in doubt in the data, and what mends it."),
        ("match", matching.match, "Ask which drink each till name is that none explains."),
        ("verify", verifying.verify, "Check every figure of the store against the files."),
        ("report", answers.report, "Answer questions: findings, tables and charts on one page."),
        ("show", answers.sheet, "Show the sheet of a drink, preparation or garnish."),
        ("prep-list", prep_list.prep_list, "What to make today, and how much of it."),
        ("spec", specs.spec, "Show a spec scaled: contents, cost, what to be careful of."),
        ("draft", draft.draft, "Try the next version of a spec on paper: change lines, or aim and solve."),
        ("menu", menu.menu, "The next menu: what if this goes and that comes."),
        ("verdict", verdict.verdict, "Write down what was decided: keep, rework or drop."),
    )
    for name, command, short_help in commands:
        line.command(name, short_help=short_help)(command)
    line.add_typer(panel.app, name="panel")
    line.add_typer(group.app, name="group")
    return line


def _whole(
    version: Annotated[
        bool, typer.Option("--version", is_eager=True, callback=_tell_version, help="Say which version this is.")
    ] = False,
) -> None:
    """Which house preparations sell, go to waste, or need reworking."""


def main() -> NoReturn:
    """Run the command line as a program, which ends with its command, whatever a plugin has begun that does not."""
    code = answered()
    for child in sys.modules["multiprocessing"].active_children() if "multiprocessing" in sys.modules else ():
        child.kill()  # the interpreter would wait for it, and for threads of pools
    with suppress(Failed):
        called(atexit._run_exitfuncs, INSTANT)
    for stream in (sys.stdout, sys.stderr):
        with suppress(OSError, ValueError, AttributeError):  # it is closed, or there is none
            stream.flush()
    os._exit(code)


def answered() -> int:
    """Run the command line; every expected fault is one line on standard error and exit code 2."""
    choose_threads_and_memory()
    # Importing makes hundreds of thousands of objects that stay: to search them for cycles all the while takes a tenth
    # of a command's time.
    gc.set_threshold(50_000, 20, 20)
    pressed = _noting_ctrl_c()
    with speaking.standard_output():
        try:
            code = typer.main.get_command(app()).main(standalone_mode=False)
        except (Exception, KeyboardInterrupt) as error:
            code = INTERRUPTED if pressed or isinstance(error, typer.Abort) else _explained(error)
    if code == INTERRUPTED:  # typer, too, turns Ctrl-C into this code without a word
        speaking.say("Stopped. What had been finished stays; nothing was left half-written.", err=True)
    return code if isinstance(code, int) else 0


def choose_threads_and_memory() -> None:
    """Tell libraries that are still to be loaded how to work, unless the environment says otherwise."""
    # Our matrices are small: threads that wait for work on them cost up to twice the work, and hold up other programs.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # polars gives memory back to the system half a second after its last use, and an intake asks for it again with its
    # next piece: a fifth of an intake's processor time was spent on that. The allocator's own default is ten seconds.
    os.environ.setdefault("_RJEM_MALLOC_CONF", "dirty_decay_ms:10000")


def _noting_ctrl_c() -> list[int]:
    """Becomes non-empty when Ctrl-C is pressed: a library in whose code that happens may raise whatever it likes."""
    pressed: list[int] = []

    def note(number: int, frame: object) -> NoReturn:
        pressed.append(number)
        raise KeyboardInterrupt

    signal.signal(signal.SIGINT, note)
    return pressed


def _explained(error: BaseException) -> int:
    """Say what went wrong; returns the exit code."""
    if isinstance(error, StillroomError):
        speaking.say(str(error).replace("\n", "\\n"), err=True)
    elif isinstance(error, typer.TyperException):
        told = io.StringIO()
        error.show(told)  # type: ignore[attr-defined]  # a wrong option or argument: the usage line says what is right
        speaking.show(told.getvalue(), nl=False, err=True)
    elif isinstance(error, FileNotFoundError) and _is_nowhere():
        speaking.say("The folder you are in is gone: go to another.", err=True)
    else:
        if os.environ.get("STILLROOM_DEBUG"):
            traceback.print_exception(error)
        what = in_one_line(error)
        speaking.say(
            f"This is a fault in Stillroom ({what}). Set STILLROOM_DEBUG=1 for its whole trace, and please report it.",
            err=True,
        )
    return NOTHING_DONE


def _is_nowhere() -> bool:
    """Whether the folder one is in has been deleted, so that no path has a beginning."""
    try:
        os.getcwd()
    except FileNotFoundError:
        return True
    return False
