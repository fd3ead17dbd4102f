"""What became of files, as a terminal tells it: each as it ends, and all of them in sum."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from stillroom.cli.common import counted
from stillroom.cli.speaking import say
from stillroom.naming import for_a_shell, typed

if TYPE_CHECKING:
    from stillroom.answers.matching.open_names import OpenName
    from stillroom.intake.outcome import Outcome

SHOWN_NAMES: Final = 10


def exit_code(outcomes: list[Outcome]) -> int:
    """0 all landed, 1 some rows or files were set aside, 2 nothing could be done."""
    if not outcomes or all(outcome.status == "refused" for outcome in outcomes):
        return 2
    left_out = any(outcome.status == "refused" or outcome.rows_set_aside for outcome in outcomes)
    return 1 if left_out else 0


def found_nothing_new(outcomes: list[Outcome]) -> bool:
    """Whether all files are as they were, though they be blank, undone or missing."""
    as_before = ("unchanged", "no rows yet", "undone", "missing")
    return bool(outcomes) and all(outcome.status in as_before for outcome in outcomes)


def tell(outcome: Outcome) -> None:
    """What became of a file, as it ends."""
    if outcome.status == "refused":
        say(outcome.problem, err=True)
    elif outcome.status == "missing":
        gone = typed(f"stillroom gone {for_a_shell(outcome.file)}")
        say(f"{outcome.file} {outcome.problem}. Is it gone for good? {gone}.")
    elif outcome.status == "landed":
        _tell_landed(outcome)
    elif not _only_counted(outcome):
        say(f"{outcome.file}: {outcome.problem}.")
        if outcome.superseded:
            say(f"  {counted(outcome.superseded, 'row')} of earlier files or editions superseded.")
        _tell_beside(outcome)


def _only_counted(outcome: Outcome) -> bool:
    """Blank templates, and files that are as they were: the sum counts them."""
    return outcome.status == "no rows yet" or (outcome.status == "unchanged" and not outcome.problem)


def _tell_landed(outcome: Outcome) -> None:
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
        say(f"  Before, it was {outcome.was}.")
    if outcome.corrected_by:
        say(f"  It is read with the corrections of {outcome.corrected_by}.")
    elif outcome.replaced_intake is not None:
        say(f"  It is read differently now, and takes the place of intake {outcome.replaced_intake}.")
    _tell_beside(outcome)
    for row in outcome.doubtful[:SHOWN_NAMES]:
        say(f"  Set aside, {row}")
    if outcome.doubtful:
        rows = "they are" if len(outcome.doubtful) > 1 else "it is"
        confirm = typed(f"stillroom confirm {for_a_shell(outcome.file)}")
        say(f"  If {rows} right{_and_more(outcome.doubtful)}: {confirm}.")
    if outcome.unused:
        say(f"  Not used: {', '.join(outcome.unused)}.")


def _tell_beside(outcome: Outcome) -> None:
    """How it differs from the edition before it."""
    if outcome.kept_of_older:
        rows = counted(outcome.kept_of_older, "row")
        say(f"  {rows} of earlier editions of this file still count: this one says nothing in their place.")
    renamed = tuple(f"{was} is now {now}" for was, now in outcome.renamed)
    for what, names in (("Gone from it", outcome.went), ("New in it", outcome.came), ("Other name", renamed)):
        if names:
            say(f"  {what}: {'; '.join(names[:SHOWN_NAMES])}{_and_more(names)}.")


def _and_more(names: tuple[str, ...]) -> str:
    return f" and {len(names) - SHOWN_NAMES:,} more" if len(names) > SHOWN_NAMES else ""


def sum_up(folder: Path, outcomes: list[Outcome], unmatched: list[OpenName], remarks: Sequence[str]) -> None:
    """What became of all files together, the till names that no drink explains, and what looks wrong."""
    if not outcomes:
        say(f"No files to take in: none that {folder / 'stillroom.toml'} names is there.", err=True)
        return
    bad = sum(outcome.rows_set_aside for outcome in outcomes)
    landed = sum(outcome.rows_landed for outcome in outcomes)
    refused = sum(outcome.status == "refused" for outcome in outcomes)
    say(f"{counted(landed, 'row')} landed, {bad:,} set aside, {counted(refused, 'file')} refused.")
    same = sum(outcome.status == "unchanged" and _only_counted(outcome) for outcome in outcomes)
    if same:
        say(f"{counted(same, 'file')} taken in before: nothing changed.")
    blank = sum(outcome.status == "no rows yet" for outcome in outcomes)
    if blank:
        say(f"{counted(blank, 'file')} of headings alone, and no rows yet.")
    if bad:
        say("'stillroom aside' says why.")
    for remark in remarks[:SHOWN_NAMES]:
        say(f"? {remark}")
    if len(remarks) > SHOWN_NAMES:
        say(f"  and {len(remarks) - SHOWN_NAMES} more: 'stillroom doubts' lists all")
    if unmatched:
        lines = sum(name.lines for name in unmatched)
        say(f"{counted(len(unmatched), 'till name')} without a match ({counted(lines, 'line')}):")
        for name in unmatched[:SHOWN_NAMES]:
            guess = f" - perhaps {name.likely.spec or 'not one of ours'}?" if name.likely else ""
            say(f"  {name.till_item} ({counted(name.lines, 'line')}){guess}")
        if len(unmatched) > SHOWN_NAMES:
            say(f"  and {len(unmatched) - SHOWN_NAMES} more")
        say("'stillroom match' asks what they are; until then they count in no drink.")
