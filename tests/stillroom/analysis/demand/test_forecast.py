"""Forecasts against simulated houses whose truth is known."""

from datetime import timedelta

import numpy as np
import polars as pl
import pytest

from sales_frames import MONDAY, NEVER, SHARES, as_frame, drawn, history_of, specs, truth
from stillroom.analysis.demand.backtest import POOLED, backtest, chosen_means
from stillroom.analysis.demand.replay import Replay, forecast
from stillroom.analysis.demand.sales_history import Calendar, History, days_ahead, sales_history
from stillroom.analysis.demand.spread import Spread
from stillroom.analysis.demand.ways import mean_of_last_four, same_weekday_last_week


def next_days(history: History, days: int, calendar: Calendar = NEVER, first_days: dict[int, int] | None = None):  # type: ignore[no-untyped-def]
    ahead = [history.day(history.days + number) for number in range(days)]
    return days_ahead(history, specs(len(history.drinks), first_days), ahead, calendar)


def test_finds_level_weekdays_shares_and_closed_days() -> None:
    history = history_of(drawn(truth(84, SHARES, 100), np.random.default_rng(1)))
    made = forecast(history, next_days(history, 7))
    expected = truth(7, SHARES, 100)
    assert made.means[0].sum() == 0  # Mondays are closed
    assert made.means.sum() == pytest.approx(expected.sum(), rel=0.08)
    assert made.means[1:].sum(axis=1) == pytest.approx(expected[1:].sum(axis=1), rel=0.25)
    # The drink that sells least sold 185 where 166 were to be expected, and is drawn a little towards the others.
    assert made.means.sum(axis=0) == pytest.approx(expected.sum(axis=0), rel=0.3)
    assert not made.assumed


def test_the_eighty_percent_interval_holds_what_it_should_and_beats_the_simple_ways() -> None:
    generator = np.random.default_rng(5)
    coverage, due, wins = [], [], 0
    for _ in range(6):
        tested = backtest(Replay(history_of(drawn(truth(91, SHARES, 90, trend=0.01), generator))))
        assert tested is not None
        scores = {row["way"]: row for row in tested.scores.iter_rows(named=True)}
        coverage.append(scores[POOLED]["coverage"])
        due.append(scores[POOLED]["due"])
        wins += tested.best == POOLED
        assert scores[POOLED]["loss"] < scores["same weekday last week"]["loss"]
    assert wins >= 5
    # 6 x 8 weeks x 6 days x 12 drinks = 3 456 forecasts that share their day's luck.
    assert np.mean(coverage) == pytest.approx(np.mean(due), abs=0.04)
    assert 0.80 <= np.mean(due) <= 0.92


def test_weekly_sums_of_draws_hold_the_truth_too() -> None:
    generator = np.random.default_rng(9)
    inside = []
    for _ in range(40):
        serves = drawn(truth(70, SHARES, 90), generator)
        history = history_of(serves[:63])
        sums = forecast(history, next_days(history, 7)).draws(400, seed=1).sum(axis=1)
        low, high = np.quantile(sums, [0.1, 0.9], axis=0)
        inside.append(((low <= serves[63:].sum(axis=0)) & (serves[63:].sum(axis=0) <= high)).mean())
    assert np.mean(inside) == pytest.approx(0.80, abs=0.07)


def test_a_new_drink_gets_a_sane_answer() -> None:
    serves = drawn(truth(84, np.append(SHARES, 8.0), 100), np.random.default_rng(3))
    place = len(SHARES)
    serves[:78, place] = 0
    young = history_of(serves, {place: 78})
    made = forecast(young, next_days(young, 7, first_days={place: 78}))
    true = truth(7, np.append(SHARES, 8.0), 100)[:, place].sum()
    assert 0.6 * true < made.means[:, place].sum() < 1.6 * true


