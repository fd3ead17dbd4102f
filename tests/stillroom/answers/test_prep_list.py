"""What to make, on small houses whose answer is plain."""

from datetime import date, timedelta
from typing import Any

import numpy as np
import polars as pl
import pytest

from sales_frames import MONDAY, as_frame, drawn, truth
from spec_frames import spec_views
from stillroom.answers.prep_list import NEEDS, PrepLine, prep_list
from stillroom.errors import UsageError
from stillroom.house.report_settings import PrepSettings
from stillroom.objects import HouseFacts
from store_frames import columns

DAYS = 56
LAST = MONDAY + timedelta(days=DAYS - 1)  # a Sunday; closed on Mondays
FATE = columns("batch_fate")
SPEC = {"spec": pl.String, "version": pl.Int64, "kind": pl.String, "yield_amount": pl.Float64, "yield_unit": pl.String}
SPEC |= {"keeps_days": pl.Float64, "in_service_from": pl.Date, "in_service_until": pl.Date}
USE = {"venue": pl.String, "business_date": pl.Date, "preparation": pl.String, "used_by": pl.String}
USE |= {"amount": pl.Float64, "unit": pl.String}
COST = {"spec": pl.String, "version": pl.Int64, "priced_from": pl.Date, "cost": pl.Float64}
COST |= {"cost_known": pl.Float64, "missing": pl.String}


def batch(label: str, preparation: str, made_on: date, use_by: date, made: float, **facts: Any) -> dict[str, Any]:
    told = {
        "batch": label,
        "venue": "bar",
        "preparation": preparation,
        "version": 1,
        "made_on": made_on,
        "use_by": use_by,
    }
    told |= {"made": made, "unit": "ml", "on_hand": 0.0, "left_at_use_by": 0.0, "last_day": LAST}
    return told | facts


def frames(
    shrub: float = 100.0, syrup: float = 3000.0, keeps: float | None = 9.0, **lot: Any
) -> dict[str, pl.DataFrame]:
    """Two drinks of 30 and 20 a day take 30 ml of shrub each; a litre of shrub takes 400 ml of syrup."""
    daily = as_frame(drawn(truth(DAYS, np.array([3.0, 2.0]), 50), np.random.default_rng(2)))
    daily = daily.with_columns((pl.col("serves") * 10).alias("net_amount"))
    use = daily.select(
        "venue", "business_date", pl.lit("shrub").alias("preparation"), pl.col("spec").alias("used_by"),
        (pl.col("serves") * 30).alias("amount"), pl.lit("ml").alias("unit"),
    )  # fmt: skip
    made_on = LAST - timedelta(days=3)
    inner = pl.DataFrame([("bar", made_on, "syrup", "shrub", 1600.0, "ml")], schema=USE, orient="row")
    until = lot.get("use_by", made_on + timedelta(days=9))
    fate = [
        batch("S-1", "shrub", made_on, until, 4000.0, on_hand=shrub, venue=lot.get("venue", "bar")),
        batch(
            "Y-1", "syrup", made_on, made_on + timedelta(days=20), 5000.0, on_hand=syrup, venue=lot.get("venue", "bar")
        ),
    ]
    specs = [
        ("shrub", 1, "preparation", 4.0, "l", keeps, None, None),
        ("syrup", 1, "preparation", 5.0, "l", 20.0, None, None),
    ]
    specs += [(f"Drink 0{n}", 1, "drink", 1.0, "each", None, MONDAY, None) for n in range(2)]
    costs = [("shrub", 1, None, 24.0, 24.0, None), ("syrup", 1, None, 10.0, 10.0, None)]
    costs += [(f"Drink 0{n}", 1, None, 2.0, 2.0, None) for n in range(2)]
    return {
        "daily_serves": daily,
        **spec_views(pl.DataFrame(specs, schema=SPEC, orient="row"), "current_spec", "spec_version", "version_span"),
        "preparation_use": pl.concat([use, inner]),
        "batch_fate": pl.DataFrame(fate, schema=FATE),
        "spec_cost": pl.DataFrame(costs, schema=COST, orient="row"),
    }


