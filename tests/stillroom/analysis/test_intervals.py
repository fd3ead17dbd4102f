"""Intervals against printed tables."""

import pytest
from scipy.stats import binomtest, chi2

from stillroom.analysis.intervals import count_interval, rate_interval, share_interval


@pytest.mark.parametrize(
    ("count", "total", "wilson", "exact"),
    [
        # Newcombe 1998, Stat. Med. 17:857, Table I (from memory, recomputed by formula)
        (81, 263, (0.2553, 0.3662), (0.2527, 0.3676)),
        (15, 148, (0.0624, 0.1605), (0.0578, 0.1617)),
    ],
)
def test_share_of_newcombe_1998(
    count: int, total: int, wilson: tuple[float, float], exact: tuple[float, float]
) -> None:
    assert share_interval(count, total) == pytest.approx(wilson, abs=1e-4)
    assert share_interval(count, total, method="exact") == pytest.approx(exact, abs=1e-4)


@pytest.mark.parametrize(
    ("count", "total", "expected"),
    [(8, 10, (0.4902, 0.9433)), (0, 10, (0.0, 0.2775)), (29, 29, (0.8830, 1.0))],
)
def test_share_at_the_ends_by_wilsons_formula(count: int, total: int, expected: tuple[float, float]) -> None:
    assert share_interval(count, total) == pytest.approx(expected, abs=1e-4)


@pytest.mark.parametrize("level", [0.8, 0.95])
@pytest.mark.parametrize("total", [1, 2, 7, 40, 1000])
def test_share_is_scipys_at_every_count(total: int, level: float) -> None:
    for count in {0, 1, total // 3, total // 2, total - 1, total}:
        for method in ("wilson", "exact"):
            theirs = binomtest(count, total).proportion_ci(level, method)
            assert share_interval(count, total, level, method) == pytest.approx(tuple(theirs), abs=1e-9)


def test_count_is_scipys_chi_squared_quantiles() -> None:
    for count in (0.3, 1, 2.5, 17, 400):
        theirs = chi2.ppf(0.025, 2 * count) / 2, chi2.ppf(0.975, 2 * count + 2) / 2
        assert count_interval(count) == pytest.approx(theirs, rel=1e-9)


@pytest.mark.parametrize(
    ("count", "expected"),
    [
        # Garwood 1936, Biometrika 28:437; Pearson & Hartley Table 40 (from memory to 2-3 figures, recomputed)
        (0, (0.0, 3.6889)),
        (1, (0.0253, 5.5716)),
        (2, (0.2422, 7.2247)),
        (3, (0.6187, 8.7673)),
        (5, (1.6235, 11.6683)),
        (10, (4.7954, 18.3904)),
        (20, (12.2165, 30.8884)),
    ],
)
def test_count_of_garwood_1936(count: int, expected: tuple[float, float]) -> None:
    assert count_interval(count) == pytest.approx(expected, abs=1e-4)


def test_rate_is_the_count_over_exposure_and_wider_when_days_vary_more() -> None:
    assert rate_interval(7, 3.5) == pytest.approx((0.8041, 4.1208), abs=1e-3)
    plain, varied = rate_interval(400, 28), rate_interval(400, 28, dispersion=25)
    assert varied.low < plain.low < 400 / 28 < plain.high < varied.high


@pytest.mark.parametrize(("count", "total"), [(1, 0), (-1, 5), (6, 5)])
def test_an_impossible_share_is_refused(count: int, total: int) -> None:
    with pytest.raises(ValueError, match="a share needs"):
        share_interval(count, total)


def test_an_impossible_rate_is_refused() -> None:
    with pytest.raises(ValueError, match="exposure"):
        rate_interval(3, 0)
    with pytest.raises(ValueError, match="not negative"):
        count_interval(-1)
