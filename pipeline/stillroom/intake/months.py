"""Names of months in the languages of those who write the files, put into the English that date formats read.

The names are those of the Unicode Common Locale Data Repository, wide and abbreviated, in the form that stands in a
date and the one that stands alone. A word that means different months in two of the languages is no name here.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from functools import cache
from typing import Final

import polars as pl

LANGUAGES: Final = (
    *("en", "de", "de_AT", "fr", "es", "it", "pt", "nl", "da", "sv", "nb", "nn", "pl", "cs"),
    *("fi", "hu", "ro", "tr", "el"),
)
ENGLISH: Final = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
OF_SPREADSHEETS: Final = {"mrz": "Mar"}
"""How spreadsheets shorten März in German."""


def in_english(text: pl.Series) -> pl.Series:
    """The cells with the names of months in English, three letters each.

    >>> in_english(pl.Series(["3. März 2026", "14-ene-2026", "3 févr. 2026", "3 x 2026"])).to_list()
    ['3. Mar 2026', '14-Jan-2026', '3 Feb. 2026', '3 x 2026']
    """
    words = text.str.extract_all(r"\p{L}+").explode(empty_as_null=False).drop_nulls().unique()
    if words.is_empty():
        return text
    known = {word: month for word in words if (month := _names().get(word.casefold()))}
    if not known:
        return text
    longest_first = sorted(known, key=len, reverse=True)
    return text.str.replace_many(longest_first, [known[word] for word in longest_first], leftmost=True)


def without_full_stops(text: pl.Series) -> pl.Series:
    """Cells in English without the full stops after the names of months.

    >>> without_full_stops(pl.Series(["3. Feb. 2026"])).to_list()
    ['3. Feb 2026']
    """
    return text.str.replace_all(rf"\b({'|'.join(ENGLISH)})\.", "$1")


def is_month(word: str) -> bool:
    """Whether a word is the name of a month, whole or shortened.

    >>> is_month("März"), is_month("sales")
    (True, False)
    """
    return unicodedata.normalize("NFC", word).casefold() in _names()


def without_weekday(text: pl.Series) -> pl.Series:
    """Cells without the name of a day of the week before the date.

    >>> without_weekday(pl.Series(["mån 2/3", "Friday 13 March 2026", "sáb., 3/1", "gin 2/3"])).to_list()
    ['2/3', '13 March 2026', '3/1', 'gin 2/3']
    """
    words = text.str.extract(r"^(\p{L}{2,13})[.,]{0,2} ?\d", 1)
    named = words.is_in([word for word in words.drop_nulls().unique() if is_weekday(word)])
    bare = text.str.replace(r"^\p{L}+[.,]{0,2} ?", "")
    return pl.select(pl.when(named.fill_null(False)).then(bare).otherwise(text)).to_series()


def is_weekday(word: str) -> bool:
    """Whether a word is the name of a day of the week, whole or shortened.

    >>> is_weekday("Mi."), is_weekday("gin")
    (True, False)
    """
    return any(_plain(word) in names for names in _weekdays())


def weekdays(words: Sequence[str]) -> list[int]:
    """The days of the week that words name, Monday 1; none where a word is no such name, or languages differ in them.

    >>> weekdays(["Mo", "Mi", "So"]), weekdays(["lun.", "mar."]), weekdays(["Mon", "gin"])
    ([1, 3, 7], [1, 2], [])
    """
    plain = [_plain(word) for word in words]
    read = {tuple(names[word] for word in plain) for names in _weekdays() if all(word in names for word in plain)}
    return list(read.pop()) if len(read) == 1 else []


def _plain(name: str) -> str:
    return unicodedata.normalize("NFC", name).casefold().strip(" .")


@cache
def _weekdays() -> tuple[dict[str, int], ...]:
    """Language by language the names of the days of the week, in small letters and without full stops, Monday 1."""
    from babel import Locale

    return tuple(
        {
            _plain(name): number + 1
            for context in ("format", "stand-alone")
            for width in ("wide", "abbreviated", "short")
            for number, name in Locale.parse(language).days[context].get(width, {}).items()
        }
        for language in LANGUAGES
    )


@cache
def _names() -> dict[str, str]:
    """Every name, in small letters and without its full stop -> the month in English."""
    from babel import Locale  # which takes longer than all else that an intake needs of dates

    names: dict[str, set[str]] = {}
    for language in LANGUAGES:
        months = Locale.parse(language).months
        for context in ("format", "stand-alone"):
            for width in ("wide", "abbreviated"):
                for number, name in months[context][width].items():
                    names.setdefault(_plain(name), set()).add(ENGLISH[number - 1])
    return OF_SPREADSHEETS | {name: next(iter(meant)) for name, meant in names.items() if len(meant) == 1}
