"""The last days of a small house's menu."""

from datetime import date

import pytest

from house_builder import command
from stillroom.answers.menu.last_days import last_days
from stillroom.errors import UsageError
from stillroom.objects import MenuChange

LAST = date(2026, 5, 10)


@pytest.fixture(scope="module")
def today(menu_house):
    return menu_house._today()[0]


def test_what_goes_with_a_drink_is_run_down(today):
    (line,) = last_days(today, LAST, MenuChange(drop=("Long Fig",))).lines
    assert (line.preparation, line.on_hand) == ("fig syrup", pytest.approx(200))
    # A ml poured away costs 0.002 and one that is missing 0.15: some may be left, but much less than as usual.
    assert line.plan.left < 2 / 3 * line.plan.left_usual
    assert line.stop_after is not None
    assert line.stop_after <= LAST


def test_what_no_dropped_drink_takes_is_left_alone(today):
    assert last_days(today, LAST, MenuChange(drop=("Plain Gin",))).lines == ()


def test_a_day_too_far_is_one_line(today):
    with pytest.raises(UsageError, match=r"--ends 2026-07-01 must be 1 to 28 days after 2026-04-30"):
        last_days(today, date(2026, 7, 1), MenuChange())


def test_the_command_says_it_in_80_columns_with_its_caution(menu_house):
    said = command("menu", "--ends", LAST, house=menu_house.settings)
    assert said.code == 0
    assert said.out.startswith("Last day 10 May: EUR ")
    assert "fig syrup: " in said.out
    assert "local food codes" in said.out
    assert max(map(len, said.out.splitlines())) <= 80
    values = command("menu", "--ends", LAST, "--json", house=menu_house.settings).json
    assert [line["preparation"] for line in values["lines"]] == ["fig syrup"]
    assert command("menu", "--ends", "soon", house=menu_house.settings).code == 2
