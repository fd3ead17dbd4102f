"""Which rows are in force, against a naive model that works it out from the whole list of files every time."""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from house_builder import (
    HOUSE,
    SOURCES,
    ask,
    books,
    command,
    csv_text,
    current,
    good,
    make_house,
    plugins,
    put,
    take_in,
)
from stillroom.house import House
from stillroom.store import ledger, opening
from stillroom.store.transaction import transaction

MONDAY = datetime(2026, 3, 2)
VENUES = 'venues = ["Bar", "Terrace"]\n'


def undo(house: House, intake_id: int) -> None:
    tables = plugins().tables
    with opening.writing(house, tables.values()) as con, transaction(con):
        ledger.undo(con, tables, intake_id)


def sale(at: datetime | str, item: str = "Fig Sour", **cells: str) -> dict[str, object]:
    return good("sale", sold_at=f"{at}", till_item=item, **cells)


def in_force(house: House) -> list[str]:
    return [item for (item,) in current(house, "sale", "till_item")]


def evening(day: int, *items: str, **cells: str) -> list[dict[str, object]]:
    """One line before midnight and one after it for every item, on the business day `day` days after Monday."""
    base = MONDAY + timedelta(days=day)
    late = [(timedelta(hours=22), "22"), (timedelta(hours=25), "01")]
    return [sale(base + shift, f"{item} {hour}", **cells) for item in items for shift, hour in late]


# Cases worked by hand ------------------------------------------------------------------------------------


@pytest.fixture
def house(tmp_path: Path) -> House:
    return make_house(tmp_path)


def test_a_newer_file_replaces_the_days_it_covers_and_no_others(house):
    put(house.folder, "sale/week.csv", evening(0, "old") + evening(1, "kept"))
    take_in(house)
    put(house.folder, "sale/day.csv", [sale("2026-03-02 21:00", "new")])
    assert [o.superseded for o in take_in(house)] == [0, 2]
    assert in_force(house) == ["kept 01", "kept 22", "new"]
    assert len(ask(house, "SELECT 1 FROM sale")) == 5  # nothing is deleted


def test_undo_puts_the_older_file_back(house):
    put(house.folder, "sale/a.csv", evening(0, "old"))
    take_in(house)
    put(house.folder, "sale/b.csv", evening(0, "new"))
    take_in(house)
    assert in_force(house) == ["new 01", "new 22"]
    undo(house, 2)
    assert in_force(house) == ["old 01", "old 22"]
    take_in(house)  # and taken in again, it is the newer one again
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
    put(house.folder, "sale/tuesday.csv", [sale("2026-03-03 01:00", "new mo"), sale("2026-03-03 22:00", "new tu")])
    take_in(house)
    assert in_force(house) == ["mo 22", "new mo", "new tu", "tu 01", "we 01", "we 22"]


def test_a_line_of_the_same_identity_is_replaced_and_others_stay(house):
    rows = [sale("2026-03-02 20:00", "a", line_id="1"), sale("2026-03-02 20:00", "b", line_id="2")]
    put(house.folder, "sale/a.csv", rows)
    take_in(house)
    put(house.folder, "sale/b.csv", [sale("2026-03-04 12:00", "b, late void", line_id="2")])
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
    put(house.folder, "sale/b.csv", [sale("2026-03-03 20:00", "b")])
    take_in(house)
    assert in_force(house) == ["a", "b"]  # before 06:00: Monday's evening
    house = make_house(house.folder, HOUSE + 'day_starts_at = "03:00"\n' + SOURCES)
    assert in_force(house) == ["b"]


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


def event(batch: str, day: int, amount: int) -> dict[str, object]:
    cells = {"event": "counted", "amount": amount, "unit": "ml"}
    return good("batch_event", batch=batch, happened_on=MONDAY.date() + timedelta(days=day), **cells)


def test_a_new_edition_of_the_batch_book_replaces_the_batches_it_tells_of(house):
    put(house.folder, "batch/b.csv", [good("batch", batch=b) for b in "xyz"])
    put(house.folder, "batch_event/e.csv", [event("x", 0, 1), event("x", 1, 2), event("y", 0, 3)])
    take_in(house)
    put(house.folder, "batch_event/e.csv", [event("x", 1, 20)])  # the same file: day 0 of x was struck out
    take_in(house)
    assert current(house, "batch_event", "batch", "amount") == [("x", 20.0), ("y", 3.0)]
    put(house.folder, "batch_event/other.csv", [event("x", 2, 30), event("y", 0, 31)])  # another file: its days only
    take_in(house)
    assert current(house, "batch_event", "batch", "amount") == [("x", 20.0), ("x", 30.0), ("y", 31.0)]


def test_an_old_file_that_waited_for_its_partner_stays_the_older_one(house):
    put(house.folder, "batch/b.csv", [good("batch", batch="x")])
    put(house.folder, "batch_event/old.csv", [event("x", 0, 1), event("late", 0, 5)])
    take_in(house)
    put(house.folder, "batch_event/new.csv", [event("x", 0, 2)])
    take_in(house)
    put(house.folder, "batch/late.csv", [good("batch", batch="late")])
    take_in(house)
    assert current(house, "batch_event", "batch", "amount") == [("late", 5.0), ("x", 2.0)]
    assert [(e.intake_id, e.place) for e in books(house) if not e.undone_at and e.table_name == "batch_event"] == [
        (3, 3),
        (5, 2),
    ]


# A naive model -------------------------------------------------------------------------------------------


