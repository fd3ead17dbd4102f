"""The command line: `stillroom COMMAND`. Heavy imports live inside the commands, so that --help is instant."""

from __future__ import annotations

import os
import sys
import traceback
from typing import Final

import typer

from stillroom.errors import StillroomError

NOTHING_DONE: Final = 2
INTERRUPTED: Final = 130
STOPPED: Final = "Stopped. What had been finished stays; nothing was left half-written."


def _app() -> typer.Typer:
    from stillroom.cli import answers, houses, intakes, panel, prep_list, specs

    app = typer.Typer(
        name="stillroom",
        help="Which house preparations sell, go to waste, or need reworking.",
        no_args_is_help=True,
        add_completion=False,
        pretty_exceptions_enable=False,
        rich_markup_mode=None,
    )
    for module in (houses, intakes, answers, prep_list, specs, panel):
        module.add_to(app)
    return app


def main() -> None:
    """Run the command line; every expected fault is one line on standard error and exit code 2."""
    command = typer.main.get_command(_app())
    try:
        code = command.main(standalone_mode=False)
        if code == INTERRUPTED:  # typer turns Ctrl-C into this code without a word
            _say(STOPPED)
    except StillroomError as error:
        _say(str(error))
        code = NOTHING_DONE
    except (typer.Abort, KeyboardInterrupt):
        _say(STOPPED)
        code = INTERRUPTED
    except typer.TyperException as error:
        error.show()  # type: ignore[attr-defined]  # a wrong option or argument: the usage line says what is right
        code = NOTHING_DONE
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        code = 0
    except Exception as error:
        if os.environ.get("STILLROOM_DEBUG"):
            traceback.print_exc()
        what = f"{type(error).__name__}: {' '.join(str(error).split())}"
        _say(f"This is a fault in Stillroom ({what}). Set STILLROOM_DEBUG=1 for its whole trace, and please report it.")
        code = NOTHING_DONE
    sys.exit(code if isinstance(code, int) else 0)


def _say(text: str) -> None:
    typer.echo(text, err=True)
