"""Commands about what is taken in: intake, ledger, aside."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stillroom.cli.common import HouseOption, JsonOption, open_house
from stillroom.cli.outcomes import exit_code, found_nothing_new, sum_up, tell
from stillroom.cli.speaking import filled, noting, progress_bar, say, show, write_json
from stillroom.naming import for_a_shell, typed

if TYPE_CHECKING:
    from stillroom.api import OpenHouse
    from stillroom.intake.nothing_new import Said
    from stillroom.intake.outcome import Outcome


def intake(
    files: Annotated[list[Path] | None, typer.Argument(help="Files to take in; else all the settings name.")] = None,
    house: HouseOption = Path(),
    source: Annotated[str | None, typer.Option("--source", help="Read FILES as this source.")] = None,
    as_json: JsonOption = False,
) -> None:
    """Take files in: good rows land, bad rows are set aside with the reason.

    Exit code: 0 all landed, 1 some rows or files set aside, 2 nothing could be done.
    """
    place = open_house(house)
    if as_json:
        raise typer.Exit(_in_json(place, files or (), source))
    raise typer.Exit(take_in(place, files or (), source))


def take_in(place: OpenHouse, files: Sequence[Path] = (), source: str | None = None) -> int:
    """Take files in, tell what became of each, and sum up; gives the exit code."""

    def work() -> tuple[list[Outcome], Said]:
        with noting() as sentences:
            with progress_bar(quiet=False) as progress:
                outcomes = place.intake(files, source=source, progress=progress, tell=tell)
            sum_up(place.settings.folder, outcomes, place.unmatched(), place.remarks())
        return outcomes, {"sentences": sentences, "exit_code": exit_code(outcomes)}

    told, is_known = _known_or_taken_in(place, "said", work, anything_named=bool(files or source))
    if is_known:
        for text, err in told["sentences"]:
            say(text, err=err)
    return int(told["exit_code"])


def _in_json(place: OpenHouse, files: Sequence[Path], source: str | None) -> int:
    """As `take_in`, as one JSON document."""

    def work() -> tuple[list[Outcome], Said]:
        outcomes = place.intake(files, source=source)
        names = [asdict(name) for name in place.unmatched()]
        told = {"files": [asdict(o) for o in outcomes], "unmatched": names, "remarks": place.remarks()}
        return outcomes, told | {"exit_code": exit_code(outcomes)}

    told, _ = _known_or_taken_in(place, "json", work, anything_named=bool(files or source))
    write_json(told)
    return int(told["exit_code"])


def _known_or_taken_in(
    place: OpenHouse, form: str, work: Callable[[], tuple[list[Outcome], Said]], *, anything_named: bool
) -> tuple[Said, bool]:
    """What an intake has to say, and whether that was known: of all that the settings name, if there is nothing new."""
    from stillroom.intake.nothing_new import watched

    if anything_named:
        return work()[1], False
    watch = watched(place.settings, place.registry, form)
    if (kept := watch.said()) is not None:
        return kept, True
    outcomes, told = work()
    if found_nothing_new(outcomes):
        watch.keep(told)
    return told, False


def ledger(house: HouseOption = Path(), as_json: JsonOption = False) -> None:
    """List every intake: which file, how many rows, and whether it still stands."""
    lines = open_house(house).ledger()
    if as_json:
        write_json([{**asdict(line.entry), "state": line.state, "first_day": line.first_day} for line in lines])
        return
    if not lines:
        say("The ledger is empty: nothing has been taken in yet.")
        return
    show(f"{'id':>4}  {'table':<12} {'read':>9} {'landed':>9} {'aside':>6} {'passed':>6}  file")
    for line in lines:
        e = line.entry
        remarks = [*(["corrected"] if e.corrections else []), *([line.state] if line.state != "in force" else [])]
        state = f"  ({', '.join(remarks)})" if remarks else ""
        show(
            f"{e.intake_id:>4}  {e.table_name:<12} {e.rows_read:>9,} {e.rows_landed:>9,} {e.rows_set_aside:>6,} "
            f"{e.rows_passed_over:>6,}  {e.file}{state}"
        )


def aside(
    house: HouseOption = Path(),
    number: Annotated[int | None, typer.Option("--intake", help="Only this intake's rows.")] = None,
    out: Annotated[
        Path | None, typer.Option("--out", help="Write the rows into this folder as CSV, to correct.")
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """List the rows that were set aside and why; write them out to correct and take in again."""
    from stillroom.answers.aside_text import reason_text
    from stillroom.intake import corrections
    from stillroom.intake.doubtful import RULE

    rows = open_house(house).aside(number)
    if as_json:
        write_json(rows.to_dicts())
    elif rows.is_empty():
        say("Nothing is set aside.")
    else:
        for row in rows.iter_rows(named=True):
            show(filled(f"{row['file']}, row {row['row_number']}: {reason_text(row)}"))
        for file in dict.fromkeys(rows.filter(rule=RULE)["file"]):
            show(f"If a day is right though doubtful: {typed(f'stillroom confirm {for_a_shell(file)} ROW')}.")
    if out is not None and not rows.is_empty():
        texts = {
            f"aside-{intake_id}-{Path(group['file'][0]).stem}.csv": corrections.as_csv(group)
            for (intake_id,), group in rows.group_by("intake_id", maintain_order=True)
        }
        corrections.write(out, texts)
        for path in (out / name for name in texts):
            show(f"Wrote {path}: correct it, then 'stillroom intake {path}'.", err=as_json)
