"""Use of batches from the demand on their stock; against a day-by-day loop the whole way is held in views/."""

from __future__ import annotations

from datetime import date, timedelta

import polars as pl
import pytest

from stillroom.analysis.batches.use import first_made_first_used

FIRST = date(2026, 3, 2)
LAST = date(9999, 12, 31)


def batches(*rows: tuple[str, int, int, int | None, float]) -> pl.DataFrame:
    return pl.DataFrame(
        [
            (key, stock, day(made), LAST if until is None else day(until), held)
            for key, stock, made, until, held in rows
        ],
        schema=["batch_key", "stock", "made_on", "until", "held"],
        orient="row",
    ).with_columns(pl.lit(None, dtype=pl.Date).alias("spoiled_on"))


def counts(*rows: tuple[str, int, float, float]) -> pl.DataFrame:
    """Counts of batches of which nothing was lost without an amount."""
    schema = {"batch_key": pl.String, "counted_on": pl.Date, "counted": pl.Float64, "lost_later": pl.Float64}
    frame = pl.DataFrame([(key, day(on), left, lost) for key, on, left, lost in rows], schema=schema, orient="row")
    return frame.with_columns(
        pl.lit(None, dtype=pl.Date).alias(name) for name in ("poured_on", "spoiled_on", "counted_before")
    )


def demand(amounts: dict[tuple[int, int], float]) -> pl.DataFrame:
    rows = [(stock, day(on), amount) for (stock, on), amount in amounts.items()]
    schema = {"stock": pl.Int64, "business_date": pl.Date, "amount": pl.Float64}
    return pl.DataFrame(rows, schema=schema, orient="row")


def day(number: int) -> date:
    return FIRST + timedelta(days=number)


def used(frame: pl.DataFrame) -> dict[str, float]:
    return dict(frame.select("batch_key", "used").iter_rows())


def test_a_batch_used_to_the_last_drop_has_nothing_left_whatever_its_size() -> None:
    sizes = [1000 / 3, 0.1 + 0.2, 7.123456789]
    made = batches(*((f"b{n}", 1, n, None, size) for n, size in enumerate(sizes)))
    found = first_made_first_used(made, counts(), demand({(1, n): 400.0 for n in range(5)}))
    assert found["used"].to_list() == found["held"].to_list() == sizes


def test_the_order_in_which_demand_comes_changes_nothing() -> None:
    made = batches(("x", 1, 0, 3, 1.0), ("y", 1, 1, 9, 1.0), ("z", 2, 0, 9, 9.0))
    wanted = {(1, n): 0.1 for n in range(9)} | {(2, n): 0.7 for n in range(9)}
    forth = first_made_first_used(made, counts(), demand(wanted))
    back = first_made_first_used(made, counts(), demand(dict(reversed(wanted.items()))))
    assert forth.equals(back)
    assert used(forth) == {"x": 0.4, "y": 0.5, "z": 6.3}


def test_days_on_which_more_was_brought_back_than_sold_use_nothing() -> None:
    found = first_made_first_used(batches(("x", 1, 0, 9, 50.0)), counts(), demand({(1, 1): -5.0, (1, 2): 8.0}))
    assert used(found) == {"x": 8.0}


def test_without_demand_nothing_is_used() -> None:
    found = first_made_first_used(batches(("x", 1, 0, 9, 50.0), ("y", 7, 0, None, 5.0)), counts(), demand({}))
    assert used(found) == {"x": 0, "y": 0}


@pytest.mark.parametrize(
    ("counted", "expected"),
    [
        ([("x", 1, 30.0, 0.0)], (20 + 30, 20 + 30)),  # 20 sold when 30 were counted, and 30 sold after
        ([("x", 1, 30.0, 4.0)], (20 + 26, 20 + 26)),  # 4 of the 30 recorded as lost later
        ([("x", 1, 0.0, 0.0)], (20, 20)),
        ([("x", 1, 30.0, 0.0), ("x", 3, 50.0, 0.0)], (40 + 50, 40 + 50)),  # the later count is the truth
        ([("x", 1, 30.0, 0.0), ("x", 3, 0.0, 0.0)], (40, 40)),
        ([("x", 99, 30.0, 0.0)], (60, 60)),  # counted after its last day: says nothing of its use
    ],
)  # fmt: skip
def test_a_count_resets_what_there_was(counted: list[tuple[str, int, float, float]], expected: tuple[int, int]) -> None:
    found = first_made_first_used(
        batches(("x", 1, 0, 20, 60.0)), counts(*counted), demand({(1, n): 10.0 for n in range(20)})
    )
    assert found.select("used", "held").row(0) == expected


def test_the_last_day_on_which_a_batch_served_before_it_was_found_spoiled() -> None:
    made = batches(
        ("first", 1, 0, 9, 25.0), ("second", 1, 0, 9, 50.0), ("unopened", 1, 1, 9, 50.0), ("other", 2, 0, 9, 9.0)
    )
    # 10 a day, but for the closed days 3 and 4: the first serves on days 0, 1 and 2, the second from then on.
    sold = demand({(1, number): 10.0 for number in (0, 1, 2, 5, 6, 7)})
    found = [None, day(5), day(6), day(3)]
    served = first_made_first_used(made.with_columns(pl.Series("spoiled_on", found, pl.Date)), counts(), sold)
    assert served["last_served_on"].to_list() == [day(2), day(2), None, None]
