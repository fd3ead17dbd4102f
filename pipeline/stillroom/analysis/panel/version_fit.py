"""What a model of one attribute says of the versions: means, how sure they are, and whether they differ at all."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]


class CannotTell(Exception):
    """The scores do not allow the analysis; the sentence says why, in plain words."""


class AllAgree(CannotTell):
    """Panelists differ in nothing but their level: no scatter, so a model has nothing to judge by; counting has."""


@dataclass(frozen=True, kw_only=True)
class FirstGlass:
    """How much higher the glass that is tasted first scores, whatever is in it, in points."""

    effect: float
    se: float
    df: float
    taken_out: bool = True
    """Of the versions' means and of the scatter; if not, it cancels."""


@dataclass(frozen=True, kw_only=True)
class VersionFit:
    """Adjusted means of t versions and what is needed to compare them."""

    method: str
    """The model in plain words."""
    means: Floats
    """Adjusted means, shape (t,), in points of the scale."""
    covariance: Floats
    """Covariance of the means, shape (t, t), with the panelists' own levels left out where they cancel."""
    mean_se: Floats
    """Standard error of each mean for a panelist drawn from the same people, shape (t,)."""
    mean_df: Floats
    """Degrees of freedom of each mean, shape (t,)."""
    pair_df: Floats
    """Degrees of freedom of each difference, shape (t, t)."""
    residual_sd: float
    """Scatter of one panelist's score of one version, level and version taken out."""
    f: float
    f_df_between: float
    f_df_within: float
    p: float
    panelists: int
    panelist_f: float | None = None
    """Whether the panelists' levels differ; None where they are no fixed blocks."""
    panelist_p: float | None = None
    first_glass: FirstGlass | None = None
    """None where it was not fitted."""

    @property
    def pair_se(self) -> Floats:
        """Standard error of each difference, shape (t, t)."""
        variance = np.diag(self.covariance)
        return np.sqrt(np.maximum(variance[:, None] + variance[None, :] - 2 * self.covariance, 0.0))

    def difference_correlation(self, reference: int) -> Floats:
        """Correlation of the differences of all other versions from one, shape (t - 1, t - 1)."""
        others = [i for i in range(len(self.means)) if i != reference]
        contrasts = np.zeros((len(others), len(self.means)))
        contrasts[range(len(others)), others] = 1
        contrasts[:, reference] = -1
        spread = contrasts @ self.covariance @ contrasts.T
        sd = np.sqrt(np.diag(spread))
        return np.asarray(spread / np.outer(sd, sd))