@dataclass
class Taken:
    """A file as the model sees it."""

    intake_id: int
    rows: list[dict[str, Any]]
    undone: bool = False
    spans: dict[tuple[str, date], tuple[date, date]] = field(default_factory=dict)
    cut: dict[str, bool] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for row in self.rows:
            key, day = (row["venue"], business(row)), row["sold_at"].date()
            first, last = self.spans.get(key, (day, day))
            self.spans[key] = min(first, day), max(last, day)
        for venue in {row["venue"] for row in self.rows}:
            own = [row for row in self.rows if row["venue"] == venue]
            self.cut[venue] = min(row["sold_at"].date() for row in own) > min(map(business, own))

    def covers(self, row: dict[str, Any], old: Taken) -> bool:
        key = row["venue"], business(row)
        if row["line_id"] and any((r["venue"], r["line_id"]) == (row["venue"], row["line_id"]) for r in self.rows):
            return True
        same_day = [r for r in self.rows if (r["venue"], business(r)) == key]
        if not same_day or (row["line_id"] and all(r["line_id"] for r in same_day)):
            return False
        if self.cut[row["venue"]]:
            return any(r["sold_at"].date() == row["sold_at"].date() for r in same_day)
        (first, last), (old_first, old_last) = self.spans[key], old.spans[key]
        return old_first <= last and first <= old_last


def business(row: dict[str, Any]) -> date:
    return (row["sold_at"] - timedelta(hours=6)).date()


def expected(files: list[Taken]) -> list[str]:
    """A row is in force unless its file is undone or a later file that stands covers it."""
    standing = [f for f in files if not f.undone]
    rows = [
        (f, row)
        for place, f in enumerate(standing)
        for row in f.rows
        if not any(later.covers(row, f) for later in standing[place + 1 :])
    ]
    return sorted(row["till_item"] for _, row in rows)


def random_file(rng: random.Random, number: int, identities: bool) -> list[dict[str, Any]]:
    """Some hours of a few days, cut anywhere, at one or two venues."""
    first = MONDAY + timedelta(hours=rng.choice([0, 6, 6, 17, 24, 30, 54]))
    last = first + timedelta(hours=rng.choice([7, 18, 24, 24, 48]))
    rows = []
    for place in range(rng.randint(1, 9)):
        at = first + (last - first) * rng.random()
        line_id = str(rng.randint(1, 12)) if identities and rng.random() < 0.7 else ""
        venue = rng.choice(["Bar", "Bar", "Terrace"])
        if line_id and any((r["venue"], r["line_id"]) == (venue, line_id) for r in rows):
            continue
        at = at.replace(second=0, microsecond=0)
        rows.append({"sold_at": at, "venue": venue, "till_item": f"{number}-{place}", "line_id": line_id})
    return rows


@pytest.mark.parametrize("seed", range(4))
def test_any_sequence_of_intakes_and_undos_equals_the_naive_model(tmp_path, seed):
    rng = random.Random(seed)
    house = make_house(tmp_path, HOUSE + VENUES + SOURCES)
    files: list[Taken] = []
    for step in range(12):
        standing = [f for f in files if not f.undone]
        if standing and rng.random() < 0.3:
            gone = rng.choice(standing)
            undo(house, gone.intake_id)
            gone.undone = True
        else:
            rows = random_file(rng, step, identities=seed % 2 == 1)
            path = put(tmp_path, f"later/{step}.csv", csv_text({**r, "quantity": 1, "net_amount": 9} for r in rows))
            [outcome] = take_in(house, path, source="sale")
            assert outcome.rows_landed == len(rows)
            assert outcome.intake_id is not None
            files.append(Taken(outcome.intake_id, rows))
        assert in_force(house) == expected(files), step


@pytest.mark.parametrize("seed", range(2))
@pytest.mark.parametrize("hour", [0, 6])
def test_any_overlapping_exports_of_whole_days_in_any_order_give_the_season_once(tmp_path, seed, hour):
    """Days that begin at midnight or with the trading day: whichever the till cuts at, every line counts once."""
    rng = random.Random(seed)
    days = 7
    times = [MONDAY + timedelta(days=d, hours=h) for d in range(days) for h in (0.5, 1, 17, 20, 23.5)]
    times = [at for at in times if at >= MONDAY + timedelta(hours=hour)]
    whole = [sale(at, f"line {n:02}") for n, at in enumerate(times)]
    cuts = sorted({0, days, *rng.sample(range(1, days), 3)})
    spans = [(max(0, a - rng.randint(0, 2)), min(days, b + rng.randint(0, 2))) for a, b in pairwise(cuts)]
    rng.shuffle(spans)
    house = make_house(tmp_path)
    for number, (first, last) in enumerate(spans):
        begin, end = (MONDAY + timedelta(days=d, hours=hour) for d in (first, last + (last == days)))
        rows = [row for row, at in zip(whole, times, strict=True) if begin <= at < end]
        take_in(house, put(tmp_path, f"parts/{number}.csv", rows), source="sale")
    assert in_force(house) == [row["till_item"] for row in whole]


def test_undoing_what_does_not_stand_is_one_clear_line(house):
    put(house.folder, "sale/a.csv", evening(0, "a"))
    take_in(house)
    said = command("undo", 7, house=house)
    assert (said.code, said.err) == (2, "There is no intake 7; the newest is 1. 'stillroom ledger' lists them.\n")
    assert command("undo", 1, house=house).code == 0
    said = command("undo", 1, house=house)
    assert said.code == 2
    assert said.err.startswith("Intake 1 (sale/a.csv) was undone already, on ")
