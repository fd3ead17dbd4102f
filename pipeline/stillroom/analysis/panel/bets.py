"""The better bet, for those who must choose where the panel cannot tell: a normal model with a spread it learns.

A panelist's score is their own level, plus the version's, plus scatter; the versions' true levels scatter about one
another by a share of that scatter which the house's own past panels tell. Levels and scatter are integrated out with
flat priors (Box & Tiao 1973, *Bayesian Inference in Statistical Analysis*, chapter 2), the share on a grid.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Any, Final

import numpy as np
import polars as pl
from scipy import special

from stillroom.analysis.panel.version_fit import Floats, VersionFit
from stillroom.analysis.sobol import sobol
from stillroom.analysis.tails import chi2_ppf

BETS: Final = pl.Schema(
    {
        "spec": pl.String, "attribute": pl.String, "sessions": pl.String, "version": pl.Int64, "versions": pl.Int64,
        "chance_best": pl.Float64, "expected_loss": pl.Float64, "usual_difference": pl.Float64,
        "past_panels": pl.Int64,
    }
)  # fmt: skip
PRIOR_MEDIAN: Final = 0.4
"""Standard deviation of true levels, in residual standard deviations, that is thought likeliest before any panel."""
PRIOR_WIDTH: Final = 0.8
"""Standard deviation of its logarithm: from a fifth to five times as much is well possible. Weakly informative."""
_SHARES: Final = np.geomspace(0.03, 4.0, 50)
_DRAWS: Final = 12
"""Two to this power: quasi-random draws, the same ones every time."""


@dataclass(frozen=True, kw_only=True)
class Panel:
    """What one panel says of the true levels of its versions."""

    steps: Floats
    """Orthogonal contrasts of the adjusted means, in points, shape (versions - 1,)."""
    contrasts: Floats
    """Of which levels, shape (versions - 1, versions)."""
    spread: Floats
    """Covariance of the steps over the residual variance."""
    sd: float
    """Residual standard deviation, in points."""
    df: float


@dataclass(frozen=True, kw_only=True)
class Bet:
    """Of one panel."""

    chance_best: Floats
    """Probability that each version is truly the best liked, shape (versions,)."""
    expected_loss: Floats
    """Points given away on average by choosing each version, shape (versions,)."""
    usual_difference: float
    """Median of the true difference between two versions that the model reckons with, in points."""


def panel_of(fit: VersionFit) -> Panel:
    """Take from a fit what the bet needs."""
    versions = len(fit.means)
    basis = np.linalg.qr(np.column_stack([np.ones(versions), np.eye(versions)[:, :-1]]))[0]
    contrasts = basis[:, 1:].T
    return Panel(
        steps=contrasts @ fit.means,
        contrasts=contrasts,
        spread=contrasts @ fit.covariance @ contrasts.T / fit.residual_sd**2,
        sd=fit.residual_sd,
        df=float(np.median(fit.pair_df[0, 1:])),
    )


def bet_on(panel: Panel, past: Sequence[Panel] = ()) -> Bet:
    """How likely each version is the best, after this panel and what past ones say of how far versions lie apart."""
    return _bet(panel, _prior() + sum(map(_log_likelihood, past), np.zeros(len(_SHARES))))


def _bet(panel: Panel, log: Floats) -> Bet:
    """`log`: logarithm of what is known of each share before this panel."""
    log = log + _log_likelihood(panel)
    weights = np.exp(log - log.max())
    weights /= weights.sum()
    size = len(panel.steps)
    uniform, chi_square, normal = _draws(size, panel.df + size)
    share = _SHARES[np.searchsorted(np.cumsum(weights), uniform).clip(0, len(_SHARES) - 1)]
    # Everything in the directions in which the panel's covariance is diagonal.
    scatter, axes = np.linalg.eigh(panel.spread)
    along = axes.T @ panel.steps
    total = share[:, None] ** 2 + scatter
    squares = panel.df * panel.sd**2 + (along**2 / total).sum(axis=1)
    variance = squares / chi_square
    shrunk = share[:, None] ** 2 / total
    levels = shrunk * along + np.sqrt(variance[:, None] * shrunk * scatter) * normal
    of_version = levels @ axes.T @ panel.contrasts
    best = of_version.max(axis=1, keepdims=True)
    winners = of_version.argmax(axis=1)
    return Bet(
        chance_best=np.bincount(winners, minlength=size + 1) / len(winners),
        expected_loss=(best - of_version).mean(axis=0),
        usual_difference=float(np.median(share * np.sqrt(variance)) * np.sqrt(2) * -special.ndtri(0.25)),
    )


def _prior() -> Floats:
    """Logarithm of a log-normal density of each share, less a constant."""
    return np.asarray(-((np.log(_SHARES / PRIOR_MEDIAN) / PRIOR_WIDTH) ** 2) / 2)


def _log_likelihood(panel: Panel) -> Floats:
    """Multivariate t density of the steps at each share, less a constant; the scatter is integrated out."""
    scatter, axes = np.linalg.eigh(panel.spread)
    total = _SHARES[:, None] ** 2 + np.maximum(scatter, 0.0)
    squares = ((axes.T @ panel.steps) ** 2 / total).sum(axis=1) / panel.sd**2
    size = len(panel.steps)
    return np.asarray(-np.log(total).sum(axis=1) / 2 - (panel.df + size) / 2 * np.log1p(squares / panel.df))


@cache
def _draws(size: int, df: float) -> tuple[Floats, Floats, Floats]:
    """Points that fill their space evenly: for the share, the variance (chi-square) and each direction (normal)."""
    unit = sobol(size + 2, _DRAWS)
    return unit[:, 0], chi2_ppf(unit[:, 1], df), np.asarray(special.ndtri(unit[:, 2:]))


@dataclass(frozen=True, kw_only=True)
class Liking:
    """A panel of overall liking, with its names."""

    spec: str
    attribute: str
    sessions: str
    last: date
    """Last day on which it was tasted."""
    versions: list[int]
    panel: Panel
    sound: bool
    """Neither serving order nor contradictory sittings stand in the way of a bet."""


def bet_rows(panels: Sequence[Liking]) -> list[dict[str, Any]]:
    """A row for each version of each sound panel, frame `BETS`; past panels are those tasted no later."""
    rows = []
    told = [_log_likelihood(one.panel) for one in panels]
    for own in panels:
        if not own.sound:
            continue
        past = [log for log, other in zip(told, panels, strict=True) if other is not own and other.last <= own.last]
        bet = _bet(own.panel, _prior() + sum(past, np.zeros(len(_SHARES))))
        for place, version in enumerate(own.versions):
            rows.append(
                {
                    "spec": own.spec,
                    "attribute": own.attribute,
                    "sessions": own.sessions,
                    "version": version,
                    "versions": len(own.versions),
                    "chance_best": float(bet.chance_best[place]),
                    "expected_loss": float(bet.expected_loss[place]),
                    "usual_difference": bet.usual_difference,
                    "past_panels": len(past),
                }
            )
    return rows
