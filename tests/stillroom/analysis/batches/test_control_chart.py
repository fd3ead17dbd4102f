"""Control charts against printed examples."""

import numpy as np
import pytest

from stillroom.analysis.batches.control_chart import control_chart

# NIST/SEMATECH e-Handbook 6.3.2.2, flow rate of ten batches (from memory; limits recomputed)
FLOW = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
# Pyzdek & Keller, The Handbook for Quality Management, Table 9.4 (read): measurements and their printed ranges
SAMPLES = [110, 103, 97, 96, 105, 110, 100, 93, 90, 103, 97, 103, 90, 97, 99, 97, 90, 106, 90, 109, 90, 91, 108, 91, 96]


def test_limits_of_the_flow_rate_example() -> None:
    chart = control_chart(FLOW)
    assert chart is not None
    assert chart.middle == pytest.approx(50.81)
    assert chart.mean_range == pytest.approx(1.8778, abs=1e-4)
    assert chart.high == pytest.approx(55.8041, abs=1e-3)
    assert chart.low == pytest.approx(45.8159, abs=1e-3)
    assert not chart.beyond


def test_limits_are_the_mean_and_2_66_mean_ranges() -> None:
    chart = control_chart(SAMPLES)
    assert chart is not None
    assert chart.high - chart.middle == pytest.approx(2.66 * chart.mean_range, rel=1e-3)


def test_one_batch_far_off_is_beyond_the_limits_and_a_jump() -> None:
    chart = control_chart([30.0, 30.4, 29.8, 30.1, 30.3, 29.9, 30.2, 30.0, 30.1, 29.7, 30.2, 35.0])
    assert chart is not None
    assert chart.beyond == (11,)
    assert chart.jumps == (11,)
    assert not chart.steady


def test_a_run_against_the_spec_and_a_drift() -> None:
    chart = control_chart([30.5, 30.2] * 5, target=30.0)
    assert chart is not None
    assert chart.runs == (7,)
    slow = control_chart([20 + 0.1 * n for n in range(12)])
    assert slow is not None
    assert slow.drift == pytest.approx(0.1)


def test_false_alarms_are_rare_on_a_steady_process() -> None:
    generator = np.random.default_rng(2)
    charts = [control_chart(generator.normal(30, 0.5, 20).tolist()) for _ in range(200)]
    drifting = sum(chart is not None and chart.drift is not None for chart in charts)
    assert drifting <= 8  # 1 % of 200 is 2; more than 8 less than once in 1 000 times (binomial)


def test_too_few_values_and_all_alike() -> None:
    assert control_chart([30, 31, 30, 31, 30, 31, 30]) is None
    chart = control_chart([30.0] * 8)
    assert chart is not None
    assert chart.steady
    assert chart.low == chart.high == 30


def test_readings_all_alike_are_no_reason_to_call_each_of_them_outside() -> None:
    # Limits are 3 mean moving ranges / 1.128 off the middle: with no range there are none. Off the spec they still are.
    chart = control_chart([3.1] * 9, target=3.15)
    assert chart is not None
    assert chart.beyond == ()
    assert chart.runs == (7,)
    assert not chart.steady
