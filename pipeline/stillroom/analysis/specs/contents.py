"""What a mixture holds, as masses, which a mixing cannot change; volume follows from them (`liquids`)."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final

from stillroom.analysis.specs.liquids import ETHANOL_DENSITY, mixture_volume

PARTS: Final = ("water_g", "alcohol_g", "sugar_g", "acid_g", "left_out_g", "extra_ml")
"""The fields of `Contents`."""


@dataclass(frozen=True)
class Contents:
    """Masses in g; they add up when things are mixed."""

    water_g: float = 0.0
    """Water, and whatever else is dissolved and not told apart."""
    alcohol_g: float = 0.0
    sugar_g: float = 0.0
    acid_g: float = 0.0
    """As citric acid."""
    left_out_g: float = 0.0
    """Garnishes, and solids of which nothing is known: they are taken not to end up in the liquid."""
    extra_ml: float = 0.0
    """Volume beyond what the mixing rule gives the masses."""

    def __add__(self, other: Contents) -> Contents:
        return Contents(*(getattr(self, n) + getattr(other, n) for n in PARTS))

    def times(self, factor: float) -> Contents:
        """The same mixture, more or less of it."""
        return Contents(*(getattr(self, n) * factor for n in PARTS))

    @property
    def mass_g(self) -> float:
        """Mass of the liquid, g; what is left out does not count."""
        return self.water_g + self.alcohol_g + self.sugar_g + self.acid_g

    @cached_property
    def volume_ml(self) -> float:
        """Volume of the liquid at 20 °C, ml."""
        return mixture_volume(self.water_g, self.alcohol_g, self.sugar_g + self.acid_g) + self.extra_ml

    @property
    def density_g_ml(self) -> float | None:
        """g/ml; None of nothing."""
        return self.mass_g / self.volume_ml if self.volume_ml > 0 else None

    @property
    def alcohol_ml(self) -> float:
        """Volume that the alcohol would have alone, ml: what % vol counts."""
        return self.alcohol_g / ETHANOL_DENSITY

    @property
    def abv_pct(self) -> float | None:
        """Alcohol, % vol at 20 °C."""
        return self._per(100 * self.alcohol_ml, self.volume_ml)

    @property
    def brix(self) -> float | None:
        """Sugar, g in 100 g. A refractometer shows another figure where there is acid or alcohol."""
        return self._per(100 * self.sugar_g, self.mass_g)

    @property
    def sugar_g_100ml(self) -> float | None:
        """Sugar, g in 100 ml."""
        return self._per(100 * self.sugar_g, self.volume_ml)

    @property
    def acid_g_100ml(self) -> float | None:
        """Acid as citric acid, g in 100 ml."""
        return self._per(100 * self.acid_g, self.volume_ml)

    @property
    def sugar_acid_ratio(self) -> float | None:
        """g of sugar to 1 g of acid; None where there is no acid."""
        return self._per(self.sugar_g, self.acid_g)

    @staticmethod
    def _per(amount: float, whole: float) -> float | None:
        return amount / whole if whole > 1e-12 else None


def converted(amount: float, base: str, wanted: str, density_g_ml: float | None) -> float | None:
    """An amount in ml, g or each in another of them; None where there is no way between the two."""
    if base == wanted:
        return amount
    if density_g_ml is None or "each" in (base, wanted):
        return None
    return amount * density_g_ml if wanted == "g" else amount / density_g_ml
