"""National definitions of a standard drink."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from stillroom.analysis.specs.liquids import ETHANOL_DENSITY


@dataclass(frozen=True, kw_only=True)
class StandardDrink:
    """What one country counts as one drink."""

    code: str
    """What the settings call it."""
    word: str
    """What one is called, and several."""
    alcohol_g: float
    """Pure alcohol in one, g."""
    source: str


STANDARD_DRINKS: Final = {
    drink.code: drink
    for drink in (
        StandardDrink(
            code="AU", word="Australian standard drinks", alcohol_g=10.0, source="NHMRC: 10 g of alcohol (from memory)"
        ),
        StandardDrink(
            code="CA",
            word="Canadian standard drinks",
            alcohol_g=13.45,
            source="Canada's guidance: 17.05 ml or 13.45 g of alcohol (from memory)",
        ),
        StandardDrink(
            code="IE", word="Irish standard drinks", alcohol_g=10.0, source="HSE: 10 g of alcohol (from memory)"
        ),
        StandardDrink(
            code="UK",
            word="UK units",
            alcohol_g=10 * ETHANOL_DENSITY,
            source="UK Chief Medical Officers: 10 ml of alcohol (from memory)",
        ),
        StandardDrink(
            code="US",
            word="US standard drinks",
            alcohol_g=14.0,
            source="NIAAA: 14 g (0.6 fl oz) of alcohol (from memory)",
        ),
    )
}
"""By the code in the settings. There is no default: without a setting only grams are given."""