@pytest.mark.parametrize("adds", [0, 1])
def test_a_drink_three_days_old_is_forecast_without_bias_whether_it_takes_its_share_or_adds_it(adds: int) -> None:
    shares = np.append(SHARES, 14.0)  # twice the average drink
    mean = truth(91, shares, 300)
    mean[:81, -1] = 0
    mean[:81] *= shares.sum() / SHARES.sum()
    if adds:
        mean *= np.where(np.arange(91) < 81, 1.0, shares.sum() / SHARES.sum())[:, None]
    history = history_of(mean[:84], {12: 81})
    week = forecast(history, next_days(history, 7, first_days={12: 81})).means.sum(axis=0)
    true = mean[84:].sum(axis=0)
    assert week[-1] == pytest.approx(true[-1], rel=0.12)
    assert week[:-1].sum() == pytest.approx(true[:-1].sum(), rel=0.1)


def test_the_interval_of_a_drink_three_days_old_is_as_wide_as_it_should_be() -> None:
    generator = np.random.default_rng(11)
    inside = []
    for place in range(60):
        shares = np.append(SHARES, SHARES[place % 12])
        serves = drawn(truth(70, shares, 40), generator)
        serves[:60, -1] = 0
        history = history_of(serves[:63], {12: 60})
        sums = forecast(history, next_days(history, 7, first_days={12: 60})).draws(400, seed=1).sum(axis=1)[:, -1]
        low, high = np.quantile(sums, [0.1, 0.9])
        inside.append(low <= serves[63:, -1].sum() <= high)
    assert np.mean(inside) == pytest.approx(0.80, abs=0.06)


def test_with_three_sales_in_all_a_drink_is_drawn_to_the_average_drink() -> None:
    serves = truth(28, SHARES, 60).round()
    serves[:26, 0] = 0
    serves[26:, 0] = 3
    history = history_of(serves, {0: 26})
    made = forecast(history, next_days(history, 7, first_days={0: 26}))
    average = made.means.sum() / len(SHARES)
    assert 0.2 * average < made.means[:, 0].sum() < 2 * average


def test_events_and_closed_days_of_the_settings() -> None:
    fair = {MONDAY + timedelta(days=day): "fair" for day in (19, 40, 61)}  # Saturdays, twice the trade
    mean = truth(84, SHARES, 100)
    mean[[19, 40, 61]] *= 2
    coming = {MONDAY + timedelta(days=89): "fair", MONDAY + timedelta(days=84): "fair"}
    calendar = Calendar(events={**fair, **coming}, closed=frozenset({MONDAY + timedelta(days=87)}))
    history = history_of(drawn(mean, np.random.default_rng(4), house=0.002), calendar=calendar)
    made = forecast(history, next_days(history, 7, calendar))
    usual = forecast(history, next_days(history, 7))
    assert made.means[3].sum() == 0
    assert 1.5 < made.means[5].sum() / usual.means[5].sum() < 2.1
    assert made.means[0].sum() > 0  # open on a Monday because of the event


def test_the_simple_ways_are_what_they_say() -> None:
    serves = np.tile(np.arange(7.0)[:, None], (5, 1)) + np.repeat(np.arange(5.0), 7)[:, None]
    history = history_of(serves)
    ahead = next_days(history, 7)
    assert same_weekday_last_week(history, ahead)[:, 0].tolist() == [4, 5, 6, 7, 8, 9, 10]
    assert mean_of_last_four(history, ahead)[:, 0].tolist() == [2.5, 3.5, 4.5, 5.5, 6.5, 7.5, 8.5]


def test_a_house_of_pure_habit_is_best_forecast_by_its_last_week() -> None:
    week = np.array([[0, 0], [3, 9], [12, 2], [5, 5], [20, 1], [1, 30], [2, 2]])
    serves = np.concatenate([week * factor for factor in (1, 1, 1, 1, 1, 1, 3, 3, 3, 3, 3, 3, 3)])
    history = history_of(serves)
    tested = backtest(Replay(history))
    assert tested is not None
    assert tested.best == "same weekday last week"
    assert chosen_means(tested) is same_weekday_last_week


