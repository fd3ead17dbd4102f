"""Which rows of the house's files are in force."""

from __future__ import annotations

import random
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path

import pytest

from house_builder import (
    HOUSE,
    SOURCES,
    ask,
    command,
    csv_text,
    current,
    good,
    make_house,
    put,
    take_in,
)
from stillroom.house.house import House

MONDAY = datetime(2026, 3, 2)
VENUES = 'venues = ["Bar", "Terrace"]\n'


def undo(house: House, intake_id: int) -> None:
    assert command("undo", intake_id, house=house).code == 0


def sale(at: datetime | str, item: str = "Fig Sour", **cells: str) -> dict[str, object]:
    return good("sale", sold_at=f"{at}", till_item=item, **cells)


def in_force(house: House) -> list[str]:
    return [item for (item,) in current(house, "sale", "till_item") if item not in ("first", "last")]


def evening(day: int, *items: str, **cells: str) -> list[dict[str, object]]:
    """One line before midnight and one after it for every item, on the business day `day` days after Monday.

    Before the first and after the last of them goes a line that every export of that evening has.
    """
    base = MONDAY + timedelta(days=day)
    late = [(timedelta(hours=22), "22"), (timedelta(hours=25), "01")]
    between = [sale(base + shift, f"{item} {hour}", **cells) for item in items for shift, hour in late]
    first, last = (sale(base + timedelta(hours=at), name, **cells) for at, name in ((21, "first"), (26, "last")))
    return [first, *between, last]


# Cases worked by hand ------------------------------------------------------------------------------------


@pytest.fixture
def house(tmp_path: Path, rows_alone: None) -> House:
    return make_house(tmp_path)


def test_a_newer_file_replaces_the_days_it_covers_and_no_others(house):
    put(house.folder, "sale/week.csv", evening(0, "old") + evening(1, "kept"))
    take_in(house)
    put(house.folder, "sale/day.csv", evening(0, "new"))
    assert [o.superseded for o in take_in(house)] == [0, 4]
    assert in_force(house) == ["kept 01", "kept 22", "new 01", "new 22"]
    assert len(ask(house, "SELECT 1 FROM sale")) == 12  # nothing is deleted


def test_undo_puts_the_older_file_back(house):
    put(house.folder, "sale/a.csv", evening(0, "old"))
    take_in(house)
    put(house.folder, "sale/b.csv", evening(0, "new"))
    take_in(house)
    assert in_force(house) == ["new 01", "new 22"]
    undo(house, 2)
    assert in_force(house) == ["old 01", "old 22"]
    assert [one.status for one in take_in(house)] == ["unchanged", "undone"]
    assert in_force(house) == ["old 01", "old 22"]
    assert command("redo", 2, house=house).code == 0
    assert in_force(house) == ["new 01", "new 22"]


def test_undoing_one_of_three_that_overlap_brings_back_what_the_third_does_not_cover(house):
    for name, days in (("a", (0, 1, 2)), ("b", (1, 2)), ("c", (2,))):
        put(house.folder, f"sale/{name}.csv", [row for day in days for row in evening(day, f"{name}{day}")])
        take_in(house)
    assert in_force(house) == ["a0 01", "a0 22", "b1 01", "b1 22", "c2 01", "c2 22"]
    undo(house, 2)
    assert in_force(house) == ["a0 01", "a0 22", "a1 01", "a1 22", "c2 01", "c2 22"]
    undo(house, 3)
    assert in_force(house) == ["a0 01", "a0 22", "a1 01", "a1 22", "a2 01", "a2 22"]


def test_exports_cut_at_midnight_both_count(house):
    evenings = evening(0, "mo") + evening(1, "tu") + evening(2, "we")
    for day in (2, 3, 4, 5):
        rows = [row for row in evenings if str(row["sold_at"]).startswith(f"2026-03-0{day}")]
        put(house.folder, f"sale/{day}.csv", rows)
        take_in(house)
    assert in_force(house) == ["mo 01", "mo 22", "tu 01", "tu 22", "we 01", "we 22"]


def test_a_newer_calendar_day_leaves_the_rest_of_its_evenings_alone(house):
    put(house.folder, "sale/week.csv", evening(0, "mo") + evening(1, "tu") + evening(2, "we"))
    take_in(house)
    moments = ("00:30", "first"), ("01:00", "new mo"), ("22:00", "new tu"), ("23:00", "last")
    put(house.folder, "sale/tuesday.csv", [sale(f"2026-03-03 {at}", item) for at, item in moments])
    take_in(house)
    assert in_force(house) == ["mo 22", "new mo", "new tu", "tu 01", "we 01", "we 22"]


