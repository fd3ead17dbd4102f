"""What is in the glass: chilling, standard drinks, yields, facts for cautions."""

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spec_frames import Book, kitchen
from stillroom.analysis.specs.book import SpecBook, SpecVersion
from stillroom.analysis.specs.composition import Composition
from stillroom.analysis.specs.dilution import USUAL_PCT, chilled, dilution
from stillroom.analysis.specs.facts import batch_history, spec_facts
from stillroom.analysis.specs.figures import figures, figures_by_version, glass, yield_of
from stillroom.analysis.specs.liquids import ETHANOL_DENSITY
from stillroom.analysis.specs.scaling import decimals, weighable
from stillroom.analysis.specs.standard_drinks import STANDARD_DRINKS
from store_frames import frame


def found(book: Book, spec: str, version: int = 1) -> tuple[Composition, SpecVersion]:
    composition = Composition(SpecBook(book.frames))
    chosen = composition.book.find(spec, version)
    assert chosen is not None
    return composition, chosen


@pytest.mark.parametrize(
    ("code", "amount_ml", "abv", "drinks", "tolerance"),
    [
        # UK Chief Medical Officers (from memory): 25 ml at 40 %, a pint at 4 %, 175 ml at 13 %.
        ("UK", 25.0, 40.0, 1.0, 0.005),
        ("UK", 568.0, 4.0, 2.27, 0.005),
        ("UK", 175.0, 13.0, 2.275, 0.005),
        # NIAAA (from memory): 12 fl oz at 5 %, 5 fl oz at 12 %, 1.5 fl oz at 40 % hold 14 g each.
        ("US", 354.88, 5.0, 1.0, 0.004),
        ("US", 147.87, 12.0, 1.0, 0.004),
        ("US", 44.36, 40.0, 1.0, 0.004),
        # Canada (from memory): 17.05 ml of alcohol.
        ("CA", 17.05, 100.0, 1.0, 0.002),
    ],
)
def test_standard_drinks(code: str, amount_ml: float, abv: float, drinks: float, tolerance: float) -> None:
    alcohol = amount_ml * abv / 100 * ETHANOL_DENSITY
    assert alcohol / STANDARD_DRINKS[code].alcohol_g == pytest.approx(drinks, abs=tolerance)


def test_without_a_definition_only_grams_are_given() -> None:
    book = kitchen()
    book.spec("neat", "1 serve", "50 ml gin")
    composition, spec = found(book, "neat")
    served = figures(glass(spec, composition.making(spec)).served)
    assert served.standard_drinks is None
    assert served.alcohol_g == pytest.approx(15.785, abs=0.001)  # 315.7 g in a litre at 40 % vol (OIML R 22)


def test_measured_chilling_goes_before_the_usual() -> None:
    measured = dilution("shaken", 28.0)
    usual = dilution("Shaken, fine-strained", None)
    assert measured is not None
    assert usual is not None
    assert (measured.pct, measured.measured) == (28.0, True)
    assert (usual.pct, usual.measured) == (USUAL_PCT["shaken"], False)
    assert "not measured" in usual.said
    assert dilution("poured over", None) is None
    assert dilution(None, None) is None


@pytest.mark.parametrize("method", ["Stirred.", "stirred; strained", "rinsed/stirred", "(stirred)"])
def test_a_method_is_known_whatever_stands_around_it(method: str) -> None:
    found = dilution(method, None)
    assert found is not None
    assert found.pct == USUAL_PCT["stirred"]


def test_chilling_adds_water_as_a_share_of_the_volume() -> None:
    book = kitchen()
    book.spec("stirred", "1 serve", "100 ml gin", method="stirred", dilution_pct=100.0)
    composition, spec = found(book, "stirred")
    poured = glass(spec, composition.making(spec))
    # OIML R 22: 100 ml at 40 % vol and 100 ml of water make 199.91 ml of 20.009 % vol.
    assert poured.served.volume_ml == pytest.approx(199.91, abs=0.02)
    assert poured.served.abv_pct == pytest.approx(20.009, abs=0.02)
    assert poured.served.alcohol_g == pytest.approx(poured.before.alcohol_g, rel=1e-12)


@given(st.floats(0, 300), st.floats(1, 500))
@settings(max_examples=15, deadline=None)
def test_chilling_adds_nothing_but_water(pct: float, gin: float) -> None:
    book = kitchen()
    book.spec("drink", "1 serve", f"{gin} ml gin", "10 g sugar", dilution_pct=pct, method="stirred")
    composition, spec = found(book, "drink")
    before = composition.making(spec).contents
    water = dilution(spec.method, spec.dilution_pct)
    assert water is not None
    after = chilled(before, water)
    added = before.volume_ml * pct / 100 * 0.9982
    assert after.mass_g == pytest.approx(before.mass_g + added, rel=1e-9)
    assert (after.alcohol_g, after.sugar_g, after.acid_g) == (before.alcohol_g, before.sugar_g, before.acid_g)


