"""How numbers, amounts, money and dates are put into words: the one home of that, for sentences, tables and terminals.

It stands in the engine, since the engine's own answers use it as do reports and the page, and plugins may import it.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from stillroom.objects import Period

MISSING: Final = "–"
THIN_SPACE: Final = "\u202f"
"""Narrow no-break space between groups of three digits, as ISO 80000-1 asks for."""
MINUS: Final = "\u2212"
WIDTH: Final = 80
"""Columns of a terminal."""
NO_BREAK: Final = "\u00a0"
COUNTED: Final = {
    "each": ("piece", "pieces"),
    "serve": ("serve", "serves"),
    "barspoon": ("barspoon", "barspoons"),
    "dash": ("dash", "dashes"),
    "drop": ("drop", "drops"),
}
"""Units of which there are one or several."""
_MONTHS: Final = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_SPACE_AT_UNIT: Final = re.compile(r"(?<=\d) (?=(?:ml|cl|l|mg|g|kg|pieces?|°Brix|points?)\b|%)|(?<=\b[A-Z]{3}) (?=\d)")
_SPACE_IN_NUMBER: Final = re.compile(r"(?<=\d)[\u2009 ](?=\d{3}(?!\d))")


def number(value: float | Decimal, decimals: int = 0) -> str:
    """A number with thousands set apart by a thin space, and never as minus nought.

    >>> number(12345.6) == f"12{THIN_SPACE}346", number(-1.5, 1) == f"{MINUS}1.5", number(-0.01, 1)
    (True, True, '0.0')
    """
    text = f"{value:,.{decimals}f}"
    none = float(text.replace(",", "")) == 0
    return text.replace(",", THIN_SPACE).replace("-", "" if none else MINUS)


def shortest(value: float, decimals: int = 2) -> str:
    """A number with no more decimals than it needs.

    >>> shortest(12.50), shortest(3.0), shortest(0.004)
    ('12.5', '3', '0')
    """
    text = number(value, decimals)
    return text.rstrip("0").rstrip(".") if decimals else text


def signed(value: float, decimals: int = 0) -> str:
    """A difference, with its sign; nought has none.

    >>> signed(1.25, 1), signed(-0.01, 1)
    ('+1.2', '0.0')
    """
    text = number(value, decimals)
    return text if text.startswith(MINUS) or not float(text.replace(THIN_SPACE, "")) else f"+{text}"


def money(value: float, currency: str, decimals: int | None = None) -> str:
    """An amount of money; cents only below 100, unless told otherwise.

    >>> money(12.5, "EUR"), money(1250, "EUR") == f"EUR 1{THIN_SPACE}250", money(12.5, "")
    ('EUR 12.50', True, '12.50')
    """
    if decimals is None:
        decimals = 2 if abs(value) < 100 else 0
    return f"{currency} {number(value, decimals)}".lstrip()


def percent(share: float, decimals: int = 0) -> str:
    """A share of 1 as a percentage.

    >>> percent(0.384)
    '38 %'
    """
    return f"{number(100 * share, decimals)} %"


def amount(value: float, unit: str) -> str:
    """An amount of a preparation, with as many figures as a person would measure.

    >>> amount(1234, "ml") == f"1{THIN_SPACE}230 ml", amount(7.26, "ml"), amount(0, "ml"), amount(1, "each")
    (True, '7.3 ml', '0 ml', '1 piece')
    """
    size = abs(value)
    if unit in COUNTED:
        return of_unit(number(value, 0 if size >= 10 or value == round(value) else 1), unit)
    step = 10 if size >= 1000 else 5 if size >= 100 else 1
    return of_unit(number(round(value / step) * step, 0) if size >= 10 else number(value, 1 if value else 0), unit)


def of_unit(figures: str, unit: str) -> str:
    """Figures with their unit, in the singular where they say one.

    >>> of_unit("1", "each"), of_unit("1.5", "dash"), of_unit("2", "ml")
    ('1 piece', '1.5 dashes', '2 ml')
    """
    return f"{figures} {COUNTED[unit][figures != '1'] if unit in COUNTED else unit}"


def short_amount(value: float, unit: str) -> str:
    """An amount where there is little room, as beside a chart: litres and kilograms from a thousand on.

    >>> short_amount(2020.0, "ml"), short_amount(60.0, "each"), short_amount(120.0, "ml")
    ('2.0 l', '60 pieces', '120 ml')
    """
    if value >= 1000 and unit in ("ml", "g"):
        return f"{number(value / 1000, 1)} {'l' if unit == 'ml' else 'kg'}"
    return of_unit(number(round(value / 5) * 5 if value >= 100 and unit != "each" else value), unit)


def counted(count: int, singular: str, plural: str = "") -> str:
    """A count with its noun.

    >>> counted(1, "batch", "batches"), counted(3, "week")
    ('1 batch', '3 weeks')
    """
    return f"{number(count)} {singular if count == 1 else plural or singular + 's'}"


def listed(names: Sequence[str], most: int = 6) -> str:
    """Names in a row, the rest counted.

    >>> listed(["a", "b", "c"]), listed(["a", "b", "c"], most=1)
    ('a, b and c', 'a and 2 more')
    """
    shown = list(names[:most])
    if len(names) > most:
        shown.append(f"{len(names) - most} more")
    return " and ".join([", ".join(shown[:-1]), shown[-1]] if len(shown) > 1 else shown)


def p_text(p: float | Decimal, decimals: int) -> str:
    """A p-value, never as 0.

    >>> p_text(0.03124, 3), p_text(0.00004, 4)
    ('0.031', '<\u00a00.0001')
    """
    least = 10**-decimals
    return f"<{NO_BREAK}{least:.{decimals}f}" if p < least else f"{p:.{decimals}f}"


def p_value(p: float) -> str:
    """A p-value in a sentence.

    >>> p_value(0.00004), p_value(0.0312)
    ('p < 0.001', 'p = 0.031')
    """
    text = p_text(p, 3).replace(NO_BREAK, " ")
    return f"p {text}" if text.startswith("<") else f"p = {text}"


def short_day(day: date) -> str:
    """A day where the year is plain.

    >>> short_day(date(2026, 3, 2))
    '2 Mar'
    """
    return f"{day.day} {_MONTHS[day.month - 1]}"


def day_text(day: date) -> str:
    """A day that cannot be misread for another order of day and month.

    >>> day_text(date(2026, 3, 2))
    '2 Mar 2026'
    """
    return f"{short_day(day)} {day.year}"


def period_text(period: Period) -> str:
    """Both ends of a period and its length.

    >>> from stillroom.objects import Period
    >>> period_text(Period(first=date(2026, 3, 2), last=date(2026, 5, 31), label="Spring"))
    '2 Mar to 31 May 2026, 91 days'
    """
    if period.days == 1:
        return f"{day_text(period.first)}, 1 day"
    one_year = period.first.year == period.last.year
    first = short_day(period.first) if one_year else day_text(period.first)
    return f"{first} to {day_text(period.last)}, {period.days} days"


def season_text(period: Period) -> str:
    """A period's name with its days; the days alone where it has no other name.

    >>> from stillroom.objects import Period
    >>> season_text(Period(first=date(2026, 3, 2), last=date(2026, 3, 2), label="Spring"))
    'Spring, 2 Mar 2026, 1 day'
    """
    nameless = period.label == f"{period.first} to {period.last}"
    return period_text(period) if nameless else f"{period.label}, {period_text(period)}"


def unbroken(text: str) -> str:
    """The text with spaces inside a number, and between it and its unit or currency, that no line breaks at.

    >>> unbroken("12\u2009345 ml, 8 % of EUR 5") == f"12{THIN_SPACE}345\u00a0ml, 8\u00a0% of EUR\u00a05"
    True
    """
    return _SPACE_AT_UNIT.sub(NO_BREAK, _SPACE_IN_NUMBER.sub(THIN_SPACE, text))


def wrapped(text: str, first: str = "", then: str = "", width: int = WIDTH) -> list[str]:
    """Lines for a terminal, of at most `width`, that part no number from its unit; every space a plain one.

    >>> wrapped("about 1\u2009250 ml on hand", then="  ", width=12)
    ['about', '  1 250 ml', '  on hand']
    """
    lines = textwrap.wrap(
        unbroken(text).replace(THIN_SPACE, NO_BREAK), width, initial_indent=first, subsequent_indent=then
    )
    return [line.replace(NO_BREAK, " ") for line in lines]


def costs_at_least(spec: str, known: float | None, currency: str) -> str:
    """What a serve costs where a price is missing; of nought, nothing is known.

    >>> costs_at_least("Slack Water", 1.07, "EUR"), costs_at_least("Slack Water", 0.0, "EUR")
    ('Slack Water costs at least EUR 1.07 a serve', 'What Slack Water costs is not known')
    """
    return f"{spec} costs at least {money(known, currency)} a serve" if known else f"What {spec} costs is not known"


def to_price(missing: str) -> str:
    """What to do about what leaves a cost without its whole, as the view `spec_cost` names it.

    >>> to_price("gin; dried kelp"), to_price("a line of Fig Sour that is set aside")
    ('enter a price for gin and dried kelp', "correct the rows that 'stillroom aside' lists")
    """
    if WAITS in missing:
        return "correct the rows that 'stillroom aside' lists"
    return f"enter a price for {listed(missing.split('; '))}"


WAITS: Final = "that is set aside"
"""What the view `line_aside` says of a line that waits to be corrected."""
