"""The unit table against published values, and mass to volume and back."""

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from stillroom_schemas.units import ALSO, KNOWN, SPELLINGS, conversions


@pytest.mark.parametrize(
    ("unit", "base", "amount", "tolerance"),
    [
        # NIST Handbook 44, appendix C (values as UCUM gives them).
        ("fl oz", "ml", 29.5735295625, 1e-9),
        ("us fl oz", "ml", 29.5735295625, 1e-9),
        ("pint", "ml", 473.176, 1e-3),
        ("tsp", "ml", 4.92892, 1e-5),
        ("tbsp", "ml", 14.7868, 1e-4),
        ("cup", "ml", 236.588, 1e-3),
        # UK Units of Measurement Regulations 1995: gallon 4.54609 l (from memory).
        ("imp fl oz", "ml", 4546.09 / 160, 1e-9),
        ("imp pint", "ml", 568.26125, 1e-6),
        ("imperial pint", "ml", 568.26125, 1e-6),
        ("uk fl oz", "ml", 4546.09 / 160, 1e-9),
        ("us pint", "ml", 473.176, 1e-3),
        ("us cup", "ml", 236.588, 1e-3),
        ("bar spoons", "ml", 5.0, 1e-12),
        ("pieces", "each", 1.0, 1e-12),
        # NIST: the avoirdupois ounce and pound (from memory).
        ("oz", "g", 28.349523125, 1e-9),
        ("lb", "g", 453.59237, 1e-9),
        # Metric drop, 20 to the ml of water (from memory).
        ("drop", "ml", 0.05, 1e-12),
        # Common practice, no source.
        ("bar oz", "ml", 30.0, 1e-12),
        # Of the metric system.
        ("ml", "ml", 1.0, 1e-12),
        ("cl", "ml", 10.0, 1e-12),
        ("l", "ml", 1000.0, 1e-9),
        ("g", "g", 1.0, 1e-12),
        ("kg", "g", 1000.0, 1e-9),
        ("each", "each", 1.0, 1e-12),
    ],
)
def test_one_of_each(unit: str, base: str, amount: float, tolerance: float) -> None:
    found_base, factor = conversions()[unit]
    assert found_base == base
    assert factor == pytest.approx(amount, abs=tolerance)


def test_every_spelling_has_a_conversion() -> None:
    assert set(conversions()) == set(KNOWN)
    assert set(ALSO.values()) <= set(SPELLINGS)
    assert not set(ALSO) & set(SPELLINGS)
    assert {base for base, _ in conversions().values()} == {"ml", "g", "each"}


def test_ounces_and_pounds_agree_with_scipy() -> None:
    """scipy.constants (CODATA and the international yard and pound), in m³ and kg."""
    table = conversions()
    assert table["fl oz"][1] == pytest.approx(constants.fluid_ounce_US * 1e6, rel=1e-12)
    assert table["imp fl oz"][1] == pytest.approx(constants.fluid_ounce_imp * 1e6, rel=1e-12)
    assert table["oz"][1] == pytest.approx(constants.oz * 1e3, rel=1e-12)
    assert table["lb"][1] == pytest.approx(constants.lb * 1e3, rel=1e-12)


def test_units_of_law_agree_with_pint() -> None:
    registry: pint.UnitRegistry[float] = pint.UnitRegistry(cache_folder=None)
    names = {"fl oz": "fluid_ounce", "tsp": "teaspoon", "tbsp": "tablespoon", "cup": "cup", "pint": "pint"}
    names |= {
        "quart": "quart",
        "imp fl oz": "imperial_fluid_ounce",
        "imp pint": "imperial_pint",
        "imp quart": "imperial_quart",
    }
    names |= {"gallon": "gallon", "imp gallon": "imperial_gallon"}
    names |= {"oz": "ounce", "lb": "pound", "mg": "milligram", "kg": "kilogram", "cl": "centiliter", "dl": "deciliter"}
    for spelling, name in names.items():
        base, factor = conversions()[spelling]
        assert factor == pytest.approx(registry.Quantity(1, name).to(base).magnitude, rel=1e-12), spelling


@given(st.floats(1e-3, 1e6), st.floats(0.5, 2.5))
def test_mass_and_volume_turn_back_through_the_density(amount: float, density: float) -> None:
    from stillroom.analysis.specs.contents import converted

    grams = converted(amount, "ml", "g", density)
    assert grams is not None
    assert converted(grams, "g", "ml", density) == pytest.approx(amount, rel=1e-12)
    assert converted(amount, "each", "g", density) is None
    assert converted(amount, "ml", "g", None) is None
