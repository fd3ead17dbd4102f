"""The conversation of `stillroom look` on a terminal: each file as it would land, what to ask, and the settings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from stillroom.cli import asking
from stillroom.cli.common import counted
from stillroom.cli.look_asking import Way, ask, confirmed, table_asked
from stillroom.cli.speaking import progress_bar, say, show
from stillroom.errors import StillroomError
from stillroom.words import listed

if TYPE_CHECKING:
    from stillroom.api import OpenHouse
    from stillroom.looking.gathering import Alike, Gathered
    from stillroom.looking.seen import Look

PARTNERS: Final = {
    "spec_line": ("spec",),
    "spec": ("spec_line",),
    "batch": ("batch_event",),
    "batch_event": ("batch",),
}
"""Table -> tables that the rows of one book fill, too."""
ASKED_OF_ALL: Final = {"kind", "yield_amount"}
"""What of such rows may be said of all at once; where more is missing, they are none of that table."""
NEEDS_TABLE: Final = "--table"
"""Stands in the sentence by which a file is refused that no table is near."""


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
    for group in found.groups:
        if group.lead.there_already and group.lead.questions:
            place = _answered(place, group.lead)
    left, settled = 0, len(found.groups) - len(new)
    for number, group in enumerate(new, 1):
        show(f"\n{f' {number} of {len(new)} ':-^80}")
        way = Way(path=group.lead.path, how={"kin": group.kin}, said=dict(group.said))
        place, done = _settled(place, way, way.look(place), group)
        left, settled = left + (not done), settled + done
    for path, reason in found.refused.items():
        if NEEDS_TABLE in reason:
            show(f"\n{'':-^80}")
            place, done = _of_unknown_kind(place, Way(path=Path(path), how={}), reason)
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


def _answered(place: OpenHouse, seen: Look) -> OpenHouse:
    """Ask what is open of a file that a source reads already, and write it into the settings of that source."""
    from stillroom.looking.card import facts_text, result_text

    show(f"\n{'':-^80}\n{facts_text(seen)}")
    way = Way(path=seen.path, how={})
    while open_ones := [one for one in seen.questions if one.key not in way.said.keys() | way.passed]:
        ask(way, open_ones[0])
        key = open_ones[0].key
        if key in way.said:
            try:
                place = place.answer(seen, key, way.said[key])
            except StillroomError as error:
                say(f"  {error}")
                del way.said[key]
                continue
            say(f"Written to stillroom.toml: {key} of source '{seen.source}'.")
            seen = place.look(seen.path)
    show(result_text(seen))
    return place


def _settled(place: OpenHouse, way: Way, seen: Look, group: Alike | None = None) -> tuple[OpenHouse, bool]:
    """Ask until a file is settled, and write its settings; then the same of the sheets that it leaves."""
    from stillroom.looking.card import facts_text

    show(facts_text(seen))
    if group and len(group.looks) > 1:
        say(f"  Read alike: {listed([one.file for one in group.looks[1:]], 3)}.\n")
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
            ask(way, open_ones[0])
        else:
            show(result_text(seen))
            if seen.missing:
                say(f"Left out: nothing can land without {', '.join(seen.missing)}.")
                return place, seen, False
            word = confirmed(place, way)
            if word == "skip":
                say("Left out; nothing was written for it.")
                return place, seen, False
            if word == "yes":
                return _written(place, seen)
        try:
            again = way.look(place)
        except StillroomError as error:
            say(f"  {error}")
            way.how, way.said = before
            continue
        if (again.table, again.columns) != (seen.table, seen.columns):
            show(facts_text(again))
        seen = again


def _written(place: OpenHouse, seen: Look) -> tuple[OpenHouse, Look, bool]:
    try:
        place = place.adopt(replace(seen, companion=None))  # that is shown by itself, and asked about
    except StillroomError as error:
        say(f"{error} It is left out.")
        return place, seen, False
    names = ", ".join(seen.files) or str(seen.path)
    say(f"Written to stillroom.toml: source '{seen.source}' reads {names} into {seen.table}.")
    return place, seen, True


def _other_sheets(place: OpenHouse, way: Way, sheets: tuple[str, ...]) -> tuple[OpenHouse, bool]:
    """The sheets of a workbook that the first source leaves: each kind by a source of its own."""
    other = Way(path=way.path, how={**way.how, "sheets": sheets})
    show(f"\n{'':-^80}")
    try:
        return _settled(place, other, other.look(place))
    except StillroomError as error:
        names = ", ".join(f"'{sheet}'" for sheet in sheets)
        say(f"Not read: sheet {names}.")
        place, _ = _of_unknown_kind(place, other, str(error))
        return place, True


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
        own = {heading for several in seen.columns.values() for heading in several} & {*first.unused}
        if not own and not seen.missing:
            continue  # it only reads anew what the first has told
        show(f"\nThe same rows say more, of the table {table}:")
        place, _ = _settled(place, other, seen)
    return place


def _of_unknown_kind(place: OpenHouse, way: Way, reason: str) -> tuple[OpenHouse, bool]:
    """Ask what the rows are of a file that no table is near."""
    say(reason)
    table = table_asked(place) if NEEDS_TABLE in reason else None
    if table is None:
        say("Left out; nothing was written for it.")
        return place, False
    way.as_table(table)
    try:
        return _settled(place, way, way.look(place))
    except StillroomError as error:
        say(str(error))
        return place, False


def _take_in(place: OpenHouse) -> int:
    """Take the files in, if that is wanted, and ask of the till's names what no drink explains."""
    from stillroom.cli import days_asked, intakes, matching

    show("")
    if not asking.yes("Take the files in now?"):
        show("Next: stillroom intake")
        return 0
    code = intakes.take_in(place)
    code = days_asked.talk(place, code)
    if place.unmatched() and asking.yes("Say now what these till names are?"):
        matching.talk(place)
    return code
