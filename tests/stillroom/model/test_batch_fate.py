"""batch_fate against a naive day-by-day loop, and against cases worked by hand.

There is no published numeric example of first-made-first-used; the identities (stock = made - issued - discarded, never
negative; issues by age) are the definition.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from datetime import date, time, timedelta
from pathlib import Path
from typing import Any

import pytest

from spec_frames import STANDS
from stillroom.house.house import House
from stillroom.store import derived, opening
from stillroom_schemas import TABLES
from store_frames import BY_NAME, NOTHING_DECIDED

START = date(2026, 3, 2)


@dataclass
class Made:
    label: str
    venue: str
    preparation: str
    made_on: int
    use_by: int
    made: float
    events: list[tuple[int, str, float | None]] = field(default_factory=list)


def fates(
    folder: Path, batches: list[Made], demand: dict[tuple[str, str, int], int], last_day: int
) -> dict[str, dict[str, Any]]:
    """The view's rows for batches and demand (venue, preparation, day) -> serves, at 1 ml a serve."""
    folder.mkdir(exist_ok=True)
    house = House(folder=folder, name="Test", currency="EUR", day_starts_at=time(6), venues=("a", "b"))
    preparations = sorted({b.preparation for b in batches} | {p for _, p, _ in demand})
    with opening.writing(house, TABLES) as con:
        marks = "1, 'f', 1, 1"
        con.execute(STANDS)
        for p in preparations:
            con.execute(
                f"INSERT INTO spec BY POSITION SELECT '{p}', 1, 'preparation', 100, 'ml'" + _nulls(con, "spec", 5)
            )
            con.execute(
                f"INSERT INTO spec BY POSITION SELECT 'drink {p}', 1, 'drink', 1, 'serve'" + _nulls(con, "spec", 5)
            )
            con.execute(f"INSERT INTO spec_line SELECT 'drink {p}', 1, 1, '{p}', 1, 'ml', {marks}")
        sales = ", ".join(
            f"(TIMESTAMP '{_day(day)} 20:00', '{venue}', 'drink {p}', {serves}, 1, NULL, NULL, {marks})"
            for (venue, p, day), serves in demand.items()
        )
        con.execute(f"INSERT INTO sale VALUES {sales}")
        # A line that matches nothing fixes the last day of the data.
        end = f"TIMESTAMP '{START + timedelta(days=last_day)} 20:00'"
        con.execute(f"INSERT INTO sale SELECT {end}, 'a', 'bread', 1, 1, NULL, NULL, {marks}")
        for b in batches:
            con.execute(
                "INSERT INTO batch (batch, preparation, made_on, made_amount, made_unit, use_by, venue, intake_id, "
                "file, row_number) VALUES (?, ?, ?, ?, 'ml', ?, ?, 1, 'f', 1)",
                [b.label, b.preparation, _day(b.made_on), b.made, _day(b.use_by), b.venue],
            )
            for day, event, amount in b.events:
                con.execute(
                    "INSERT INTO batch_event (batch, happened_on, event, amount, unit, intake_id, file, row_number) "
                    "VALUES (?, ?, ?, ?, 'ml', 1, 'f', 1)",
                    [b.label, _day(day), event, amount],
                )
        derived.make_derived(con, house, BY_NAME, NOTHING_DECIDED)
        result = con.execute("SELECT * FROM batch_fate")
        names = [column[0] for column in result.description]
        return {row[0]: dict(zip(names, row, strict=True)) for row in result.fetchall()}


def _nulls(con: Any, table: str, given: int) -> str:
    columns = con.execute(f"SELECT * FROM {table} LIMIT 0").description
    own = len(columns) - 4 - given
    return ", NULL" * own + ", 1, 'f', 1, 1"


def _day(number: int) -> date:
    return START + timedelta(days=number)


LOSSES = ("poured away", "spoiled")


