"""The bet where the panel cannot tell: against closed forms and numerical integration."""

from __future__ import annotations

import math
from datetime import date

import numpy as np
import polars as pl
import pytest
from scipy import integrate

from panel_frames import drawn_scores, panel
from stillroom.analysis.panel.bets import PRIOR_MEDIAN, PRIOR_WIDTH, bet_on, panel_of
from stillroom.analysis.panel.block_anova import fit_complete_blocks
from stillroom.analysis.panel.verdicts import compare_versions


def test_the_bet_on_two_versions_is_the_integral_done_by_quadrature() -> None:
    """P(second better): over share and scatter by adaptive quadrature, normal theory given both."""
    people = 6
    scores = np.array(drawn_scores(people, [0, 0.7], seed=3))
    step = float(np.diff(scores.mean(axis=0))[0])
    df, variance = people - 1, float(np.diff(scores, axis=1).var(ddof=1)) / 2

    def joint(share: float, scatter: float, sign: bool) -> float:
        spread, error = 2 * share**2 * scatter, 2 * scatter / people
        seen = df * variance / scatter
        # Of a normal, a chi-squared and a normal density, without what does not change.
        density = math.exp(-(step**2) / 2 / (spread + error)) / math.sqrt(spread + error)
        density *= seen ** (df / 2 - 1) * math.exp(-seen / 2) / scatter
        density *= math.exp(-((math.log(share / PRIOR_MEDIAN) / PRIOR_WIDTH) ** 2) / 2) / share / scatter
        shrunk = spread / (spread + error)
        return density * (0.5 * math.erfc(-shrunk * step / math.sqrt(2 * shrunk * error)) if sign else 1.0)

    over = [
        integrate.dblquad(lambda scatter, share, s=s: joint(share, scatter, s), 0.02, 6, 0.05, 30, epsrel=1e-4)[0]
        for s in (True, False)
    ]
    bet = bet_on(panel_of(fit_complete_blocks(scores)))
    # A flat prior of the logarithm of the scatter; the grid of shares and the draws cost the third digit.
    assert bet.chance_best[1] == pytest.approx(over[0] / over[1], abs=0.01)


def test_chances_add_up_and_the_better_bet_gives_away_least() -> None:
    bet = bet_on(panel_of(fit_complete_blocks(np.array(drawn_scores(8, [0, 0.5, 0.2], seed=4)))))
    assert bet.chance_best.sum() == pytest.approx(1)
    assert bet.chance_best.argmax() == bet.expected_loss.argmin() == 1


def test_a_house_of_small_differences_bets_with_more_care() -> None:
    own = panel_of(fit_complete_blocks(np.array(drawn_scores(6, [0, 0.8], seed=5))))
    small, large = (
        [panel_of(fit_complete_blocks(np.array(drawn_scores(20, [0, step], seed=s, sd=0.8)))) for s in range(10)]
        for step in (0.0, 2.5)
    )
    careful, plain, bold = (bet_on(own, past) for past in (small, [], large))
    assert careful.chance_best.max() < plain.chance_best.max() < bold.chance_best.max()
    assert careful.usual_difference < plain.usual_difference < bold.usual_difference


def test_later_panels_teach_nothing_about_earlier_ones() -> None:
    scores = pl.concat(
        [panel(drawn_scores(8, [0, 0.5], seed=n), spec=f"Drink {n}", tasted_on=date(2026, 1 + n, 1)) for n in range(4)]
    )
    bets = compare_versions(scores).bets
    assert bets.filter(version=1).sort("spec")["past_panels"].to_list() == [0, 1, 2, 3]