def house(**settings: Any) -> HouseFacts:
    return HouseFacts(name="Test", currency="EUR", reports={"prep-list": PrepSettings(**settings)})


def lines(*args: Any, **kwargs: Any) -> dict[str, PrepLine]:
    return {line.preparation: line for line in prep_list(*args, **kwargs).lines}


def test_short_stock_is_made_and_what_goes_into_it_first() -> None:
    found = prep_list(frames(shrub=100.0, syrup=50.0), house())
    assert [line.preparation for line in found.lines] == ["syrup", "shrub"]
    syrup, shrub = found.lines
    assert found.day == LAST + timedelta(days=2)  # Monday is closed
    assert shrub.make > 0
    assert shrub.make % 2000 == 0  # half makings
    assert shrub.chance_short is not None
    assert shrub.chance_short > 0.95
    assert syrup.wanted_for == (("shrub", pytest.approx(0.4 * shrub.make)),)
    assert syrup.make > 0
    assert shrub.saves > 5  # the work of a making
    assert 0 < syrup.saves <= shrub.saves + 5  # shrub is its only use: it is worth what the shrub saves


def test_what_may_as_well_be_made_on_the_next_making_day_is_not_made_today() -> None:
    likely_short, seldom_short, plenty = (
        lines(frames(shrub=stock), house(work_per_making=60))["shrub"] for stock in (1000.0, 2000.0, 2600.0)
    )
    assert likely_short.make > 0
    assert likely_short.saves > 0
    for line in (seldom_short, plenty):
        assert (line.make, line.saves) == (0, 0)
        assert line.chance_short is not None
        assert line.chance_short < 0.1


def test_what_goes_to_waste_of_the_amount_that_is_advised_is_told() -> None:
    found = lines(frames(shrub=0.0), house(work_per_making=60))["shrub"]
    assert 0 <= found.make_wasted < 0.2 * found.make
    # What keeps for two days and is made by the four litres, which serve 133, on days of 35 to 85 serves.
    short_lived = lines(frames(shrub=0.0, keeps=1.0), house(smallest_part=1))["shrub"]
    assert 0.1 * short_lived.make < short_lived.make_wasted < short_lived.make


def test_what_another_making_takes_is_worth_no_more_than_that_saves() -> None:
    """A litre of syrup gives 2.5 l of shrub, 83 serves that leave 8 each over: 667, but nothing like it is at stake."""
    listed = lines(frames(shrub=1000.0, syrup=50.0), house())
    assert listed["shrub"].make > 0
    assert listed["syrup"].make > 0
    assert 0 < listed["syrup"].saves <= listed["shrub"].saves + 5  # before the work of making the syrup


def test_plenty_is_not_made_and_what_will_expire_is_told() -> None:
    found = lines(frames(shrub=4000.0), house())
    assert found["shrub"].make == 0
    assert found["shrub"].chance_short == 0
    tomorrow = lines(frames(shrub=4000.0, use_by=LAST + timedelta(days=2)), house())
    assert tomorrow["shrub"].chance_waste == 1
    assert tomorrow["shrub"].wasted > 2000


def spoiled(given: dict[str, pl.DataFrame], batches: int, of: int, day: int) -> dict[str, pl.DataFrame]:
    """With so many earlier batches of shrub, of which some were found spoiled after so many days."""
    made = [LAST - timedelta(days=14 + number) for number in range(of)]
    gone = [
        {
            "spoiled_on": on + timedelta(days=day),
            "ended_on": on + timedelta(days=day),
            "last_good_on": on + timedelta(days=day - 1),
        }
        if number < batches
        else {"ended_on": on + timedelta(days=9)}
        for number, on in enumerate(made)
    ]
    earlier = [
        batch(f"E-{number}", "shrub", on, on + timedelta(days=9), 4000.0, **facts)
        for number, (on, facts) in enumerate(zip(made, gone, strict=True))
    ]
    return {**given, "batch_fate": pl.concat([given["batch_fate"], pl.DataFrame(earlier, schema=FATE)])}


