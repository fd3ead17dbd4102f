"""What review meetings decided of drinks and preparations, kept in the house's `verdicts.jsonl`: one verdict a line.

Nothing of a figure depends on them: they are shown in the next review beside what became of them. New lines are only
ever added.
"""

from __future__ import annotations

import json
from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import Any, Final, get_args

from stillroom.errors import DecisionsError
from stillroom.house.decision_kinds import is_text
from stillroom.house.decisions import write_into, written_in
from stillroom.objects import Decision, MenuVerdict

VERDICTS_NAME: Final = "verdicts.jsonl"


def taken(folder: Path) -> tuple[MenuVerdict, ...]:
    """All verdicts of the house in a folder, in the order in which they were taken.

    Raises:
        DecisionsError: the file cannot be read, or a line of it is damaged.
    """
    path = folder / VERDICTS_NAME
    lines = written_in(path).split("\n")
    return tuple(_verdict(path, number, line) for number, line in enumerate(lines, 1) if line.strip())


def take(folder: Path, verdict: MenuVerdict) -> Path:
    """Add a verdict; gives the file.

    Raises:
        DecisionsError: the file is damaged, or cannot be written; it is as it was.
    """
    path = folder / VERDICTS_NAME
    taken(folder)
    text = written_in(path)
    line = json.dumps({**asdict(verdict), "day": verdict.day.isoformat()}, ensure_ascii=False)
    begin = text if not text or text.endswith("\n") else f"{text}\n"
    write_into(path, f"{begin}{line}\n")
    return path


def _verdict(path: Path, number: int, line: str) -> MenuVerdict:
    try:
        record: dict[str, Any] = json.loads(line)
        fields = {name: record[name] for name in ("subject", "decision", "by", "why")}
        day = date.fromisoformat(record["day"])
    except (ValueError, KeyError, TypeError, RecursionError):
        fields, day = {}, date.min
    if not fields or not all(map(is_text, fields.values())):
        problem = "it must say subject, decision, day (like 2026-03-01), by and why, each a text"
    elif fields["decision"] not in get_args(Decision):
        problem = f"its decision must be {', '.join(get_args(Decision))}, not {fields['decision']!r}"
    else:
        return MenuVerdict(**fields, day=day)
    raise DecisionsError(f"{path}, line {number}: {problem}. Mend that line, or put back an earlier copy.")
