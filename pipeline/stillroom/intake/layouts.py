"""Which headings of a file fill which columns of its table, and what is made of others where it has none for it."""

from __future__ import annotations

from typing import Any, Final

from stillroom.errors import FileRefused
from stillroom.house.model import SourceSettings
from stillroom.intake import amounts
from stillroom.intake.shaping import AROUND, COMMENT, KIND, YIELD, Layout, constants
from stillroom.objects import SourceFile
from stillroom_schemas import fields
from stillroom_schemas.table import Table

MADE_OF: Final = {"line": ("spec", "version"), "batch": ("preparation", "made_on")}
"""Column that no file need have -> the columns within which it is counted."""


class WrongHeadings(FileRefused):
    """A file lacks headings that its table needs."""

    def __init__(self, name: str, table: str, missing: list[str], matched: int, found: list[str]) -> None:
        self.missing, self.matched = missing, matched
        shown = ", ".join(found[:20]) + (", ..." if len(found) > 20 else "")
        wanted = ", ".join(missing)
        super().__init__(f"{name}: not a file of table '{table}': headings missing: {wanted}; found: {shown}.")


def layout_of(file: SourceFile, table: Table, settings: SourceSettings, found: list[str]) -> Layout:
    """Which headings fill which columns.

    Raises:
        WrongHeadings: a column that every row needs has no heading.
    """
    schema = table.schema()
    said = constants(settings, file)
    by_name = {heading.casefold(): heading for heading in found}
    headings: dict[str, tuple[str, ...]] = {}
    missing = []
    elsewhere = {heading.casefold() for several in settings.columns.values() for heading in several}
    by_row = {"kind": KIND, "yield_amount": YIELD} if settings.kinds_by_row and "kind" in schema.columns else {}
    for name, column in schema.columns.items():
        own = name not in MADE_OF or name not in elsewhere
        wanted = settings.columns.get(name, (name,) if own else ())
        if own and name in MADE_OF and name in by_name:
            wanted = (name,)  # rows that were set aside bring the label that was made for them
        there = tuple(by_name[heading.casefold()] for heading in wanted if heading.casefold() in by_name)
        needed = fields.needed(column)
        if wanted and len(there) == len(wanted):
            headings[name] = there
        elif name in by_row:
            headings[name] = (by_row[name],)
        elif name not in said and name not in wide_columns(settings) and (needed or name in settings.columns):
            absent = " + ".join(heading for heading in wanted if heading.casefold() not in by_name) or name
            missing.append(name if absent == name else f"{name} (looked for '{absent}')")
    used = {heading for several in headings.values() for heading in several}
    if _goes_by_name(schema):
        missing += _named(headings, said)
    if missing:
        raise WrongHeadings(file.name, table.name, missing, len(headings), found)
    idle = {*AROUND, *settings.labels}
    unused = tuple(heading for heading in found if heading not in used and heading not in idle)
    for name in wide_columns(settings):
        headings[name] = (name,)
    people = settings.wide is not None and settings.wide.headings_are == "panelist"
    if people and len(headings.get("attribute", ())) == 1 and "comment" not in {*headings, *said}:
        headings["comment"] = (COMMENT,)
    if "version" in schema.columns and "version" not in headings and "version" not in said:
        name = next((name for name in ("spec", "preparation") if len(headings.get(name, ())) == 1), None)
        if name is not None:
            headings["version"] = headings[name]  # 'Fig Sour v2'
        elif _is_made(schema, "version"):
            said["version"] = "1"
    counted = _counted(schema, headings, said)
    headings |= {name: (name,) for name in counted}
    units = {
        name: unit
        for name, several in headings.items()
        if (schema.columns[name].metadata or {}).get("unit_in") and (unit := amounts.unit_in_heading(several[0]))
    }
    units |= _unit_of_corner(schema, headings, settings)
    return Layout(headings=headings, constants=said, unused=unused, units=units, counted=counted)


def _unit_of_corner(schema: Any, headings: dict[str, tuple[str, ...]], settings: SourceSettings) -> dict[str, str]:
    """In a file that is wide, the unit of its cells may stand once, behind the heading of its names."""
    wide = settings.wide
    if wide is None or not (schema.columns[wide.cells_are].metadata or {}).get("unit_in"):
        return {}
    named = {unit for several in headings.values() for heading in several if (unit := amounts.unit_inside(heading))}
    return {wide.cells_are: named.pop()} if len(named) == 1 else {}


def _goes_by_name(schema: Any) -> bool:
    """Whether a row that gives no label may name the preparation: its batch is found once the rows have landed."""
    made = _is_made(schema, "batch") and "preparation" in schema.columns
    return made and not set(MADE_OF["batch"]) <= set(schema.columns)


def _named(headings: dict[str, tuple[str, ...]], said: dict[str, str]) -> list[str]:
    """Lets the preparation stand for the label, where no heading gives one; what is missing."""
    preparation = headings.get("preparation", ())
    if "batch" in headings or "batch" in said:
        headings.pop("preparation", None)
        return []
    headings |= {"batch": preparation} if preparation else {}
    return [] if preparation else ["batch"]


def _is_made(schema: Any, name: str) -> bool:
    return name in schema.columns and bool((schema.columns[name].metadata or {}).get("made"))


def _counted(schema: Any, headings: dict[str, tuple[str, ...]], said: dict[str, str]) -> dict[str, tuple[str, ...]]:
    """Columns that are made of the rows' order -> the headings within which they are counted."""
    counted = {}
    for name, within in MADE_OF.items():
        several = headings.get(name, ())
        by_name = name == "batch" and _goes_by_name(schema) and len(several) < 2
        if name not in schema.columns or name in said or by_name:
            continue
        if len(several) > 1:  # a label made of what the row says
            counted[name] = several
        elif not several and _is_made(schema, name):
            counted[name] = tuple(dict.fromkeys(h for column in within for h in headings.get(column, ())))
    return counted


def wide_columns(settings: SourceSettings) -> tuple[str, ...]:
    """The columns that a file has in its headings, and in the cells below them, where it is wide."""
    return () if settings.wide is None else (settings.wide.headings_are, settings.wide.cells_are)
