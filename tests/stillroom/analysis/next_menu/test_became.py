"""What became of a verdict."""

from datetime import date, timedelta

from stillroom.analysis.next_menu.became import became
from stillroom.objects import MenuVerdict
from store_frames import frame

DAY = date(2026, 3, 30)
SPEC = frame("current_spec", [("A", 1, None), ("A", 2, DAY + timedelta(days=9))], "spec version in_service_from")
FATE = frame(
    "batch_fate",
    [
        ("syrup", DAY - timedelta(days=5), 100.0, 0.0, 50.0, 0.0, 0.0),
        ("syrup", DAY + timedelta(days=5), 100.0, 0.0, 0.0, 10.0, 0.0),
    ],
    "preparation made_on made on_hand poured_away spoiled left_at_use_by",
)


def sales(last, before=2.0, after=4.0):
    days = [DAY + timedelta(days=number) for number in range(-27, 61)]
    rows = [("A", day, before if day <= DAY else after) for day in days if day <= last]
    return frame("daily_serves", rows, "spec business_date serves")


def verdict(subject="a"):
    return MenuVerdict(subject=subject, decision="drop", day=DAY, by="Ana", why="dear")


def test_how_it_sold_then_and_now():
    last = DAY + timedelta(days=60)
    assert became(verdict(), sales(last), SPEC, FATE, last) == "version 2 since; 14 serves a week then, 28 lately"


def test_that_it_is_off():
    last, ended = DAY + timedelta(days=60), DAY + timedelta(days=3)
    assert became(verdict(), sales(ended), SPEC.head(1), FATE, last) == "off since 2 Apr"


def test_what_of_a_preparation_was_lost():
    last = DAY + timedelta(days=60)
    assert became(verdict("Syrup"), sales(last), SPEC, FATE, last) == "50 % lost then, 10 % since"


def test_nothing_before_the_data_reach_beyond_it():
    assert became(verdict(), sales(DAY), SPEC, FATE, DAY) == ""
