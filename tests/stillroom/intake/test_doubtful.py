"""Days that cannot be, or hardly: no slip of the pen sets the house's today."""

from __future__ import annotations

import random
from datetime import date, timedelta

import pytest

from house_builder import ask, command, csv_text, current, good, make_house, put, reasons, take_in
from stillroom.house.decisions import Decisions
from stillroom.house.house import House
from stillroom.intake.doubtful import doubtful

TAKEN_ON = date(2026, 11, 28)


def batches(*changed: dict[str, object], rows: int = 12) -> list[dict[str, object]]:
    """Batches made day by day from 1 November 2026; `changed` stand behind them."""
    made = [good("batch", batch=f"B{day}", made_on=f"2026-11-{day:02}") for day in range(1, rows + 1)]
    return [*made, *(good("batch", **one) for one in changed)]


def book(start: date, days: int, seed: int, most: int = 3) -> list[date]:
    """The days of a book that is kept in order, some with several rows, some without any."""
    chance = random.Random(seed)
    return [start + timedelta(day) for day in range(days) for _ in range(chance.randint(0, most))]


# Through intake ------------------------------------------------------------------------------------------


def test_a_mistyped_year_is_set_aside_with_the_likely_day_and_does_not_set_today(tmp_path):
    house = make_house(tmp_path, batch=csv_text(batches({"batch": "B99", "made_on": "2027-11-13"})))
    [outcome] = take_in(house)
    assert outcome.rows_set_aside == 1
    [first] = Decisions.load(tmp_path).first_days.values()
    [(row, column, problem, value)] = reasons(house)
    assert (row, column, value) == (14, "made_on", "2027-11-13")
    assert problem == f"lies after {max(first, TAKEN_ON)}, the day its file was taken in: perhaps 2026-11-13?"
    assert outcome.doubtful == (f"row 14: made_on 2027-11-13 {problem}",)
    assert ask(house, "SELECT last_day FROM last_day") == [(date(2026, 11, 12),)]


@pytest.mark.parametrize(
    ("table", "column"),
    [
        ("sale", "sold_at"),
        ("batch", "made_on"),
        ("batch_event", "happened_on"),
        ("tasting", "tasted_on"),
        ("trial", "tasted_on"),
    ],
)
def test_nothing_happens_ahead_of_the_intake_of_its_file(tmp_path, table, column):
    day = "2199-03-02 20:00" if table == "sale" else "2199-03-02"
    files = {"batch": csv_text([good("batch")]), table: csv_text([good(table, **{column: day})])}
    house = make_house(tmp_path, **files)
    take_in(house)
    found = [(name, value) for _, name, problem, value in reasons(house) if problem.startswith("lies after")]
    assert [(name, str(value)[:10]) for name, value in found] == [(column, "2199-03-02")]


def test_a_clock_that_lags_behind_sets_nothing_aside(tmp_path, monkeypatch):
    monkeypatch.setattr(House, "today", lambda house: date(1970, 1, 1))  # as on a machine whose battery is flat
    house = make_house(tmp_path, sale=csv_text([good("sale")]))
    assert [outcome.rows_set_aside for outcome in take_in(house)] == [0]


def test_service_prices_and_use_by_may_lie_ahead(tmp_path):
    house = make_house(
        tmp_path,
        spec=csv_text([good("spec", in_service_from="2199-01-01", in_service_until="2199-12-31")]),
        ingredient=csv_text([good("ingredient", priced_on="2199-01-01")]),
        batch=csv_text([good("batch", use_by="2199-01-01")]),
    )
    assert sum(outcome.rows_set_aside for outcome in take_in(house)) == 0


def test_a_row_far_from_the_rest_is_set_aside_with_the_likely_day(tmp_path):
    house = make_house(tmp_path, batch=csv_text(batches({"batch": "B99", "made_on": "2025-11-13"})))
    take_in(house)
    assert reasons(house) == [(14, "made_on", "is far from the rest of its file: perhaps 2026-11-13?", "2025-11-13")]