def test_no_more_is_made_than_keeps_by_what_has_been_seen_to_spoil() -> None:
    stated = lines(frames(shrub=0.0), house(work_per_making=60, smallest_part=0.1))["shrub"]
    seen = lines(spoiled(frames(shrub=0.0), 22, 25, 3), house(work_per_making=60, smallest_part=0.1))["shrub"]
    # 50 serves of 30 ml a day at most: what is made is used in two days or is lost.
    assert seen.make < 2 * 1.7 * 50 * 30 < stated.make
    assert any("not 9 as its label says: batches have spoiled sooner" in note for note in seen.notes)
    few = lines(spoiled(frames(shrub=0.0), 2, 25, 3), house(work_per_making=60, smallest_part=0.1))["shrub"]
    assert few.make == stated.make


def test_what_is_older_than_batches_keep_is_not_counted_on() -> None:
    given = spoiled(frames(shrub=4000.0), 22, 25, 3)  # what is there was made five days before
    assert lines(given, house())["shrub"].make > 0
    assert lines(frames(shrub=4000.0), house())["shrub"].make == 0


def test_past_its_use_by_is_named_and_does_not_count() -> None:
    found = lines(frames(shrub=4000.0, use_by=LAST + timedelta(days=1)), house())
    assert found["shrub"].past_use_by == (("S-1", 4000.0 - 0, LAST + timedelta(days=1)),)
    assert found["shrub"].on_hand == 0
    assert found["shrub"].make > 0


def test_expected_use_until_the_next_making() -> None:
    day = LAST + timedelta(days=5)  # Friday
    found = lines(frames(), house(), day, 2)["shrub"]
    true = 30 * truth(2, np.array([3.0, 2.0]), 50, start=DAYS + 4).sum()
    assert found.use_low < true < found.use_high
    assert found.expected_use == pytest.approx(true, rel=0.15)


def test_dear_work_makes_more_at_a_time_and_settings_hold() -> None:
    cheap = lines(frames(), house(work_per_making=0, smallest_part=0.1))["shrub"]
    dear = lines(frames(), house(work_per_making=200, smallest_part=0.1, most_makings=3))["shrub"]
    assert cheap.make < dear.make <= 12_000
    small = lines(frames(), house(parts={"Shrub": 0.25}))["shrub"]
    assert small.make % 1000 == 0


def test_no_keep_time_means_it_cannot_tell() -> None:
    some = frames(keeps=None)
    some["batch_fate"] = some["batch_fate"].with_columns(pl.lit(None, dtype=pl.Date).alias("use_by"))
    found = lines(some, house())["shrub"]
    assert found.make == 0
    assert "how long it keeps" in found.cannot_tell


def test_a_missing_price_is_said() -> None:
    some = frames()
    some["spec_cost"] = some["spec_cost"].filter(pl.col("spec") != "shrub")
    assert "its cost is not known" in lines(some, house())["shrub"].notes[0]


def test_batches_without_a_venue_are_the_whole_houses() -> None:
    found = prep_list(frames(venue=None), house())
    assert {line.venue for line in found.lines} == {"Test"}
    assert next(line for line in found.lines if line.preparation == "shrub").on_hand == pytest.approx(100)


def test_same_house_same_list() -> None:
    assert prep_list(frames(), house()) == prep_list(frames(), house())


def test_a_day_that_cannot_be_and_no_sales() -> None:
    for day in (LAST, date(2020, 1, 1), LAST + timedelta(days=40)):
        with pytest.raises(UsageError, match="28 days after"):
            prep_list(frames(), house(), day)
    with pytest.raises(UsageError, match="1 to 28 days away"):
        prep_list(frames(), house(), None, 0)
    none = frames()
    none["daily_serves"] = none["daily_serves"].clear()
    with pytest.raises(UsageError, match="no sales to forecast from"):
        prep_list(none, house())
    assert set(none) == set(NEEDS)
