"""An answer is given again where the same is asked, and where anything of it is another it is worked out anew."""

from dataclasses import dataclass, field
from datetime import date

import polars as pl
import pytest

from stillroom.analysis.once import MOST, once

FRAME = pl.DataFrame({"spec": ["A", "B"], "serves": [1.0, None], "day": [date(2026, 3, 2), date(2026, 3, 3)]})


@dataclass(frozen=True)
class Days:
    closed: frozenset[date] = frozenset()
    events: dict[date, str] = field(default_factory=dict)


@pytest.fixture
def counted():
    calls = []

    @once
    def work(frame, *rest, **named):
        calls.append(rest)
        return frame.height, rest, named

    return work, calls


def test_the_same_rows_in_another_frame_are_the_same(counted):
    work, calls = counted
    days = Days(frozenset({date(2026, 3, 4)}), {date(2026, 3, 5): "fair"})
    other = FRAME.filter(pl.col("day") < date(2026, 4, 1)).clone()
    assert work(FRAME, days, "Hall", margin=None) == work(
        other, Days(days.closed, dict(days.events)), "Hall", margin=None
    )
    assert len(calls) == 1


@pytest.mark.parametrize(
    "other",
    [
        (FRAME.reverse(), 1),
        (FRAME.rename({"serves": "sold"}), 1),
        (FRAME.with_columns(pl.col("serves").fill_null(0.0)), 1),
        (FRAME.with_columns(pl.col("serves").cast(pl.Int64)), 1),
        (FRAME.head(1), 1),
        (FRAME.clear(), 1),
        (FRAME, 2),
        (FRAME, 1.0),
        (FRAME, Days()),
        (FRAME, {"A": 1}),
    ],
)
def test_whatever_is_another_is_worked_out_anew(counted, other):
    work, calls = counted
    first = work(FRAME, 1)
    assert work(*other) == (other[0].height, other[1:], {})
    assert work(FRAME, 1) is first
    assert len(calls) == 2


def test_few_answers_are_kept_and_what_cannot_be_told_apart_is_refused(counted):
    work, calls = counted
    for number in (*range(MOST + 1), 0):
        work(FRAME, number)
    assert len(calls) == MOST + 2
    with pytest.raises(TypeError, match="unhashable"):
        work(FRAME, [1])
