"""What stands around the rows of a book: names, versions, days and sittings, in titles and in the names of sheets.

What more than one place could say is not guessed.
"""

from __future__ import annotations

import re
from typing import Final

import polars as pl

from stillroom.intake import book_rows, months, values
from stillroom.intake.parting import DAY, VERSION
from stillroom.intake.shaping import AROUND, FILE, SHEET, TITLE, row_words
from stillroom.looking.cells import TIME_OF_DAY
from stillroom.looking.found import Found
from stillroom.looking.words import plain, words_of

NO_NAME: Final = re.compile(
    r"(?i)^(sheet|tabelle|blatt|feuil|feuille|hoja|foglio|planilha|folha|blad|ark|arkusz|list)\s*\d*$"
)
DIGIT: Final = re.compile(r"\d")
DAY_OF_MONTH: Final = re.compile(r"(?:[1-9]|[12]\d|3[01])\.?$")
TIME: Final = re.compile(TIME_OF_DAY)
NAMES: Final = ("spec", "preparation")
WORDS: Final = (*NAMES, "item", "batch", "session", "panelist", "score")
CALLED: Final = {"poured away": "waste", "counted": "counts"}
"""Event -> which words in the name of a sheet say that all of its rows are so."""


def names(found: Found) -> None:
    """A spec's name: in the title above its lines, or else in the name of its sheet."""
    for name in NAMES:
        if not found.lacks(name) or (name == "preparation" and found.table.name != "batch"):
            continue
        titles = set(found.cells(TITLE)) if found.all_filled(TITLE) else set()
        sheets = {cell for cell in found.cells(SHEET) if not NO_NAME.match(cell) and not DAY.search(cell)}
        sheets = {cell for cell in sheets if not _names_month(cell) and not _is_word(cell)}
        named = {title for title in titles if VERSION.sub("", title) and (_has_name(title) or not _is_day(title))}
        if found.table.name == "tasting" and len(named) == 1 and any(map(_names_sitting, named)):
            named = set()
        if name == "spec" and _names_sample(found):
            found.columns[name] = found.columns.pop("session")
        elif named and named == titles and (len(named) > 1 or not sheets or _agree(named, sheets)):
            found.columns[name] = (TITLE,)
        elif sheets and not named:
            found.columns[name] = (SHEET,)


def _is_word(sheet: str) -> bool:
    """Whether a sheet is called after what its rows are, 'Scores' or 'Recipes 2', and not after one drink."""
    word = plain(sheet).rstrip(" 0123456789")
    several = {word, word.removesuffix("s")}
    return any(not several.isdisjoint(words_of(name)) for name in WORDS)


def _names_sitting(title: str) -> bool:
    """Whether a title such as 'April tasting' says rather what was held than what was tasted."""
    return not {*plain(title).split()}.isdisjoint(words_of("session"))


def _names_sample(found: Found) -> bool:
    """Whether what stands behind 'Tasting:' is no sitting but a drink with its version."""
    [heading, *_] = found.columns.get("session", ("",))
    cells = found.cells(heading)
    return bool(cells) and all(VERSION.search(cell) and VERSION.sub("", cell) for cell in cells)


def versions(found: Found) -> None:
    """A version that stands alone above the lines; one behind a name needs no words."""
    if not found.lacks("version"):
        return
    titles = found.cells(TITLE)
    if titles and all(VERSION.match(title) and not VERSION.sub("", title) for title in titles):
        found.columns["version"] = (TITLE,)


def days(found: Found) -> None:
    """A day in a title, or in the name of a sheet or file; of a moment, with its time beside it."""
    used = {heading for several in found.columns.values() for heading in several}
    times = [h for h in found.rows.columns if h not in used and h not in AROUND and found.most(h, TIME.match)]
    dated = _dated(found)
    if found.lacks("sold_at") and len(times) == 1 and dated is not None:
        found.columns["sold_at"] = (dated, times[0])
    for name in ("tasted_on", "made_on"):
        if not found.lacks(name):
            continue
        if (numbered := _numbered_days(found, name)) is not None:
            found.columns[name] = numbered
            continue
        if dated is not None:
            found.columns[name] = (dated,)


