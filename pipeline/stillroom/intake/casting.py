"""Text to typed columns, without guessing: what cannot be read as its type becomes null and is reported."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import Any, Final

import polars as pl

from stillroom.intake import moments, values
from stillroom.intake.moments import Clock

# '€', 'US$', 'EUR', and what people write for crowns, francs, forints, lei and zlotys.
CURRENCY: Final = r"(?:[A-Z]{0,3}\p{Sc}|[A-Z]{3}|S?Fr\.?|kr\.?|Kč|Ft|lei|zł)"

UNTIDY: Final = r"^$|^ | $|  |[^ -~]"
"""What cells that need tidying have, and hardly any others: blanks at an end or side by side, letters beyond ASCII."""

DAYS: Final = "days?|d|tagen?|tage|jours?|j|d[ií]as?|giorn[io]|gg|dag|dage|dagar|dager|dagen|dni|dnů|dny|den|dzień"

SPANS: Final = {
    "weeks?|wks?|wochen?|semaines?|semanas?|settiman[ae]|weken|uger?|uker?|veck(?:a|or)|tygodnie?|týd(?:en|ny)": 7,
    "months?|mths?|monate?n?|mois|m[eê]s|mes[ei]s?|maand(?:en)?|måned(?:er)?|månad(?:er)?|miesi[aą]ce?|měsíce?": 30,
    "years?|yrs?|jahre?|ans?|años?|ann[oi]|anos?|jaar|år|roky?|lata?": 365,
}  # fmt: skip
"""Words for spans of time -> days of each; that a month is thirty days is common practice, no source."""

NO_DAYS: Final = re.compile(rf"(?i)\b(?:{'|'.join(SPANS)}|hours?|hrs?)\b")
"""Words for spans of time in a heading, whose numbers are then no days."""

ABSENT: Final = r"(?i)^\s*(?:[-–—/.·?x×✗]|--|n\.?\s?/?\s?a\.?|abs(?:ent)?\.?|none|nil)\s*$"
"""What people write in the place of a number or a day that there is not."""

OUT_OF: Final = r"^(\d+(?:[.,]\d+)?)\s*/\s*(\d+)$"
"""A score with the top of its scale: '6/10'."""

FULL_WIDTH: Final = dict(zip("０１２３４５６７８９．，：／－＋％（）　", "0123456789.,:/-+%() ", strict=True))
"""Digits and signs as they stand among Chinese and Japanese letters -> the same as everywhere."""

ERRORS: Final = ("#N/A", "#REF!", "#DIV/0!", "#VALUE!", "#NAME?", "#NULL!", "#NUM!", "#SPILL!", "#CALC!")
"""What a spreadsheet shows where a formula fails."""

READABLE_AS: Final[dict[Any, str]] = {
    pl.String: "anything: a formula failed here; write what it should say",
    pl.Float64: "a number (write 1234.5)",
    pl.Int64: "a whole number",
    pl.Date: "a date",
    pl.Datetime: "a date with a time of day",
}


def tidy(text: pl.Series) -> pl.Series:
    """Trim, fold inner white space to one space, compose accents (NFC), and make empty cells null.

    Cells that may need it are found by a look, and mended in their places: all others cost no more than that. Accents
    are many, nearly always composed, and in few different cells.
    """
    places = text.str.contains(UNTIDY).arg_true()
    if places.is_empty():
        return text
    cells = text.gather(places)
    different = cells.unique()
    odd = different.filter(_mended(different).ne_missing(different))
    if odd.is_empty():
        return text
    places = places.filter(cells.is_in(odd.implode(), nulls_equal=True))
    return text.clone().scatter(places, _mended(text.gather(places)))  # a series is otherwise changed in its place


def _mended(cells: pl.Series) -> pl.Series:
    mended = pl.first().str.strip_chars().str.replace_all(r"\s+", " ").str.normalize("NFC")
    return cells.to_frame().select(mended.replace("", None)).to_series()


def narrow(text: pl.Series) -> pl.Series:
    """Cells with full-width digits and signs as common ones: '４５' is 45."""
    return text.str.replace_many(list(FULL_WIDTH), list(FULL_WIDTH.values()))


def are_absent(text: pl.Series) -> pl.Series:
    """Which cells say that there is no number or day (a mask): '-', 'n/a', 'x', 'abs'.

    >>> are_absent(pl.Series(["-", "n/a", "X", "abs", "n.a.", "6", "-6"])).to_list()
    [True, True, True, True, True, False, False]
    """
    return text.str.contains(ABSENT).fill_null(False)


def errors_in(text: pl.Series) -> pl.Series | None:
    """Which cells show the error of a spreadsheet's formula (a mask); None where none does."""
    if not text.str.starts_with("#").any():
        return None
    errors = text.is_in(ERRORS).fill_null(False)
    return errors if errors.any() else None