def test_a_punch_is_shown_by_the_serve() -> None:
    book = kitchen()
    book.spec("punch", "10 serve", "500 ml gin", "500 ml water", method="batched")
    row = figures_by_version(found(book, "punch")[0]).row(0, named=True)
    assert row["volume_ml"] == pytest.approx(99.95, abs=0.02)


def test_a_garnish_does_not_sweeten_the_drink_but_its_allergens_count() -> None:
    book = kitchen()
    book.ingredient("almond", "1 kg", allergens="almonds")
    book.spec("brittle", "10 each", "200 g sugar", "100 g almond", kind="garnish")
    book.spec("drink", "1 serve", "50 ml gin", "1 each brittle")
    composition, spec = found(book, "drink")
    making = composition.making(spec)
    assert making.contents.sugar_g == 0
    assert composition.allergens(spec) == ("almonds",)
    assert making.left_out == ("brittle",)
    assert making.contents.left_out_g == pytest.approx(30.0)


@pytest.mark.parametrize(
    ("written", "allergens"),
    [
        ("milk; egg", {"milk", "egg"}),
        ("milk, egg", {"milk", "egg"}),
        ("nuts (almond, hazelnut); milk", {"nuts (almond, hazelnut)", "milk"}),
        ("milk,", {"milk"}),
    ],
)
def test_allergens_are_told_apart_however_they_are_parted(written: str, allergens: set[str]) -> None:
    book = kitchen()
    book.ingredient("orgeat base", "1 kg", allergens=written)
    book.spec("drink", "1 serve", "50 g orgeat base")
    composition, spec = found(book, "drink")
    assert set(composition.allergens(spec)) == allergens


@pytest.mark.parametrize(
    ("makes", "words"),
    [("813 ml", "they agree"), ("650 ml", "20 % is lost"), ("1000 ml", "23 % more than goes in"), ("10 each", "")],
)
def test_yields(makes: str, words: str) -> None:
    book = kitchen()
    book.spec("syrup", makes, "500 g sugar", "500 g water")  # 813.2 ml by the ICUMSA density
    composition, spec = found(book, "syrup")
    assert words in yield_of(spec, composition.making(spec)).said
    if not words:
        assert yield_of(spec, composition.making(spec)).share is None


def test_empty_books_give_empty_figures() -> None:
    assert figures_by_version(Composition(SpecBook(Book().frames))).is_empty()


@given(st.floats(0.5, 1e5))
@settings(max_examples=200)
def test_rounded_amounts_are_within_half_a_per_cent(amount: float) -> None:
    assert abs(weighable(amount) - amount) <= max(0.005 * amount, 0.005) + 1e-9


def test_what_is_too_little_to_weigh_is_not_made_more() -> None:
    # 5 mg of something strong is not the 10 mg that the finest step of a scale would make of it.
    assert [weighable(amount) for amount in (0, 0.005, 0.001, 0.0034, 0.0123)] == [0, 0.005, 0.001, 0.0034, 0.012]
    assert [f"{x:.{decimals(x)}f}" for x in (0.005, 0.0034, 0.012, 1.23)] == ["0.005", "0.0034", "0.012", "1.23"]


def test_facts_reach_into_every_depth() -> None:
    book = kitchen()
    book.ingredient("sorbitol", "1 kg", sugar_pct=0.0, density_g_ml=1.49)
    book.spec("juice", "900 ml", "1000 g lemon juice", keeps_days=2.0, method="clarified with milk")
    book.spec("cordial", "1000 g", "200 g sorbitol", "400 g juice", "400 g water", keeps_days=14.0)
    composition, cordial = found(book, "cordial")
    fates = frame(
        "batch_fate",
        [
            ("a", "Cordial", 1, date(2026, 1, 1), date(2026, 1, 15), date(2026, 1, 7)),
            ("b", "cordial", 1, date(2026, 1, 8), date(2026, 1, 22), None),
            ("c", "cordial", 2, date(2026, 1, 8), date(2026, 1, 22), date(2026, 1, 9)),
        ],
        "batch preparation version made_on use_by spoiled_on",
    )
    batches = frame("current_batch", [("a", 3.1), ("b", None), ("c", 4.9)], "batch ph")
    facts = spec_facts(composition, cordial, batch_history(batches, fates))
    assert facts.items == ("sorbitol", "juice", "water", "lemon juice")
    twice = Book()
    twice.ingredient("gin", "700 ml", abv_pct=40.0)
    twice.spec("a", "100 g", "100 g gin")
    twice.spec("b", "100 g", "25 g a", "25 g a", "50 g water")
    shares = spec_facts(*found(twice, "b"), {}).mass_shares
    assert shares == {"water": pytest.approx(0.5), "gin": pytest.approx(0.5)}
    assert facts.mass_shares["sorbitol"] == pytest.approx(0.2)
    assert facts.mass_shares["lemon juice"] == pytest.approx(0.4)
    assert facts.part_keeps == {"juice": 2.0}
    assert "clarified with milk" in facts.parts_text
    assert (facts.batches, facts.spoiled_after_days, facts.ph_measured) == (2, (6,), (3.1,))
