"""What a look at a file asks: the few things that only its keeper knows, each with the best guess and its reason.

A guess rests on the file, and then on what the house's other sources say; that amounts of a size have some unit is
common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Final

from stillroom.house.house import House
from stillroom.house.model import SourceSettings
from stillroom.intake.moments import NAMED_YEAR
from stillroom.intake.planning import Plan
from stillroom.looking.handwriting import Handwriting, Way
from stillroom.looking.headings import ACROSS, GROSS, NET, Fit
from stillroom.looking.questions import BY_ROW, Option, Question, of_missing
from stillroom.looking.recognising import Recognised
from stillroom.looking.rehearsal import Aside, Rehearsal
from stillroom.words import listed
from stillroom_schemas import fields

UNITS: Final = ("ml", "cl", "l", "fl oz", "g", "kg")
FEW_NAMES: Final = 3
SMALL: Final = 12  # below this a line of a spec is not in ml
LARGE: Final = 40  # from here a batch or a pack is not in litres
QUARTERS: Final = 0.25
IN_OUNCES: Final = 4
LONE_ROWS: Final = 8
LETTERS: Final = re.compile(r"(?=.*[^\W\d_])\w(?:.*\w)?")


def of_dates(told: Handwriting, house: House, settings: SourceSettings, separator: str | None) -> Iterator[Question]:
    """Which of two dates a cell is."""
    if not told.ways:
        return
    best, why = _likely_way(told.ways, house, settings, separator)
    options = tuple(Option(value=way.date_format, label=way.reads_as) for way in told.ways)
    yield Question(
        key="date_format",
        text=f"'{told.ways[0].example}' may be",
        options=options,
        default=best.date_format,
        why=why,
    )


def _likely_way(ways: Sequence[Way], house: House, settings: SourceSettings, separator: str | None) -> tuple[Way, str]:
    best, other = sorted(ways, key=lambda way: (way.steps_back, way.days))[:2]
    if best.steps_back < other.steps_back:
        return best, f"so read, {_steps(best.steps_back)}; else {_steps(other.steps_back)}"
    if 2 * best.days < other.days:
        return best, f"so read, all lie within {best.days + 1} days; else within {other.days + 1}"
    for source in house.sources:
        if source.date_format and (
            same := [way for way in ways if _order(way.date_format) == _order(source.date_format)]
        ):
            return same[0], f"source '{source.name}' writes them so"
    if settings.decimal == "," or separator == ";":
        return ways[0], "where a comma parts decimals, the day comes first"
    return ways[0], "nothing in the file tells; most people write the day first"


def _steps(back: int) -> str:
    return f"{back} {'row goes' if back == 1 else 'rows go'} back in time" if back else "the rows are in order"


def _order(date_format: str) -> list[str]:
    return [part.upper().replace("B", "M") for part in re.findall(r"%-?([dmbBYy])", date_format)]


def by_name(house: House, called: str) -> dict[str, list[str]]:
    """Question's key -> what a file's name says of it: a venue of the house, a year; or several, or nothing."""
    return {"venue": _venues_in(house, called), "year": _years_in(called)}


def _venues_in(house: House, called: str) -> list[str]:
    """Of 'Bar' and 'Garden Bar' the longer, where both would do."""
    named = [venue for venue in house.venues if venue.casefold() in called.casefold()]
    return [one for one in named if not any(one != other and one.casefold() in other.casefold() for other in named)]


def _years_in(called: str) -> list[str]:
    return sorted(set(re.findall(r"(?<!\d)20\d\d(?!\d)", called)))


def of_year(told: Handwriting, settings: SourceSettings, said_by: str, path: Path) -> Iterator[Question]:
    """Of which year days are that are written without one. `said_by`: what the file and its sheet are called."""
    date_format = settings.date_format or told.date_format
    if settings.year is not None or not date_format or re.search(NAMED_YEAR, date_format):
        return
    said = _years_in(said_by)
    changed = str(date.fromtimestamp(path.stat().st_mtime).year)
    years = said or [changed]
    why = "it stands in its name" if said else "the file was last changed then"
    yield Question(
        key="year",
        text="its days have no year: they are of",
        options=tuple(Option(value=year, label=year) for year in years),
        default=years[0] if len(years) == 1 else None,
        why=why,
    )


def of_new_year(told: Handwriting, settings: SourceSettings) -> Iterator[Question]:
    """Whether days without a year go from one year into the next."""
    if told.year_turns:
        yield Question(
            key="year_turns",
            text=f"do its days go from {settings.year} over New Year into the next year?",
            options=(Option(value="yes", label="yes"), Option(value="no", label="no")),
            default="yes",
            why="they jump by more than half a year",
        )


def of_decimal(told: Handwriting, house: House, separator: str | None) -> Iterator[Question]:
    """Whether a mark parts thousands or decimals."""
    if not told.decimal_open:
        return
    mark, other, name = (",", ".", "comma") if "," in told.decimal_open else (".", ",", "dot")
    options = (
        Option(value=other, label=f"thousands: {told.decimal_open.replace(mark, '')}"),
        Option(value=mark, label=f"decimals: {told.decimal_open.replace(mark, '.')}"),
    )
    default, why = (
        ("," if separator == ";" else "."),
        f"cells are parted by {'semicolons' if separator == ';' else 'no semicolons'}",
    )
    for source in house.sources:
        if source.decimal is not None:
            default, why = source.decimal, f"source '{source.name}' writes numbers so"
    yield Question(
        key="decimal", text=f"the {name} of '{told.decimal_open}' may part", options=options, default=default, why=why
    )


def of_tax(settings: SourceSettings, house: House) -> Iterator[Question]:
    """Whether tax is in the money: where the heading says so, no row can land before it is said how much."""
    if settings.tax_pct is not None:
        return
    for heading in settings.columns.get("net_amount", ()):
        if re.search(NET, heading) and not re.search(GROSS, heading):
            continue
        inside = bool(re.search(GROSS, heading))
        known = {f"{source.tax_pct:g}": source.name for source in house.sources if source.tax_pct}
        options = [Option(value=value, label=f"as in source '{name}'") for value, name in known.items()]
        says = "says that tax is inside" if inside else "does not say whether tax is inside"
        default = next(iter(known), None) if inside else "0"
        yield Question(
            key="tax_pct",
            text=f"'{heading}' {says}, and net_amount is before tax: how many per cent is it?",
            options=(*options, Option(value="0", label="none")),
            default=default,
            why="" if default is None else "the other sales are so" if inside else "the heading names none",
            needed=inside,
        )
        return


def of_venue(house: House, plan: Plan) -> Iterator[Question]:
    """Which of several venues a file is of, where it does not say."""
    silent = "venue" not in plan.layout.headings and "venue" not in plan.layout.constants
    if not plan.table.needs_venue or not silent or len(house.venues) < 2:
        return
    named = _venues_in(house, plan.file.name)
    yield Question(
        key="venue",
        text="which venue is it of?",
        options=tuple(Option(value=venue, label=venue) for venue in house.venues),
        default=named[0] if len(named) == 1 else None,
        why="its name says so" if len(named) == 1 else "",
    )


def of_sheets(seen: Recognised, settings: SourceSettings) -> Iterator[Question]:
    """Which sheets of a workbook to read, where several are alike."""
    if seen.sheet is None or not seen.sheets_alike or not settings.sheet:
        return
    every = (seen.sheet, *seen.sheets_alike)
    yield Question(
        key="sheet",
        text=f"sheets {listed([repr(name) for name in every], 6)} have the same headings: read",
        options=(
            Option(value=";".join(settings.sheet), label=f"all {len(every)}"),
            *(Option(value=name, label=f"'{name}' alone") for name in every[:LONE_ROWS]),
        ),
        default=";".join(settings.sheet),
        why="what two of them tell twice counts once",
        needed=False,
    )


def of_columns(fit: Fit, seen: Recognised) -> Iterator[Question]:
    """What every row needs, and no heading gives."""
    schema = fit.table.schema()
    unused = fit.unused(seen.headings)
    if fit.across:
        shown = listed([f"'{heading}'" for heading in fit.across], 4)
        yield Question(
            key="headings_are",
            text=f"{shown} are",
            options=(
                Option(value="panelist", label="people who tasted"),
                Option(value="attribute", label="what they were asked"),
            ),
            default="panelist",
            why="a grid of tasters is the commoner",
        )
    for name in fit.missing:
        if fit.across and name in (*ACROSS, "score"):
            continue
        column = schema.columns[name]
        question = of_missing(name, str(column.description), fields.allowed(column), unused)
        if name == "kind":
            default, why = _kind(fit)
            if fit.kinds is not None:
                drinks, preps = (listed([*some], FEW_NAMES) for some in fit.kinds)
                apart = Option(value=BY_ROW[1], label=f"told apart: {drinks} are drinks, {preps} preparations")
                question = replace(question, options=(apart, *question.options))
                default, why = apart.value, "some yield, keep, or stand in others, and some do not"
            question = replace(question, default=default, why=why)
        if name == "event" and fit.losses:
            why = f"{listed([repr(one) for one in fit.losses], 3)} hold amounts: each heading is then the reason"
            question = replace(question, default="poured away", why=why)
        if rivals := fit.rivals.get(name, ()):
            options = [Option(value=heading, label=f"the column '{heading}'") for heading in rivals]
            others = [option for option in question.options if option.value not in rivals]
            why = f"{listed([repr(one) for one in rivals], 4)} may be"
            question = replace(question, options=(*options, *others), default=rivals[0], why=why)
        yield question


def _kind(fit: Fit) -> tuple[str, str]:
    """Whether specs are drinks or preparations, by what else is said of them; and why."""
    if "price" in fit.columns:
        return "drink", "it has a price"
    if said := [name for name in ("keeps_days", "yield_amount", "storage") if name in fit.columns]:
        return "preparation", f"it says {said[0]}"
    return "drink", "nothing says what it yields, or how long it keeps"


def of_rows(rehearsal: Rehearsal, plan: Plan) -> Iterator[Question]:
    """What the rows that would be set aside ask: a unit that none of them has, and lines that may be no rows."""
    columns = plan.table.schema().columns
    for name, column in columns.items():
        unit = (column.metadata or {}).get("unit_in")
        if unit and unit not in plan.settings.constants:
            bare = [row for row in rehearsal.aside if row.column == unit and row.problem == "is missing"]
            numbers = list(_numbers(bare, plan.layout.headings.get(name, ())))
            if numbers:
                yield _of_unit(name, unit, numbers, len(bare))
    lone: dict[str, list[int]] = {}
    for row in rehearsal.aside:
        filled = [cell.strip() for cell in row.cells.values() if cell.strip()]
        if len(filled) == 1 and (words := LETTERS.match(filled[0])) and ";" not in words[0]:
            lone.setdefault(words[0], []).append(row.row_number)
    if lone and len(lone) <= LONE_ROWS:
        shown = listed([f"'{text}' (row {numbers[0]})" for text, numbers in lone.items()], 4)
        several = len(lone) > 1 or any(len(set(numbers)) > 1 for numbers in lone.values())
        yield Question(
            key="totals",
            text=f"{'lines such as ' if several else ''}{shown} {'hold' if several else 'holds'} one cell alone: "
            f"{'they are' if several else 'it is'}",
            options=(
                Option(value=";".join((*plan.settings.totals, *lone)), label="headings, remarks: to be passed over"),
                Option(value=";".join(plan.settings.totals), label="rows to be mended: set aside"),
            ),
            default=";".join((*plan.settings.totals, *lone)),
            why="nothing else stands beside",
            needed=False,
        )


def _numbers(rows: Iterable[Aside], headings: Sequence[str]) -> Iterator[float]:
    for row in rows:
        text = " ".join(row.cells.get(heading) or "" for heading in headings).replace(",", ".").strip()
        if re.fullmatch(r"\d+(\.\d+)?", text):
            yield float(text)


def _of_unit(name: str, unit: str, numbers: Sequence[float], rows: int) -> Question:
    middle = sorted(numbers)[len(numbers) // 2]
    if name != "amount":
        default = "ml" if middle >= LARGE else "l"
    elif middle >= SMALL:
        default = "ml"
    else:
        default = "fl oz" if max(numbers) <= IN_OUNCES and all(n % QUARTERS == 0 for n in numbers) else "cl"
    low, high = min(numbers), max(numbers)
    return Question(
        key=unit,
        text=f"{rows} {'row has' if rows == 1 else 'rows have'} an amount and no unit: it is in",
        options=tuple(Option(value=one, label=one) for one in UNITS),
        default=default,
        why=f"the amounts go from {low:g} to {high:g}" if low != high else f"the amount is {low:g}",
    )