def test_a_line_of_the_same_identity_is_replaced_and_others_stay(house):
    rows = [sale("2026-03-02 20:00", "a", line_id="a1"), sale("2026-03-02 20:00", "b", line_id="a2")]
    put(house.folder, "sale/a.csv", rows)
    take_in(house)
    put(house.folder, "sale/b.csv", [sale("2026-03-04 12:00", "b, late void", line_id="A2")])  # without case
    take_in(house)
    assert in_force(house) == ["a", "b, late void"]


def test_sales_of_another_source_or_venue_are_left_alone(tmp_path):
    second = '[[source]]\nname = "jug till"\nplugin = "till-export"\nfiles = ["jugs/*.csv"]\n'
    house = make_house(tmp_path, HOUSE + VENUES + SOURCES + second)
    put(house.folder, "sale/a.csv", evening(0, "bar", venue="Bar") + evening(0, "terrace", venue="Terrace"))
    put(house.folder, "jugs/a.csv", evening(0, "jug", venue="Bar"))
    take_in(house)
    put(house.folder, "sale/b.csv", evening(0, "new", venue="BAR"))  # venues compare without case
    take_in(house)
    assert in_force(house) == ["jug 01", "jug 22", "new 01", "new 22", "terrace 01", "terrace 22"]


def test_a_change_of_the_hour_at_which_days_begin_is_worked_out_anew(house):
    put(house.folder, "sale/a.csv", [sale("2026-03-03 04:00", "a")])
    take_in(house)
    put(house.folder, "sale/b.csv", [sale("2026-03-02 20:00", "b mo"), sale("2026-03-04 20:00", "b we")])
    take_in(house)
    assert in_force(house) == ["b mo", "b we"]  # before 06:00: Monday's evening, of which the newer file tells
    house = make_house(house.folder, HOUSE + 'day_starts_at = "03:00"\n' + SOURCES)
    assert in_force(house) == ["a", "b mo", "b we"]  # Tuesday, of which it does not


def test_a_change_of_the_houses_clock_is_worked_out_anew(house):
    lines = [sale(f"2026-10-25 0{at}", f"{n}") for n, at in enumerate(("1:50", "2:10", "2:40", "2:20", "3:10"))]
    put(house.folder, "sale/a.csv", lines[:3])
    take_in(house)
    put(house.folder, "sale/b.csv", lines[3:])
    take_in(house)
    assert in_force(house) == ["0", "1", "3", "4"]  # by UTC, 2:40 lies in the newer file's span
    house = make_house(house.folder, HOUSE + 'time_zone = "Europe/Lisbon"\n' + SOURCES)
    assert in_force(house) == ["0", "1", "3", "4"]  # Lisbon's doubled hour is the one before
    house = make_house(house.folder, HOUSE + 'time_zone = "Europe/Amsterdam"\n' + SOURCES)
    assert in_force(house) == ["0", "1", "2", "3", "4"]


def test_a_spec_version_is_replaced_whole_and_other_versions_stay(house):
    put(house.folder, "spec/a.csv", [good("spec", version=1), good("spec", version=2)])
    lines = [good("spec_line", version=v, line=n, item=f"v{v} {n}") for v in (1, 2) for n in (1, 2)]
    put(house.folder, "spec_line/a.csv", lines)
    take_in(house)
    put(house.folder, "spec_line/b.csv", [good("spec_line", spec="FIG SOUR", version=2, item="new")])
    take_in(house)
    assert current(house, "spec_line", "version", "item") == [(1, "v1 1"), (1, "v1 2"), (2, "new")]


def test_a_session_is_replaced_whole(house):
    put(house.folder, "tasting/a.csv", [good("tasting", session=s, panelist=p) for s in "st" for p in "12"])
    take_in(house)
    put(house.folder, "tasting/b.csv", [good("tasting", session="S", panelist="9")])
    take_in(house)
    assert current(house, "tasting", "session", "panelist") == [("S", "9"), ("t", "1"), ("t", "2")]


def event(batch: str, day: int, amount: int | str) -> dict[str, object]:
    cells = {"event": "counted", "amount": amount, "unit": "ml"}
    return good("batch_event", batch=batch, happened_on=MONDAY.date() + timedelta(days=day), **cells)


