"""Amounts that a person can weigh or pour."""

from __future__ import annotations

from typing import Final

STEPS: Final = (100.0, 50.0, 10.0, 5.0, 1.0, 0.5, 0.1, 0.05, 0.01)
"""g or ml that a scale or a measure goes in."""
CLOSE: Final = 0.005
"""Rounding moves an amount by no more than this share of it."""
TOO_FINE: Final = 0.05
"""Below this the finest step moves an amount by a tenth and more: it is told to two figures, to be diluted first."""


def weighable(amount: float) -> float:
    """The amount in the coarsest step that moves it by no more than half a per cent; the finest step otherwise.

    What is too little for the finest step is given to two figures: 1 mg must not become 10.

    Args:
        amount: g or ml, 0 or more.

    >>> weighable(813.2), weighable(22.4), weighable(1.234), weighable(0.00123)
    (810.0, 22.5, 1.23, 0.0012)
    """
    if amount < TOO_FINE:
        return float(f"{amount:.2g}")
    for step in STEPS:
        rounded = round(amount / step) * step
        if abs(rounded - amount) <= CLOSE * amount:
            return round(rounded, 2)
    return round(amount, 2)


def decimals(amount: float) -> int:
    """Decimals that a weighable amount needs.

    >>> decimals(815.0), decimals(22.4), decimals(1.23), decimals(0.0012)
    (0, 1, 2, 4)
    """
    return next(places for places in range(10) if places == 9 or abs(amount - round(amount, places)) < 1e-9)