def naive(batches: list[Made], demand: dict[tuple[str, str, int], int], last_day: int) -> dict[str, dict[str, float]]:
    """Used, poured away and spoiled of each batch, day by day, oldest first.

    What was poured or spoiled was never there to be used. A batch is closed after the day on which it was used up, or
    lost without an amount, unless something is found in it later; what it then still held was lost. A bottle counted
    with something in it cannot have run dry before; what a count finds missing since a loss without an amount, that
    loss took.
    """
    found: dict[str, dict[str, float]] = {}
    for venue, preparation in {(b.venue, b.preparation) for b in batches}:
        own = sorted(
            (b for b in batches if (b.venue, b.preparation) == (venue, preparation)),
            key=lambda b: (b.made_on, b.use_by, b.label),
        )
        left = {b.label: max(b.made - sum(a or 0 for _, e, a in b.events if e in LOSSES), 0.0) for b in own}
        used = {b.label: 0.0 for b in own}
        lost = {(b.label, e): float(sum(a or 0 for _, x, a in b.events if x == e)) for b in own for e in LOSSES}
        until = {b.label: min(b.use_by, _ended(b)) for b in own}
        counts = {
            b.label: sorted((d, a) for d, e, a in b.events if e == "counted" and d <= until[b.label]) for b in own
        }
        for day in range(last_day + 400):
            wanted = float(demand.get((venue, preparation, day), 0))
            for b in own:
                if not b.made_on <= day <= until[b.label]:
                    continue
                never_dry = any(d >= day and (a or 0) > 0 for d, a in counts[b.label])
                taken = wanted if never_dry else min(wanted, left[b.label])
                used[b.label] += taken
                left[b.label] -= taken
                wanted -= taken
            for b in own:
                before = max((d for d, _ in counts[b.label] if d < day), default=-1)
                for _, amount in [one for one in counts[b.label] if one[0] == day]:
                    later = sum(a or 0 for x, e, a in b.events if x > day and e in LOSSES)
                    now = max((amount or 0) - later, 0) if (amount or 0) > 0 else 0.0
                    took = [e for d, e, a in b.events if e in LOSSES and a is None and before < d <= day]
                    if took:
                        lost[b.label, "spoiled" if "spoiled" in took else took[0]] += max(left[b.label] - now, 0.0)
                    left[b.label] = now if (amount or 0) > 0 else min(now, left[b.label])
        for b in own:
            at_end = {e for d, e, a in b.events if e in LOSSES and a is None and d == _ended(b)}
            if at_end:
                lost[b.label, "spoiled" if "spoiled" in at_end else "poured away"] += left[b.label]
            found[b.label] = {"used": used[b.label]} | {e.replace(" ", "_"): lost[b.label, e] for e in LOSSES}
    return found


def _ended(b: Made) -> int:
    closing = [d for d, e, a in b.events if e == "used up" or (e in LOSSES and (a is None or d > b.use_by))]
    counted = max((d for d, e, a in b.events if e == "counted" and (a or 0) > 0), default=-1)
    lost = max((d for d, e, a in b.events if e in LOSSES and a != 0), default=-1)
    return min((d for d in closing if d > counted and d >= lost), default=10**6)


def random_batches(rng: random.Random, days: int) -> tuple[list[Made], dict[tuple[str, str, int], int]]:
    batches, demand = [], {}
    for venue in "ab":
        for p in [f"p{i}" for i in range(12)]:
            for day in range(days):
                if rng.random() < 0.7:
                    demand[(venue, p, day)] = rng.choice([1, 2, 3, 5, 8, 20])
            for n in range(rng.randint(1, 9)):
                made_on = rng.randrange(days)
                b = Made(
                    f"{venue}{p}-{n}", venue, p, made_on, made_on + rng.randint(0, 20), rng.choice([5, 20, 50, 80])
                )
                for _ in range(rng.choice([0, 1, 1, 2, 3])):
                    event = rng.choice(["counted", "used up", "poured away", "spoiled"])
                    # All that is counted and lost together is no more than was made: else an amount cannot be.
                    amounts = [0, 1, b.made / 6] if event == "counted" else [None, 1, b.made / 6]
                    amount = None if event == "used up" else rng.choice(amounts)
                    b.events.append((rng.randint(made_on, b.use_by + 2), event, amount))
                counted = [d for d, e, _ in b.events if e == "counted"]
                if len(set(counted)) == len(counted):  # two counts of one day have no order
                    batches.append(b)
    return batches, demand


@pytest.mark.parametrize("seed", range(4))
def test_equals_a_naive_day_by_day_loop_on_random_houses(tmp_path: Path, seed: int) -> None:
    rng = random.Random(seed)
    batches, demand = random_batches(rng, days=45)
    found = fates(tmp_path, batches, demand, last_day=60)
    expected = naive(batches, demand, last_day=60)
    assert set(found) == set(expected)
    for label, row in found.items():
        assert {part: row[part] for part in expected[label]} == pytest.approx(expected[label], abs=1e-5), label
        parts = ("used", "poured_away", "spoiled", "left_at_use_by", "on_hand", "unexplained")
        assert row["made"] == pytest.approx(sum(row[part] for part in parts))
        assert all(row[part] >= 0 for part in parts[:-1])


