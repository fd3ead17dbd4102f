"""Costs by hand: prices of the day, usable share, a preparation's own yield, and what has no price."""

from datetime import date
from pathlib import Path

import polars as pl
import pytest

from spec_frames import Book, kitchen
from stillroom.analysis.costing import Cost, cost_of, part_costs, prices_on
from stillroom.house import House
from stillroom.store import opening
from stillroom.store.frames import fetch, insert
from stillroom_schemas import TABLES

DAY = date(2026, 6, 1)
Frames = dict[str, pl.DataFrame]


def stored(folder: Path, book: Book) -> Frames:
    """The views that the store makes of a book."""
    house = House(folder=folder, name="Test", currency="EUR")
    with opening.writing(house, TABLES) as con:
        for table, frame in (("spec", book.specs), ("spec_line", book.lines), ("ingredient", book.ingredients)):
            places = {"intake_id": pl.lit(1), "file": pl.lit("book"), "row_number": pl.int_range(pl.len())}
            insert(con, table, frame.with_columns(**places))
    with opening.reading(house, TABLES) as con:
        return {view: fetch(con, f"SELECT * FROM {view}") for view in ("spec_parts", "spec_cost", "current_ingredient")}


def cost(views: Frames, spec: str, day: date = DAY, version: int = 1) -> Cost:
    return cost_of(part_costs(views["spec_parts"], views["current_ingredient"], day), spec, version)


def priced() -> Book:
    book = Book()
    book.ingredient("gin", "700 ml", 14.0, abv_pct=40.0)  # 0.02 a ml
    book.ingredient("sugar", "2 kg", 3.0, sugar_pct=100.0)  # 0.0015 a g
    book.ingredient("lemon", "1 kg", 4.0, usable_pct=40.0, acid_pct=4.8, density_g_ml=1.03)  # 0.01 a usable g
    book.ingredient("water", "1 l", 0.0, abv_pct=0.0, density_g_ml=0.998)
    return book


def test_a_pack_costs_its_price_over_its_usable_share() -> None:
    found = {row["key"]: row for row in prices_on(priced().ingredients, DAY).iter_rows(named=True)}
    assert found["lemon"]["unit_cost"] == pytest.approx(4.0 / (1000 * 0.40))
    assert found["lemon"]["base"] == "g"
    assert found["sugar"]["unit_cost"] == pytest.approx(3.0 / 2000)


def test_a_serve_by_hand(tmp_path: Path) -> None:
    book = priced()
    book.spec("syrup", "800 ml", "500 g sugar", "500 g water")
    book.spec("sour", "1 serve", "50 ml gin", "20 ml syrup", "25 g lemon", price=10.0)
    views = stored(tmp_path, book)
    # gin 50 x 0.02 = 1.00; syrup 20 of 800 ml of a making of 0.75 = 0.01875; lemon 25 x 0.01 = 0.25.
    assert cost(views, "syrup").whole == pytest.approx(0.75)
    assert cost(views, "sour").whole == pytest.approx(1.26875)


def test_a_punch_costs_by_the_serve(tmp_path: Path) -> None:
    book = priced()
    book.spec("punch", "10 serve", "500 ml gin", "500 ml water")
    assert cost(stored(tmp_path, book), "punch").whole == pytest.approx(1.0)


def test_mass_and_volume_meet_through_the_density(tmp_path: Path) -> None:
    book = priced()
    book.spec("sour", "1 serve", "20 ml lemon")
    # 20 ml x 1.03 g/ml x 0.01 a usable g.
    assert cost(stored(tmp_path, book), "sour").whole == pytest.approx(0.206)


def test_the_price_in_force_on_the_day(tmp_path: Path) -> None:
    book = priced()
    book.ingredient("gin", "700 ml", 21.0, priced_on=date(2026, 7, 1))
    book.spec("neat", "1 serve", "50 ml gin")
    views = stored(tmp_path, book)
    assert cost(views, "neat", date(2026, 6, 30)).whole == pytest.approx(1.0)
    assert cost(views, "neat", date(2026, 7, 1)).whole == pytest.approx(1.5)
    assert cost(views, "neat", date(2025, 12, 31)) == Cost(known=0.0, missing=("gin",))


def test_a_missing_price_leaves_a_floor_and_a_name(tmp_path: Path) -> None:
    book = priced()
    book.ingredient("kelp", "50 g")
    book.spec("saline", "400 ml", "20 g kelp", "400 ml water")
    book.spec("odd", "1 serve", "50 ml gin", "2 ml saline", "1 each moon")
    found = cost(stored(tmp_path, book), "odd")
    assert found.whole is None
    assert found.known == pytest.approx(1.0)
    assert found.missing == ("kelp", "moon")


def test_nothing_usable_has_no_price() -> None:
    book = priced()
    book.ingredient("husk", "1 kg", 5.0, usable_pct=0.0)
    found = prices_on(book.ingredients, DAY).filter(pl.col("key") == "husk")
    assert found["unit_cost"].to_list() == [None]


def test_the_store_and_the_analysis_cost_alike(tmp_path: Path) -> None:
    """The view `spec_cost` and `part_costs` are two ways to one figure."""
    book = kitchen()
    book.ingredient("gin", "700 ml", 15.5, priced_on=date(2026, 4, 1))
    book.ingredient("water", "1 l", 0.0, abv_pct=0.0, density_g_ml=0.998)
    book.spec("syrup", "813 ml", "500 g sugar", "500 g water")
    book.spec("sour mix", "500 g", "300 ml lemon juice", "150 ml syrup")
    book.spec("sour", "1 serve", "50 ml gin", "40 ml sour mix", "10 ml egg white")
    views = stored(tmp_path, book)
    rows = views["spec_cost"].filter(pl.col("priced_from") > date(1900, 1, 1)).to_dicts()
    assert len(rows) >= 4
    for row in rows:
        own = cost(views, row["spec"], row["priced_from"], row["version"])
        assert own.known == pytest.approx(row["cost_known"], abs=1e-6)
        assert "; ".join(own.missing) == (row["missing"] or "")
