"""Cells that say several columns at once, taken apart: 'Fig Sour v2', '2,5 l', '45 ml gin', 'used up 12/3'.

The settings say which columns stand under one heading; an amount's unit may stand in its cell or heading without a
word. What is left over and not understood makes the cell unread: nothing is taken from the middle of a sentence.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

import polars as pl

from stillroom.house.model import SourceSettings
from stillroom.intake import amounts, casting, values
from stillroom.intake.amounts import Amount, Unread
from stillroom.intake.moments import Clock
from stillroom.intake.shaping import AROUND, Layout
from stillroom.safecsv import number_text
from stillroom_schemas import fields, units

VERSION: Final = re.compile(
    r"(?i)[\s,;:(\[/–-]*\b(?:v|ver|vers|versi(?:on|e|ón|one)|versão|wersja|verze|rev)[.\s]*(\d{1,3})[)\]]*$"
)
DAY: Final = re.compile(
    r"(?<![\d,])(?:\d{4}-\d{1,2}-\d{1,2}(?: 00:00:00)?|\d{4}[/.]\d{1,2}[/.]\d{1,2}\.?"
    r"|\d{1,2}([-/.])\d{1,2}\1(?:\d{4}|\d{2})?"
    r"|\d{1,2}[-/]\d{1,2}|\d{1,2}\.\d{1,2}\.?(?!\d| ?(?:ml|cl|dl|l|g|kg)\b)"
    r"|\d{1,2}\.? (?:de |d')?[^\W\d_]{3,12}\.?(?: de)? \d{4}|\d{1,2}\.? (?:de |d')?[^\W\d_]{3,12}\b"
    r"|[^\W\d_]{3,12} \d{1,2}, \d{4})(?![\d])"
)
"""A day as it may stand among other words; whether it is one, the date format says."""
TIME: Final = re.compile(r"(?i)(?<= )\d{1,2}[:.h]\d\d(?:[:.]\d\d)?(?: ?[ap]\.? ?m\.?)?$")
PRICE_PER: Final = re.compile(r"(?i)^(.*?\d.*?)\s*(?:/|\b(?:per|pro|je|par|por|al|za|pr\.?)\b)\s*(.+)$")
FILLERS: Final = frozenset(
    [
        "on",
        "the",
        "am",
        "den",
        "le",
        "la",
        "el",
        "il",
        "em",
        "dia",
        "dne",
        "op",
        "d",
        "dag",
        "all",
        "everything",
        "alles",
        "tout",
        "todo",
        "tutto",
        "tudo",
        "alt",
        "allt",
        "wszystko",
        "vše",
    ]
)
EDGES: Final = " ,;:–—-()[]/"


@dataclass(frozen=True, kw_only=True)
class Parted:
    """Cells column by column, and why some of them are no such thing."""

    texts: dict[str, pl.Series]
    reasons: dict[str, pl.Series]
    """Column -> a problem in words, or null; for columns that have any."""


def parted(texts: dict[str, pl.Series], layout: Layout, settings: SourceSettings, schema: Any) -> Parted:
    """Take cells apart that say several columns at once; these come out tidy.

    Args:
        texts: column -> its cells; columns under one heading have the same.
        layout: which headings fill which columns, and the units that headings name.
        settings: the decimal mark.
        schema: the table's pandera schema.
    """
    found = shared_parted(texts, layout, settings, schema)
    if "score" in found.texts and "scale_high" in schema.columns and "scale_high" not in found.texts:
        tops = found.texts["score"].str.extract(casting.OUT_OF, 2)
        if tops.is_not_null().any():
            found.texts["scale_high"] = tops
    for name, column in schema.columns.items():
        unit = (column.metadata or {}).get("unit_in")
        if unit is not None and name in found.texts:
            of_all = layout.units.get(name) or layout.constants.get(unit)
            if unit in layout.constants:  # meant of amounts that name none
                found.texts.pop(unit)
            may_share = units.MAKING in fields.allowed(schema.columns[unit])
            _part_amount(name, unit, found, of_all, settings.decimal, may_share=may_share)
            if settings.oz is not None:
                found.texts[unit] = found.texts[unit].replace({OUNCE: settings.oz})
            if settings.gallon == "imperial":
                bare = found.texts[unit].replace(IMPERIAL)
                american = [texts[one].str.contains(AMERICAN).fill_null(False) for one in (name, unit) if one in texts]
                for says_so in american:
                    bare = pl.select(pl.when(says_so).then(found.texts[unit]).otherwise(bare)).to_series()
                found.texts[unit] = bare
    return found


def shared_parted(texts: dict[str, pl.Series], layout: Layout, settings: SourceSettings, schema: Any) -> Parted:
    """Only what stands under one heading with another column is taken apart: amounts keep their units."""
    found = Parted(texts=dict(texts), reasons={})
    for name, headings in layout.headings.items():
        if schema.columns[name].dtype.type in (pl.Date, pl.Datetime) and {*AROUND} & {*headings}:
            found.texts[name] = found.texts[name].map_elements(_day_in, pl.String, skip_nulls=True)
    for columns in _sharing(layout).values():
        _part_shared({name: schema.columns[name] for name in columns}, found, settings)
    return found


def _day_in(text: str) -> str:
    """The day in a title or a sheet's name, with a time that stands behind it.

    >>> _day_in("till 2026-03-13 21:05"), _day_in("Monday")
    ('2026-03-13 21:05', 'Monday')
    """
    day, time = DAY.search(text), TIME.search(text)
    return " ".join(part[0].strip() for part in (day, time) if part) if day else text


def with_day(cell: str, day: date) -> str:
    """A cell with another day in the place of its own.

    >>> with_day("used up 12/3/2027", date(2026, 3, 12)), with_day("12", date(2026, 3, 12))
    ('used up 2026-03-12', '2026-03-12')
    """
    return DAY.sub(day.isoformat(), cell, count=1) if DAY.search(cell) else day.isoformat()


def _sharing(layout: Layout) -> dict[tuple[str, ...], list[str]]:
    """Headings -> the columns that stand under them, where these are several."""
    by_headings: dict[tuple[str, ...], list[str]] = {}
    for column, headings in layout.headings.items():
        by_headings.setdefault(headings, []).append(column)
    return {headings: columns for headings, columns in by_headings.items() if len(columns) > 1}


def _part_shared(columns: Mapping[str, Any], found: Parted, settings: SourceSettings) -> None:
    cells = casting.tidy(found.texts[next(iter(columns))])
    kinds = {name: _kind(name, column) for name, column in columns.items()}
    apart = {text: _parts(text, kinds, columns, settings) for text in cells.drop_nulls().unique()}
    for name in columns:
        replaced = {text: parts.get(name) for text, (parts, _) in apart.items()}
        found.texts[name] = _replaced(cells, replaced)
    problems = {text: problem for text, (_, problem) in apart.items() if problem}
    if problems:
        first = next(name for name, kind in kinds.items() if kind != "rest")
        found.reasons[first] = _replaced(cells, problems)
        bad = found.reasons[first].is_not_null()
        found.texts[first] = pl.select(pl.when(bad).then(cells).otherwise(found.texts[first])).to_series()


def _replaced(cells: pl.Series, replaced: Mapping[str, str | None]) -> pl.Series:
    values = [None if cell is None else replaced.get(cell) for cell in cells]
    return pl.Series(cells.name, values, dtype=pl.String)


def _kind(name: str, column: Any) -> str:
    facts = column.metadata or {}
    dtype = column.dtype.type
    if dtype in (pl.Date, pl.Datetime):
        return "day"
    if facts.get("unit_in"):
        return "amount"
    if name == "version":
        return "version"
    if any(check.name == "isin" for check in column.checks):
        return "unit" if facts.get("made") else "word"
    return "rest" if dtype == pl.String else "number"


def _parts(
    text: str, kinds: Mapping[str, str], columns: Mapping[str, Any], settings: SourceSettings
) -> tuple[dict[str, str | None], str | None]:
    """Column -> its piece of a cell, and what is wrong."""
    parts: dict[str, str | None] = {}
    by_kind: dict[str, list[str]] = {}
    for name, kind in kinds.items():
        by_kind.setdefault(kind, []).append(name)
    if any(columns[name].dtype.type == pl.Date for name in by_kind.get("day", [])):
        text = TIME.sub("", text).rstrip()  # of a day, the time at which a form was sent says nothing
    rest = text
    for name in by_kind.get("day", []):
        if (day := DAY.search(rest)) is not None:
            parts[name] = day[0].strip()
            rest = (rest[: day.start()] + " " + rest[day.end() :]).strip()
    for name in by_kind.get("version", []):
        number = VERSION.search(rest)
        if number is not None:
            rest = rest[: number.start()]
        parts[name] = number[1] if number else ("1" if (columns[name].metadata or {}).get("made") else None)
    for name in by_kind.get("word", []):
        allowed = fields.allowed(columns[name])
        said, rest = _word(rest, allowed)
        if len(said) > 1:
            return {}, f"says two things: {' and '.join(sorted(said))}"
        parts[name] = next(iter(said), None)
    if "number" in by_kind and "amount" in by_kind and (price := PRICE_PER.match(rest)) is not None:
        parts[by_kind["number"][0]], parts[by_kind["amount"][0]] = price[1], price[2]
        rest = ""
    elif "amount" in by_kind:
        parts[by_kind["amount"][0]], rest = quantity_in(rest, settings.decimal, whole="rest" not in by_kind)
    elif "number" in by_kind:
        parts[by_kind["number"][0]], rest = rest, ""
    rest = _trimmed(" ".join(rest.split()))
    others = re.split(r"[,;+]|(?=\s\d)", rest)[1:]
    if "amount" in by_kind and any(quantity_in(one, settings.decimal)[0] for one in others):
        return {}, "says several amounts: write a line for each"
    for name in by_kind.get("rest", []):
        parts[name] = rest or (text if "day" in by_kind else None)
    strange = [word for word in re.findall(r"[^\W_]+", rest) if word.casefold() not in FILLERS]
    if strange and "rest" not in by_kind:
        return {}, f"holds '{strange[0]}', which is not understood"
    return parts, None


def _trimmed(text: str) -> str:
    """A text without marks at its ends, but with a bracket that belongs to one inside.

    >>> _trimmed("- Pear Cup (for bottles)"), _trimmed("Pear Cup (")
    ('Pear Cup (for bottles)', 'Pear Cup')
    """
    bare = text.strip(EDGES)
    for opens, closes in ("()", "[]"):
        if bare.count(opens) > bare.count(closes):
            bare += closes
        elif bare.count(closes) > bare.count(opens):
            bare = opens + bare
    return bare


def _word(text: str, allowed: list[str]) -> tuple[set[str], str]:
    """The words of a list that a text says, and the text without them."""
    said: set[str] = set()
    for spelling, word in sorted(values.spellings(allowed).items(), key=lambda one: -len(one[0])):
        pattern = rf"(?i)(?<!\w){re.escape(spelling)}(?!\w)"
        if re.search(pattern, text):
            said.add(word)
            text = re.sub(pattern, " ", text)
    return said, text


def quantity_in(text: str, decimal: str | None, *, whole: bool = False) -> tuple[str | None, str]:
    """The amount at the beginning or the end of a text, the longest that can be read, and what is left."""
    tokens = text.split()
    if whole:
        kept = [token for token in tokens if token.strip(EDGES).casefold() not in FILLERS]
        return " ".join(kept).strip(EDGES) or None, ""
    for length in range(len(tokens), 0, -1):
        for piece, left in ((tokens[:length], tokens[length:]), (tokens[-length:], tokens[:-length])):
            said = " ".join(piece).strip(",;:")
            numbered = re.match(r"\D{0,12}[\d½⅓⅔¼¾⅛/]", said)
            if numbered and left and isinstance(read := amounts.read(said, decimal), Amount) and read.unit:
                return said, " ".join(left)
    return None, text


def _part_amount(
    name: str, unit: str, found: Parted, of_all: str | None, decimal: str | None, *, may_share: bool
) -> None:
    """Numbers and units out of an amount's cells; the cell's own unit goes before that of all rows."""
    cells = casting.tidy(found.texts[name])
    cells = cells.set(casting.are_absent(cells), None)
    numbers = casting.cast(cells, pl.Float64(), NO_CLOCK, decimal)
    dressed = cells.filter(cells.is_not_null() & numbers.is_null()).unique()
    read = {text: amounts.read(text, decimal) for text in dressed}
    own = casting.tidy(found.texts.get(unit, pl.Series([None], dtype=pl.String).new_from_index(0, len(cells))))
    said = pl.Series([None if cell is None else _unit_of(read.get(cell)) for cell in cells], dtype=pl.String)
    own = own.replace({word: _known(word) for word in own.drop_nulls().unique()})
    wrong: dict[str, str] = {text: one.problem for text, one in read.items() if isinstance(one, Unread)}
    if not may_share:
        wrong |= {text: SHARE for text, one in read.items() if _unit_of(one) == units.MAKING}
    reasons = _replaced(cells, wrong)
    differ = own.is_not_null() & said.is_not_null() & (own != said)
    if differ.any():
        told = pl.Series([f"names another unit than {unit} does"], dtype=pl.String).new_from_index(0, len(cells))
        reasons = reasons.set(differ, None).fill_null(told.set(~differ, None))
    if reasons.is_not_null().any():
        earlier = found.reasons.get(name)
        found.reasons[name] = reasons if earlier is None else earlier.fill_null(reasons)
    plain = {text: number_text(one.value, decimal) for text, one in read.items() if isinstance(one, Amount)}
    found.texts[name] = cells.replace(plain) if plain else cells
    own = own.fill_null(said)
    if of_all is not None:
        own = own.fill_null(pl.Series([of_all]).new_from_index(0, len(cells)).set(cells.is_null(), None))
    found.texts[unit] = own


SHARE: Final = "is so many makings or packs: write how much that is"
OUNCE: Final = "oz"
"""Which of the ounces it is, only who wrote it knows."""
IMPERIAL: Final = {one: f"imp {one}" for one in ("pint", "quart", "gallon")}
"""What these are in an imperial house; 'US gal' stays what it says."""
AMERICAN: Final = r"(?i)\bu\.?s\b"
NO_CLOCK: Final = Clock(date_format=None, house_zone="UTC", file_zone=None)


def _unit_of(read: Amount | Unread | None) -> str | None:
    return read.unit if isinstance(read, Amount) else None


def _known(word: str) -> str:
    return amounts.unit_of(word) or (units.MAKING if amounts.is_making(word) else word)
