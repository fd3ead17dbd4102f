"""Control charts against printed examples."""

import pytest

from stillroom.analysis.batches.control_chart import control_chart

# NIST/SEMATECH e-Handbook 6.3.2.2, flow rate of ten batches (from memory; limits recomputed)
FLOW = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
# Pyzdek & Keller, The Handbook for Quality Management, Table 9.4 (read): measurements and their printed ranges
SAMPLES = [110, 103, 97, 96, 105, 110, 100, 93, 90, 103, 97, 103, 90, 97, 99, 97, 90, 106, 90, 109, 90, 91, 108, 91, 96]


def test_limits_of_the_flow_rate_example() -> None:
    chart = control_chart(FLOW)
    assert chart.middle == pytest.approx(50.81)
    assert chart.mean_range == pytest.approx(1.8778, abs=1e-4)
    assert chart.high == pytest.approx(55.8041, abs=1e-3)
    assert chart.low == pytest.approx(45.8159, abs=1e-3)
    assert not chart.beyond


def test_limits_are_the_mean_and_2_66_mean_ranges() -> None:
    chart = control_chart(SAMPLES)
    assert chart.high - chart.middle == pytest.approx(2.66 * chart.mean_range, rel=1e-3)


def test_one_batch_far_off_is_beyond_the_limits_and_a_jump() -> None:
    chart = control_chart([30.0, 30.4, 29.8, 30.1, 30.3, 29.9, 30.2, 30.0, 30.1, 29.7, 30.2, 35.0])
    assert chart.beyond == (11,)
    assert chart.jumps == (11,)


def test_limits_are_those_of_the_level_in_force() -> None:
    early, late = [30.0, 30.4, 29.8, 30.1, 30.3, 29.9], [33.0, 33.2, 32.9, 33.1]
    chart = control_chart([*early, *late], [30.083] * 6 + [33.05] * 4)
    assert chart.middle == 33.05
    # The step is no range of the process, and neither level lies outside the other's limits.
    assert chart.high - chart.low < 1.8
    assert chart.beyond == chart.jumps == ()


def test_too_few_values_and_all_alike() -> None:
    with pytest.raises(ValueError, match="8 values, not 7"):
        control_chart([30, 31, 30, 31, 30, 31, 30])
    chart = control_chart([30.0] * 8)
    assert chart.low == chart.high == 30
    assert chart.beyond == chart.jumps == ()
