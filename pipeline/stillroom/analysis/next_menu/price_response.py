"""What a change of price does to serves: the elasticity, from the house's own price changes.

Serves go with price to the power of the elasticity e: at -1, a price 10 % higher sells about 9 % less. A drink whose
price changed with a new version of the same build gives e = ln(ratio of serves) / ln(ratio of prices), the ratio of
serves being that of `version_change`, beside the drinks that stayed as they were. A small step in price says next to
nothing, and its error says so.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import log
from typing import Final

from stillroom.analysis.menu.version_change import Effect

NORMAL: Final = 1.959964
"""Standard errors on either side of a 95 % interval."""
LEAST_STEP: Final = 0.005
"""A smaller change of price, in logarithms, is none."""


def price_estimates(effects: Iterable[Effect]) -> list[tuple[float, float]]:
    """An estimate of the elasticity, with its standard error, of each change of price whose effect can be told.

    Args:
        effects: of changes that changed nothing but the price.
    """
    found = []
    for effect in effects:
        before, after = effect.change.price_before, effect.change.price_after
        if not before or not after or effect.ratio is None or not effect.low or not effect.high:
            continue
        step = log(after / before)
        if abs(step) >= LEAST_STEP:
            error = (log(effect.high) - log(effect.low)) / (2 * NORMAL)
            found.append((log(effect.ratio) / step, max(error, 1e-6) / abs(step)))
    return found
