"""Commands about what is taken in: intake, undo, redo, gone, ledger, aside."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stillroom.cli.common import (
    WIDTH,
    HouseOption,
    JsonOption,
    counted,
    open_house,
    progress_bar,
    say,
    write_json,
)

if TYPE_CHECKING:
    from stillroom.answers.matching.open_names import OpenName
    from stillroom.intake.outcome import Outcome

SHOWN_NAMES = 10


def add_to(app: typer.Typer) -> None:
    """Register the commands."""
    app.command("intake", short_help="Take files in; bad rows are set aside with the reason.")(intake)
    app.command("undo", short_help="Take an intake out of force.")(undo)
    app.command("redo", short_help="Let a file count again that was undone.")(redo)
    app.command("gone", short_help="Confirm that a missing file is gone for good.")(gone)
    app.command("ledger", short_help="List every intake: which file, how many rows.")(ledger)
    app.command("aside", short_help="List the rows set aside and why; write them out to correct.")(aside)


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
    with progress_bar(quiet=as_json) as progress:
        tell = (lambda outcome: None) if as_json else _tell
        outcomes = place.intake(files or (), source=source, progress=progress, tell=tell)
    unmatched = place.unmatched()
    code = _exit_code(outcomes)
    if as_json:
        write_json(
            {
                "files": [asdict(o) for o in outcomes],
                "unmatched": [asdict(name) for name in unmatched],
                "exit_code": code,
            }
        )
    else:
        _sum_up(place.settings.folder, outcomes, unmatched)
    raise typer.Exit(code)


def undo(
    which: Annotated[str, typer.Argument(help="Number of the intake, as 'stillroom ledger' shows it, or the file.")],
    house: HouseOption = Path(),
) -> None:
    """Take an intake out of force; what it had superseded counts again. 'stillroom redo' brings it back."""
    done = open_house(house).undo(which)
    entry = done.entry
    if done.withdrawn:
        rows = counted(len(done.withdrawn), "corrected row")
        typer.echo(f"Undone: {rows} of {entry.file}; it counts as it was read before.")
    else:
        typer.echo(f"Undone: intake {entry.intake_id}, {entry.file}, {counted(entry.rows_landed, 'row')}.")


def redo(
    which: Annotated[str, typer.Argument(help="Number of the intake, as 'stillroom ledger' shows it, or the file.")],
    house: HouseOption = Path(),
) -> None:
    """Let a file count again that was undone, and take in what it needs. Exit code: as of intake."""
    place = open_house(house)
    with progress_bar(quiet=False) as progress:
        outcomes = place.redo(which, progress=progress, tell=_tell)
    typer.echo("Redone: it counts again.")
    raise typer.Exit(_exit_code(outcomes))


def gone(
    file: Annotated[str, typer.Argument(help="The file, as 'stillroom ledger' shows it.")],
    house: HouseOption = Path(),
) -> None:
    """Confirm that a file which is missing is gone for good: its rows count no longer."""
    for done in open_house(house).gone(file):
        entry = done.entry
        typer.echo(f"Gone: {entry.file}, {counted(entry.rows_landed, 'row')} (intake {entry.intake_id}).")


def ledger(house: HouseOption = Path(), as_json: JsonOption = False) -> None:
    """List every intake: which file, how many rows, and whether it still stands."""
    lines = open_house(house).ledger()
    if as_json:
        write_json([{**asdict(line.entry), "state": line.state, "first_day": line.first_day} for line in lines])
        return
    if not lines:
        typer.echo("The ledger is empty: nothing has been taken in yet.")
        return
    typer.echo(f"{'id':>4}  {'table':<12} {'read':>9} {'landed':>9} {'aside':>6} {'passed':>6}  file")
    for line in lines:
        e = line.entry
        remarks = [*(["corrected"] if e.corrections else []), *([line.state] if line.state != "in force" else [])]
        state = f"  ({', '.join(remarks)})" if remarks else ""
        typer.echo(
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

    rows = open_house(house).aside(number)
    if as_json:
        write_json(rows.to_dicts())
    elif rows.is_empty():
        typer.echo("Nothing is set aside.")
    else:
        for row in rows.iter_rows(named=True):
            _tell_aside(f"{row['file']}, row {row['row_number']}: {reason_text(row)}")
    if out is not None and not rows.is_empty():
        for (intake_id,), group in rows.group_by("intake_id", maintain_order=True):
            path = out / f"aside-{intake_id}-{Path(group['file'][0]).stem}.csv"
            corrections.write(path, corrections.as_csv(group))
            typer.echo(f"Wrote {path}: correct it, then 'stillroom intake {path}'.", err=as_json)


def _exit_code(outcomes: list[Outcome]) -> int:
    if not outcomes or all(outcome.status == "refused" for outcome in outcomes):
        return 2
    left_out = any(outcome.status == "refused" or outcome.rows_set_aside for outcome in outcomes)
    return 1 if left_out else 0


def _tell(outcome: Outcome) -> None:
    from stillroom.naming import for_a_shell

    if outcome.status == "refused":
        say(outcome.problem, err=True)
        return
    if outcome.status == "no rows yet":
        return  # blank templates: the sum counts them
    if outcome.status == "missing":
        say(f"{outcome.file} {outcome.problem}. Is it gone for good? 'stillroom gone {for_a_shell(outcome.file)}'.")
        return
    if outcome.status != "landed":
        say(f"{outcome.file}: {outcome.problem}.")
        return
    parts = [f"{counted(outcome.rows_landed, 'row')} landed in {outcome.table}"]
    if outcome.rows_set_aside:
        parts.append(f"{outcome.rows_set_aside:,} set aside")
    if outcome.rows_corrected:
        parts.append(f"{outcome.rows_corrected:,} corrected by hand")
    if outcome.rows_passed_over:
        parts.append(f"{outcome.rows_passed_over:,} passed over")
    if outcome.superseded:
        parts.append(f"{counted(outcome.superseded, 'earlier row')} superseded")
    say(f"{outcome.file}: {', '.join(parts)} (intake {outcome.intake_id}).")
    if outcome.was:
        say(f"  It is {outcome.was} under another name.")
    if outcome.corrected_by:
        say(f"  It is read with the corrections of {outcome.corrected_by}.")
    elif outcome.replaced_intake is not None:
        say(f"  It is read differently now, and takes the place of intake {outcome.replaced_intake}.")
    if outcome.kept_of_older:
        rows = counted(outcome.kept_of_older, "row")
        say(f"  {rows} of earlier editions of this file still count: this one says nothing in their place.")
    for what, names in (("Gone from it", outcome.went), ("New in it", outcome.came)):
        if names:
            say(f"  {what}: {'; '.join(names[:SHOWN_NAMES])}{_and_more(names)}.")
    if outcome.unused:
        say(f"  Not used: {', '.join(outcome.unused)}.")


def _and_more(names: tuple[str, ...]) -> str:
    return f" and {len(names) - SHOWN_NAMES:,} more" if len(names) > SHOWN_NAMES else ""


def _sum_up(folder: Path, outcomes: list[Outcome], unmatched: list[OpenName]) -> None:
    if not outcomes:
        typer.echo(f"No files to take in: none that {folder / 'stillroom.toml'} names is there.", err=True)
        return
    bad = sum(outcome.rows_set_aside for outcome in outcomes)
    landed = sum(outcome.rows_landed for outcome in outcomes)
    refused = sum(outcome.status == "refused" for outcome in outcomes)
    typer.echo(f"{counted(landed, 'row')} landed, {bad:,} set aside, {counted(refused, 'file')} refused.")
    blank = sum(outcome.status == "no rows yet" for outcome in outcomes)
    if blank:
        typer.echo(f"{counted(blank, 'file')} of headings alone, and no rows yet.")
    if bad:
        typer.echo("'stillroom aside' says why.")
    if unmatched:
        lines = sum(name.lines for name in unmatched)
        typer.echo(f"{counted(len(unmatched), 'till name')} without a match ({counted(lines, 'line')}):")
        for name in unmatched[:SHOWN_NAMES]:
            guess = f" - perhaps {name.likely.spec or 'not one of ours'}?" if name.likely else ""
            typer.echo(f"  {name.till_item} ({counted(name.lines, 'line')}){guess}")
        if len(unmatched) > SHOWN_NAMES:
            typer.echo(f"  and {len(unmatched) - SHOWN_NAMES} more")
        typer.echo("'stillroom match' asks what they are; until then they count in no drink.")


def _tell_aside(text: str) -> None:
    import textwrap

    harmless = "".join(character if character.isprintable() else "�" for character in text)
    for line in textwrap.wrap(harmless, WIDTH, subsequent_indent="    ", break_on_hyphens=False):
        typer.echo(line)
