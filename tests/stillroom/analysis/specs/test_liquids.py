import pytest
from scipy.optimize import brentq

from stillroom.analysis.specs.liquids import (
    ETHANOL_DENSITY,
    WATER_DENSITY,
    ethanol_density,
    mixture_volume,
    sucrose_density,
)

# CRC Handbook, "Concentrative properties of aqueous solutions", sucrose: g in 100 g -> (kg/m³, g in a litre).
CRC_SUCROSE = {
    0: (998.2, 0.0),
    5: (1017.8, 50.9),
    10: (1038.1, 103.8),
    15: (1059.2, 158.9),
    20: (1081.0, 216.2),
    40: (1176.5, 470.6),
    50: (1229.5, 614.8),
    66: (1322.4, 872.8),
    70: (1347.2, 943.1),
}

# OIML R 22 (1975), evaluated at 20 °C by an independent program: % vol -> (% mass, kg/m³, g of ethanol in a litre).
OIML_R22 = {
    5: (3.982, 991.06, 39.46),
    10: (8.015, 984.71, 78.92),
    15: (12.093, 978.97, 118.39),
    20: (16.214, 973.56, 157.85),
    30: (24.607, 962.21, 236.77),
    40: (33.300, 948.05, 315.70),
    45: (37.801, 939.54, 355.16),
    50: (42.426, 930.14, 394.62),
    60: (52.088, 909.11, 473.54),
    80: (73.480, 859.27, 631.39),
    90: (85.665, 829.18, 710.32),
    96: (93.838, 807.42, 757.67),
}


@pytest.mark.parametrize(("brix", "expected"), CRC_SUCROSE.items())
def test_sucrose_agrees_with_the_crc_handbook(brix: int, expected: tuple[float, float]) -> None:
    density, per_litre = expected
    found = 1000 * sucrose_density(brix / 100)
    assert found == pytest.approx(density, abs=0.3)
    assert found == pytest.approx(density, rel=1e-3)
    assert found * brix / 100 == pytest.approx(per_litre, abs=0.5)


def mass_fraction_from_abv(abv: float) -> float:
    """Mass fraction of ethanol in ethanol and water alone, from % vol."""

    def too_strong(fraction: float) -> float:
        return 100 * fraction * ethanol_density(fraction) / ETHANOL_DENSITY - abv

    return float(brentq(too_strong, 0.0, 1.0, xtol=1e-12))


@pytest.mark.parametrize(("abv", "expected"), OIML_R22.items())
def test_ethanol_agrees_with_oiml_r22(abv: int, expected: tuple[float, float, float]) -> None:
    mass_pct, density, per_litre = expected
    fraction = mass_fraction_from_abv(abv)
    assert 100 * fraction == pytest.approx(mass_pct, abs=0.01)
    assert 1000 * ethanol_density(fraction) == pytest.approx(density, abs=0.05)
    assert 1000 * ethanol_density(fraction) * fraction == pytest.approx(per_litre, abs=0.05)


def test_ends_of_the_ethanol_table() -> None:
    # OIML R 22: water 998.20 and ethanol 789.24 kg/m³ at 20 °C.
    assert 1000 * ethanol_density(0.0) == pytest.approx(998.20, abs=0.01)
    assert pytest.approx(789.24, abs=0.01) == 1000 * ETHANOL_DENSITY


def test_equal_volumes_of_ethanol_and_water_contract() -> None:
    # From OIML R 22: 50 ml + 50 ml make 96.46 ml of 51.83 % vol.
    volume = mixture_volume(50 * WATER_DENSITY, 50 * ETHANOL_DENSITY, 0.0)
    assert volume == pytest.approx(96.46, abs=0.05)
    assert 100 * 50 / volume == pytest.approx(51.83, abs=0.05)


@pytest.mark.parametrize(("sugar", "water", "volume"), [(500, 500, 813.2), (1000, 500, 1130.6)])
def test_sugar_syrups(sugar: float, water: float, volume: float) -> None:
    # Mass balance and the ICUMSA density.
    assert mixture_volume(water, 0.0, sugar) == pytest.approx(volume, abs=0.5)


def test_the_two_ways_of_writing_the_additive_rule_differ_as_the_docstring_says() -> None:
    """Tabarié on relative densities, as OIV-MA-AS2-03B writes it, against the rule on masses."""
    for abv, per_litre, bound in ((20.0, 200.0, 0.0005), (30.0, 300.0, 0.0015), (40.0, 250.0, 0.0035)):
        alcohol = abv / 100 * ETHANOL_DENSITY * 1000
        water = _water_filling_a_litre(alcohol, per_litre)
        extract = _water_filling_a_litre(0.0, per_litre) + per_litre
        spirit = 1000 * ethanol_density(mass_fraction_from_abv(abv))
        tabarie = spirit + extract - 1000 * WATER_DENSITY
        assert water + alcohol + per_litre == pytest.approx(tabarie, rel=bound)


def _water_filling_a_litre(alcohol: float, sugar: float) -> float:
    low, high = 0.0, 1000.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if mixture_volume(middle, alcohol, sugar) < 1000 else (low, middle)
    return low


def test_nothing_takes_no_room() -> None:
    assert mixture_volume(0.0, 0.0, 0.0) == 0.0