def bare(text: pl.Series, column: str) -> pl.Series:
    """Cells without what says no more than their column's name: '40 %' of abv_pct, '52.5°' of brix, 'v2' of version.

    '2 weeks' are 14 of days. Of a score, the top of its scale stands in a column of its own.
    """
    if column.endswith("_pct") or column == "brix":
        return text.str.replace(r"\s*(?:%|°(?:\s?(?i:Bx|Brix))?)$", "")
    if column.endswith("_days"):
        for words, days in SPANS.items():
            many = text.str.extract(rf"(?i)^(\d{{1,3}})\s*(?:{words})\.?$").cast(pl.Int64) * days
            text = many.cast(pl.String).fill_null(text)
        return text.str.replace(rf"(?i)\s*(?:{DAYS})\.?$", "")
    if column == "score":
        return text.str.replace(OUT_OF, "$1")
    if column.startswith("version"):
        return text.str.replace(
            r"(?i)^(?:v|ver|vers|version|versie|versión|versione|versão|wersja|verze)\.?\s*(\d+)$", "$1"
        )
    return text


def spelt_as(text: pl.Series, allowed: Sequence[str]) -> pl.Series:
    """Cells as the words of a list are spelt, compared without case, and written in any language that is known."""
    places = (~text.is_in(list(allowed))).arg_true()
    if not len(places):
        return text
    words = values.spellings(allowed)
    others = text.gather(places)
    plain = others.str.to_lowercase()
    return text.scatter(places, _where(plain.is_in(list(words)), plain.replace(words), others))


def read(
    text: pl.Series, column: str, dtype: pl.DataType, clock: Clock, decimal: str | None
) -> tuple[pl.Series, pl.Series]:
    """The cells of a column as `dtype`, and as they were understood: tidy, and bare of what its name says.

    Numbers and dates are read as they stand; only cells that cannot be are tidied, and read again if that changed them.
    """
    if dtype == pl.String:
        text = bare(tidy(text), column)
        return text, text
    values = cast(text, dtype, clock, decimal)
    left = moments.unread(values, text)
    if not len(left):
        return values, text
    before = text.gather(left)
    cells = bare(narrow(tidy(before)), column)
    changed = cells.ne_missing(before).arg_true()
    if len(changed):
        left, cells = left.gather(changed), cells.gather(changed)
        values, text = values.scatter(left, cast(cells, dtype, clock, decimal)), text.scatter(left, cells)
    return values, text


def cast(text: pl.Series, dtype: pl.DataType, clock: Clock, decimal: str | None = None) -> pl.Series:
    """A tidy text column as `dtype`; null where it cannot be read so.

    Dates and moments: see `moments.read`. `decimal` None: a dot parts decimals; what a comma parts is not known.
    """
    if dtype == pl.String:
        return text
    if dtype == pl.Float64:
        return _numbers(text, decimal)
    if dtype == pl.Int64:
        return _whole_numbers(text)
    return moments.read(text, dtype, clock)


def unreadable(dtype: pl.DataType, clock: Clock) -> str:
    """What to say of a cell that could not be read as `dtype`."""
    words = READABLE_AS[dtype.base_type()]
    if dtype == pl.Date:
        words += f" (written like {clock.date_format or '2026-03-31'})"
        if clock.year is not None and clock.year_turns is None:
            words += "; where days go over New Year, year_turns of their source says so"
    if dtype == pl.Datetime:
        words += f" (written like {clock.date_format or '2026-03-31 21:05'})"
    return f"cannot be read as {words}"


