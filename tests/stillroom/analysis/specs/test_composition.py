"""Composition: published mixtures, masses that balance, nesting that changes nothing, and what is said when unsure."""

from datetime import date
from time import perf_counter

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spec_frames import Book, kitchen
from stillroom.analysis.specs.book import SpecBook
from stillroom.analysis.specs.composition import Composition, Making, densities
from stillroom.analysis.specs.contents import Contents
from stillroom.analysis.specs.ingredients import ingredient_densities
from stillroom.analysis.specs.versions import LAST_OF_DAYS


def making(book: Book, spec: str, version: int = 1, day: date = LAST_OF_DAYS) -> Making:
    found = SpecBook(book.frames, day)
    version_found = found.find(spec, version)
    assert version_found is not None
    return Composition(found).making(version_found)


@pytest.mark.parametrize(
    ("lines", "volume", "abv"),
    [
        # Worked from OIML R 22 by an independent program.
        (("50 ml ethanol", "50 ml water"), 96.46, 51.83),
        (("100 ml gin", "100 ml water"), 199.91, 20.009),
        (("1000 ml spirit", "1470.5 ml water"), 2400.0, 40.0),
        (("60 ml gin", "30 ml wine", "30 ml liqueur"), 119.83, 30.04),
    ],
)
def test_mixtures_contract(lines: tuple[str, ...], volume: float, abv: float) -> None:
    book = kitchen()
    book.ingredient("wine", abv_pct=16.0)
    book.ingredient("liqueur", abv_pct=24.0)
    book.spec("mixture", f"{volume} ml", *lines)
    contents = making(book, "mixture").contents
    assert contents.volume_ml == pytest.approx(volume, abs=0.3 if volume > 1000 else 0.02 if volume > 100 else 0.05)
    assert contents.abv_pct == pytest.approx(abv, abs=0.05)


@pytest.mark.parametrize(
    ("sugar", "brix", "density", "per_litre"), [(500, 50.0, 1.2297, 614.8), (1000, 66.67, 1.3268, 884.5)]
)
def test_syrups(sugar: int, brix: float, density: float, per_litre: float) -> None:
    # Mass balance and the ICUMSA density: 1:1 and 2:1 by weight.
    book = kitchen()
    book.spec("syrup", "800 ml", f"{sugar} g sugar", "500 g water")
    contents = making(book, "syrup").contents
    assert contents.brix == pytest.approx(brix, abs=0.01)
    assert contents.density_g_ml == pytest.approx(density, abs=5e-4)
    assert contents.sugar_g_100ml == pytest.approx(per_litre / 10, abs=0.05)


def test_a_spirit_of_the_price_list_has_its_published_density() -> None:
    # OIML R 22: 40 % vol is 33.30 % by mass, 315.7 g of ethanol in a litre, 948.05 kg/m³.
    book = kitchen()
    found = dict(ingredient_densities(book.ingredients).iter_rows())
    assert found["gin"] == pytest.approx(0.94805, abs=1e-5)
    book.spec("neat", "1 serve", "1000 ml gin")
    contents = making(book, "neat").contents
    assert contents.alcohol_g == pytest.approx(315.70, abs=0.02)
    assert contents.abv_pct == pytest.approx(40.0, abs=1e-9)


def test_a_dry_solid_without_a_density_has_no_volume() -> None:
    book = kitchen()
    assert dict(ingredient_densities(book.ingredients).iter_rows())["sugar"] is None
    book.spec("odd", "1 serve", "60 ml gin", "1 tbsp sugar")
    found = making(book, "odd")
    assert found.not_counted == ("sugar: no density is stated, so 1 tbsp has no mass",)
    assert found.contents.sugar_g == 0


def test_a_heap_of_sugar_dissolves_like_weighed_sugar() -> None:
    book = kitchen()
    book.ingredient("loose sugar", "1000 g", sugar_pct=100.0, density_g_ml=0.85)
    book.spec("by volume", "1 l", "1000 ml loose sugar", "850 g water")
    book.spec("by weight", "1 l", "850 g sugar", "850 g water")
    by_volume, by_weight = making(book, "by volume").contents, making(book, "by weight").contents
    assert by_volume.volume_ml == pytest.approx(by_weight.volume_ml)
    assert by_volume.brix == pytest.approx(50.0)


def test_pieces_have_no_mass_and_that_is_said() -> None:
    book = kitchen()
    book.spec("flip", "1 serve", "50 ml gin", "3 each egg white")
    found = making(book, "flip")
    assert found.not_counted == ("egg white: 3 each has no mass",)
    flip = SpecBook(book.frames)
    assert Composition(flip).allergens(flip.specs["flip", 1]) == ("egg",)
    assert densities(book.frames)["density_g_ml"].to_list() == [None]


def test_an_item_nobody_lists_is_said() -> None:
    book = kitchen()
    book.spec("odd", "1 serve", "50 ml gin", "10 ml moon dew")
    assert making(book, "odd").not_counted == ("moon dew: not in the price list, so nothing is known of it",)


