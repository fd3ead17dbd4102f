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
    code: StandardDrink(code=code, word=word, alcohol_g=grams, source=f"{source} (from memory)")
    for code, word, grams, source in (
        ("AU", "Australian standard drinks", 10.0, "NHMRC: 10 g of alcohol"),
        ("CA", "Canadian standard drinks", 13.45, "Canada's guidance: 17.05 ml or 13.45 g of alcohol"),
        ("IE", "Irish standard drinks", 10.0, "HSE: 10 g of alcohol"),
        ("UK", "UK units", 10 * ETHANOL_DENSITY, "UK Chief Medical Officers: 10 ml of alcohol"),
        ("US", "US standard drinks", 14.0, "NIAAA: 14 g (0.6 fl oz) of alcohol"),
    )
}
"""By the code in the settings. There is no default: without a setting only grams are given."""
