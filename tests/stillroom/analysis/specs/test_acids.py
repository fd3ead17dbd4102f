"""Acids by kind, and ranges, carried through a mixture."""

from __future__ import annotations

import pytest

from spec_frames import Book
from stillroom.analysis.specs.acids import ACIDS, as_citric
from stillroom.analysis.specs.book import SpecBook
from stillroom.analysis.specs.composition import Composition
from stillroom.analysis.specs.figures import Figures, figures
from stillroom.analysis.specs.views import VIEWS
from stillroom_schemas.ingredient import ACID_KINDS


def of(book: Book) -> Figures:
    made = SpecBook(book.views(*VIEWS))
    return figures(Composition(made).making(made.in_service("mix")).contents)


def test_the_price_list_may_name_just_these_acids() -> None:
    assert list(ACIDS) == ACID_KINDS


# Equivalents by molar mass and protons, CRC Handbook (from memory): 64.04, 67.04, 75.04, 90.08 and 60.05 g.
@pytest.mark.parametrize(
    ("kind", "grams"), [("citric", 64.04), ("malic", 67.04), ("tartaric", 75.04), ("lactic", 90.08), ("acetic", 60.05)]
)
def test_equivalents(kind: str, grams: float) -> None:
    assert ACIDS[kind].equivalent_g == pytest.approx(grams, abs=0.01)


def test_conversions() -> None:
    assert as_citric("tartaric") == pytest.approx(0.8533, abs=5e-4)
    assert as_citric("tartaric") / as_citric("malic") == pytest.approx(0.8933, abs=5e-4)
    assert 1 / as_citric("malic") == pytest.approx(1.0468, abs=5e-4)


def test_acid_of_a_kind_counts_by_its_equivalents_and_weighs_what_it_weighs() -> None:
    """By hand: 10 g of malic and 20 g of lactic acid in 1 000 g."""
    book = Book()
    book.ingredient("malic acid", "1000 g", acid_pct=100.0, acid_kind="malic")
    book.ingredient("lactic acid", "1000 g", acid_pct=80.0, acid_kind="lactic")
    book.spec("mix", "1000 g", "10 g malic acid", "25 g lactic acid", "965 g water")
    made = SpecBook(book.views(*VIEWS))
    contents = Composition(made).making(made.in_service("mix")).contents
    assert contents.mass_g == pytest.approx(1000, rel=1e-9)
    assert (contents.malic_g, contents.lactic_g) == (pytest.approx(10), pytest.approx(20))
    assert contents.acid_g == pytest.approx(10 * 64.04 / 67.045 + 20 * 64.04 / 90.08, rel=1e-4)
    assert contents.water_g == pytest.approx(970, rel=1e-9)


def test_orange_juice_made_as_sour_as_lime_juice() -> None:
    """Penniston et al. 2008: 9.1 and 45.8 g of citric acid in a litre; so 36.7 g of citric, or 38.4 g of malic acid."""
    more = 45.8 - 9.1
    assert more / as_citric("citric") == pytest.approx(36.7, abs=0.05)
    assert more / as_citric("malic") == pytest.approx(38.4, abs=0.05)


def test_ranges_of_fruit_are_carried() -> None:
    """By hand: 500 g of juice of 8 to 12 % sugar and 1 to 3 % malic acid in 1 000 g."""
    book = Book()
    book.ingredient(
        "juice", "1000 g", sugar_pct=10.0, sugar_low=8.0, sugar_high=12.0, acid_pct=2.0, acid_low=1.0, acid_high=3.0,
        acid_kind="malic",
    )  # fmt: skip
    book.spec("mix", "1000 g", "500 g juice", "500 g water")
    found = of(book)
    assert (found.brix_low, found.brix, found.brix_high) == (pytest.approx(4), pytest.approx(5), pytest.approx(6))
    ratio = 1 / as_citric("malic")
    assert found.sugar_acid_low == pytest.approx(40 / 15 * ratio, rel=1e-6)
    assert found.sugar_acid_high == pytest.approx(60 / 5 * ratio, rel=1e-6)
    assert found.acid_low_g_100ml < found.acid_g_100ml < found.acid_high_g_100ml


def test_of_a_range_alone_the_middle_counts_and_without_one_there_is_none() -> None:
    book = Book()
    book.ingredient("juice", "1000 g", sugar_low=8.0, sugar_high=12.0)
    book.spec("mix", "1000 g", "1000 g juice")
    assert of(book).brix == pytest.approx(10)
    plain = Book()
    plain.ingredient("juice", "1000 g", sugar_pct=10.0)
    plain.spec("mix", "1000 g", "1000 g juice")
    assert (of(plain).brix_low, of(plain).brix_high) == (None, None)


def test_the_range_of_a_common_ingredient_comes_with_what_is_assumed_of_it() -> None:
    """Penniston et al. 2008: 48.0 g/l of citric acid in lemon juice, standard deviation 3.8."""
    book = Book()
    book.ingredient("lemon juice", "1000 ml")
    book.spec("mix", "1000 ml", "1000 ml lemon juice")
    found = of(book)
    assert found.acid_low_g_100ml < 4.8 < found.acid_high_g_100ml
    assert found.citric_g_100ml == pytest.approx(found.acid_g_100ml)
