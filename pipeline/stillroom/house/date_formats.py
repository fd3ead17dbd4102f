"""Whether a format of dates, in strftime codes, can say a date at all."""

from __future__ import annotations

import re
from typing import Final

CODE: Final = re.compile(r"%(?:%|[-_0]?[.:#]*\d?([A-Za-z+]?))")
KNOWN: Final = frozenset("YCyGgmbBhdejUWVuwaADFxvHkIlPpMSfRTXrcszZtn+")
WHOLE: Final = frozenset("DFxvcs+")
"""Codes that stand for a whole date."""


def fault(date_format: str) -> str | None:
    """What is wrong with a format; None where it says a date, and a time of day whole or not at all.

    >>> fault("%H:%M")
    'has no year (%Y), month (%m) and day (%d)'
    >>> fault("%d/%m %I:%M"), fault("%d.%m.%Y %H:%M")
    ('has no year (%Y)', None)
    """
    if date_format == "serial":  # a spreadsheet's day numbers
        return None
    found = [code[1] for code in CODE.finditer(date_format) if code[0] != "%%"]
    unknown = next((code for code in found if code not in KNOWN), None)
    if unknown is not None:
        return f"has a code that there is not: %{unknown}"
    codes = set(found)
    return _date_fault(codes) or _time_fault(codes)


def _date_fault(codes: set[str]) -> str | None:
    day_of_year, day_of_week = "j" in codes, bool(codes & set("UWV")) and bool(codes & set("uwaA"))
    parts = {
        "year (%Y)": codes & set("YyGg"),
        "month (%m)": codes & set("mbBh") or day_of_year or day_of_week,
        "day (%d)": codes & set("de") or day_of_year or day_of_week,
    }
    missing = [part for part, there in parts.items() if not there]
    if codes & WHOLE or not missing:
        return None
    return "has no " + " and ".join(filter(None, [", ".join(missing[:-1]), missing[-1]]))


def _time_fault(codes: set[str]) -> str | None:
    hours, halves = codes & set("HkIl"), codes & set("pP")
    if bool(hours) != ("M" in codes):
        return "has hours without minutes (%H:%M)" if hours else "has minutes without hours (%H:%M)"
    if bool(codes & set("Il")) != bool(halves):
        return "has no half of the day (%p) beside %I" if not halves else "has a half of the day (%p) without %I"
    return None
