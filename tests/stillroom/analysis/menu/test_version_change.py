"""The effect of a change: against statsmodels, and on simulated houses with known truth."""

from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest
import statsmodels.api as sm

from stillroom.analysis.menu.rate_ratio import fitted
from stillroom.analysis.menu.version_change import Change, Effect, changes, effect_of
from store_frames import frame

FIRST = date(2026, 8, 24)
DAY = FIRST + timedelta(days=43)
DRINKS = [f"Drink {place}" for place in range(8)]
SPEC = "spec version kind price in_service_from in_service_until"


def specs() -> pl.DataFrame:
    rows = [(name, 1, "drink", 12.0, FIRST, None) for name in DRINKS]
    rows += [("Drink 0", 2, "drink", 12.0, DAY, None), ("shrub", 1, "preparation", None, FIRST, None)]
    rows += [
        ("shrub", 2, "preparation", None, DAY + timedelta(days=7), None),
        ("Drink 1", 9, "drink", 12.0, None, None),
    ]
    return frame("current_spec", rows, SPEC)


def sold(generator: np.random.Generator, lift: float, drift: float = 0.0) -> pl.DataFrame:
    """Thirteen weeks; the first drink sells `lift` times as much from DAY on; trends vary by `drift` a week."""
    trends = generator.normal(0, drift, len(DRINKS)) if drift else np.zeros(len(DRINKS))
    rows = []
    for day in range(91):
        when = FIRST + timedelta(days=day)
        if when.weekday() == 0:
            continue
        trade = (1.6 if when.weekday() >= 4 else 1.0) * generator.gamma(25, 1 / 25)
        for place, name in enumerate(DRINKS):
            mean = 10 * trade * np.exp(trends[place] * (day - 45) / 7) * (lift if place == 0 and when >= DAY else 1.0)
            rows.append((when, name, float(generator.poisson(mean))))
    return frame("daily_serves", rows, "business_date spec serves")


CHANGE = Change(spec="Drink 0", kind="drink", old=1, new=2, day=DAY, drinks=("Drink 0",))


def effect(daily: pl.DataFrame, change: Change = CHANGE) -> Effect:
    return effect_of(change, [change], daily, specs())


def test_without_a_prior_it_is_statsmodels_quasi_binomial() -> None:
    generator = np.random.default_rng(1)
    own, others = generator.poisson(12, 60).astype(float), generator.poisson(70, 60).astype(float)
    after = (np.arange(60) >= 30).astype(float)
    design = np.column_stack([after, np.ones(60)])
    step, error, freedom = fitted(own, others, design, np.zeros(2))
    reference = sm.GLM(np.column_stack([own, others]), design, family=sm.families.Binomial()).fit()
    scale = max(1.0, reference.pearson_chi2 / freedom)
    assert step == pytest.approx(reference.params[0], abs=1e-7)
    assert error == pytest.approx(reference.bse[0] * scale**0.5, rel=1e-6)


def test_the_ratio_of_plain_counts_without_weekdays_and_trend() -> None:
    # 40 of 440 before, 80 of 480 after: the rate ratio beside the comparison is (80/400)/(40/400) = 2.
    own, others = np.array([20.0, 20.0, 40.0, 40.0]), np.array([200.0] * 4)
    design = np.column_stack([np.array([0.0, 0, 1, 1]), np.ones(4)])
    assert np.exp(fitted(own, others, design, np.zeros(2))[0]) == pytest.approx(2.0)


@pytest.mark.parametrize(("lift", "drift"), [(1.0, 0.0), (1.35, 0.0), (1.0, 0.03)])
def test_the_interval_holds_the_truth_as_often_as_it_says(lift: float, drift: float) -> None:
    generator = np.random.default_rng(4)
    found = [effect(sold(generator, lift, drift)) for _ in range(60)]
    inside = sum(one.low <= lift <= one.high for one in found if one.low is not None and one.high is not None)
    # 95 % of 60 is 57; 50 or fewer less than once in 200 times (binomial) if the interval is fair.
    assert inside >= 51


def test_a_lift_is_found_and_named() -> None:
    generator = np.random.default_rng(2)
    found = [effect(sold(generator, 1.5)) for _ in range(10)]
    assert sum(one.verdict == "sells more" for one in found) >= 8
    assert np.mean([one.ratio for one in found if one.ratio is not None]) == pytest.approx(1.5, rel=0.1)


def test_a_season_that_lifts_all_drinks_is_no_effect() -> None:
    daily = sold(np.random.default_rng(3), 1.0).with_columns(
        pl.when(pl.col("business_date") >= DAY).then(pl.col("serves") * 2).otherwise("serves").alias("serves")
    )
    found = effect(daily)
    assert found.verdict == "cannot tell"
    assert found.ratio == pytest.approx(1.0, abs=0.2)


def test_changes_are_found_with_the_drinks_they_can_move() -> None:
    use = pl.DataFrame({"preparation": ["shrub", "base"], "used_by": ["base", "Drink 3"]})
    found = changes(specs(), use, FIRST, FIRST + timedelta(days=90))
    assert [(one.spec, one.old, one.new, one.drinks) for one in found] == [
        ("Drink 0", 1, 2, ("Drink 0",)),
        ("shrub", 1, 2, ("Drink 3",)),
    ]
    assert changes(specs(), use, DAY + timedelta(days=1), DAY + timedelta(days=2)) == []


def test_a_drink_that_changed_too_is_not_compared_with() -> None:
    other = Change(spec="Drink 5", kind="drink", old=1, new=2, day=DAY, drinks=("Drink 5",))
    found = effect_of(CHANGE, [CHANGE, other], sold(np.random.default_rng(3), 1.0), specs())
    assert "Drink 5" not in found.compared
    assert len(found.compared) == 6


@pytest.mark.parametrize(("days", "why"), [(46, "open days before and 3 after"), (0, "no drink takes it")])
def test_too_little_to_tell(days: int, why: str) -> None:
    daily = sold(np.random.default_rng(3), 1.0).filter(pl.col("business_date") < FIRST + timedelta(days=days))
    found = effect(daily)
    assert found.verdict == "cannot tell"
    assert why in found.why_not


def test_a_drink_nobody_orders_and_a_house_of_one_drink() -> None:
    daily = sold(np.random.default_rng(3), 1.0)
    none = daily.with_columns(pl.when(pl.col("spec") == "Drink 0").then(0.0).otherwise("serves").alias("serves"))
    assert "serves before" in effect(none).why_not
    assert "stayed as they were" in effect(daily.filter(pl.col("spec") == "Drink 0")).why_not
