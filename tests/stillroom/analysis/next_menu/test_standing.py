"""Keep, rework or drop: the sums by hand."""

import pytest

from stillroom.analysis.next_menu.assumption import Assumption
from stillroom.analysis.next_menu.standing import Season, drink_standing, preparation_standing

HALF = Assumption(least=0.5, most=0.5)


def season(share=HALF, asks=None):
    return Season(weeks=13.0, share=share, currency="EUR", asks=asks or {})


def drink(contribution=6.0, serves=130.0, **more):
    row = {
        "spec": "A",
        "serves": serves,
        "contribution": contribution,
        "going": "",
        "step_week": None,
        "missing": None,
        "with_house": False,
    }
    return row | {"contribution_low": contribution, "contribution_high": contribution} | more


def test_a_drink_is_worth_what_would_be_lost_without_it():
    found = drink_standing(drink(), 8.0, 50.0, season())
    assert found.case.startswith("10 serves a week over 13 weeks, ")
    # By hand: 130 x (6 - 0.5 x 8) - 50.
    assert (found.decision, found.a_season, found.sureness) == ("keep", pytest.approx(210), "sure")
    # By hand: (6 - 50 / 130) / 8 of ten.
    assert found.would_change == "more than 7.0 of 10 of its guests ordering another"


def test_one_whose_guests_leave_more_over_elsewhere_is_dropped():
    found = drink_standing(drink(contribution=3.0), 8.0, 0.0, season())
    assert (found.decision, found.a_season, found.sureness) == ("drop", pytest.approx(130), "sure")
    assert found.would_change == "fewer than 3.8 of 10 of its guests ordering another"


def test_where_the_share_is_not_known_it_says_how_sure_that_leaves_it():
    found = drink_standing(drink(contribution=4.2), 8.0, 0.0, season(Assumption(least=0.0, most=1.0)))
    assert (found.decision, found.sureness) == ("keep", "cannot tell")
    # By hand: 8 times in 10 the share is 0.1 to 0.9.
    assert (found.low, found.high) == (pytest.approx(130 * (4.2 - 7.2)), pytest.approx(130 * (4.2 - 0.8)))


def test_what_the_shortlist_asks_for_is_reworked():
    asks = {"A": {"do": "another price", "money": 40.0, "sureness": "sure"}}
    found = drink_standing(drink(), 8.0, 0.0, season(asks=asks))
    assert (found.decision, found.a_season) == ("rework", 40.0)
    assert "another price" in found.case


def test_without_its_cost_it_cannot_be_told():
    found = drink_standing(drink(contribution=None, missing="kelp"), 8.0, 0.0, season())
    assert (found.decision, found.sureness, found.would_change) == ("keep", "cannot tell", "a price for kelp")


def test_a_preparation_that_no_drink_takes_is_dropped_for_what_it_loses():
    lost = {"lost_share": 0.5, "cost_lost": 26.0}
    found = preparation_standing("syrup", "preparation", lost, {}, season())
    assert (found.decision, found.a_season, found.sureness) == ("drop", 26.0, "sure")
    kept = preparation_standing("syrup", "preparation", lost, {"A": 700.0}, season())
    assert (kept.decision, kept.a_season, kept.would_change) == ("keep", 700.0, "A going")


def test_what_sold_nothing_is_no_case_for_dropping_it():
    nothing = drink_standing(drink(contribution=None, serves=0.0), 8.0, 0.0, season())
    returned = drink_standing(drink(contribution=None, serves=-2.0), 8.0, 0.0, season())
    assert {one.decision for one in (nothing, returned)} == {"keep"}
    assert {one.sureness for one in (nothing, returned)} == {"cannot tell"}
    assert (nothing.case, returned.case) == ("nothing sold", "more taken back than sold")
    syrup = preparation_standing("syrup", "preparation", None, {"A": None}, season())
    assert (syrup.decision, syrup.sureness, syrup.a_season) == ("keep", "cannot tell", None)
    assert syrup.case == "none made; goes into A, which sold nothing"
