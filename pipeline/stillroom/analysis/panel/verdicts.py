"""Versions of a spec side by side, attribute by attribute: which model fits the design, and the verdicts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import polars as pl
from scipy import stats

from stillroom.analysis.holm import holm
from stillroom.analysis.panel.attributes import Part, codes, labelled, parts_of
from stillroom.analysis.panel.block_anova import fit_complete_blocks
from stillroom.analysis.panel.comparisons import (
    Difference,
    against_one,
    all_pairs,
    equivalence_p,
    newer_from_older,
    not_worse_p,
    tasters_needed,
)
from stillroom.analysis.panel.mixed import fit_mixed
from stillroom.analysis.panel.ranks import rank_test
from stillroom.analysis.panel.version_fit import CannotTell, VersionFit

ALPHA: Final = 0.05
SMALLEST_SHARE: Final = 1 / 16
"""Difference worth seeing where no margin is set, as a share of the scale: half a point from 1 to 9.

Common practice, no source.
"""

TESTS: Final = pl.Schema(
    {
        "spec": pl.String, "attribute": pl.String, "scale_kind": pl.String, "higher_is_better": pl.Boolean,
        "sessions": pl.String, "versions": pl.String, "panelists": pl.Int64, "scores": pl.Int64,
        "method": pl.String, "f": pl.Float64, "df_between": pl.Float64, "df_within": pl.Float64, "p": pl.Float64,
        "panelist_f": pl.Float64, "panelist_p": pl.Float64,
        "residual_sd": pl.Float64,
        "eta_squared": pl.Float64, "rank_method": pl.String, "rank_statistic": pl.Float64, "rank_df": pl.Int64,
        "rank_p": pl.Float64, "rank_disagrees": pl.Boolean, "problem": pl.String,
    }
)  # fmt: skip
MEANS: Final = pl.Schema(
    {
        "spec": pl.String, "attribute": pl.String, "version": pl.Int64, "sessions": pl.String, "scores": pl.Int64,
        "raw_mean": pl.Float64, "mean": pl.Float64, "se": pl.Float64, "low": pl.Float64, "high": pl.Float64,
    }
)  # fmt: skip
DIFFERENCES: Final = pl.Schema(
    {
        "spec": pl.String, "attribute": pl.String, "higher_is_better": pl.Boolean, "correction": pl.String,
        "sessions": pl.String,
        "version": pl.Int64, "against": pl.Int64, "difference": pl.Float64, "low": pl.Float64, "high": pl.Float64,
        "se": pl.Float64, "df": pl.Float64, "p": pl.Float64, "p_all": pl.Float64, "effect": pl.Float64,
        "not_worse_p": pl.Float64, "equivalence_p": pl.Float64, "never_met": pl.Boolean, "panelists": pl.Int64,
        "worth_seeing": pl.Float64, "tasters_needed": pl.Int64, "verdict": pl.String,
    }
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class PanelComparison:
    """All attributes of all specs compared."""

    tests: pl.DataFrame
    """One row an attribute and group of sessions that share a version; `problem` says why it has no figures."""
    means: pl.DataFrame
    """One row a version and attribute; where that cannot be tested the plain mean, without an error or interval."""
    differences: pl.DataFrame
    """Newer minus older: all pairs after Tukey; those with the version in service after Dunnett as well."""


def compare_versions(
    scores: pl.DataFrame, in_service: Mapping[str, int] | None = None, margin: float | None = None
) -> PanelComparison:
    """Compare the versions of every spec in every attribute.

    `scores`: the view panel_scores. `in_service`: version in service of a spec. `margin`: points by which a version
    may be worse and still count as as good: its whole corrected interval must lie above minus the margin. Within an
    attribute differences are corrected after Tukey or Dunnett, across the attributes of a spec after Holm, by pair.
    """
    tests: list[dict[str, Any]] = []
    means: list[dict[str, Any]] = []
    differences: list[dict[str, Any]] = []
    for part in parts_of(labelled(scores)):
        try:
            fit = _fit(part)
        except CannotTell as reason:
            tests.append({**_about(part), "problem": str(reason)})
            means += _plain_means(part)
            continue
        tests.append({**_about(part), **_test_row(part, fit)})
        means += _mean_rows(part, fit)
        differences += _difference_rows(part, fit, (in_service or {}).get(part.spec), margin)
    return PanelComparison(
        tests=pl.DataFrame(tests, schema=TESTS),
        means=pl.DataFrame(means, schema=MEANS),
        differences=_with_verdicts(pl.DataFrame(differences, schema=DIFFERENCES)),
    )


def _fit(part: Part) -> VersionFit:
    """The model that suits the design: analysis of variance where complete, else the mixed model."""
    if len(part.versions) == 1:
        raise CannotTell(f"only version {part.versions[0]} was tasted, so there is nothing to compare it with")
    table = _complete_table(part.frame)
    if table is not None:
        return fit_complete_blocks(table)
    frame = part.frame
    if frame.group_by("panelist").agg(pl.col("version").n_unique())["version"].max() == 1:
        raise CannotTell("nobody tasted two versions, so the people cannot be told from the versions")
    return fit_mixed(
        frame["score"].to_numpy(), codes(frame["version"]), codes(frame["panelist"]), codes(frame["session"])
    )


def _complete_table(frame: pl.DataFrame) -> np.ndarray[tuple[int, int], np.dtype[np.float64]] | None:
    """Mean score by panelist and version, shape (panelists, versions), where everybody had all versions alike often.

    The same number within each session, so that sessions cancel, and in all, so that all means weigh the same.
    """
    versions = frame["version"].n_unique()
    cells = frame.group_by("session", "panelist", "version").len()
    each = cells.group_by("session", "panelist").agg(pl.len().alias("versions"), pl.col("len").n_unique())
    if (each["versions"] != versions).any() or (each["len"] != 1).any():
        return None
    totals = frame.group_by("panelist", "version").agg(pl.col("score").mean(), pl.len())
    if totals["len"].n_unique() != 1:
        return None
    return totals.sort("panelist", "version")["score"].to_numpy().reshape(-1, versions)


def _rank_table(frame: pl.DataFrame) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    """Mean score by panelist (in a session) and version; nan where not tasted."""
    complete = _complete_table(frame)
    if complete is not None:
        return complete
    wide = frame.pivot(on="version", index=["session", "panelist"], values="score", aggregate_function="mean")
    return wide.drop("session", "panelist").cast(pl.Float64).fill_null(float("nan")).to_numpy()


def _about(part: Part) -> dict[str, Any]:
    return {
        "spec": part.spec,
        "attribute": part.attribute,
        "scale_kind": part.scale_kind,
        "higher_is_better": part.higher_is_better,
        "sessions": "; ".join(part.sessions),
        "versions": ", ".join(map(str, part.versions)),
        "panelists": part.frame["panelist"].n_unique(),
        "scores": part.frame.height,
    }


def _test_row(part: Part, fit: VersionFit) -> dict[str, Any]:
    explained = fit.f * fit.f_df_between
    row: dict[str, Any] = {
        "method": fit.method,
        "f": fit.f,
        "df_between": fit.f_df_between,
        "df_within": fit.f_df_within,
        "p": fit.p,
        "panelist_f": fit.panelist_f,
        "panelist_p": fit.panelist_p,
        "residual_sd": fit.residual_sd,
        "eta_squared": explained / (explained + fit.f_df_within),
        "rank_disagrees": False,
    }
    try:
        ranks = rank_test(_rank_table(part.frame))
    except CannotTell:
        return row
    return row | {
        "rank_method": ranks.method,
        "rank_statistic": ranks.statistic,
        "rank_df": ranks.df,
        "rank_p": ranks.p,
        "rank_disagrees": (ranks.p <= ALPHA) != (fit.p <= ALPHA),
    }


def _plain_means(part: Part) -> Iterator[dict[str, Any]]:
    raw = part.frame.group_by("version").agg(pl.len(), pl.col("score").mean()).sort("version")
    for version, scores, mean in raw.rows():
        yield {
            "spec": part.spec,
            "attribute": part.attribute,
            "version": version,
            "sessions": "; ".join(part.sessions),
            "scores": scores,
            "raw_mean": mean,
            "mean": mean,
        }


def _mean_rows(part: Part, fit: VersionFit) -> Iterator[dict[str, Any]]:
    reach = stats.t.isf(ALPHA / 2, fit.mean_df) * fit.mean_se
    for i, row in enumerate(_plain_means(part)):
        yield row | {
            "mean": float(fit.means[i]),
            "se": float(fit.mean_se[i]),
            "low": float(fit.means[i] - reach[i]),
            "high": float(fit.means[i] + reach[i]),
        }


def _difference_rows(
    part: Part, fit: VersionFit, serving: int | None, margin: float | None
) -> Iterator[dict[str, Any]]:
    met = {
        frozenset((a, b))
        for versions in part.frame.group_by("session").agg(pl.col("version").unique())["version"]
        for a in versions
        for b in versions
    }
    corrected = [("Tukey", difference) for difference in all_pairs(fit)]
    if serving in part.versions:
        from_serving = against_one(fit, part.versions.index(serving))
        corrected += [("Dunnett", newer_from_older(difference)) for difference in from_serving]
    worth = margin if margin is not None else part.width * SMALLEST_SHARE
    compared = {"Tukey": len(part.versions) * (len(part.versions) - 1) // 2, "Dunnett": len(part.versions) - 1}
    needed = {
        name: tasters_needed(fit.residual_sd, len(part.versions), worth, count) for name, count in compared.items()
    }
    for correction, difference in corrected:
        pair = part.versions[difference.version], part.versions[difference.against]
        yield {
            "spec": part.spec,
            "attribute": part.attribute,
            "higher_is_better": part.higher_is_better,
            "correction": correction,
            "sessions": "; ".join(part.sessions),
            "version": pair[0],
            "against": pair[1],
            **_figures(difference, margin),
            "never_met": frozenset(pair) not in met,
            "panelists": fit.panelists,
            "worth_seeing": worth,
            "tasters_needed": needed[correction],
        }


def _figures(difference: Difference, margin: float | None) -> dict[str, Any]:
    return {
        "difference": difference.difference,
        "low": difference.low,
        "high": difference.high,
        "se": difference.se,
        "df": difference.df,
        "p": difference.p,
        "effect": difference.effect,
        "not_worse_p": None if margin is None else not_worse_p(difference, margin),
        "equivalence_p": None if margin is None else equivalence_p(difference, margin),
    }


def _with_verdicts(differences: pl.DataFrame) -> pl.DataFrame:
    """Correct across attributes and say what each difference amounts to."""
    family = ["spec", "correction", "version", "against"]
    clear = pl.col("p_all") <= ALPHA
    up = pl.col("difference") > 0
    liking = pl.col("higher_is_better")
    # The interval shown decides, so that verdict and figures never contradict; the p-values stand alone, uncorrected.
    with_margin = pl.col("not_worse_p").is_not_null()
    not_worse = with_margin & (pl.col("low") > -pl.col("worth_seeing"))
    not_more = with_margin & (pl.col("high") < pl.col("worth_seeing"))
    return differences.with_columns(
        p_all=pl.col("p").map_batches(lambda p: pl.Series(holm(p.to_numpy()))).over(family)
    ).with_columns(
        verdict=pl.when(clear & liking)
        .then(pl.when(up).then(pl.lit("better")).otherwise(pl.lit("worse")))
        .when(clear)
        .then(pl.when(up).then(pl.lit("more")).otherwise(pl.lit("less")))
        .when(liking & not_worse)
        .then(pl.lit("as good as"))
        .when(~liking & not_worse & not_more)
        .then(pl.lit("alike"))
        .otherwise(pl.lit("cannot tell"))
    )