def test_a_new_edition_of_the_batch_book_is_all_that_it_says(house):
    put(house.folder, "batch/b.csv", [good("batch", batch=b) for b in "xyz"])
    put(house.folder, "batch_event/e.csv", [event("x", 0, 1), event("x", 1, 2), event("y", 0, 3)])
    take_in(house)
    put(house.folder, "batch_event/e.csv", [event("x", 1, 20)])  # the same file: day 0 of x was struck out
    take_in(house)
    assert current(house, "batch_event", "batch", "amount") == [("x", 20.0)]
    put(house.folder, "batch_event/other.csv", [event("x", 2, 30), event("y", 0, 31)])  # another file: its days only
    take_in(house)
    assert current(house, "batch_event", "batch", "amount") == [("x", 20.0), ("x", 30.0), ("y", 31.0)]


def test_a_correction_is_of_the_edition_that_it_corrects(house, tmp_path):
    put(house.folder, "batch/b.csv", [good("batch", batch="x")])
    put(house.folder, "batch_event/e.csv", [event("x", 0, "ten"), event("x", 1, 2)])
    take_in(house)
    assert command("aside", "--out", tmp_path / "out", house=house).code == 0
    [path] = (tmp_path / "out").iterdir()
    path.write_text(path.read_text().replace("ten", "10"))
    take_in(house, path)
    assert current(house, "batch_event", "amount") == [(2.0,), (10.0,)]
    put(house.folder, "batch_event/e.csv", [event("x", 1, 2)])  # the day that was corrected is struck out
    take_in(house)
    assert current(house, "batch_event", "amount") == [(2.0,)]


def test_an_old_file_that_waited_for_its_partner_stays_the_older_one(house):
    put(house.folder, "batch/b.csv", [good("batch", batch="x")])
    put(house.folder, "batch_event/old.csv", [event("x", 0, 1), event("late", 0, 5)])
    take_in(house)
    put(house.folder, "batch_event/new.csv", [event("x", 0, 2)])
    take_in(house)
    put(house.folder, "batch/late.csv", [good("batch", batch="late")])
    take_in(house)
    assert current(house, "batch_event", "batch", "amount") == [("late", 5.0), ("x", 2.0)]
    assert ask(house, "SELECT intake_id FROM standing WHERE table_name = 'batch_event' ORDER BY place") == [(5,), (3,)]


# From files to serves -------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(2))
@pytest.mark.parametrize("hour", [0, 6, 21.5])
def test_overlapping_exports_in_any_order_give_the_serves_of_the_whole_season(tmp_path, seed, hour):
    """Cut at midnight, where the trading day begins, or in mid-evening: every line counts once."""
    rng = random.Random(seed)
    days = 7
    times = [MONDAY + timedelta(days=d, hours=h) for d in range(days) for h in (0.5, 1, 17, 20, 23.5)]
    times = [at for at in times if at >= MONDAY + timedelta(hours=hour)]
    whole = [sale(at, item) for at in times for item in ("Fig Sour", "Fig Sour", "water")]
    cuts = sorted({0, days, *rng.sample(range(1, days), 3)})
    spans = [(max(0, a - rng.randint(0, 2)), min(days, b + rng.randint(0, 2))) for a, b in pairwise(cuts)]
    rng.shuffle(spans)
    parts, at_once = (make_house(tmp_path / name, spec=csv_text([good("spec")])) for name in ("parts", "whole"))
    take_in(parts)
    for number, (first, last) in enumerate(spans):
        begin, end = (MONDAY + timedelta(days=d, hours=hour) for d in (first, last + (last == days)))
        rows = [row for row in whole if begin <= datetime.fromisoformat(str(row["sold_at"])) < end]
        take_in(parts, put(parts.folder, f"sale/{number}.csv", rows))
    put(at_once.folder, "sale/season.csv", whole)
    take_in(at_once)
    assert current(parts, "sale", "sold_at", "till_item") == current(at_once, "sale", "sold_at", "till_item")
    serves = [ask(house, "SELECT * FROM daily_serves ORDER BY ALL") for house in (parts, at_once)]
    assert serves[0] == serves[1] != []


def test_undoing_what_does_not_stand_is_one_clear_line(house):
    put(house.folder, "sale/a.csv", evening(0, "a"))
    take_in(house)
    said = command("undo", 7, house=house)
    assert (said.code, said.err) == (2, "There is no intake 7; the newest is 1. 'stillroom ledger' lists them.\n")
    assert command("undo", 1, house=house).code == 0
    said = command("undo", 1, house=house)
    assert said.code == 2
    assert said.err.startswith("Intake 1 (sale/a.csv) was undone already, on ")
