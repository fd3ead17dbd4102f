"""The command that looks at a file before it is taken in: look."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from stillroom.cli import asking
from stillroom.cli.asking import AnswerOption, AnswersOption
from stillroom.cli.common import HouseOption, JsonOption, open_house
from stillroom.cli.speaking import progress_bar, say, show, write_json
from stillroom.errors import SettingsError, UsageError
from stillroom.naming import for_a_shell
from stillroom.words import listed

if TYPE_CHECKING:
    from collections.abc import Mapping

    from stillroom.api import OpenHouse
    from stillroom.house.house import House
    from stillroom.looking.seen import Look


def look(
    files: Annotated[list[Path], typer.Argument(metavar="FILE...", help="Files to look at, or folders of files.")],
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
    """Show how files would be taken in, what would be set aside, and ask what only you know; write the settings.

    On a terminal it is a conversation: Enter takes the best guess, and nothing is written before you say so. Elsewhere
    it shows each file and what it asks; answers come from --answer or --answers (of one file among several, in a table
    under its name; of all, about what a file does not say itself), and --write adds the settings. Exit code: 0 all
    would land, 1 some would not or you have to choose, 2 it cannot be read.
    """
    place = open_house(house)
    said = asking.answers_of(answers, answer or [])
    how: dict[str, Any] = {"source": source, "plugin": plugin, "table": table}
    several = len(files) > 1 or files[0].is_dir()
    if several and any(how.values()):
        raise UsageError("--source, --plugin and --table are for one file; name it alone.")
    if asking.on_a_terminal() and not (as_json or write):
        from stillroom.cli import look_talk

        raise typer.Exit(look_talk.talk(place, files, said, how))
    if several:
        raise typer.Exit(_several(place, files, said, write=write, as_json=as_json))
    from stillroom.looking.card import card_text, card_values
    from stillroom.looking.gathering import answers_for

    with progress_bar(quiet=as_json) as progress:
        seen = place.look(files[0], **how, answers=answers_for(files[0], said), progress=progress)
    if as_json:
        written = write and _write(place, seen, source)
        write_json({**card_values(seen), "written": written})
    else:
        show(card_text(seen))
        written = write and _write(place, seen, source)
        show(_next_step(place.settings, seen, written, answers_for(files[0], said)))
    raise typer.Exit(seen.exit_code)


def _several(place: OpenHouse, files: list[Path], said: dict[str, object], *, write: bool, as_json: bool) -> int:
    """Look at several files; of those that are alike, one is shown. Gives the exit code."""
    from stillroom.looking.card import card_text, card_values

    with progress_bar(quiet=as_json) as progress:
        found = place.look_at_several(files, answers=said, progress=progress)
    shown = []
    for group in found.groups:
        path = group.lead.path
        seen = place.look(path, kin=group.kin, answers=group.said)
        written = write and not seen.there_already and not seen.missing
        place = _adopted(place, seen) if written else place
        names = [one.file for one in group.looks]
        shown.append({**card_values(seen), "alike": names[1:], "written": written})
        if not as_json:
            show(card_text(seen))
            say(f"Read alike: {listed(names[1:], 3)}." if names[1:] else "", err=False)
            show(_next_step(place.settings, seen, written, group.said) + "\n")
    if as_json:
        write_json({"files": shown, "refused": found.refused})
    else:
        for reason in found.refused.values():
            say(reason, err=True)
    if not found.groups:
        return 2
    return 1 if found.refused or any(one["exit_code"] for one in shown) else 0


def _write(house: OpenHouse, seen: Look, source: str | None) -> bool:
    """Write the settings; False where none are needed."""
    if any(one.name == source for one in house.settings.sources):
        raise SettingsError(
            f"A source '{source}' is in stillroom.toml already; nothing was written. Give another name with --source."
        )
    if seen.there_already:
        return False
    _adopted(house, seen)
    return True


def _adopted(house: OpenHouse, seen: Look) -> OpenHouse:
    """The house with the source that was shown, and with that of the other table which the same rows fill."""
    house = house.adopt(seen)
    other = seen.companion
    return house if other is None or other.missing else house.adopt(other)


def _next_step(house: House, seen: Look, written: bool, said: Mapping[str, str]) -> str:
    take = f"stillroom intake {for_a_shell(str(seen.path))}"
    take += "" if seen.named else f" --source {shlex.quote(seen.source)}"
    if seen.there_already and said:
        return (
            f"Source '{seen.source}' reads it as {house.folder / 'stillroom.toml'} says, and what was answered changes "
            "nothing: change it there."
        )
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