def test_a_confirmed_row_counts_in_later_editions_too_and_when_the_store_is_made_anew(tmp_path):
    odd = {"batch": "B99", "made_on": "2025-11-13"}
    house = make_house(
        tmp_path,
        batch=csv_text(batches(odd)),
        batch_event=csv_text([good("batch_event", batch="B99", happened_on="2025-11-14")]),
    )
    take_in(house)
    assert len(current(house, "batch", "batch")) == 12
    said = command("confirm", "batch/batch.csv", 14, house=house)
    assert (said.code, said.err) == (0, "")
    assert said.out.endswith("Confirmed: 1 row of batch/batch.csv.\n")
    assert current(house, "batch_event", "batch") == [("B99",)]  # it waited for its batch
    put(tmp_path, "batch/batch.csv", [good("batch", batch="B0", made_on="2026-10-31"), *batches(odd)])
    take_in(house)
    assert len(current(house, "batch", "batch")) == 14
    assert reasons(house) == []
    assert command("verify", house=house).code == 0
    house.store_path.unlink()
    take_in(house)
    assert len(current(house, "batch", "batch")) == 14


def test_only_a_row_that_waits_for_its_day_can_be_confirmed(tmp_path):
    house = make_house(tmp_path, batch=csv_text(batches({"batch": "B99", "made_on": "2199-11-13"})))
    take_in(house)
    before = (tmp_path / "decisions.jsonl").read_text()
    said = command("confirm", "batch/batch.csv", 3, house=house)
    assert (said.code, said.out) == (2, "")
    assert (
        said.err == "batch/batch.csv: row 3 is not set aside for its day; 'stillroom aside' lists what is set aside.\n"
    )
    assert (tmp_path / "decisions.jsonl").read_text() == before


def test_an_export_is_judged_by_its_days(tmp_path):
    lines = [good("sale", sold_at=f"2026-03-{day:02} 20:{minute:02}") for day in range(2, 9) for minute in range(20)]
    odd = [good("sale", sold_at="2025-03-04 21:00"), good("sale", sold_at="2199-03-04 21:00")]
    house = make_house(tmp_path, sale=csv_text([*lines, *odd]))
    take_in(house)
    assert [(row, value) for row, _, _, value in reasons(house)] == [
        (142, "2025-03-04 21:00:00"),
        (143, "2199-03-04 21:00:00"),
    ]
    assert ask(house, "SELECT last_day FROM last_day") == [(date(2026, 3, 8),)]


# The rule ------------------------------------------------------------------------------------------------


def test_a_lone_row_ahead_is_a_year_off():
    [doubt] = doubtful([date(2027, 11, 27)], TAKEN_ON).values()
    assert (doubt.ahead, doubt.likely) == (True, date(2026, 11, 27))


@pytest.mark.parametrize("seed", range(20))
def test_every_wrong_year_in_a_book_is_found_and_named_and_nothing_else(seed):
    chance, days = random.Random(seed), book(date(2026, 3, 1), 200, seed)
    place = chance.randrange(len(days))
    for year in (2016, 2024, 2025, 2027, 2062):
        slipped = [*days[:place], days[place].replace(year=year), *days[place + 1 :]]
        found = doubtful(slipped, TAKEN_ON)
        assert set(found) == {place}
        assert found[place].likely == days[place]


def test_a_january_with_last_years_number_is_found_whole():
    days = [*book(date(2025, 10, 1), 92, 1), *book(date(2026, 1, 1), 60, 2)]
    turn = next(place for place, day in enumerate(days) if day.year == 2026)
    slipped = [*days[:turn], *(day.replace(year=2025) for day in days[turn : turn + 8]), *days[turn + 8 :]]
    found = doubtful(slipped, TAKEN_ON)
    assert {place: doubt.likely for place, doubt in found.items()} == {turn + n: days[turn + n] for n in range(8)}


@pytest.mark.parametrize("seed", range(20))
def test_books_without_slips_raise_no_doubt(seed):
    season, before = book(date(2026, 3, 1), 250, seed), book(date(2025, 4, 1), 150, seed + 100)
    shuffled = random.Random(seed).sample(season, len(season))
    lonely = [date(2025, 11, 20), *season]  # a first try, long before
    yearly = [date(year, 7, day) for year in (2024, 2025, 2026) for day in range(10, 15)]  # a festival
    sessions = [*[date(2025, 10, 13)] * 20, *[date(2026, 10, 14)] * 60]
    by_preparation = [day for _ in range(4) for day in season[:: 1 + seed]]
    for days in (season, season[::-1], [*before, *season], shuffled, lonely, yearly, sessions, by_preparation, []):
        assert doubtful(days, TAKEN_ON) == {}
