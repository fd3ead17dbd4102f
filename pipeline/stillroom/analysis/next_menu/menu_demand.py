"""What a changed menu sells: the forecast of today's menu, with guests of what goes moved on, and what comes added.

With L the serves that drinks lose (all of a drink that is dropped, a part of one that is dearer), N those of new
drinks, and r the share of guests who order another of the house's drinks, the drinks that stay sell r (L - N) more,
each in proportion to what it sells: guests of a drink that goes choose among the others as all guests do (Luce 1959),
and a new drink takes from the others what would go back to them were it dropped.
"""

from __future__ import annotations

import numpy as np


def moved_serves(
    today: np.ndarray,
    kept: np.ndarray,
    price_factor: np.ndarray,
    new: np.ndarray,
    share: np.ndarray,
) -> np.ndarray:
    """Serves on the changed menu.

    Args:
        today: draws by days by drinks of today's menu.
        kept: for each drink, whether it stays.
        price_factor: draws by drinks: serves at the new price over those at the old one; 1 where it stays.
        new: draws by days by new drinks.
        share: draws: part of the guests who order another drink of the house.

    Returns:
        draws by days by drinks and new drinks; 0 for drinks that are dropped.
    """
    stays = today * (price_factor * kept)[:, None, :]
    usual = stays.mean(axis=0)
    weights = usual / np.maximum(usual.sum(axis=1, keepdims=True), 1e-12)
    lost = today.sum(axis=2) - stays.sum(axis=2) - new.sum(axis=2)
    moved = stays + (share[:, None] * lost)[:, :, None] * weights
    return np.concatenate([np.maximum(moved, 0.0), new], axis=2)


def new_serves(today: np.ndarray, factors: np.ndarray, seed: int) -> np.ndarray:
    """Draws by days by new drinks: Poisson, with a mean of so many times what the mean drink sells on the day.

    Args:
        today: draws by days by the drinks on today's menu.
        factors: draws by new drinks.
    """
    mean = today.mean(axis=2)[:, :, None] * factors[:, None, :]
    return np.asarray(np.random.default_rng(seed).poisson(mean), dtype=float)


def price_factors(elasticity: np.ndarray, old: np.ndarray, new: np.ndarray) -> np.ndarray:
    """Draws by drinks: (new price / old price) ** elasticity."""
    return np.asarray((new / old)[None, :] ** elasticity[:, None])
