"""Randomised complete blocks: every panelist tasted every version, the panelist is the block."""

from __future__ import annotations

import numpy as np

from stillroom.analysis.panel.version_fit import AllAgree, CannotTell, FirstGlass, Floats, VersionFit
from stillroom.analysis.tails import f_sf


def fit_complete_blocks(scores: Floats, first: Floats | None = None) -> VersionFit:
    """Randomised-block analysis of variance, with what the first glass does taken out where positions are known.

    `scores` has shape (panelists, versions), without gaps; repeats are averaged before. `first`, same shape: share of
    the glasses that stood first in their panelist's order; one degree of freedom goes into its effect (analysis of
    covariance). It must tell something that panelists and versions do not. Source: Fisher's randomised block, e.g.
    Box, Hunter & Hunter, *Statistics for Experimenters*, chapter 4. With repeats this is the test
    of versions against the panelist x version interaction, panelists taken as drawn from more of their kind.

    Raises:
        CannotTell: fewer than two panelists, or all scores the same.
        AllAgree: no scatter to measure a difference by.

    >>> import numpy as np
    >>> fit = fit_complete_blocks(np.array([[89, 88, 97, 94], [84, 77, 92, 79], [81, 87, 87, 85], [87, 92, 89, 84],
    ...                                     [79, 81, 80, 88]], float))
    >>> round(fit.f, 3), round(fit.p, 4), round(fit.residual_sd**2, 3)
    (1.239, 0.3387, 18.833)
    >>> round(fit.panelist_f, 3), round(fit.panelist_p, 4)
    (3.504, 0.0407)
    """
    blocks, versions = scores.shape
    if blocks < 2:
        raise CannotTell("only one panelist: a difference cannot be told from one person's own scatter")
    grand = scores.mean()
    levels = scores.mean(axis=1)
    residuals = centred(scores)
    between_df, within_df = versions - 1, (blocks - 1) * (versions - 1)
    means, spread, effect, squares = scores.mean(axis=0), np.eye(versions) / blocks, 0.0, 0.0
    if first is not None:
        within_df -= 1
        own = centred(first)
        squares = float((own**2).sum())
        effect = float((own * residuals).sum()) / squares
        lean = first.mean(axis=0) - first.mean()
        means = means - effect * lean
        spread = spread + np.outer(lean, lean) / squares
        residuals = residuals - effect * own
    within = float((residuals**2).sum()) / within_df
    refuse_without_scatter(within, float(((scores - grand) ** 2).mean()))
    contrasts = np.eye(versions)[1:] - np.eye(versions)[0]
    steps = contrasts @ means
    f = float(steps @ np.linalg.solve(contrasts @ spread @ contrasts.T, steps)) / between_df / within
    panelist_f = versions * float(((levels - grand) ** 2).sum()) / (blocks - 1) / within
    # Variance of a mean over panelists drawn anew: their own levels and the residual, df after Satterthwaite (1946).
    from_levels = float(((levels - grand) ** 2).sum()) / (blocks - 1) / blocks
    from_residual = within * (np.diag(spread) - 1 / versions / blocks)
    mean_variance = from_levels + from_residual
    return VersionFit(
        method="analysis of variance, panelist as block",
        means=means,
        covariance=spread * within,
        mean_se=np.sqrt(mean_variance),
        mean_df=mean_variance**2 / (from_levels**2 / (blocks - 1) + from_residual**2 / within_df),
        pair_df=np.full((versions, versions), float(within_df)),
        residual_sd=float(np.sqrt(within)),
        f=f,
        f_df_between=float(between_df),
        f_df_within=float(within_df),
        p=float(f_sf(f, between_df, within_df)),
        panelists=blocks,
        panelist_f=panelist_f,
        panelist_p=float(f_sf(panelist_f, blocks - 1, within_df)),
        first_glass=None
        if first is None
        else FirstGlass(effect=effect, se=float(np.sqrt(within / squares)), df=float(within_df)),
    )


def centred(table: Floats) -> Floats:
    """What is left of a table of panelists x versions when the levels of both are taken out."""
    return np.asarray(table - table.mean(axis=0) - table.mean(axis=1, keepdims=True) + table.mean())


def refuse_without_scatter(within: float, total: float) -> None:
    """Stop where there is nothing to measure a difference by; both are mean squares, in points squared."""
    if total == 0:
        raise CannotTell("all scores are the same, so nothing tells the versions apart")
    if within <= 1e-12 * total:
        raise AllAgree("every panelist gives exactly the same difference, so there is no scatter to judge it by")
