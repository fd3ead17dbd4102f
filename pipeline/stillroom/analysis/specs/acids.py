"""Acids by kind, and how sour one is beside another: grams that take the same alkali to neutralise (titratable acid).

Molar masses and pKa are of the CRC Handbook of Chemistry and Physics (from memory). Titration ends at pH 8.1 to 8.2
(AOAC 942.15, from memory): by then every proton of these acids is gone but the third of phosphoric acid (pKa 12.3),
which does not count. How sour a thing tastes, and its pH, follow from more than this.
"""

from __future__ import annotations

from typing import Final, NamedTuple


class Acid(NamedTuple):
    """An acid."""

    molar_mass: float
    """g/mol, without crystal water."""
    protons: int
    """That a titration to pH 8.2 takes."""

    @property
    def equivalent_g(self) -> float:
        """Grams that give one mol of protons."""
        return self.molar_mass / self.protons


ACIDS: Final = {
    "citric": Acid(192.12, 3),  # pKa 3.13, 4.76, 6.40
    "malic": Acid(134.09, 2),  # 3.40, 5.11
    "tartaric": Acid(150.09, 2),  # 2.98, 4.34
    "lactic": Acid(90.08, 1),  # 3.86
    "acetic": Acid(60.05, 1),  # 4.76
    "phosphoric": Acid(98.00, 2),  # 2.16, 7.21, 12.32
}


def as_citric(kind: str) -> float:
    """Grams of citric acid that are as sour, by titration, as 1 g of an acid.

        m(citric) = m x (M(citric) / 3) / (M(acid) / protons)

    >>> round(as_citric("malic"), 4), round(as_citric("acetic"), 4)
    (0.9552, 1.0664)
    """
    return ACIDS["citric"].equivalent_g / ACIDS[kind].equivalent_g
