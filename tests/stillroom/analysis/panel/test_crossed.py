"""Crossed variances against the analysis of variance (complete data), statsmodels, and the variances drawn from."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm

from stillroom.analysis.panel.crossed import crossed_variances
from stillroom.analysis.panel.version_fit import CannotTell

Floats = np.ndarray[tuple[int, ...], np.dtype[np.float64]]


def _drawn(samples: int, panelists: int, seed: int, missing: float = 0.0, sample_sd: float = 1.0) -> Floats:
    """Samples x panelists, panelist SD 0.8, error SD 1.2; about a share of the scores missing."""
    rng = np.random.default_rng(seed)
    table = 5 + rng.normal(0, sample_sd, (samples, 1)) + rng.normal(0, 0.8, panelists)
    table = table + rng.normal(0, 1.2, (samples, panelists))
    table[rng.random(table.shape) < missing] = np.nan
    return table


def _anova(table: Floats) -> tuple[float, float, float]:
    """Variance components of a complete table from its mean squares (Searle, Casella & McCulloch 1992, chapter 4)."""
    samples, panelists = table.shape
    rows, columns, grand = table.mean(axis=1, keepdims=True), table.mean(axis=0), table.mean()
    error = float(((table - rows - columns + grand) ** 2).sum()) / ((samples - 1) * (panelists - 1))
    return (
        (panelists * float(rows.var(ddof=1)) - error) / panelists,
        (samples * float(columns.var(ddof=1)) - error) / samples,
        error,
    )


@pytest.mark.parametrize("seed", range(10))
def test_complete_data_give_the_analysis_of_variance(seed: int) -> None:
    table = _drawn(6, 14, seed)
    expected = _anova(table)
    assert min(expected) > 0
    found = crossed_variances(table)
    assert (found.sample, found.panelist, found.error) == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize("seed", [2, 3, 4, 5, 6])
def test_incomplete_data_give_statsmodels_estimates(seed: int) -> None:
    # Panels with no variance at 0: there statsmodels' search does not converge.
    table = _drawn(5, 9, seed, missing=0.3)
    sample, panelist = np.nonzero(~np.isnan(table))
    frame = pd.DataFrame({"y": table[sample, panelist], "sample": sample, "panelist": panelist})
    crossed = {"sample": "0 + C(sample)", "panelist": "0 + C(panelist)"}
    model = sm.MixedLM.from_formula("y ~ 1", frame, groups=np.ones(len(frame)), re_formula="0", vc_formula=crossed)
    theirs = model.fit(reml=True, method="bfgs", gtol=1e-8)
    variances = dict(zip(model.exog_vc.names, theirs.vcomp, strict=True))
    found = crossed_variances(table)
    assert found.sample == pytest.approx(variances["sample"], rel=1e-5)
    assert found.panelist == pytest.approx(variances["panelist"], rel=1e-5)
    assert found.error == pytest.approx(theirs.scale, rel=1e-5)


def test_a_large_panel_with_gaps_gives_back_the_variances_drawn_from() -> None:
    # Relative sampling SD of a variance is about sqrt(2 / df): 0.43 for 12 samples, 0.14 for 100 panelists (level and a
    # share of error, 1.44 / 9.6, over 0.64 + 0.15: 0.18), 0.05 for an error on about 850 df. The mean of 20 panels
    # has a SD sqrt(20) times smaller; four of those are allowed.
    found = [crossed_variances(_drawn(12, 100, seed, missing=0.2)) for seed in range(20)]
    for true, relative_sd, estimates in (
        (1.0, 0.43, [each.sample for each in found]),
        (0.64, 0.18, [each.panelist for each in found]),
        (1.44, 0.05, [each.error for each in found]),
    ):
        assert np.mean(estimates) == pytest.approx(true, rel=4 * relative_sd / np.sqrt(20))


def test_panelists_on_one_level_have_no_variance() -> None:
    # Levels made alike: the analysis of variance would be below 0, the likelihood stops at 0.
    table = _drawn(6, 12, seed=3)
    table -= 0.95 * (table.mean(axis=0) - table.mean())
    assert _anova(table)[1] < 0
    table[2, 5] = table[0, 1] = np.nan
    found = crossed_variances(table)
    assert found.panelist == 0
    assert found.sample > 0


def test_samples_alike_have_no_variance() -> None:
    table = _drawn(6, 12, seed=4)
    table -= 0.95 * (table.mean(axis=1, keepdims=True) - table.mean())
    table[2, 5] = np.nan
    assert crossed_variances(table).sample == 0


def test_the_unit_and_the_order_of_rows_change_nothing_but_the_unit() -> None:
    table = _drawn(5, 9, seed=6, missing=0.3)
    one, other = crossed_variances(table), crossed_variances(10 * table[::-1, ::-1] + 300)
    assert (other.sample, other.panelist, other.error) == pytest.approx(
        (100 * one.sample, 100 * one.panelist, 100 * one.error), rel=1e-4
    )


@pytest.mark.parametrize("seed", [0, 1, 2, 3])
def test_no_better_variances_are_found_by_trying_many(seed: int) -> None:
    # A handful of scores can have a likelihood with two summits: look for a higher one on a grid, with dense matrices.
    table = _drawn(3, 5, seed, missing=0.25)
    sample, panelist = np.nonzero(~np.isnan(table))
    y = table[sample, panelist]

    def deviance(of_sample: float, of_panelist: float) -> float:
        v = of_sample * (sample[:, None] == sample) + of_panelist * (panelist[:, None] == panelist) + np.eye(len(y))
        inverse = np.linalg.inv(v)
        residual = y - (inverse @ y).sum() / inverse.sum()
        squares = residual @ inverse @ residual
        return float(np.linalg.slogdet(v)[1] + np.log(inverse.sum()) + (len(y) - 1) * np.log(squares))

    found = crossed_variances(table)
    grid = [0.0, *np.geomspace(1e-2, 1e3, 40)]
    best = min(deviance(a, b) for a in grid for b in grid)
    assert deviance(found.sample / found.error, found.panelist / found.error) <= best + 1e-6


@pytest.mark.parametrize(
    ("table", "words"),
    [
        (np.array([[5.0, 5, np.nan], [5, 5, 5], [5, np.nan, 5]]), "no scatter"),
        (np.array([[1.0, 2, np.nan], [2, 3, 4], [4, 5, 6]]), "no scatter"),  # every panelist's differences the same
        (np.array([[1.0, np.nan], [np.nan, 2]]), "at least two panelists"),
        (np.array([[1.0, 3, np.nan], [2, np.nan, 5]]), "at least two panelists"),
    ],
)
def test_what_cannot_be_told_is_said(table: Floats, words: str) -> None:
    with pytest.raises(CannotTell, match=words):
        crossed_variances(table)
