"""Every kind of decision that a house can keep, and what each holds."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from reprlib import repr as short
from typing import Any, Final

HALF: Final = re.compile("[\ud800-\udfff]")
"""Half of a character beyond U+FFFF, which JSON can spell and no file can hold."""
NUMBER: Final = re.compile("[0-9]{1,18}")


def is_text(value: object) -> bool:
    """Whether it is a text of whole characters."""
    return isinstance(value, str) and not HALF.search(value)


def _are_cells(row: object) -> bool:
    if not isinstance(row, dict):
        return False
    return all(is_text(heading) and (cell is None or is_text(cell)) for heading, cell in row.items())


def _are_numbers(rows: object) -> bool:
    return isinstance(rows, list) and all(type(row) is int for row in rows)


def _are_rows(rows: object) -> bool:
    return isinstance(rows, list) and all(map(_are_cells, rows))


def _are_corrections(rows: object) -> bool:
    if not isinstance(rows, dict):
        return False
    return all(NUMBER.fullmatch(number) and _are_cells(row) for number, row in rows.items())


@dataclass(frozen=True)
class Kind:
    """What a decision of one kind holds besides its kind and day: field -> whether a value may stand there."""

    fields: Mapping[str, Callable[[Any], bool]]

    def fault(self, record: Mapping[str, Any]) -> str | None:
        """What is wrong with a record of this kind."""
        for name, fits in ({"day": is_text} | dict(self.fields)).items():
            value = record.get(name)
            if not fits(value):
                return f"its '{name}' is missing" if value is None else f"its '{name}' cannot be {short(value)}"
        try:
            date.fromisoformat(record["day"])
        except ValueError:
            return f"its 'day' cannot be {short(record['day'])}: write it like 2026-03-01"
        return None


EDITION: Final = {"source": is_text, "file": is_text, "content": is_text}
KINDS: Final = {
    "taken": Kind({**EDITION, "reading": is_text, "was_source": lambda value: value is None or is_text(value)}),
    "renamed": Kind({**EDITION, "reading": is_text, "was_source": is_text, "was": is_text}),
    "by hand": Kind({"source": is_text, "plugin": is_text, "file": is_text}),
    "corrected": Kind({**EDITION, "rows": _are_corrections}),
    "withdrawn": Kind({**EDITION, "rows": _are_numbers}),
    "undone": Kind(EDITION),
    "redone": Kind(EDITION),
    "gone": Kind(EDITION),
    "confirmed": Kind({**EDITION, "rows": _are_rows}),
}
"""Every kind of decision there is. A file that is `taken` may have been read by another source before, which reads it
no longer. The order in which editions are first `taken` or `renamed` is the order of files."""
