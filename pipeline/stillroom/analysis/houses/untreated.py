"""What houses would have sold without a new version: fitted where it had not come yet, and carried on from there.

The imputation estimator of Borusyak, Jaravel & Spiess 2024 (Rev. Econ. Stud. 91:3253), with a Poisson fit in place of
least squares as in Wooldridge 2023 (Econometrics J. 26:C31): a house's expected count is its exposure x a level of its
own x a level of the week, both fitted in the cells without the new version alone. Only houses that are not served yet
stand for what would have been, so that early houses are never held against others served before them.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from stillroom.analysis.houses.scatter import Floats

Cells = npt.NDArray[np.bool_]

ROUNDS: Final = 200
CLOSE: Final = 1e-7
LEAST_COMPARED: Final = 2
"""Houses without the new version that a week needs, so that it is not one house that speaks for all."""


class Ratio(NamedTuple):
    """How many times as much was counted as expected: its logarithm and standard error, one an assignment."""

    log: Floats
    error: Floats


def expected(counts: Floats, exposure: Floats, fitted_on: Cells) -> Floats:
    """Expected counts of a two-way Poisson fit, by fitting rows and columns in turn (Deming & Stephan 1940).

    Args:
        counts, exposure: houses x weeks.
        fitted_on: assignments x houses x weeks: the cells that are fitted.

    Returns:
        assignments x houses x weeks; nought where a house or week has no count in the cells fitted.
    """
    base = fitted_on * exposure
    of_houses, of_weeks = (np.einsum(f"pht,ht->p{axis}", fitted_on, counts) for axis in "ht")
    weeks = np.ones_like(of_weeks)
    houses = np.zeros_like(of_houses)
    for _ in range(ROUNDS):
        houses = _over(of_houses, (base @ weeks[..., None])[..., 0])
        new = _over(of_weeks, (houses[:, None, :] @ base)[:, 0])
        moved = np.abs(new - weeks).max()
        weeks = new
        if moved <= CLOSE * np.abs(weeks).max():
            break
    return np.asarray(exposure * houses[..., None] * weeks[:, None, :])


def ratio(counts: Floats, exposure: Floats, fitted_on: Cells, looked_at: Cells) -> Ratio:
    """Counts over those expected in the cells looked at, with a standard error clustered by house.

    Its square is the sum over houses of the squares of what each adds to the error (Borusyak et al. 2024, section
    4.3), those it adds as a comparison included, times H / (H - 1). Not a number where there is nothing to compare.

    Args:
        counts, exposure: houses x weeks.
        fitted_on, looked_at: assignments x houses x weeks.
    """
    fit = expected(counts, exposure, fitted_on)
    told = looked_at & (fitted_on.sum(axis=1, keepdims=True) >= LEAST_COMPARED) & (fit > 0)
    seen, would = (told * counts).sum(axis=(1, 2)), (told * fit).sum(axis=(1, 2))
    with np.errstate(divide="ignore", invalid="ignore"):
        log = np.log(seen / would)
        times = (seen / would)[:, None]
        added = (told * counts).sum(axis=2) - times * (told * fit).sum(axis=2)
        left = fitted_on * (counts - fit)
        added -= times * (left @ _weeks_said(fit, fitted_on, told)[..., None])[..., 0]
        houses = counts.shape[0]
        error = np.sqrt((added**2).sum(axis=1) * houses / (houses - 1)) / seen
    return Ratio(log=log, error=error)


def _weeks_said(fit: Floats, fitted_on: Cells, told: Cells) -> Floats:
    """How much each week's level counts in the sum of what was expected: assignments x weeks.

    The sum's gradient times the inverse information of the fit, its houses' part taken out; what is left of a house
    is nought in sum, so that its own level has no part in the error.
    """
    known = fitted_on * fit
    of_houses, of_weeks = known.sum(axis=2), known.sum(axis=1)
    asked_houses, asked_weeks = (told * fit).sum(axis=2), (told * fit).sum(axis=1)
    scaled = _over(known, of_houses[..., None])
    turned = known.transpose(0, 2, 1)
    information = -turned @ scaled
    at = np.arange(fit.shape[2])
    information[:, at, at] += of_weeks + 1e-9 * (of_weeks.mean(axis=1, keepdims=True) + 1e-9)
    wanted = asked_weeks - (turned @ _over(asked_houses, of_houses)[..., None])[..., 0]
    return np.asarray(np.linalg.solve(information, wanted[..., None])[..., 0])


def _over(above: Floats, below: Floats) -> Floats:
    """A quotient that is nought where there is nothing below."""
    return np.divide(above, below, out=np.zeros(np.broadcast_shapes(above.shape, below.shape)), where=below > 0)
