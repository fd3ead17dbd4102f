"""What a past day cost and held goes with the versions of that day, at every depth, and with the batch in use."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from house_builder import ask, command, good, make_house, put, take_in
from stillroom.house.house import House

V1_ENDS, V2_BEGINS = "2026-02-01", "2026-02-02"


def a_house(
    folder: Path, batches: list[dict[str, object]] | None = None, *, nested: bool = False, keeps: str = "7"
) -> House:
    """A drink of one version with 20 ml of a cordial: 0.50 a serve in version 1, of nuts; 3.00 in version 2.

    Sold every day from 5 January to 28 February, 10 serves at 10.00.
    """
    house = make_house(folder)
    cordial = good("spec", spec="Fig Cordial", kind="preparation", yield_amount="1000", yield_unit="ml")
    cordial["keeps_days"] = keeps
    specs = [
        good("spec", in_service_from="2026-01-05", price="12"),
        {**cordial, "version": 1, "in_service_from": "2026-01-01", "in_service_until": V1_ENDS},
        {**cordial, "version": 2, "in_service_from": V2_BEGINS},
    ]
    lines = [
        good("spec_line", item="Fig Cordial", amount="20"),
        good("spec_line", spec="fig cordial", version=1, item="Fig Base" if nested else "fig", amount="1000"),
        good("spec_line", spec="fig cordial", version=2, item="gold", amount="1000"),
    ]
    if nested:
        base = {**cordial, "spec": "Fig Base", "version": 1}
        specs.append(base)
        lines.append(good("spec_line", spec="Fig Base", item="fig", amount="1000"))
    put(folder, "spec/spec.csv", specs)
    put(folder, "spec_line/l.csv", lines)
    put(folder, "ingredient/i.csv", [
        good("ingredient", item="fig", pack_amount="1000", pack_cost="25", allergens="nuts", abv_pct="0"),
        good("ingredient", item="gold", pack_amount="1000", pack_cost="150", allergens="", abv_pct="20"),
    ])  # fmt: skip
    days = [f"2026-01-{day:02}" for day in range(5, 32)] + [f"2026-02-{day:02}" for day in range(1, 29)]
    put(folder, "sale/s.csv", [good("sale", sold_at=f"{day} 20:00", quantity="10", net_amount="100") for day in days])
    if batches:
        put(folder, "batch/b.csv", batches)
    take_in(house)
    return house


def season(house: House, first: str, last: str) -> dict[str, Any]:
    said = command("report", "season", "--from", first, "--to", last, "--format", "json", house=house)
    tables = said.json["reports"][0]["tables"]
    [row] = [row for table in tables if table["name"] == "drinks" for row in table["rows"]]
    return dict(row)


@pytest.mark.parametrize("nested", [False, True], ids=["in it", "two deep"])
def test_a_past_season_costs_what_the_versions_of_its_days_cost(tmp_path: Path, nested: bool) -> None:
    house = a_house(tmp_path, nested=nested)
    before, after = season(house, "2026-01-05", V1_ENDS), season(house, V2_BEGINS, "2026-02-28")
    assert before["cost_per_serve"] == pytest.approx(0.50)
    assert before["contribution"] == pytest.approx(9.50)
    assert after["cost_per_serve"] == pytest.approx(3.00)
    both = season(house, "2026-01-05", "2026-02-28")
    assert both["cost_per_serve"] == pytest.approx((28 * 0.50 + 27 * 3.00) / 55)


def test_the_cost_report_and_the_balance_of_a_past_period_agree(tmp_path: Path) -> None:
    house = a_house(tmp_path)
    for last, cost, abv in ((V1_ENDS, 0.50, 0.0), ("2026-02-28", 3.00, 20.0)):
        said = command("report", "cost", "balance", "--from", last, "--to", last, "--format", "json", house=house).json
        tables = {report["name"]: report["tables"] for report in said["reports"]}
        [priced] = [row for table in tables["cost"] if table["name"] == "drinks" for row in table["rows"]]
        [held] = [row for table in tables["balance"] if table["name"] == "drinks" for row in table["rows"]]
        assert priced["cost"] == pytest.approx(cost)
        assert priced["sales_cost"] == pytest.approx(10 * cost)
        assert held["abv_pct"] == pytest.approx(abv, abs=0.01)


def test_a_bottle_of_the_old_version_is_used_up_first(tmp_path: Path) -> None:
    """4 000 ml made on 20 January at 200 ml a day last to 8 February; version 2 is made on the 2nd."""
    made = {"preparation": "Fig Cordial", "made_amount": "4000", "made_unit": "ml", "use_by": "2026-03-31"}
    batches = [
        {**made, "batch": "A", "made_on": "2026-01-20", "version": 1},
        {**made, "batch": "B", "made_on": V2_BEGINS, "version": 2},
    ]
    house = a_house(tmp_path, batches)
    spans = ask(house, "SELECT version, first_day, last_day FROM version_in_use WHERE name_key = 'fig cordial'")
    assert sorted(spans, key=lambda span: span[1]) == [
        (1, date(1900, 1, 1), date(2026, 2, 8)),
        (2, date(2026, 2, 9), date(9999, 12, 31)),
    ]
    assert season(house, V2_BEGINS, "2026-02-08")["cost_per_serve"] == pytest.approx(0.50)
    assert season(house, "2026-02-09", "2026-02-28")["cost_per_serve"] == pytest.approx(3.00)


def test_a_batch_still_in_use_on_the_last_day_is_what_the_sheet_costs(tmp_path: Path) -> None:
    made = {"preparation": "Fig Cordial", "made_amount": "20", "made_unit": "l", "use_by": "2026-05-31"}
    house = a_house(tmp_path, [{**made, "batch": "A", "made_on": "2026-01-20", "version": 1}])
    sheet = command("spec", "Fig Sour", "--json", house=house).json
    assert [line["version"] for line in sheet["lines"]] == [1]
    assert sheet["cost"]["whole"] == pytest.approx(0.50)


@pytest.mark.parametrize(("keeps", "last_with_nuts"), [("7", "2026-02-08"), ("", "2026-02-28")])
def test_at_a_changeover_allergens_are_of_all_that_may_be_in_stock(
    tmp_path: Path, keeps: str, last_with_nuts: str
) -> None:
    """What was made on the last day of version 1 keeps for a week; for good where nobody says how long."""
    house = a_house(tmp_path, keeps=keeps)
    for last in ("2026-01-31", V2_BEGINS, "2026-02-08", "2026-02-09", "2026-02-28"):
        said = command("report", "balance", "--from", "2026-01-05", "--to", last, "--format", "json", house=house).json
        rows = {table["name"]: table["rows"] for table in said["reports"][0]["tables"]}
        assert rows["drinks"][0]["allergens"] == ("nuts" if last <= last_with_nuts else ""), last
        warned = [row for row in rows.get("drinks-cautions", []) if "Contains nuts" in row["text"]]
        assert bool(warned) == (last <= last_with_nuts), last


def test_a_batch_that_has_not_ended_may_be_in_stock(tmp_path: Path) -> None:
    """The book says that version 1 was last made on 25 January, to be used by 20 February."""
    made = {"preparation": "Fig Cordial", "made_amount": "100", "made_unit": "ml", "use_by": "2026-02-20"}
    house = a_house(tmp_path, [{**made, "batch": "A", "made_on": "2026-01-25", "version": 1}])
    for last, allergens in (("2026-02-20", "nuts"), ("2026-02-21", "")):
        said = command("report", "balance", "--from", "2026-01-05", "--to", last, "--format", "json", house=house).json
        [row] = [row for table in said["reports"][0]["tables"] if table["name"] == "drinks" for row in table["rows"]]
        assert row["allergens"] == allergens, last


def test_tap_water_that_nobody_lists_costs_nothing(tmp_path: Path) -> None:
    house = make_house(tmp_path)
    put(tmp_path, "spec/spec.csv", [good("spec")])
    items = [("gin", "50", "ml"), ("Hot Water", "100", "ml"), ("water", "10", "g")]
    put(tmp_path, "spec_line/l.csv", [
        good("spec_line", line=number, item=item, amount=amount, unit=unit)
        for number, (item, amount, unit) in enumerate(items, 1)
    ])  # fmt: skip
    put(tmp_path, "ingredient/i.csv", [good("ingredient")])
    take_in(house)
    assert command("spec", "Fig Sour", "--json", house=house).json["cost"] == {
        "whole": pytest.approx(1.50), "at_least": pytest.approx(1.50), "no_price_for": [],
    }  # fmt: skip
    assert ask(house, "SELECT cost, missing FROM spec_cost") == [(pytest.approx(1.50), None)]


def test_bottled_water_and_listed_water_are_bought(tmp_path: Path) -> None:
    house = make_house(tmp_path)
    put(tmp_path, "spec/spec.csv", [good("spec")])
    put(tmp_path, "spec_line/l.csv", [
        good("spec_line", line=1, item="water", amount="100"), good("spec_line", line=2, item="soda water"),
    ])  # fmt: skip
    put(tmp_path, "ingredient/i.csv", [good("ingredient", item="Water", pack_amount="1", pack_unit="l", pack_cost="2")])
    take_in(house)
    assert ask(house, "SELECT cost, cost_known, missing FROM spec_cost") == [(None, pytest.approx(0.20), "soda water")]


def test_a_line_set_aside_leaves_no_cost_whole(tmp_path: Path) -> None:
    """A line of the cordial is set aside: nothing that holds it has a whole cost, in any place that tells one."""
    house = a_house(tmp_path)
    put(tmp_path, "spec_line/l.csv", [
        good("spec_line", item="Fig Cordial", amount="20"),
        good("spec_line", spec="Fig Cordial", version=1, item="fig", amount="1000"),
        good("spec_line", spec="Fig Cordial", version=1, line=2, item="salt", unit="pinchful"),
        good("spec_line", spec="Fig Cordial", version=2, item="gold", amount="1000"),
    ])  # fmt: skip
    take_in(house)
    aside = "a line of Fig Cordial that is set aside"
    old, new = season(house, "2026-01-05", V1_ENDS), season(house, V2_BEGINS, "2026-02-28")
    assert (old["cost_per_serve"], old["contribution"], old["missing"]) == (None, None, f"{aside} before {V2_BEGINS}")
    assert (new["cost_per_serve"], new["missing"]) == (pytest.approx(3.00), None)
    said = command(
        "report", "cost", "balance", "--from", "2026-01-05", "--to", V1_ENDS, "--format", "json", house=house
    )
    tables = {report["name"]: report["tables"] for report in said.json["reports"]}
    [priced] = [row for table in tables["cost"] if table["name"] == "drinks" for row in table["rows"]]
    assert (priced["cost"], priced["cost_at_least"], priced["missing"]) == (None, pytest.approx(0.50), aside)
    [held] = [row for table in tables["balance"] if table["name"] == "drinks" for row in table["rows"]]
    assert held["whole"] is False
    sheet = command("spec", "Fig Cordial", "--version", "1", "--json", house=house).json
    assert sheet["cost"]["whole"] is None
    assert sheet["cost"]["no_price_for"] == [aside]
