"""Additions by the balance of solids, against Pearson's square worked by hand."""

from __future__ import annotations

import pytest

from stillroom.analysis.bench.correcting import mass_of, to_add


# Pearson's square: parts of each = how far the other lies from the target, crosswise; e.g. 65 and 30 to 40: 10 to 25.
@pytest.mark.parametrize(
    ("brix", "target", "solids", "grams"), [(30, 40, 65, 400.0), (30, 40, 100, 1000 / 6), (50, 40, 0, 250.0)]
)
def test_pearsons_square(brix: float, target: float, solids: float, grams: float) -> None:
    assert to_add(1000, brix, target, solids) == pytest.approx(grams)


@pytest.mark.parametrize(("brix", "target", "solids"), [(30, 40, 35), (30, 40, 40), (50, 40, 60), (40, 40, 100)])
def test_what_leads_away_from_the_target_or_stands_on_it_is_not_added(brix, target, solids) -> None:
    assert to_add(1000, brix, target, solids) is None


def test_a_volume_weighs_by_its_brix() -> None:
    """1 229.7 g in a litre at 50 °Brix (ICUMSA)."""
    assert mass_of(1000, "ml", 50) == pytest.approx(1229.7, abs=0.5)
    assert mass_of(12, "each", 50) is None
