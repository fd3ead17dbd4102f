"""What a mixture holds, as masses, which a mixing cannot change; volume follows from them (`liquids`)."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from functools import cached_property
from typing import Final

from stillroom.analysis.specs.acids import ACIDS, as_citric
from stillroom.analysis.specs.liquids import ETHANOL_DENSITY, mixture_volume

_MORE_THAN_CITRIC: Final = {f"{kind}_g": 1 - as_citric(kind) for kind in ACIDS}
"""Field of an acid -> what 1 g of it weighs beyond the citric acid that is as sour."""


@dataclass(frozen=True)
class Contents:
    """Masses in g; they add up when things are mixed."""

    water_g: float = 0.0
    """Water, and whatever else is dissolved and not told apart."""
    alcohol_g: float = 0.0
    sugar_g: float = 0.0
    acid_g: float = 0.0
    """As citric acid: all kinds by their titratable equivalents, and what nobody tells the kind of."""
    left_out_g: float = 0.0
    """Garnishes, and solids of which nothing is known: they are taken not to end up in the liquid."""
    extra_ml: float = 0.0
    """Volume beyond what the mixing rule gives the masses."""
    citric_g: float = 0.0
    malic_g: float = 0.0
    tartaric_g: float = 0.0
    lactic_g: float = 0.0
    acetic_g: float = 0.0
    phosphoric_g: float = 0.0
    """Of the acid, what is known to be of a kind, each in grams of its own."""
    sugar_less_g: float = 0.0
    sugar_more_g: float = 0.0
    acid_less_g: float = 0.0
    acid_more_g: float = 0.0
    """How much less or more sugar, and acid as citric, there is where all that has a range is at its end."""

    def __add__(self, other: Contents) -> Contents:
        return Contents(*(getattr(self, n) + getattr(other, n) for n in PARTS))

    def times(self, factor: float) -> Contents:
        """The same mixture, more or less of it."""
        return Contents(*(getattr(self, n) * factor for n in PARTS))

    @property
    def mass_g(self) -> float:
        """Mass of the liquid, g; what is left out does not count."""
        return self.water_g + self.alcohol_g + self.sugar_g + self.acid_mass_g

    @cached_property
    def acid_mass_g(self) -> float:
        """The acids as they weigh, g; what nobody tells the kind of, as citric."""
        heavier: float = sum(more * getattr(self, name) for name, more in _MORE_THAN_CITRIC.items())
        return self.acid_g + heavier

    @cached_property
    def volume_ml(self) -> float:
        """Volume of the liquid at 20 °C, ml."""
        return mixture_volume(self.water_g, self.alcohol_g, self.sugar_g + self.acid_mass_g) + self.extra_ml

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
    def apparent_brix(self) -> float | None:
        """Sugar and acid, g in 100 g: what a refractometer shows where there is no alcohol."""
        return self._per(100 * (self.sugar_g + self.acid_mass_g), self.mass_g)

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

    @property
    def has_range(self) -> bool:
        """Whether anything in it has a range of sugar or acid."""
        return max(self.sugar_less_g, self.sugar_more_g, self.acid_less_g, self.acid_more_g) > 0

    def at_end(self, *, sugar: int = 0, acid: int = 0) -> Contents:
        """The mixture where all fruit in it has as little (-1) or as much (1) sugar, and acid, as it may have."""
        more_sugar = {-1: -self.sugar_less_g, 0: 0.0, 1: self.sugar_more_g}[sugar]
        more_acid = {-1: -self.acid_less_g, 0: 0.0, 1: self.acid_more_g}[acid]
        return replace(
            self,
            sugar_g=self.sugar_g + more_sugar,
            acid_g=self.acid_g + more_acid,
            water_g=self.water_g - more_sugar - more_acid,
        )

    @staticmethod
    def _per(amount: float, whole: float) -> float | None:
        return amount / whole if whole > 1e-12 else None


PARTS: Final = tuple(field.name for field in fields(Contents))
"""The fields of `Contents`."""


def converted(amount: float, base: str, wanted: str, density_g_ml: float | None) -> float | None:
    """An amount in ml, g or each in another of them; None where there is no way between the two."""
    if base == wanted:
        return amount
    if density_g_ml is None or "each" in (base, wanted):
        return None
    return amount * density_g_ml if wanted == "g" else amount / density_g_ml
