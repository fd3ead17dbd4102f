"""How figures are written in the sentences of the reports."""

from __future__ import annotations

from collections.abc import Sequence


def number(value: float, decimals: int = 0) -> str:
    """A number with thousands set apart by a thin space, and the minus sign of the tables and charts.

    >>> number(12345.6), number(-1.5, 1), number(-0.01, 1)
    ('12\\u2009346', '\u22121.5', '0.0')
    """
    text = f"{value:,.{decimals}f}"
    none = float(text.replace(",", "")) == 0
    return text.replace(",", "\u2009").replace("-", "" if none else "\u2212")


def money(value: float, currency: str, decimals: int | None = None) -> str:
    """An amount of money; cents only below 100, unless told otherwise.

    >>> money(12.5, "EUR"), money(1250, "EUR")
    ('EUR 12.50', 'EUR 1\\u2009250')
    """
    if decimals is None:
        decimals = 2 if abs(value) < 100 else 0
    return f"{currency} {number(value, decimals)}"


def percent(share: float, decimals: int = 0) -> str:
    """A share of 1 as a percentage.

    >>> percent(0.384)
    '38 %'
    """
    return f"{number(100 * share, decimals)} %"


def amount(value: float, unit: str) -> str:
    """An amount of a preparation, with as many figures as a person would measure.

    >>> amount(1234, "ml"), amount(7.26, "ml"), amount(3, "each")
    ('1\\u2009230 ml', '7.3 ml', '3 pieces')
    """
    if unit == "each":
        return f"{number(value, 0 if abs(value) >= 10 or value == round(value) else 1)} pieces"
    size = abs(value)
    decimals = 1 if size < 10 else 0
    step = 10 if size >= 1000 else 5 if size >= 100 else 1
    return f"{number(round(value / step) * step if size >= 10 else value, decimals)} {unit}"


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