def test_what_the_price_list_leaves_open_is_an_assumption() -> None:
    book = kitchen()
    book.ingredient("marsh gin", "700 ml", abv_pct=40.0)
    book.ingredient("marsh tonic", "200 ml")
    book.ingredient("fig leaf", "100 g")
    book.spec("long", "1 serve", "50 ml marsh gin", "150 ml marsh tonic", "5 g fig leaf")
    found = making(book, "long")
    assert found.not_known == ("marsh tonic",)
    assert found.left_out == ("fig leaf",)
    assert "sugar of marsh gin" in found.taken_as_zero
    assert found.contents.left_out_g == 5
    # OIML R 22: 47.40 g at 40 % vol with 149.73 g of water is 8.007 % by mass, 984.72 kg/m³.
    assert found.contents.volume_ml == pytest.approx(200.19, abs=0.01)
    assert not found.whole


def test_a_statement_that_cannot_be_is_named() -> None:
    book = kitchen()
    book.ingredient("impossible", "700 ml", abv_pct=90.0, sugar_pct=60.0)
    book.spec("odd", "1 serve", "50 ml impossible")
    assert making(book, "odd").not_counted == (
        "impossible: alcohol, sugar and acid as stated come to more than the whole",
    )


def test_a_loss_leaves_the_strength_and_a_gain_spreads_it() -> None:
    book = kitchen()
    book.spec("strained", "500 ml", "1000 ml gin")
    book.spec("stretched", "2000 ml", "1000 ml gin")
    book.spec("a", "1 serve", "100 ml strained")
    book.spec("b", "1 serve", "100 ml stretched")
    a, b = making(book, "a").contents, making(book, "b").contents
    assert a.abv_pct == pytest.approx(40.0)
    assert b.abv_pct == pytest.approx(20.0)
    assert a.volume_ml == pytest.approx(100.0)
    assert b.volume_ml == pytest.approx(100.0)
    assert b.density_g_ml == pytest.approx(0.97356, abs=0.002)  # OIML R 22 at 20 % vol
    assert making(book, "b").topped_up == (
        "stretched, version 1: more comes out than went in, and the rest counts as water",
    )
    assert making(book, "a").topped_up == ()


def test_a_preparation_measured_by_weight_and_used_by_volume() -> None:
    book = kitchen()
    book.spec("syrup", "1000 g", "500 g sugar", "500 g water")
    book.spec("drink", "1 serve", "20 ml syrup")
    # 20 ml at 1.2297 g/ml (ICUMSA) is 24.59 g, half of it sugar.
    assert making(book, "drink").contents.sugar_g == pytest.approx(12.297, abs=0.005)


def test_a_serve_of_another_drink_can_be_a_part_but_a_millilitre_of_it_cannot() -> None:
    book = kitchen()
    book.spec("short", "2 serve", "100 ml gin")
    book.spec("half", "1 serve", "1 each short")
    book.spec("splash", "1 serve", "10 ml short")
    assert making(book, "half").contents.volume_ml == pytest.approx(50.0)
    assert making(book, "splash").not_counted == ("short: 10 ml of it cannot be measured off a making given in each",)


def test_a_circle_is_named_and_does_not_run_for_ever() -> None:
    book = kitchen()
    book.spec("egg", "100 ml", "50 ml hen", "50 ml gin")
    book.spec("hen", "100 ml", "50 ml egg")
    assert making(book, "egg").not_counted == ("egg: goes in a circle, it is made of what is made of it",)


def test_a_spec_in_itself_is_a_circle() -> None:
    book = kitchen()
    book.spec("ouroboros", "100 ml", "50 ml ouroboros", "50 ml gin")
    found = making(book, "ouroboros")
    assert found.not_counted == ("ouroboros: goes in a circle, it is made of what is made of it",)
    assert found.contents.volume_ml == pytest.approx(50.0)


def test_nesting_a_thousand_deep_with_every_level_used_twice() -> None:
    book = kitchen()
    book.spec("level 0", "100 ml", "100 ml gin")
    for level in range(1, 1000):
        book.spec(f"level {level}", "100 ml", f"50 ml level {level - 1}", f"50 ml level {level - 1}")
    assert making(book, "level 999").contents.abv_pct == pytest.approx(40.0, rel=1e-9)


def test_versions_spelt_differently_are_one_spec() -> None:
    book = kitchen()
    book.spec("SYRUP", "813.2 ml", "500 g sugar", "500 g water")
    book.spec("Syrup", "813.2 ml", "500 g sugar", "500 g water", version=2)
    assert densities(book.frames).rows()[0][:2] == ("syrup", 1)


def test_names_compare_without_case() -> None:
    book = kitchen()
    book.spec("Syrup", "813.2 ml", "500 g Sugar", "500 g WATER")
    book.spec("drink", "1 serve", "20 ml SYRUP")
    assert making(book, "drink").whole


