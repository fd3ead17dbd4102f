"""The table that a review meeting ends with, on the small house of the rework report."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import polars as pl
import pytest

from rework_frames import FIRST, LAST, inputs
from stillroom.house.report_settings import MenuSettings
from stillroom.objects import MenuVerdict, ReportInputs
from stillroom_plugins.reports.verdicts import register_reports
from stillroom_plugins.reports.verdicts.report import build
from store_frames import frame

HALF = {"[menu]": MenuSettings(return_share=(0.5, 0.5))}


def house(*verdicts: MenuVerdict) -> ReportInputs:
    some = inputs()
    part = ("dear sour", 1, "Shrub", "preparation", date(1900, 1, 1), date(9999, 12, 31))
    parts = frame("part_span", [part], "name_key version item item_kind first_day last_day")
    frames = {**some.frames, "part_span": parts}
    return replace(some, frames=frames, house=replace(some.house, verdicts=verdicts, reports=HALF))


def rows(given: ReportInputs) -> dict[str, dict[str, Any]]:
    (table,) = build(given).tables
    assert set(table.columns) <= set(table.frame.columns)
    return {row["subject"]: row for row in table.frame.to_dicts()}


@pytest.fixture(scope="module")
def table() -> dict[str, dict[str, Any]]:
    return rows(house())


def test_every_drink_on_the_menu_and_every_preparation_has_its_row(table) -> None:
    assert {name: row["decision"] for name, row in table.items()} == {
        "Dear Sour": "drop", "Good Fizz": "rework", "Shrub": "rework",
    }  # fmt: skip


def test_a_drink_whose_guests_would_leave_more_elsewhere_is_proposed_to_go(table) -> None:
    row = table["Dear Sour"]
    # About: 15 serves a day at 2.00 of contribution, half of the guests at 9.00 elsewhere; 37.75 of shrub lost.
    assert row["a_season"] == pytest.approx(13 * 7 * 15 * (0.5 * 9 - 2) + 37.75, rel=0.1)
    assert "9.00" in row["case"]


def test_the_last_verdict_stands_beside_what_became_of_it() -> None:
    first = MenuVerdict(subject="dear sour", decision="keep", day=FIRST, by="Bo", why="loved")
    then = MenuVerdict(subject="Dear Sour", decision="drop", day=FIRST + timedelta(days=40), by="Ana", why="dear")
    row = rows(house(first, then))["Dear Sour"]
    assert row["verdict"] == "drop, 3 Oct 2026, Ana: dear"
    assert "serves a week then" in row["became"]
    after = MenuVerdict(subject="Dear Sour", decision="drop", day=LAST + timedelta(days=3), by="Ana", why="dear")
    assert rows(house(after))["Dear Sour"]["became"] is None


def test_an_empty_house_has_no_table() -> None:
    some = house()
    found = build(replace(some, frames={name: frame.clear() for name, frame in some.frames.items()}))
    assert found.tables == ()
    assert found.notes


def test_a_preparation_is_not_dropped_because_its_drink_sold_nothing() -> None:
    some = house()
    dear = pl.col("spec") == "Dear Sour"
    sales, no_loss = some.frames["daily_serves"], some.frames["batch_fate"].with_columns(poured_away=0.0, cost_lost=0.0)
    returned = sales.with_columns(serves=pl.when(dear).then(-1.0).otherwise("serves"))
    for less in (sales.filter(~dear), returned):
        found = rows(replace(some, frames={**some.frames, "daily_serves": less, "batch_fate": no_loss}))
        assert (found["Shrub"]["decision"], found["Shrub"]["sureness"]) == ("keep", "cannot tell")
        assert found["Shrub"]["case"].endswith("goes into Dear Sour, which sold nothing")
        assert (found["Dear Sour"]["decision"], found["Dear Sour"]["sureness"]) == ("keep", "cannot tell")


def test_where_the_till_tells_of_no_sale_no_loss_is_told_for_sure() -> None:
    some = house()
    returned = some.frames["daily_serves"].with_columns(serves=pl.lit(-1.0))
    row = rows(replace(some, frames={**some.frames, "daily_serves": returned}))["Shrub"]
    assert (row["decision"], row["sureness"]) == ("keep", "cannot tell")


def test_less_than_a_week_tells_nothing_of_a_season() -> None:
    some = house()
    one_day = replace(some, period=replace(some.period, first=LAST))
    assert {row["sureness"] for row in rows(one_day).values()} == {"cannot tell"}


def test_a_preparation_goes_with_the_version_that_takes_it() -> None:
    some = house()
    before = some.frames["part_span"].with_columns(last_day=pl.lit(LAST - timedelta(days=20)))
    row = rows(replace(some, frames={**some.frames, "part_span": before}))["Shrub"]
    assert (row["decision"], row["sureness"]) == ("drop", "sure")
    assert row["case"].startswith("no drink on the menu takes it")


def test_it_is_registered_with_the_views_it_needs() -> None:
    [report] = register_reports()
    assert set(report.needs) == set(house().frames)
