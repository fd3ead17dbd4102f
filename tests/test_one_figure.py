"""A figure that is told twice is told alike: all findings and tables of several houses are walked."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from house_builder import command, good, make_house, put, take_in

NUMBER = r"([−+-]?\d[\d\u2009]*(?:\.\d+)?)"
SAID = {
    "cost, a floor": rf"costs at least EUR {NUMBER} a serve",
    "contribution a serve": rf"EUR {NUMBER} contribution a serve",
    "contribution of the average": rf"average (?:is )?EUR {NUMBER}",
    "trend a week": rf"(?:falling|rising)(?: by)? {NUMBER} % a week",
    "lost at cost": rf"EUR {NUMBER} was lost",
}
"""What findings of any report may say of their subject, in whatever words around it."""
SAME = {"cost_sold": "cost_per_serve"}
"""Columns that have another name in another table."""
OWN = {"share", "cost", "cost_at_least", "version", "place", "low", "high"}
"""Columns of one name that mean in each table something of their own."""


def told(answers: dict[str, Any]) -> Iterator[tuple[tuple[str, ...], str, Any]]:
    """What is told, where, and the figure."""
    for report in answers["reports"]:
        for finding in report["findings"]:
            for what, pattern in SAID.items():
                for found in re.findall(pattern, f"{finding['sentence']} {finding['evidence']}"):
                    yield (finding["subject"] if "average" not in what else "", what), report["name"], found
        for table in report["tables"]:
            rows = table["rows"]
            if not rows or "spec" not in rows[0] or len({row["spec"] for row in rows}) < len(rows):
                continue
            for row in rows:
                for column, value in row.items():
                    if column not in OWN and isinstance(value, int | float):
                        yield (row["spec"], SAME.get(column, column)), f"{report['name']}, {table['name']}", value


def contradictions(answers: dict[str, Any]) -> tuple[int, list[str]]:
    """How many figures are told twice, and those that do not agree."""
    found: dict[tuple[str, ...], dict[str, Any]] = defaultdict(dict)
    for what, where, value in told(answers):
        found[what].setdefault(where, value)
    twice = {what: places for what, places in found.items() if len(places) > 1}
    return len(twice), [f"{what}: {places}" for what, places in twice.items() if not _agree([*places.values()])]


def _agree(values: list[Any]) -> bool:
    first = values[0]
    return all(value == (first if isinstance(first, str) else pytest.approx(first, rel=1e-9)) for value in values)


@pytest.mark.parametrize("days", [(), ("--from", "2026-09-01", "--to", "2026-10-10")], ids=["season", "some weeks"])
def test_the_demo_house(demo_house: Path, days: tuple[str, ...]) -> None:
    twice, differ = contradictions(command("report", *days, "--format", "json", house=demo_house).json)
    assert twice > 20
    assert differ == []


def test_a_house_with_changing_prices_and_versions_and_rows_set_aside(tmp_path: Path) -> None:
    house = make_house(tmp_path)
    drinks = ["Fig Sour", "Pear Fizz", "Long Quay"]
    put(tmp_path, "spec/spec.csv", [
        *(good("spec", spec=name, price="12", in_service_from="2026-01-01") for name in drinks),
        good("spec", spec="Pear Fizz", version=2, price="13", in_service_from="2026-02-10"),
    ])  # fmt: skip
    put(tmp_path, "spec_line/l.csv", [
        good("spec_line"), good("spec_line", line=2, item="kelp", amount="2", unit="g"),
        good("spec_line", spec="Pear Fizz", item="gin", amount="40"),
        good("spec_line", spec="Pear Fizz", version=2, item="gin", amount="60"),
        good("spec_line", spec="Long Quay"), good("spec_line", spec="Long Quay", line=2, item="tea", unit="potful"),
    ])  # fmt: skip
    put(tmp_path, "ingredient/i.csv", [
        good("ingredient", priced_on="2026-01-01"), good("ingredient", pack_cost="28", priced_on="2026-02-01"),
    ])  # fmt: skip
    days = [f"2026-{month:02}-{day:02}" for month in (1, 2) for day in range(1, 29)]
    put(tmp_path, "sale/s.csv", [
        good("sale", sold_at=f"{day} 20:0{place}", till_item=name, quantity=str(2 + number % 3), net_amount="30")
        for number, day in enumerate(days) for place, name in enumerate(drinks)
    ])  # fmt: skip
    take_in(house)
    twice, differ = contradictions(command("report", "--format", "json", house=house).json)
    assert twice > 5
    assert differ == []
    for name in ("season", "cost"):  # a cost with an unpriced line, or one set aside, is whole nowhere
        said = command("report", name, "--format", "json", house=house).json["reports"][0]
        for subject in ("Fig Sour", "Long Quay"):
            floors = [
                one for one in said["findings"] if one["subject"] == subject and "at least EUR" in one["sentence"]
            ]
            assert floors, (name, subject)
    # The spec's own sheet says what the cost report does: the same whole cost, or the same floor of what is missing.
    tables = command("report", "cost", "--format", "json", house=house).json["reports"][0]["tables"]
    rows = next(table["rows"] for table in tables if table["name"] == "drinks")
    assert {row["spec"] for row in rows} == set(drinks)
    for row in rows:
        sheet = command("spec", row["spec"], "--json", house=house).json
        assert sheet["spec"]["version"] == row["version"], row["spec"]
        assert sheet["cost"]["whole"] == (None if row["cost"] is None else pytest.approx(row["cost"])), row["spec"]
        if row["cost"] is None:
            assert sheet["cost"]["at_least"] == pytest.approx(row["cost_at_least"]), row["spec"]


def test_a_period_of_which_no_file_speaks_says_so_and_shows_nothing_else(demo_house: Path) -> None:
    for names in ((), ("expiry",), ("panel", "keeping")):
        said = command(
            "report", *names, "--from", "2024-01-01", "--to", "2024-01-31", "--format", "json", house=demo_house
        )
        answers = said.json
        assert [(r["tables"], r["charts"]) for r in answers["reports"] if r["tables"] or r["charts"]] == []
        [sentence] = [finding["sentence"] for report in answers["reports"] for finding in report["findings"]]
        assert sentence.startswith("The files say nothing of 2024-01-01 to 2024-01-31: what they hold runs from 2026-")