def one(tmp_path: Path, made: Made, demand: list[int], last_day: int = 30) -> dict[str, Any]:
    wanted = {("a", "p", day): serves for day, serves in enumerate(demand) if serves}
    return fates(tmp_path, [made], wanted, last_day)[made.label]


def test_nothing_is_used_after_its_use_by(tmp_path: Path) -> None:
    row = one(tmp_path, Made("x", "a", "p", 0, 2, 100), [10, 10, 10, 10, 10])
    assert (row["used"], row["left_at_use_by"], row["on_hand"]) == (30, 70, 0)


def test_what_is_within_use_by_on_the_last_day_is_on_hand(tmp_path: Path) -> None:
    row = one(tmp_path, Made("x", "a", "p", 0, 30, 100), [10, 10], last_day=30)
    assert (row["used"], row["left_at_use_by"], row["on_hand"]) == (20, 0, 80)


def test_used_up_earlier_than_sales_imply_is_unexplained(tmp_path: Path) -> None:
    row = one(tmp_path, Made("x", "a", "p", 0, 20, 100, [(3, "used up", None)]), [10] * 10)
    assert (row["used"], row["unexplained"], row["on_hand"], row["ended_on"]) == (40, 60, 0, _day(3))


def test_a_loss_without_amount_takes_all_that_was_left(tmp_path: Path) -> None:
    row = one(tmp_path, Made("x", "a", "p", 0, 20, 100, [(3, "poured away", None)]), [10] * 10)
    assert (row["used"], row["poured_away"], row["unexplained"]) == (40, 60, 0)
    row = one(tmp_path / "other", Made("x", "a", "p", 0, 20, 100, [(3, "spoiled", None)]), [10] * 10)
    assert (row["used"], row["spoiled"], row["unexplained"]) == (40, 60, 0)


def test_a_count_resets_what_the_batch_holds(tmp_path: Path) -> None:
    # 50 sold by day 4, so 50 should be left; 35 are found: 15 unexplained, and only 35 more can be used.
    row = one(tmp_path, Made("x", "a", "p", 0, 20, 100, [(4, "counted", 35.0)]), [10] * 15)
    assert (row["used"], row["unexplained"], row["left_at_use_by"]) == (85, 15, 0)


def test_an_older_batch_goes_first_and_the_younger_takes_over(tmp_path: Path) -> None:
    old, young = Made("old", "a", "p", 0, 9, 25), Made("young", "a", "p", 1, 9, 25)
    wanted = {("a", "p", day): 10 for day in range(4)}
    rows = fates(tmp_path, [young, old], wanted, last_day=30)
    assert (rows["old"]["used"], rows["young"]["used"]) == (25, 15)


def test_venues_do_not_share_stock(tmp_path: Path) -> None:
    batches = [Made("x", "a", "p", 0, 9, 25), Made("y", "b", "p", 0, 9, 25)]
    rows = fates(tmp_path, batches, {("a", "p", 1): 7}, last_day=30)
    assert (rows["x"]["used"], rows["y"]["used"]) == (7, 0)


def parts(row: dict[str, Any]) -> dict[str, float]:
    return {name: row[name] for name in ("used", "poured_away", "spoiled", "on_hand", "unexplained") if row[name]}


@pytest.mark.parametrize("event", ["poured away", "spoiled"])
def test_a_loss_with_an_amount_does_not_end_a_batch(tmp_path: Path, event: str) -> None:
    row = one(tmp_path, Made("x", "a", "p", 0, 40, 100, [(3, event, 20.0)]), [10] * 6)
    assert parts(row) == {"used": 60, event.replace(" ", "_"): 20, "on_hand": 20}
    assert row["ended_on"] is None


def test_a_count_on_the_day_of_a_loss_counts_after_it(tmp_path: Path) -> None:
    made = Made("x", "a", "p", 0, 40, 100, [(3, "poured away", 20.0), (3, "counted", 35.0)])
    assert parts(one(tmp_path, made, [10] * 6)) == {"used": 60, "poured_away": 20, "on_hand": 15, "unexplained": 5}
    everything = Made("x", "a", "p", 0, 40, 100, [(3, "poured away", None), (3, "counted", 35.0)])
    assert parts(one(tmp_path / "all", everything, [10] * 6)) == {"used": 60, "poured_away": 25, "on_hand": 15}