def test_short_histories_and_none() -> None:
    history = history_of(truth(6, SHARES, 50).round())
    assert backtest(Replay(history)) is None
    made = forecast(history, next_days(history, 7))
    assert made.assumed
    assert np.isfinite(made.means).all()
    assert np.isfinite(made.quantile(0.9)).all()
    nothing = as_frame(np.zeros((3, 2)))
    assert sales_history(nothing, specs(2), "bar", MONDAY, NEVER) is None


def test_quantiles_of_the_published_negative_binomial() -> None:
    # Mean 10, size 4: quantiles .50/.75/.90 = 9/13/18 (NB2 variance m + m^2/k; Cameron & Trivedi)
    history = history_of(np.full((28, 1), 10.0))
    ahead = next_days(history, 1)
    made = forecast(history, ahead)
    fixed = type(made)(
        ahead=ahead,
        drinks=("one",),
        means=np.array([[10.0]]),
        spread=Spread(day=np.array([0.25]), house_day=0.25, house_week=0, drink_week=0),
        unsure=np.zeros(1),
        assumed=False,
    )
    assert [float(fixed.quantile(p)[0, 0]) for p in (0.5, 0.75, 0.9)] == [9, 13, 18]
    draws = fixed.draws(20_000, seed=2)
    assert draws.mean() == pytest.approx(10, abs=0.2)
    assert draws.var() == pytest.approx(35, rel=0.05)


def test_voids_do_not_make_a_negative_forecast() -> None:
    frame = as_frame(truth(28, SHARES, 50).round())
    voided = frame.with_columns(pl.when(pl.col("spec") == "Drink 00").then(-2.0).otherwise("serves").alias("serves"))
    history = sales_history(voided, specs(len(SHARES)), "bar", MONDAY + timedelta(days=27), NEVER)
    assert history is not None
    assert "Drink 00" not in history.drinks  # it never sold
    assert (np.nan_to_num(history.serves) >= 0).all()


def test_what_was_taken_back_before_the_first_sale_counts_nowhere() -> None:
    serves = np.full((14, 2), 5.0)
    sold = as_frame(serves)
    before = sold.filter(pl.col("business_date") == MONDAY).with_columns(
        pl.col("business_date") - timedelta(days=1), serves=pl.lit(-2.0)
    )
    last = MONDAY + timedelta(days=13)
    history = sales_history(pl.concat([before, sold]), specs(2), "bar", last, NEVER)
    assert history is not None
    assert history.first == MONDAY
    assert (history.serves == serves).all()


def test_a_silent_day_of_a_house_that_sells_little_is_a_day_without_demand() -> None:
    """Monthly demand of a spare part as days of one drink: Hyndman & Athanasopoulos (2018), 12.2, `productC`, begun."""
    series = np.array([0, 2, 0, 1, 0, 11, 0, 0, 0, 0, 2, 0, 6, 3, 0, 0, 0, 0, 0, 7, 0, 0, 0, 0, 0, 0, 0, 3, 1, 0, 0, 1])
    one_line = as_frame(series[:, None].astype(float)).with_columns(lines=pl.lit(1, pl.Int64))
    last = MONDAY + timedelta(days=len(series) - 1)
    history = sales_history(one_line, specs(1), "bar", last, NEVER)
    assert history is not None
    assert history.serves[:, 0].tolist() == series[1:].tolist()  # from the first sale on
    ahead = days_ahead(history, specs(1), [last + timedelta(days=n) for n in range(1, 15)], NEVER)
    made = forecast(history, ahead)
    # What came lately counts more: of the last ten days, three had a sale.
    assert 14 * series[-10:].mean() < made.means.sum() < 14 * series[1:].mean()
    many_lines = one_line.with_columns(lines=pl.lit(40, pl.Int64))
    closed = sales_history(many_lines, specs(1), "bar", last, NEVER)
    assert closed is not None
    assert np.isnan(closed.serves[1, 0])


def test_the_forecast_of_unvarying_weeks_adds_up_to_a_week() -> None:
    week = truth(84, SHARES, 100)
    history = history_of(week)
    means = forecast(history, next_days(history, 7)).means
    assert means.sum() == pytest.approx(week[:7].sum(), rel=0.002)
