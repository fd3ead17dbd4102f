"""What is commonly in an ingredient, where the price list is silent: never over a house's own value, always named."""

from __future__ import annotations

import csv
import tomllib

import pytest

from spec_frames import Book
from stillroom import model
from stillroom.analysis.specs.book import SpecBook
from stillroom.analysis.specs.composition import Composition, Making
from stillroom.analysis.specs.likely_items import WORDS, proposals
from stillroom.analysis.specs.views import VIEWS

ROWS = list(csv.DictReader((model.FOLDER / "known_items.csv").read_text(encoding="utf-8").splitlines()))
FIGURES = ("sugar_pct", "acid_pct", "abv_pct", "density_g_ml")

# Indian Food Composition Tables 2017 (National Institute of Nutrition), free sugars, g in 100 g, read in a package that
# carries them: a second table, measured elsewhere and on other fruit.
IFCT_SUGARS = {
    "lemon juice": 2.59, "coconut water": 3.06, "apple": 9.53, "pear": 7.39, "peach": 6.95, "plum": 10.13,
    "sweet cherry": 10.72, "mango": 8.43, "pineapple": 8.56, "papaya": 4.09, "pomegranate": 10.87, "watermelon": 3.0,
    "orange": 6.86, "carrot": 3.23, "tomato": 1.82, "banana": 14.0, "raisin": 57.12,
}  # fmt: skip


def making(book: Book, name: str) -> Making:
    made = SpecBook(book.views(*VIEWS))
    return Composition(made).making(made.in_service(name))


def juice(**cells: object) -> Making:
    book = Book()
    book.ingredient("Lemon Juice", "1000 ml", 4.0, **cells)
    book.spec("sour", "1000 ml", "1000 ml lemon juice")
    return making(book, "sour")


def test_a_silent_price_list_is_filled_in_and_says_so() -> None:
    found = juice()
    assert found.whole
    # Penniston et al. 2008 (J. Endourol. 22:567): fresh lemon juice holds 48.0 g of citric acid in a litre.
    assert found.contents.acid_g == pytest.approx(48.0, rel=0.01)
    assert found.contents.brix == pytest.approx(2.52)  # USDA SR28, 09152
    [said] = found.assumed
    assert "Lemon Juice: sugar 2.52 %, acid 4.66 %" in said
    assert "USDA SR28 09152" in said


def test_a_house_has_the_last_word() -> None:
    found = juice(sugar_pct=3.0, acid_pct=6.0)
    assert found.contents.brix == pytest.approx(3.0)
    assert not any("sugar" in said or "acid" in said for said in found.assumed)


def test_a_name_that_is_only_nearly_so_is_not_guessed() -> None:
    book = Book()
    book.ingredient("lemon juice, Amalfi", "1000 ml", 4.0)
    book.spec("sour", "1000 ml", "1000 ml lemon juice, Amalfi")
    found = making(book, "sour")
    assert found.assumed == ()
    assert found.not_known == ("lemon juice, Amalfi",)


def test_fruit_and_nuts_bring_their_allergens_and_nothing_else() -> None:
    book = Book()
    book.ingredient("almonds", "1000 g", 12.0)
    book.spec("syrup", "500 g", "200 g almonds", "300 g water")
    found = making(book, "syrup")
    assert found.left_out == ("almonds",)
    assert found.contents.sugar_g == 0
    views = book.views(*VIEWS)
    composition = Composition(SpecBook(views))
    assert composition.allergens(composition.book.in_service("syrup")) == ("tree nuts (almond)",)


def test_costs_rest_on_what_the_house_states_alone() -> None:
    """An assumed density must not turn a price by weight into a cost by volume without a word."""
    book = Book()
    book.ingredient("lemon juice", "1000 g", 4.0)
    book.spec("Sour", "1 serve", "25 ml lemon juice")
    costs = book.views("spec_cost")["spec_cost"]
    assert costs["cost"].to_list() == [None] * costs.height
    assert costs.height


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["item"])
def test_every_figure_has_a_source_and_lies_in_its_range(row: dict[str, str]) -> None:
    assert row["source"]
    assert any(row[name] for name in (*FIGURES, "allergens"))
    for name in ("sugar", "acid", "abv"):
        low, value, high = (float(row[f"{name}_{end}"] or "nan") for end in ("low", "pct", "high"))
        assert not low > value
        assert not high < value


def test_the_plain_names_are_of_one_ingredient_each() -> None:
    names = [name.strip() for row in ROWS for name in (row["item"], *row["also"].split(";")) if name.strip()]
    assert sorted(names) == sorted(set(names))
    assert len(ROWS) > 130


def test_a_second_table_says_much_the_same() -> None:
    """Fruit differs: within a factor of 2.2 each, and in the middle within a third."""
    ratios = sorted(float(row["sugar_pct"]) / IFCT_SUGARS[row["item"]] for row in ROWS if row["item"] in IFCT_SUGARS)
    assert len(ratios) == len(IFCT_SUGARS)
    assert 1 / 2.2 < ratios[0] <= ratios[-1] < 2.2
    assert 0.75 < ratios[len(ratios) // 2] < 1.33


def test_names_of_other_languages_and_near_spellings_are_proposed_and_never_assumed() -> None:
    names = [row["item"] for row in ROWS]
    asked = ["Zitronensaft", "Jus de Citron", "lemmon juice", "Cukr", "kelp tea", "fresh Lemon Juice, pressed"]
    assert proposals(asked, names) == {
        "Zitronensaft": "lemon juice",
        "Jus de Citron": "lemon juice",
        "lemmon juice": "lemon juice",
        "Cukr": "white sugar",
        "fresh Lemon Juice, pressed": "lemon juice",
    }
    book = Book()
    book.ingredient("Zitronensaft", "1000 ml", 4.0)
    book.spec("sour", "1000 ml", "1000 ml Zitronensaft")
    assert making(book, "sour").not_known == ("Zitronensaft",)


def test_every_word_of_another_language_stands_for_a_common_ingredient() -> None:
    listed = tomllib.loads(WORDS.read_text(encoding="utf-8"))
    assert set(listed) <= {row["item"] for row in ROWS}
    plain = {name.strip() for row in ROWS for name in (row["item"], *row["also"].split(";"))}
    assert not {word for several in listed.values() for word in several} & plain


def test_a_house_says_which_common_ingredient_a_thing_is() -> None:
    book = Book()
    book.ingredient("Zitronensaft", "1000 ml", 4.0, known_as="Lemon juice")
    book.spec("sour", "1000 ml", "1000 ml Zitronensaft")
    found = making(book, "sour")
    assert not found.not_known
    assert found.assumed[0].startswith("Zitronensaft: sugar 2.52 %, acid 4.66 %")