def happenings(found: Found) -> None:
    """Of a sheet that is called after what happened, 'waste' or 'Sunday count', the event, and its day from a title."""
    if found.table.name != "batch_event":
        return
    counts = [h for h in found.free() if found.most(h, DIGIT.search) and not months.is_weekday(h)]
    left = [h for h in counts if plain(h) in values.spellings(["counted"])]
    if found.lacks("amount") and len(counts) > 1 and len(left) != 1:
        return  # of several amounts, the headings say what each of them is
    words = {*plain(" ".join([found.called, *found.cells(TITLE)[:1]])).split()}
    named = {event for event, kind in CALLED.items() if not words.isdisjoint(row_words(kind))}
    if found.lacks("event") and len(named) == 1:
        found.constants["event"] = named.pop()
    event = found.constants.get("event")
    if event == "counted" and found.lacks("amount") and len(left) == 1:
        found.columns["amount"] = (left[0],)
    if event is not None and found.lacks("happened_on") and (place := _dated(found)) is not None:
        found.columns["happened_on"] = (place,)


def _dated(found: Found) -> str | None:
    """The first place around the rows that says a day above each of them; of a week its columns say the days."""
    if sum(map(months.is_weekday, found.free())) > 1:
        return None
    places = (TITLE, SHEET, FILE)
    return next((p for p in places if found.all_filled(p) and all(map(_is_day, found.cells(p)))), None)


def _numbered_days(found: Found, name: str) -> tuple[str, str] | None:
    """Days of a month as numbers, and the place where the month and its year stand: a sheet 'March 2026'."""
    places = (p for p in (TITLE, SHEET, FILE) if found.all_filled(p) and all(map(_names_month, found.cells(p))))
    place = next(places, None)
    headings = [h for h in found.free() if plain(h) in words_of(name) and found.most(h, DAY_OF_MONTH.match)]
    return (headings[0], place) if place is not None and len(headings) == 1 else None


def sessions(found: Found) -> None:
    """A sitting by the name of its sheet, by its title, or else by its day."""
    if not found.lacks("session"):
        return
    used = {heading for name in (*NAMES, "version") for heading in found.columns.get(name, ())}
    for place in (SHEET, TITLE):
        cells = found.cells(place)
        if cells and found.all_filled(place) and place not in used and not any(map(NO_NAME.match, cells)):
            found.columns["session"] = (place,)
            return
    if "tasted_on" in found.columns:
        found.columns["session"] = found.columns["tasted_on"]


def _agree(titles: set[str], sheets: set[str]) -> bool:
    """The title is the sheet's name, with a version or without."""
    plain = {VERSION.sub("", title).casefold().strip() for title in titles}
    return plain == {VERSION.sub("", sheet).casefold().strip() for sheet in sheets}


def _has_name(title: str) -> bool:
    """Whether a title says a day and a name, which stood in two rows."""
    day, both, name = title.partition(book_rows.DAY_AND_NAME)
    return bool(both and name) and book_rows.is_day_alone(day)


def _is_day(text: str) -> bool:
    found = DAY.search(text)
    if found is None:
        return False
    whole = re.search(r"\d{4}", found[0]) is not None or found[0].count(".") + found[0].count("/") == 2
    return whole or months.without_weekday(pl.Series([text]))[0] == found[0]


def _names_month(text: str) -> bool:
    """Whether a text names a month with its year, or is a month's name alone: of which year is then asked."""
    return _is_month(text) or months.is_month(text.strip(" ."))


def _is_month(text: str) -> bool:
    """Whether a text names a month and its year."""
    return re.search(r"\b20\d\d\b", text) is not None and any(map(months.is_month, re.findall(r"[^\W\d_]+", text)))
