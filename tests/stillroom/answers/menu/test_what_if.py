"""What-ifs of a small house, reckoned by hand where that can be done."""

from __future__ import annotations

import pytest

from house_builder import HOUSE, command, make_house
from stillroom.answers.menu.request import read_change
from stillroom.answers.menu.what_if import what_if
from stillroom.errors import UsageError

DRINKS = ["Harbour Sour", "Long Fig", "Plain Gin"]


@pytest.fixture(scope="module")
def house(menu_house):
    return menu_house


@pytest.fixture(scope="module")
def today(house):
    return house._today()[0]


@pytest.fixture(scope="module")
def without_fig(house):
    return house.what_if(read_change(drop=["long fig"]))


def test_a_drink_that_goes_takes_its_money_and_leaves_half_its_guests(without_fig):
    serves, sales = without_fig.figures["serves"], without_fig.figures["sales"]
    assert serves.today == pytest.approx(7 * 12, rel=0.08)
    # By hand: of 2 serves a day 1 stays, 0.4 at 9 and 0.6 at 6 of net; 2 at 8 go.
    assert serves.more == pytest.approx(-7 * 1, rel=0.1)
    assert sales.more == pytest.approx(7 * (0.4 * 9 + 0.6 * 6 - 2 * 8), rel=0.1)
    # Gin costs 0.03 a ml, fig syrup 1.00 / 500 a ml.
    by_hand = 7 * (0.4 * (9 - 1.5) + 0.6 * (6 - 1.2) - 2 * (8 - 0.6 - 0.1))
    assert without_fig.figures["contribution"].more == pytest.approx(by_hand, rel=0.1)
    assert sales.more_low < sales.more < sales.more_high < 0


def test_its_preparation_is_no_longer_needed_and_what_is_there_is_left(without_fig):
    (gone,) = without_fig.gone
    assert gone.preparation == "fig syrup"
    # 500 made on the 28th, 100 used on each of three days.
    assert gone.on_hand == pytest.approx(200)
    assert gone.on_hand_cost == pytest.approx(200 * 1.0 / 500)
    assert gone.makings.then == 0 < gone.makings.today
    assert without_fig.figures["makings"].more < 0


def test_a_stated_share_is_not_swept(without_fig):
    assert without_fig.return_share.stated
    assert [at for at, _ in without_fig.swept] == [0.5]


def test_a_new_drink_comes_as_a_range_with_what_is_in_it(house):
    found = house.what_if(read_change(add=["New Fig"]))
    (one,) = found.coming
    assert 0 < one.low < one.high / 1.5
    assert one.allergens == ("sulphites",)
    assert any("sulphites" in advice.text for advice in one.cautions)
    assert found.figures["makings"].more > 0
    # Half of a new drink's guests come from the others.
    moved = {each.drink: each.serves.more for each in found.drinks}
    assert sum(more for name, more in moved.items() if name != "New Fig") == pytest.approx(
        -moved["New Fig"] / 2, rel=0.08
    )


def test_a_dearer_drink_sells_less_and_takes_more_for_each(today):
    found = what_if(today, read_change(prices=["Plain Gin=14.4"]))  # twice today's: at -1, half is sold
    moved = {each.drink: each.serves for each in found.drinks}["Plain Gin"]
    assert moved.then < 0.7 * moved.today
    assert not found.warnings


def test_a_price_below_cost_is_warned_of_and_computed(today):
    found = what_if(today, read_change(prices=["Harbour Sour=1"]))
    assert len(found.warnings) == 1
    assert "loses money" in found.warnings[0]
    assert found.figures["contribution"].more < 0


def test_a_longer_keep_wastes_no_more_and_is_no_label(today):
    found = what_if(today, read_change(keeps=["fig syrup=9 days"]))
    assert found.figures["wasted"].then <= found.figures["wasted"].today
    assert any("no label" in note and "professional" in note for note in found.notes)


def test_a_making_too_large_for_its_keep_is_poured_away(today):
    found = what_if(today, read_change(makings=["fig syrup=2 l"]))
    (one,) = found.preparations
    # By hand: it is good for 4 days, of which 100 ml are used: at least 1 600 of 2 000 ml go, at 1.00 for 500 ml.
    assert one.wasted.then >= 1600 / 500 * 7 / 4 * 0.98
    assert one.wasted.then > 4 * one.wasted.today


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"drop": ["Fig Sour"]}, "There are: Harbour Sour, Long Fig, Plain Gin"),
        ({"drop": ["Long Figs"]}, "Did you mean 'Long Fig'?"),
        ({"drop": DRINKS}, "Nothing would be left on the menu"),
        ({"drop": ["Long Fig", "long fig"]}, "given twice"),
        ({"add": ["Harbour Sour"]}, "on the menu already"),
        ({"add": ["fig syrup"]}, "is a preparation, not a drink"),
        ({"add": ["Nowhere"]}, "There is no spec 'Nowhere'"),
        ({"prices": ["Long Fig"]}, "write it like"),
        ({"prices": ["Long Fig=dear"]}, "a price is a number above 0"),
        ({"prices": ["Long Fig=0"]}, "a price is a number above 0"),
        ({"keeps": ["fig syrup=soon"]}, "write whole days"),
        ({"keeps": ["Long Fig=3 days"]}, "is a drink"),
        ({"makings": ["fig syrup=2 kg"]}, "is made in ml"),
        ({"drop": ["Long Fig"], "prices": ["Long Fig=9"]}, "no such drink on the menu"),
    ],
)
def test_what_cannot_be_asked_is_one_clear_line(today, asked, said):
    with pytest.raises(UsageError) as error:
        what_if(today, read_change(**asked))
    assert said in str(error.value)
    assert "\n" not in str(error.value)


def test_the_command_says_it_in_80_columns_and_writes_nothing(house):
    before = sorted(path.name for path in house.settings.folder.iterdir())
    said = command("menu", "--drop", "Long Fig", house=house.settings)
    assert said.code == 0
    assert said.out.startswith("Without Long Fig: EUR ")
    assert max(map(len, said.out.splitlines())) <= 80
    assert "No more fig syrup: 200 ml of it on hand, EUR 0.40, would be left." in said.out
    assert sorted(path.name for path in house.settings.folder.iterdir()) == before
    values = command("menu", "--drop", "Long Fig", "--json", house=house.settings).json
    assert values["no_longer_needed"] == ["fig syrup"]
    assert values["a_week"]["serves"]["more"] < 0
    assert values["minutes_not_known"] == ["fig syrup"]


def test_a_share_that_cannot_be_is_refused_with_its_line(tmp_path):
    make_house(tmp_path / "house")
    (tmp_path / "house" / "stillroom.toml").write_text(HOUSE + "[menu]\nreturn_share = [0.8, 0.2]\n", encoding="utf-8")
    said = command("menu", "--drop", "x", house=tmp_path / "house")
    assert said.code == 2
    assert "line 5" in said.err
    assert "return_share must rise" in said.err
