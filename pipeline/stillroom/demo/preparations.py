"""How a batch of each of the demo house's preparations and garnishes is made."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from stillroom.demo.truths import ALWAYS_TOO_BIG, NO_PRICE


@dataclass(frozen=True, kw_only=True)
class Habit:
    """How a batch of a preparation is made and measured."""

    label: str
    """What its batch labels begin with."""
    makings: float = 1
    """Makings in a batch."""
    brix: float | None = None
    """°Brix that its spec works out at, acid counted as solids as a refractometer does; None: nobody measures it."""
    ph: float | None = None


HABITS: Final = {
    "fig leaf cordial": Habit(label="FLC", makings=2, brix=38.2, ph=2.8),
    "smoked pear shrub": Habit(label="SPS", makings=2, brix=30.9, ph=3.3),
    "ginger honey syrup": Habit(label="GHS", makings=1.75, brix=44.2),
    "clarified cucumber juice": Habit(label="CCJ", makings=2, ph=3.9),
    "roast pepper syrup": Habit(label="RPS", makings=1.5, brix=36.0, ph=4.9),
    "beeswax rum": Habit(label="BWR"),
    "toasted almond syrup": Habit(label="TAS", brix=42.6, ph=5.9),
    "raspberry shrub": Habit(label="RBS", makings=2, brix=34.7, ph=3.0),
    ALWAYS_TOO_BIG: Habit(label="CAC", brix=8.9, ph=3.7),
    "burnt honey caramel": Habit(label="BHC", brix=56.8),
    "milk punch base": Habit(label="MPB", makings=2),
    "black tea syrup": Habit(label="BTS", brix=33.2),
    "pine tip gin": Habit(label="PTG"),
    "dried pear fan": Habit(label="DPF", makings=2.5),
    "candied lemon peel": Habit(label="CLP", makings=2),
    NO_PRICE[1]: Habit(label="KSL"),
    "plain syrup": Habit(label="PLS", makings=2, brix=50.0),
    "acid water": Habit(label="ACW"),
}
"""Outer preparations before those that are in them: in this order the house looks at its shelves."""
