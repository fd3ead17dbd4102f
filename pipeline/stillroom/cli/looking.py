"""The command that looks at a file before it is taken in: look."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stillroom.cli import asking
from stillroom.cli.asking import AnswerOption, AnswersOption
from stillroom.cli.common import HouseOption, JsonOption, open_house, progress_bar, write_json
from stillroom.errors import SettingsError
from stillroom.naming import for_a_shell

if TYPE_CHECKING:
    from stillroom.api import OpenHouse
    from stillroom.house.house import House
    from stillroom.looking.look import Look


def add_to(app: typer.Typer) -> None:
    """Register the command."""
    app.command("look", short_help="Show how a file would be taken in, and the settings for it.")(look)


def look(
    file: Annotated[Path, typer.Argument(help="The file to look at.")],
    house: HouseOption = Path(),
    source: Annotated[
        str | None, typer.Option("--source", help="Read it as this source; else the new source's name.")
    ] = None,
    plugin: Annotated[str | None, typer.Option("--plugin", help="Read it with this plugin.")] = None,
    table: Annotated[str | None, typer.Option("--table", help="The table it fills.")] = None,
    answer: AnswerOption = None,
    answers: AnswersOption = None,
    write: Annotated[bool, typer.Option("--write", help="Add the settings shown to stillroom.toml.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Show how a file would be taken in, what would be set aside, and the settings for it.

    Nothing is taken in. Exit code: 0 all would land, 1 some would not or you have to choose, 2 it cannot be read.
    """
    from stillroom.looking.card import card_text, card_values

    opened = open_house(house)
    place = opened.settings
    with progress_bar(quiet=as_json) as progress:
        said = {key: str(value) for key, value in asking.answers_of(answers, answer or []).items()}
        seen = opened.look(file, source=source, plugin=plugin, table=table, answers=said, progress=progress)
    if as_json:
        written = write and _write(opened, seen, source)
        write_json({**card_values(seen), "written": written})
    else:
        typer.echo(card_text(seen))
        typer.echo(_next_step(place, seen, write and _write(opened, seen, source)))
    raise typer.Exit(seen.exit_code)


def _write(house: OpenHouse, seen: Look, source: str | None) -> bool:
    """Write the settings; False where none are needed."""
    from stillroom.looking.look import write_settings

    if any(one.name == source for one in house.settings.sources):
        raise SettingsError(
            f"A source '{source}' is in stillroom.toml already; nothing was written. Give another name with --source."
        )
    if seen.there_already:
        return False
    write_settings(house.settings, house.registry, seen)
    return True


def _next_step(house: House, seen: Look, written: bool) -> str:
    take = f"stillroom intake {for_a_shell(str(seen.path))}"
    take += "" if seen.named else f" --source {shlex.quote(seen.source)}"
    if seen.there_already:
        return (
            f"Next: answer what is asked, in {house.folder / 'stillroom.toml'}." if seen.questions else f"Next: {take}"
        )
    if seen.missing:
        return "Next: complete these settings, and add them by hand."
    if not written:
        return "Next: add these settings with --write, or by hand."
    answer = "answer what is asked there, then: " if seen.questions else ""
    return f"Written into {house.folder / 'stillroom.toml'}.\nNext: {answer}{take}"