def _numbers(text: pl.Series, decimal: str | None) -> pl.Series:
    """Finite numbers; where plain reading fails, without currency signs, thousands marks and accountants' brackets."""
    plain = text
    if decimal == ",":
        plain = text.set(text.str.contains(".", literal=True), None).str.replace(",", ".", literal=True)
    numbers = plain.cast(pl.Float64, strict=False)
    left = moments.unread(numbers, text)
    if len(left):
        numbers = numbers.scatter(left, _dressed_numbers(text.gather(left), decimal))
    if math.isfinite(numbers.sum()):  # then all are
        return numbers
    return numbers.set(~numbers.is_finite(), None)


def _dressed_numbers(text: pl.Series, decimal: str | None) -> pl.Series:
    """Numbers as people write them: '€ 1 234.50', '(12.50)', '12.50-', '1,234.50'; null where that is not certain.

    Thousands are parted in groups of three: by spaces and apostrophes, and by a comma (or, with decimal = ",", a dot)
    beside a decimal mark. '1,234' alone may be either, and is not guessed unless the decimal mark is known; in '17.90'
    the other mark can part no thousands, and parts decimals all the same. A dash for no cents ('21.-') is no minus.
    """
    known, decimal = decimal is not None, decimal or "."
    thousands = "," if decimal == "." else "."
    bare = text.str.replace_all("[\u2012-\u2014\u2212]", "-")
    bare = bare.str.replace(rf"^([-+(]?)\s*{CURRENCY}", "$1").str.replace(rf"{CURRENCY}\s*([-)]?)$", "$1")
    bare = bare.str.strip_chars().str.replace(r"(\d)[.,:]-{1,2}$", "$1")
    minus = bare.str.contains(r"^\([^-+()]*\)$|^[^-+()]*-$")  # a sign and brackets may mean anything
    bare = _where(minus, bare.str.replace_all(r"[()-]", ""), bare).str.strip_chars()
    bare = bare.str.replace(r"^([-+])\s+", "$1")
    apart = rf"^[-+]?\d{{1,3}}(?:[\s'’]\d{{3}})+(?:{re.escape(decimal)}\d+)?$"
    bare = _where(bare.str.contains(apart), bare.str.replace_all(r"[\s'’]", ""), bare)
    grouped = rf"^[-+]?\d{{1,3}}(?:{re.escape(thousands)}\d{{3}})+{re.escape(decimal)}\d+$"
    bare = _where(bare.str.contains(grouped), bare.str.replace_all(thousands, "", literal=True), bare)
    whole_groups = rf"^[-+]?[1-9]\d{{0,2}}(?:{re.escape(thousands)}\d{{3}})+$"
    if known:  # the other mark can only part thousands
        bare = _where(bare.str.contains(whole_groups), bare.str.replace_all(thousands, "", literal=True), bare)
        mark = re.escape(thousands)
        lone = rf"^[-+]?(?:\d+{mark}(?:\d{{1,2}}|\d{{4,}})|0{mark}\d+)$"  # which parts no thousands
        bare = _where(bare.str.contains(lone), bare.str.replace(thousands, decimal, literal=True), bare)
    if decimal == ",":
        bare = bare.set(bare.str.contains(thousands, literal=True), None).str.replace(",", ".", literal=True)
    plain = bare.set(~bare.str.contains(r"^[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?$"), None)
    numbers = plain.cast(pl.Float64, strict=False)
    return _where(minus, -numbers, numbers)


def _where(test: pl.Series, yes: pl.Series, no: pl.Series) -> pl.Series:
    return pl.select(pl.when(test).then(yes).otherwise(no)).to_series()


def _whole_numbers(text: pl.Series) -> pl.Series:
    whole = text.cast(pl.Int64, strict=False)
    if whole.null_count() > text.null_count():  # spreadsheets write 2 as 2.0
        numbers = text.cast(pl.Float64, strict=False)
        integral = (numbers == numbers.floor()) & (numbers.abs() < 2**53)
        whole = whole.fill_null(numbers.set(~integral, None).cast(pl.Int64, strict=False))
    return whole
