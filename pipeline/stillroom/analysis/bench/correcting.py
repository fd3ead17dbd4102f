"""How much to add to a batch that missed its °Brix."""

from __future__ import annotations

from typing import Final

from stillroom.analysis.specs.liquids import sucrose_density

NEAR: Final = 0.05
"""°Brix within which a batch is on its target: what a refractometer shows is read to a tenth."""


def to_add(mass_g: float, brix: float, target: float, solids: float) -> float | None:
    """Grams of something to add so that a liquid comes to its target; None where it leads away from it.

        m = M (target - brix) / (solids - target)

    the balance of solids over both, which Pearson's square draws up crosswise.

    Args:
        mass_g: of the liquid.
        brix: of the liquid, g of solids in 100 g.
        target: what it shall come to.
        solids: of what is added: 100 of sugar, 0 of water.

    >>> round(to_add(1000, 30, 40, 100), 1), to_add(1000, 50, 40, 0), to_add(1000, 30, 40, 20)
    (166.7, 250.0, None)
    """
    if (target - brix) * (solids - target) <= 0:
        return None
    return mass_g * (target - brix) / (solids - target)


def mass_of(amount: float, base: str, brix: float) -> float | None:
    """The mass of an amount in ml or g, of its °Brix as if it were all sucrose; None of pieces."""
    return {"g": amount, "ml": amount * sucrose_density(brix / 100)}.get(base)
