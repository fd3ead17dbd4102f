"""The version meant on every day: one rule, in SQL, against a naive one written here, and by every way of asking."""

from __future__ import annotations

import random
from collections.abc import Sequence
from datetime import date, timedelta

import polars as pl
import pytest

from house_builder import command, good, make_house, put, take_in
from spec_frames import spec_views
from stillroom.analysis.specs.versions import Versions
from stillroom.house.house import House
from store_frames import frame

FIRST = date(2026, 3, 1)
DAYS = 40
Span = tuple[date | None, date | None]


def naive(spans: Sequence[Span], day: date) -> tuple[int, bool]:
    """The version of a spec meant on a day, and whether the days written for it hold it; version 1 first."""
    dated = [number for number, span in enumerate(spans, 1) if any(span)]
    if not dated:
        return len(spans), True
    begins = {number: spans[number - 1][0] or date.min for number in dated}
    ends = {number: spans[number - 1][1] or date.max for number in dated}
    if holds := [number for number in dated if begins[number] <= day <= ends[number]]:
        return max(holds), True
    if begun := [number for number in dated if begins[number] <= day]:
        return max(begun, key=lambda number: (begins[number], number)), False
    return min(dated, key=lambda number: (begins[number], number)), False


def versions(spans: dict[str, list[Span]]) -> pl.DataFrame:
    rows = [(spec, number, *span) for spec, several in spans.items() for number, span in enumerate(several, 1)]
    return frame("current_spec", rows, "spec version in_service_from in_service_until")


def some_day(rng: random.Random) -> date | None:
    return FIRST + timedelta(days=rng.randrange(-10, DAYS + 10, 5)) if rng.random() < 0.7 else None


def test_every_day_of_many_books_against_the_rule_in_words() -> None:
    rng = random.Random(4)
    spans: dict[str, list[Span]] = {}
    for number in range(120):
        spans[f"drink {number}"] = [
            (start, until) if start is None or until is None or start <= until else (until, start)
            for start, until in ((some_day(rng), some_day(rng)) for _ in range(rng.randint(1, 4)))
        ]
    found = spec_views(versions(spans), "service_span", "version_span")
    known = Versions(found["version_span"])
    for spec, several in spans.items():
        for day in (FIRST + timedelta(days=number) for number in range(-20, DAYS + 20)):
            version, held = naive(several, day)
            assert known.in_service(spec, day) == version, (several, day)
            of_version = [span for span in known.service(spec, version) if span.first_day <= day <= span.last_day]
            assert bool(of_version) == held, (several, day)
    spans_of = found["service_span"].sort("name_key", "first_day").group_by("name_key", maintain_order=True)
    for _, rows in spans_of:  # each day once
        ends = rows["last_day"].to_list()
        assert rows["first_day"].to_list()[1:] == [end + timedelta(days=1) for end in ends[:-1]]
        assert (rows["first_day"][0], ends[-1]) == (date(1900, 1, 1), date(9999, 12, 31))


JANUARY, FEBRUARY, GAP = "2026-01-01", "2026-02-01", "2026-02-15"
CASES = {
    "v1 without an end, v2 later": ([(JANUARY, ""), (FEBRUARY, "")], 2, "until 2026-01-31"),
    "no dates": ([("", ""), ("", "")], 2, "not in service"),
    "a gap": ([(JANUARY, "2026-01-31"), ("2026-03-01", "")], 1, "until 2026-01-31"),
    "a trial": ([(JANUARY, ""), ("", "")], 1, "in service"),
    "before the first": ([("2026-03-01", ""), ("2026-04-01", "")], 1, "from 2026-03-01"),
}


@pytest.fixture(scope="module", params=CASES.values(), ids=CASES.keys())
def case(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[House, int, str]:
    """A house with a drink of two versions, tasted beside each other, one serve sold on the day that is looked at."""
    spans, meant, said = request.param
    folder = tmp_path_factory.mktemp("service")
    house = make_house(folder)
    rows = [
        good("spec", version=number, price=8 + number, in_service_from=first, in_service_until=last)
        for number, (first, last) in enumerate(spans, 1)
    ]
    put(folder, "spec/spec.csv", rows)
    put(folder, "spec_line/l.csv", [good("spec_line", version=number, amount=50 * number) for number in (1, 2)])
    put(folder, "ingredient/i.csv", [good("ingredient", pack_cost="7")])
    put(folder, "sale/s.csv", [good("sale", sold_at=f"{GAP} 20:00", net_amount="10")])
    scores = [
        good(
            "tasting",
            tasted_on=GAP,
            panelist=f"P{taster}",
            version=version,
            score=3 + 2 * version + taster * version % 2,
        )
        for taster in range(8)
        for version in (1, 2)
    ]
    put(folder, "tasting/t.csv", scores)
    take_in(house)
    return house, meant, said


def test_the_sheet_of_the_spec(case: tuple[House, int, str]) -> None:
    house, meant, _ = case
    assert command("spec", "Fig Sour", "--json", house=house).json["spec"]["version"] == meant


def test_the_cost_of_the_season(case: tuple[House, int, str]) -> None:
    house, meant, _ = case
    [report] = command("report", "season", "--format", "json", house=house).json["reports"]
    [row] = [row for table in report["tables"] if table["name"] == "drinks" for row in table["rows"]]
    assert row["cost_per_serve"] == pytest.approx(0.5 * meant)


def test_the_panel(case: tuple[House, int, str]) -> None:
    house, meant, _ = case
    said = command("report", "panel", "--format", "json", house=house).out
    assert f"version {meant} (in service)" in said
    assert f"version {3 - meant} (in service)" not in said


def test_the_balance(case: tuple[House, int, str]) -> None:
    house, meant, first = case
    [report] = command("report", "balance", "--from", JANUARY, "--to", GAP, "--format", "json", house=house).json[
        "reports"
    ]
    [table] = [table for table in report["tables"] if table["name"] == "drinks"]
    rows = {row["version"]: row for row in table["rows"]}
    assert [version for version, row in rows.items() if row["current"]] == [meant]
    assert rows[1]["service"] == first
    assert [row["service"] for row in rows.values()].count("in service") <= 1