def test_a_count_after_a_loss_without_amount_tells_what_it_took(tmp_path: Path) -> None:
    made = Made("x", "a", "p", 0, 40, 100, [(3, "spoiled", None), (5, "counted", 10.0)])
    assert parts(one(tmp_path, made, [10] * 6)) == {"used": 60, "spoiled": 30, "on_hand": 10}
    nothing = Made("x", "a", "p", 0, 40, 100, [(3, "poured away", None), (5, "counted", 0.0)])
    row = one(tmp_path / "none", nothing, [10] * 6)
    assert parts(row) == {"used": 40, "poured_away": 60}
    assert row["ended_on"] == _day(3)


def test_what_is_missing_when_the_rest_is_poured_away_at_the_end_is_unexplained(tmp_path: Path) -> None:
    row = one(tmp_path, Made("x", "a", "p", 0, 5, 100, [(6, "poured away", 30.0)]), [10] * 9)
    assert parts(row) == {"used": 60, "poured_away": 30, "unexplained": 10}
    assert row["left_at_use_by"] == 0


def test_a_batch_of_which_some_is_poured_away_on_its_last_day_goes_on(tmp_path: Path) -> None:
    made = Made("x", "a", "p", 0, 5, 100, [(5, "poured away", 30.0)])
    row = one(tmp_path, made, [10] * 6, last_day=5)
    assert (parts(row), row["ended_on"]) == ({"used": 60, "poured_away": 30, "on_hand": 10}, None)
    row = one(tmp_path / "after", made, [10] * 9)
    assert (row["left_at_use_by"], row["unexplained"]) == (10, 0)


def test_used_up_does_not_end_a_batch_of_which_more_is_found(tmp_path: Path) -> None:
    found = Made("x", "a", "p", 0, 40, 100, [(2, "used up", None), (5, "counted", 40.0)])
    assert parts(one(tmp_path, found, [10] * 6)) == {"used": 60, "on_hand": 40}
    lost = Made("x", "a", "p", 0, 40, 100, [(2, "used up", None), (5, "spoiled", 25.0)])
    assert parts(one(tmp_path / "lost", lost, [10] * 6)) == {"used": 60, "spoiled": 25, "on_hand": 15}


@pytest.mark.parametrize(
    ("events", "expected"),
    [
        # More than was made: all that was left, as for a loss without an amount.
        ([(3, "poured away", 5000.0)], {"used": 400, "poured_away": 600}),
        # The second loss is more than the first has left.
        ([(1, "spoiled", 600.0), (3, "spoiled", 600.0)], {"used": 400, "spoiled": 600}),
        # A count above what was made says nothing.
        ([(3, "counted", 2000.0)], {"used": 600, "on_hand": 400}),
        ([(2, "poured away", 700.0), (3, "counted", 500.0)], {"used": 300, "poured_away": 700}),
        # A little over is how one measures: as much as there can be.
        ([(2, "poured away", 1010.0)], {"used": 0, "poured_away": 1000}),
    ],
)
def test_amounts_that_cannot_be_are_not_blamed_on_the_sales(
    tmp_path: Path, events: list[tuple[int, str, float | None]], expected: dict[str, float]
) -> None:
    row = one(tmp_path, Made("x", "a", "p", 0, 40, 1000, events), [100] * 6)
    assert parts(row) == {name: amount for name, amount in expected.items() if amount}


def test_when_a_batch_was_found_spoiled_and_last_known_to_be_good(tmp_path: Path) -> None:
    """Nothing is sold on days 4 and 5; it spoils in part on day 6, and serves on."""
    sold = [10, 10, 10, 10, 0, 0, 10]
    row = one(tmp_path, Made("x", "a", "p", 0, 40, 100, [(6, "spoiled", 20.0)]), sold)
    assert (row["spoiled_on"], row["last_good_on"], row["ended_on"]) == (_day(6), _day(3), None)
    counted = Made("x", "a", "p", 0, 40, 100, [(5, "counted", 60.0), (6, "spoiled", None)])
    assert one(tmp_path / "counted", counted, sold)["last_good_on"] == _day(5)
    unseen = Made("x", "a", "p", 0, 40, 100, [(6, "spoiled", None)])
    assert one(tmp_path / "unseen", unseen, [0] * 7 + [10])["last_good_on"] is None
