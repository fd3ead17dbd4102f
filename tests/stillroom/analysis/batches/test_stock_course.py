"""The course of a stock, reckoned by hand."""

from datetime import date, timedelta

import polars as pl

from stillroom.analysis.batches.stock_course import stock_course
from store_frames import frame

FIRST = date(2026, 3, 2)


def day(number):
    return FIRST + timedelta(days=number)


def fate(*rows):
    return frame("batch_fate", rows, "batch made_on made used ended_on use_by")


def use(*amounts):
    days = [day(n) for n in range(len(amounts))]
    return pl.DataFrame({"business_date": days, "amount": list(map(float, amounts))})


def course(batches, taken, days=4):
    return [amount for _, amount in stock_course(batches, taken, FIRST, day(days - 1))]


def test_the_older_batch_is_used_first_and_none_after_its_use_by():
    batches = fate(("a", day(0), 100.0, 50.0, None, day(1)), ("b", day(1), 100.0, 50.0, None, day(9)))
    assert course(batches, use(30, 40, 30, 0)) == [70, 130, 50, 50]


def test_a_batch_gives_no_more_than_was_used_of_it():
    assert course(fate(("a", day(0), 100.0, 20.0, None, None)), use(50, 50, 50, 50)) == [80, 80, 80, 80]


def test_what_is_poured_away_leaves_on_that_day():
    assert course(fate(("a", day(0), 100.0, 10.0, day(2), day(5))), use(10, 0, 0, 0)) == [90, 90, 0, 0]


def test_a_batch_from_before_the_days_looked_at_counts_and_without_batches_there_is_no_course():
    assert course(fate(("a", day(-3), 100.0, 10.0, None, None)), use(10), days=1) == [90]
    assert course(fate(), use(10)) == []
