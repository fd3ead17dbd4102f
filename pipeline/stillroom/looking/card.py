"""What looking at a file shows, as text for a terminal of 80 columns, and as values for scripts."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from datetime import datetime
from typing import Any, Final

from stillroom.answers.aside_text import reason_text
from stillroom.house.house import SETTINGS_NAME
from stillroom.looking.questions import SETTINGS
from stillroom.looking.recognising import Recognised
from stillroom.looking.seen import Look
from stillroom.words import WIDTH

WIDEST_CELL: Final = 24
SHOWN_HEADINGS: Final = 20
PARTED_BY: Final = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "bars (|)"}
ENCODINGS: Final = {"utf-8": "UTF-8", "utf-16": "UTF-16"}


def card_text(look: Look) -> str:
    """The whole card, and that of the other table which the same rows fill."""
    lines = [look.file, *_card(look), ""]
    if look.companion is not None:
        lines += [f"{look.file}, for another table, too", *_card(look.companion), ""]
    return "\n".join(lines)


def facts_text(look: Look) -> str:
    """What the file is, and what goes where."""
    return "\n".join([look.file, *_facts(look), ""])


def result_text(look: Look) -> str:
    """The rows as they would land, and what would be set aside."""
    return "\n".join([*_rows(look), *_sums(look), ""])


def _card(look: Look) -> list[str]:
    return [*_facts(look), *_questions(look), *_rows(look), *_sums(look), *_settings(look)]


def card_values(look: Look) -> dict[str, Any]:
    """The same facts under names of their own."""
    values = {**asdict(look), "path": str(look.path), "suggested": sorted(look.suggested)}
    values["companion"] = look.companion and card_values(look.companion)
    values["wide"] = look.wide and look.wide.model_dump()
    rehearsal = values.pop("rehearsal") or {}
    rehearsal.pop("aside", None)
    outcome = rehearsal.pop("outcome", {})
    rows = {name: outcome[name] for name in outcome if name.startswith("rows_")}
    return {**values, **rehearsal, **rows, "exit_code": look.exit_code}


def _facts(look: Look) -> Iterator[str]:
    yield from _fact("it is", _kind(look.recognised, look.decimal))
    above = look.recognised.heading_row - 1
    skipped = f"; {above} {'line' if above == 1 else 'lines'} above {'is' if above == 1 else 'are'} skipped"
    yield from _fact("headings", f"in row {look.recognised.heading_row}{skipped if above else ''}")
    there = f"by source '{look.source}' in {SETTINGS_NAME}" if look.there_already else "by a new source"
    yield from _fact("fills", f"table {look.table}, read with plugin {look.plugin}, {there}")
    yield from _columns(look)
    if look.wide:
        yield from _fact(
            "wide",
            f"a row for each filled cell: {look.wide.headings_are} from the headings of the "
            f"other columns, {look.wide.cells_are} from their cells",
        )
    if look.date_format:
        yield from _fact("dates", f"written like {look.date_format}")
    if look.unused:
        more = f" and {len(look.unused) - SHOWN_HEADINGS} more" if len(look.unused) > SHOWN_HEADINGS else ""
        yield from _fact("not used", ", ".join(look.unused[:SHOWN_HEADINGS]) + more)
    still = [name for name in look.missing if name in SETTINGS or name in look.columns]
    if missing := [name for name in look.missing if name not in still]:
        needs = "it" if len(missing) == 1 else "them"
        yield from _fact("MISSING", f"{', '.join(missing)}: every row needs {needs}, and no heading fits")
    if still:
        yield from _fact("OPEN", f"{', '.join(still)}: no row can land before it is said")
    for name, words in look.unfit.items():
        yield from _fact("", f"{name} may be {words}")
    for note in look.notes:
        yield from _fact("note", note)


def _columns(look: Look) -> Iterator[str]:
    """Which heading fills which column: by its name, by the settings, or as a suggestion."""
    same = [n for n, headings in look.columns.items() if len(headings) == 1 and headings[0].casefold() == n.casefold()]
    said = [name for name in look.columns if name not in same and name not in look.suggested]
    likely = [name for name in look.columns if name in look.suggested]
    if same:
        yield from _fact("as named", ", ".join(same))
    for label, names in (("as set", said), ("SUGGESTED", likely)):
        width = max(map(len, names), default=0)
        for place, name in enumerate(names):
            text = f"{name:<{width}} = {' + '.join(look.columns[name])}"
            yield f"  {label if not place else '':<9} {text}"
    if likely:
        yield from _fact("", "(by their likeness: look them over)")


def _fact(name: str, text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=f"  {name:<9} ", subsequent_indent=" " * 12)


def _kind(seen: Recognised, decimal: str) -> str:
    parts = ["text" if seen.kind == "delimited text" else seen.kind]
    if seen.separator:
        parts.append(f"cells parted by {PARTED_BY[seen.separator]}")
    if seen.encoding:
        parts.append(ENCODINGS.get(seen.encoding, seen.encoding))
    if decimal == ",":
        parts.append("decimal comma")
    if seen.sheet:
        parts.append(f"sheet '{seen.sheet}'" + (f" of {seen.sheets}" if seen.sheets > 1 else ""))
    if seen.packed:
        parts.append(f"packed as {seen.packed}")
    return ", ".join(parts)


def _questions(look: Look) -> Iterator[str]:
    for question in look.questions:
        yield ""
        yield from textwrap.wrap(f"? {question.text}", WIDTH, initial_indent="  ", subsequent_indent="    ")
        yield from (f"      {choice}" for choice in question.choices)
        why = f": {question.why}" if question.why else ""
        likely = f" Likely {question.guess}{why}." if question.guess else ""
        how = f"Say it with --answer {question.key}=...{'' if question.needed else ', or leave it so.'}{likely}"
        yield from textwrap.wrap(how, WIDTH, initial_indent="    ", subsequent_indent="    ")


def _rows(look: Look) -> Iterator[str]:
    if look.rehearsal is None or not look.rehearsal.first_rows:
        return
    rows = look.rehearsal.first_rows
    yield ""
    yield f"First rows, as they would land in {look.table}:"
    filled = [name for name in rows[0] if name != "row_number" and any(row[name] is not None for row in rows)]
    numbers = _column("row", [row["row_number"] for row in rows])
    block: list[list[str]] = [numbers]
    for name in filled:
        column = _column(name, [row[name] for row in rows])
        if sum(len(one[0]) + 2 for one in [*block, column]) > WIDTH and len(block) > 1:
            yield from _lines(block)
            yield ""
            block = [numbers]
        block.append(column)
    yield from _lines(block)


def _lines(columns: Sequence[Sequence[str]]) -> Iterator[str]:
    for cells in zip(*columns, strict=True):
        yield ("  " + "  ".join(cells)).rstrip()


def _column(name: str, values: Sequence[Any]) -> list[str]:
    """Heading and cells, all of one width; numbers to the right."""
    midnights = all(isinstance(value, datetime) and not value.second for value in values if value is not None)
    texts = [_cell(value, midnights) for value in values]
    width = max(map(len, [name, *texts]))
    number = any(isinstance(value, int | float) or hasattr(value, "as_tuple") for value in values)
    return [text.rjust(width) if number else text.ljust(width) for text in (name, *texts)]


def _cell(value: Any, without_seconds: bool) -> str:
    if value is None:
        return ""
    if isinstance(value, datetime):
        return f"{value:%Y-%m-%d %H:%M}" if without_seconds else f"{value:%Y-%m-%d %H:%M:%S}"
    if isinstance(value, float) or hasattr(value, "as_tuple"):
        return f"{float(value):.10g}"
    text = str(value)
    return text if len(text) <= WIDEST_CELL else text[: WIDEST_CELL - 3] + "..."


def _sums(look: Look) -> Iterator[str]:
    yield ""
    if look.rehearsal is None:
        yield "No row can land before every column that is needed has a heading."
        return
    outcome = look.rehearsal.outcome
    if outcome.status == "no rows yet":
        yield "It holds headings and no rows yet."
        return
    passed = f", {outcome.rows_passed_over:,} passed over (blank, totals)" if outcome.rows_passed_over else ""
    rows = "row" if outcome.rows_read == 1 else "rows"
    yield (
        f"{outcome.rows_read:,} {rows} read: {outcome.rows_landed:,} would land, "
        f"{outcome.rows_set_aside:,} set aside{passed}."
    )
    for reason in look.rehearsal.reasons:
        yield from textwrap.wrap(_reason(reason), WIDTH, initial_indent="  ", subsequent_indent="    ")
    if look.rehearsal.more_reasons:
        yield f"  and {look.rehearsal.more_reasons} more reasons"
    for told in look.rehearsal.unknown[:SHOWN_HEADINGS]:
        yield from textwrap.wrap(f"? {told}", WIDTH, initial_indent="  ", subsequent_indent="    ")


def _reason(reason: dict[str, Any]) -> str:
    where = f"row {reason['first_row']}"
    if reason["rows"] > 1:
        where += f" and {reason['rows'] - 1:,} more"
    return f"{where}: {reason_text(reason)}"


def _settings(look: Look) -> Iterator[str]:
    yield ""
    if look.settings_text is None:
        yield f"{SETTINGS_NAME} has all that it needs."
        return
    where = f" above [[source]] '{look.before}'" if look.before else ""
    yield f"Settings for it, to stand in {SETTINGS_NAME}{where}:"
    yield ""
    yield from look.settings_text.rstrip("\n").split("\n")
