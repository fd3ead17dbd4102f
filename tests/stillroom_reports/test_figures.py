from datetime import date, datetime, time, timedelta
from decimal import Decimal

import pytest

from stillroom.objects import Column, Period
from stillroom.words import MINUS, NO_BREAK, THIN_SPACE, period_text
from stillroom_reports.figures import plain_value, value_text

PLAIN = Column(label="x")


@pytest.mark.parametrize(
    ("value", "column", "text"),
    [
        (None, PLAIN, "–"),
        (float("nan"), Column(label="x", decimals=2), "–"),
        (float("inf"), PLAIN, "–"),
        (Decimal("NaN"), PLAIN, "–"),
        (1234567, PLAIN, f"1{THIN_SPACE}234{THIN_SPACE}567"),
        (0.1 + 0.2, PLAIN, "0.3"),
        (1e-7, PLAIN, "0.0000001"),
        (1e15, PLAIN, THIN_SPACE.join(["1", *["000"] * 5])),
        (2.0, PLAIN, "2"),
        (2.0, Column(label="x", decimals=2), "2.00"),
        (Decimal("12.50"), Column(label="x", decimals=2), "12.50"),
        (-3.25, Column(label="x", decimals=1), f"{MINUS}3.2"),
        (-0.004, Column(label="x", decimals=2), "0.00"),
        (0.004, Column(label="x", decimals=2, signed=True), "0.00"),
        (3, Column(label="x", signed=True), "+3"),
        (-1234.5, Column(label="x", signed=True), f"{MINUS}1{THIN_SPACE}234.5"),
        (0.256, Column(label="x", percent=True, decimals=1), "25.6"),
        (2 / 3, Column(label="x", percent=True), "67"),
        (1e-9, Column(label="p", decimals=4, p_value=True), f"<{NO_BREAK}0.0001"),
        (0.0, Column(label="p", decimals=3, p_value=True), f"<{NO_BREAK}0.001"),
        (0.0312, Column(label="p", decimals=4, p_value=True), "0.0312"),
        (True, Column(label="x", decimals=2), "yes"),
        (date(2026, 3, 2), PLAIN, "2 Mar 2026"),
        (datetime(2026, 3, 2, 18, 5), PLAIN, "2 Mar 2026 18:05"),
        (time(6), PLAIN, "06:00"),
        (timedelta(hours=36), PLAIN, "1.5 days"),
        (["gin", None], PLAIN, "gin, –"),
        ("as it is", PLAIN, "as it is"),
    ],
)
def test_a_value_is_written_for_its_reader(value, column, text):
    assert value_text(value, column) == text


@pytest.mark.parametrize(
    ("first", "last", "text"),
    [
        (date(2026, 3, 2), date(2026, 3, 2), "2 Mar 2026, 1 day"),
        (date(2026, 3, 2), date(2026, 3, 8), "2 Mar to 8 Mar 2026, 7 days"),
        (date(2025, 12, 29), date(2026, 1, 4), "29 Dec 2025 to 4 Jan 2026, 7 days"),
    ],
)
def test_a_period_names_both_ends(first, last, text):
    assert period_text(Period(first=first, last=last, label="x")) == text


def test_a_plain_value_is_always_json():
    value = {"a": (date(2026, 3, 2), float("-inf")), 2: [Decimal("1.5"), timedelta(minutes=1)], "c": object}
    assert plain_value(value) == {"a": ["2026-03-02", None], "2": [1.5, 60.0], "c": "<class 'object'>"}