def test_which_version_is_meant() -> None:
    book = kitchen()
    spans = {1: (date(2026, 1, 1), date(2026, 3, 31)), 2: (date(2026, 4, 1), None), 3: (None, None)}
    for version, (first, last) in spans.items():
        cells = {"version": version, "in_service_from": first, "in_service_until": last}
        book.spec("syrup", "100 ml", f"{version * 10} g sugar", "50 g water", **cells)  # type: ignore[arg-type]
    book.spec("old", "1 serve", "20 ml syrup", in_service_from=date(2026, 1, 1), in_service_until=date(2026, 2, 1))
    book.spec("new", "1 serve", "20 ml syrup", in_service_from=date(2026, 5, 1))
    specs = SpecBook(book.frames)
    old, new = specs.specs["old", 1], specs.specs["new", 1]
    assert [part.version for part in specs.specs_in(old, specs.day_of(old))] == [1]
    assert [part.version for part in specs.specs_in(new, specs.day_of(new))] == [2]
    assert specs.version_on("syrup", date(2026, 2, 1)).version == 1
    assert specs.version_on("syrup", date(2025, 2, 1)).version == 1


def test_a_cell_left_empty_in_a_newer_price_keeps_what_was_stated() -> None:
    book = Book()
    book.ingredient("gin", "700 ml", 14.0, abv_pct=40.0)
    book.ingredient("gin", "700 ml", 15.0, priced_on=date(2026, 6, 1))
    book.spec("neat", "1 serve", "50 ml gin")
    assert making(book, "neat").contents.abv_pct == pytest.approx(40.0)


# Properties ----------------------------------------------------------------------------------------

amounts = st.floats(0.1, 2000.0)
weighed = st.sampled_from(["gin", "spirit", "sugar", "citric acid", "lemon juice", "egg white", "water"])


@given(st.lists(st.lists(st.tuples(weighed, amounts), min_size=1, max_size=8), min_size=8, max_size=8))
@settings(max_examples=8, deadline=None)
def test_mass_in_is_mass_out(mixtures: list[list[tuple[str, float]]]) -> None:
    book = kitchen()
    for version, parts in enumerate(mixtures, 1):
        book.spec("mixture", "1000 g", *(f"{amount} g {item}" for item, amount in parts), version=version)
    composition = Composition(SpecBook(book.frames))
    for version, parts in enumerate(mixtures, 1):
        mixture = composition.book.find("mixture", version)
        assert mixture is not None
        contents = composition.making(mixture).contents
        put_in = sum(amount for _, amount in parts)
        assert contents.mass_g == pytest.approx(put_in, rel=1e-9)
        inside = contents.water_g + contents.alcohol_g + contents.sugar_g + contents.acid_g
        assert inside == pytest.approx(put_in, rel=1e-9)


@given(st.lists(amounts, min_size=3, max_size=3), st.integers(1, 12))
@settings(max_examples=15, deadline=None)
def test_nesting_to_any_depth_equals_the_flat_sum(parts: list[float], depth: int) -> None:
    gin, sugar, water = parts
    lines = (f"{gin} ml gin", f"{sugar} g sugar", f"{water} g water")
    book = kitchen()
    book.spec("flat", "1 serve", *lines)
    flat = making(book, "flat").contents
    book.spec("level 0", f"{flat.mass_g} g", *lines)
    for level in range(1, depth):
        # Half of the level below, twice: by weight, so that the whole of it goes in.
        book.spec(f"level {level}", f"{flat.mass_g} g", *[f"{flat.mass_g / 2} g level {level - 1}"] * 2)
    nested = making(book, f"level {depth - 1}").contents
    for name in ("water_g", "alcohol_g", "sugar_g", "acid_g", "volume_ml"):
        assert getattr(nested, name) == pytest.approx(getattr(flat, name), rel=1e-9, abs=1e-9)


@given(st.lists(st.tuples(amounts, amounts, amounts), min_size=2, max_size=4), st.floats(0.01, 50))
@settings(max_examples=40, deadline=None)
def test_contents_add_up_and_scale(parts: list[tuple[float, float, float]], factor: float) -> None:
    mixtures = [Contents(*part) for part in parts]
    total = mixtures[0]
    for mixture in mixtures[1:]:
        total = total + mixture
    assert total.mass_g == pytest.approx(sum(m.mass_g for m in mixtures), rel=1e-9)
    assert total.times(factor).volume_ml == pytest.approx(factor * total.volume_ml, rel=1e-9)


def test_a_large_book_is_unfolded() -> None:
    """500 specs of 5 versions, four deep; the time is printed, and decides nothing."""
    book = kitchen()
    for number in range(500):
        for version in range(1, 6):
            inner = [f"50 ml spec {number - 125}"] if number >= 125 else []
            lines = ("40 ml gin", f"{version} g sugar", "30 ml water", "25 ml lemon juice", *inner)
            book.spec(f"spec {number}", "140 ml", *lines, version=version)
    frames = book.frames
    began = perf_counter()
    found = densities(frames)
    print(f"2500 versions in {perf_counter() - began:.2f} s")
    assert found.height == 2500
    assert found["density_g_ml"].null_count() == 0
    assert found.filter(pl.col("density_g_ml").is_between(0.95, 1.05)).height == 2500
