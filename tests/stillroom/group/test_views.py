"""What reports on a group read: each view against the same sums worked out in polars, and Spark against DuckDB."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from group_facts import FIRST, WEEKS, asked, group
from stillroom.analysis.houses.scatter import summed
from stillroom.group import reading, tables, views
from stillroom.group.settings import Group, load_group
from stillroom.objects import Period

PERIOD = Period(first=FIRST, last=FIRST + timedelta(days=7 * WEEKS - 1), label="all")
LATER = Period(first=FIRST + timedelta(days=28), last=FIRST + timedelta(days=69), label="six weeks")


@pytest.fixture(scope="module")
def facts() -> dict[str, pl.DataFrame]:
    return group(houses=8)


@pytest.fixture(scope="module")
def view(facts: dict[str, pl.DataFrame]) -> Callable[[str, Period], pl.DataFrame]:
    ask = asked(facts)
    return lambda name, period: ask(views.statement(name, period))


def test_lost_shares_are_those_of_the_weeks_in_which_it_was_made(facts, view):
    use = facts["preparation_use"].filter(pl.col("week").is_between(LATER.first, LATER.last))
    units = use.with_columns(part=pl.col("lost"), whole=pl.sum_horizontal("used", "lost", "unexplained"))
    expected = summed(units, "preparation")
    found = view("waste_shares", LATER).select(expected.columns)
    assert_frame_equal(found, expected, check_dtypes=False, check_row_order=False)


def test_money_is_lost_by_preparation_and_over_all(facts, view):
    found = view("waste_money", PERIOD)
    every = found.filter(pl.col("preparation").is_null())
    assert every["part"].sum() == pytest.approx(facts["preparation_use"]["lost_money"].sum())
    assert found.filter(pl.col("preparation").is_not_null())["part"].sum() == pytest.approx(every["part"].sum())
    assert (every["units"] == WEEKS).all()


def test_a_week_without_a_sale_between_two_with_one_counts():
    key = {"house": "a", "run_id": "r"}
    sold = [
        {**key, "day": FIRST + timedelta(days=7 * week), "drink": drink, "drink_key": drink.lower(), "serves": serves}
        for week, drink, serves in [
            *[(week, "Fig Sour", 10.0) for week in range(5)],
            (1, "Hay Flip", 2.0),
            (3, "Hay Flip", 5.0),
        ]
    ]
    found = asked({"daily_serves": pl.DataFrame(sold).with_columns(**dict.fromkeys(
        ("version", "net_takings", "net_price"), pl.lit(None)
    ))})(views.statement("drink_shares", PERIOD))  # fmt: skip
    assert found.filter(pl.col("drink") == "Hay Flip").select("units", "part", "whole").rows() == [(3, 7.0, 37.0)]


def test_a_drink_is_one_however_houses_spell_it_and_is_called_as_most_call_it(view):
    drinks = view("house_drinks", PERIOD)
    assert set(drinks["drink"]) == {"Slack Water", "Old Ballast", "Fig Sour", "Hay Flip", "Tomato Leaf Fizz"}
    assert drinks.filter(pl.col("drink") == "Slack Water")["house"].n_unique() == 8


def test_versions_are_known_from_their_first_day_and_up_to_the_last_looked_at(view):
    early = Period(first=FIRST, last=FIRST + timedelta(days=40), label="before any")
    assert set(view("version_spans", early)["version"]) == {1}
    spans = view("version_spans", PERIOD)
    new = spans.filter(pl.col("version") == 2)
    assert new.height == 6
    assert new["first_day"].min() == FIRST + timedelta(days=7 * 6 + 2)


def test_a_roll_out_is_counted_beside_the_drinks_that_had_one_version(facts, view):
    weeks = view("rollout_weeks", PERIOD).filter(pl.col("kind") == "drink")
    assert set(weeks["spec"]) == {"Slack Water"}
    serves = facts["daily_serves"].with_columns(own=pl.col("drink_key") == "slack water")
    assert weeks["counted"].sum() == serves.filter("own")["serves"].sum()
    assert weeks["exposure"].sum() == serves.filter(~pl.col("own"))["serves"].sum()


def test_a_drink_is_counted_in_a_house_from_the_first_day_to_the_last_on_which_it_sold():
    """A week between them without it counts as one of nought; the weeks before and after say nothing of it."""
    sold = [
        {
            "house": "a",
            "run_id": "r",
            "day": FIRST + timedelta(days=7 * week),
            "drink": drink,
            "drink_key": drink.lower(),
        }
        | {"version": version, "serves": serves, "net_takings": None, "net_price": None}
        for drink, version, serves, weeks in (
            ("Fig Sour", 1, 10.0, range(7)),
            ("Hay Flip", 1, 2.0, (1, 2)),
            ("Hay Flip", 2, 5.0, (4, 5)),
        )
        for week in weeks
    ]
    found = asked({"daily_serves": pl.DataFrame(sold)})(views.statement("rollout_weeks", PERIOD))
    assert set(found["spec"]) == {"Hay Flip"}
    place = ((found["week"] - FIRST).dt.total_days() // 7).to_list()
    assert dict(zip(place, found.select("counted", "exposure").rows(), strict=True)) == {
        1: (2.0, 10.0), 2: (2.0, 10.0), 3: (0.0, 10.0), 4: (5.0, 10.0), 5: (5.0, 10.0),
    }  # fmt: skip


def test_books_say_how_whole_they_are(view):
    books = view("house_books", PERIOD)
    silent = books.filter(pl.col("house") == "Pier 06").row(0, named=True)
    assert (silent["open_days"], silent["silent_days"]) == (7 * WEEKS, 35)
    assert silent["days"] == 7 * WEEKS - 35
    leaks = books.filter(pl.col("house") == "Pier 07").row(0, named=True)
    assert leaks["unexplained_money"] / leaks["made_money"] > 0.15


@pytest.fixture(scope="module")
def spark_group(spark: object, tmp_path_factory: pytest.TempPathFactory) -> Group:
    """Facts of three houses in Delta tables."""
    facts = group(houses=3)
    folder: Path = tmp_path_factory.mktemp("group")
    (folder / "group.toml").write_text(
        '[group]\nname = "The Piers"\nspark = "local[1]"\n[houses]\nat = "houses/*"\n', encoding="utf-8"
    )
    its = load_group(folder)
    tables.make(its.facts)
    written = {}
    for (house,), rows in facts["houses"].group_by("house"):
        own = {name: frame.filter(pl.col("house") == house) for name, frame in facts.items() if name != "houses"}
        written[str(house)] = tables.write(its.facts, str(house), rows["run_id"][0], own)
    tables.commit(its.facts, "r1", written)
    tables.standing(its.facts).commit(facts["houses"])
    return its


@pytest.mark.parametrize("name", views.STATEMENTS)
def test_spark_and_duckdb_answer_each_view_alike(name: str, spark_group: Group) -> None:
    statement = views.statement(name, LATER)
    by_spark, by_duckdb = reading.rolled(spark_group, statement), reading.rolled_by_duckdb(spark_group, statement)
    assert by_spark.height > 0
    assert_frame_equal(by_spark, by_duckdb, check_dtypes=False, check_row_order=False)


def test_days_are_written_so_that_nothing_else_can_stand_there():
    assert "DATE '2026-01-05'" in views.statement("house_drinks", PERIOD)
    with pytest.raises(KeyError):
        views.statement("no_such_view", PERIOD)
    assert views.statement("costs", Period(first=date(2026, 1, 1), last=date(2026, 1, 2), label="")).endswith("costs")
