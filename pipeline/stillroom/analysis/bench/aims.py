"""What a draft shall come to: '°Brix 40', 'at most 0.35 a serve'. Each aim is a smooth function that is 0 when met."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final, Literal

from stillroom.analysis.specs.contents import Contents
from stillroom.analysis.specs.figures import ends
from stillroom.errors import UsageError

Relation = Literal["=", "<=", ">="]


@dataclass(frozen=True, kw_only=True)
class Aim:
    """One aim."""

    figure: str
    """A key of `UNITS`."""
    relation: Relation
    value: float
    unit: str
    text: str
    """As it was written."""


UNITS: Final[dict[str, tuple[str, ...]]] = {
    "brix": ("", "°brix", "%"),
    "sugar": ("%", "g/l"),
    "acid": ("%", "g/l"),
    "strength": ("%", "% vol"),
    "sugar to acid": ("",),
    "volume": ("ml", "cl", "l"),
    "mass": ("g", "kg"),
    "cost": ("/serve", "/making", "/l"),
}
"""Figures that can be aimed at, with the units they are given in; the first holds where none is written.

% of sugar and acid is g in 100 g, as the price list states it; acid counts as citric acid."""
_OF: Final = {"ml": 1.0, "cl": 10.0, "l": 1000.0, "g": 1.0, "kg": 1000.0}
_ALSO: Final = {"abv": "strength", "°brix": "brix", "ratio": "sugar to acid", "sugar/acid": "sugar to acid"}
_WRITTEN: Final = re.compile(
    r"\s*(?P<figure>[^<>=]+?)\s*(?P<relation><=|>=|=|≤|≥)\s*(?P<value>-?[\d.,]+)\s*(?P<unit>.*?)\s*"
)


def read_aim(text: str) -> Aim:
    """An aim as it is typed.

    Raises:
        UsageError: it names no figure, no number, or a unit of another kind.

    >>> read_aim("acid = 1.2 %")
    Aim(figure='acid', relation='=', value=1.2, unit='%', text='acid = 1.2 %')
    """
    match = _WRITTEN.fullmatch(text)
    if match is None:
        raise UsageError(f"--aim '{text}' is not an aim: write 'brix=40', 'acid=1.2 %' or 'cost<=0.35/serve'.")
    figure = " ".join(match["figure"].casefold().split())
    figure = _ALSO.get(figure, figure)
    if figure == "ph":
        raise UsageError("--aim: pH does not follow from amounts of acid. Aim at acid, then measure a batch.")
    if figure not in UNITS:
        raise UsageError(f"--aim '{text}': there is no figure '{match['figure']}'; there are: {', '.join(UNITS)}.")
    unit = match["unit"].casefold() or UNITS[figure][0]
    if unit not in UNITS[figure]:
        known = ", ".join(f"'{one}'" for one in UNITS[figure] if one)
        raise UsageError(f"--aim '{text}': {figure} is not given in '{match['unit']}'; it is in {known or 'no unit'}.")
    return Aim(
        figure=figure, relation=_relation(match["relation"]), value=_value(text, match["value"]), unit=unit, text=text
    )


def _relation(mark: str) -> Relation:
    return "<=" if mark in ("<=", "≤") else ">=" if mark in (">=", "≥") else "="


def _value(text: str, digits: str) -> float:
    if re.fullmatch(r"\d+([.,]\d+)?|[.,]\d+", digits) is None:
        raise UsageError(f"--aim '{text}': write a number of 0 or more, without marks between thousands.")
    return float(digits.replace(",", "."))


def reached(aim: Aim, glass: Contents, cost: float, serves: float) -> float | None:
    """The figure of an aim in its own unit; None where there is nothing to divide by.

    Args:
        glass: of a whole making, as served.
        cost: of the whole making, house currency.
        serves: that a making gives.
    """
    litre = glass.volume_ml / 1000
    match aim.figure:
        case "brix":
            return glass.brix
        case "sugar":
            return glass.brix if aim.unit == "%" else _over(glass.sugar_g, litre)
        case "acid":
            return _over(100 * glass.acid_g, glass.mass_g) if aim.unit == "%" else _over(glass.acid_g, litre)
        case "strength":
            return glass.abv_pct
        case "sugar to acid":
            return glass.sugar_acid_ratio
        case "volume":
            return glass.volume_ml / _OF[aim.unit]
        case "mass":
            return glass.mass_g / _OF[aim.unit]
        case _:
            return _over(cost, {"/serve": serves, "/making": 1.0, "/l": litre}[aim.unit])


def ends_reached(aim: Aim, glass: Contents, cost: float, serves: float) -> tuple[float, float] | None:
    """Both ends of what `reached` gives, as fruit differs; None where nothing has a range, or it does not matter."""
    towards = _TOWARDS.get(aim.figure)
    if towards is None:
        return None
    return ends(glass, lambda contents: reached(aim, contents, cost, serves), sugar=towards[0], acid=towards[1])


_TOWARDS: Final = {"brix": (1, 0), "sugar": (1, 0), "acid": (0, 1), "sugar to acid": (1, -1)}
"""Figure -> whether it rises (1) or falls (-1) with sugar and with acid."""


def _over(amount: float, whole: float) -> float | None:
    return amount / whole if whole > 1e-12 else None


def miss(aim: Aim, glass: Contents, cost: float, serves: float) -> float:
    """How far an aim is missed, as a share of what it asks for; above 0 where there is too much.

    Written so that it is linear in masses wherever the figure is a share of mass, and has no division by what could
    be nothing: the share that is there less the share that should be, over the share that should be.
    """
    litre, mass, volume = glass.volume_ml / 1000, glass.mass_g, glass.volume_ml
    match aim.figure, aim.unit:
        case ("brix", _) | ("sugar", "%"):
            there, whole = 100 * glass.sugar_g, mass
        case ("sugar", _):
            there, whole = glass.sugar_g, litre
        case ("acid", "%"):
            there, whole = 100 * glass.acid_g, mass
        case ("acid", _):
            there, whole = glass.acid_g, litre
        case ("strength", _):
            there, whole = 100 * glass.alcohol_ml, volume
        case ("sugar to acid", _):
            there, whole = glass.sugar_g, glass.acid_g
        case ("volume", unit):
            there, whole = volume / _OF[unit], 1.0
        case ("mass", unit):
            there, whole = mass / _OF[unit], 1.0
        case (_, unit):
            there, whole = cost, {"/serve": serves, "/making": 1.0, "/l": litre}[unit]
    scale = max(aim.value, 1e-6) * (whole if aim.figure != "sugar to acid" else max(whole, mass * 1e-3))
    return (there - aim.value * whole) / max(scale, 1e-12)
