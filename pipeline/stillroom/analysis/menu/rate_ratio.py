"""The step in a drink's sales at a change, beside other drinks: a quasi-binomial fit with priors.

Each day's serves of the drink, out of its own and the others' together, are binomial: conditioning on the day's total
takes out whatever moves all drinks alike (Poisson counts given their sum; McCullagh & Nelder 1989). Left in the model
are the step (its exponential is the rate ratio), the drink's own weekday pattern, and its own slow trend.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Final

import numpy as np

ROUNDS: Final = 50


def weeks_of(days: Sequence[date]) -> np.ndarray:
    """Days in weeks, about their middle."""
    numbers = np.array([day.toordinal() for day in days], dtype=float) / 7
    return np.asarray(numbers - numbers.mean())


def rate_ratio(
    own: np.ndarray, others: np.ndarray, after: np.ndarray, days: Sequence[date], drift: float
) -> tuple[float, float, float]:
    """How many times as much is sold after the change, with its 95 % interval (Student's t).

    Args:
        own, others: serves of the changed drink and of the comparison drinks, day by day.
        after: 1 from the day of the change on, 0 before.
        drift: standard deviation of a drink's own trend a week: the prior that tells a trend from a step.
    """
    from scipy.special import stdtrit

    weekday = np.array([day.weekday() for day in days])
    dummies = [weekday == number for number in np.unique(weekday)]
    design = np.column_stack([after, weeks_of(days), *dummies]).astype(float)
    penalty = np.zeros(design.shape[1])
    penalty[1] = 1 / drift**2
    step, error, freedom = fitted(own, others, design, penalty)
    reach = float(stdtrit(freedom, 0.975)) * error
    return float(np.exp(step)), float(np.exp(step - reach)), float(np.exp(step + reach))


def fitted(own: np.ndarray, others: np.ndarray, design: np.ndarray, penalty: np.ndarray) -> tuple[float, float, int]:
    """Quasi-binomial fit with normal priors of precision `penalty`; first coefficient, its error, degrees of freedom.

    Newton's method; the dispersion (Pearson, not below 1) scales the likelihood, not the prior.
    """
    total = own + others
    freedom = max(1, len(own) - design.shape[1] + int((penalty > 0).sum()))
    scale = 1.0
    information = np.eye(design.shape[1])
    # Start from the overall share, so that a rare drink's first steps stay small.
    coefficients = np.linalg.lstsq(design, np.log((own + 0.5) / (others + 0.5)), rcond=None)[0]
    for _ in range(ROUNDS):
        share = 1 / (1 + np.exp(-np.clip(design @ coefficients, -30, 30)))
        weight = np.maximum(total * share * (1 - share), 1e-9)
        scale = max(1.0, float((((own - total * share) ** 2) / weight).sum()) / freedom)
        information = (design.T * weight) @ design / scale + np.diag(penalty)
        score = design.T @ (own - total * share) / scale - penalty * coefficients
        move = np.linalg.lstsq(information, score, rcond=None)[0]
        coefficients = coefficients + np.clip(move, -1, 1)
        if np.abs(move).max() < 1e-9:
            break
    covariance = np.linalg.pinv(information)
    return float(coefficients[0]), float(covariance[0, 0] ** 0.5), freedom
