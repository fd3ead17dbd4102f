"""Versions of a spec side by side, attribute by attribute: what is fitted, and the verdicts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import polars as pl

from stillroom.analysis.holm import holm
from stillroom.analysis.once import once
from stillroom.analysis.panel.attributes import Part, labelled, parts_of
from stillroom.analysis.panel.bets import BETS, Liking, bet_rows, panel_of
from stillroom.analysis.panel.blocks import Blocks, blocks_of
from stillroom.analysis.panel.exact import smallest_p
from stillroom.analysis.panel.fitting import complete, fit_part
from stillroom.analysis.panel.pairs import agreed_rows, difference_rows
from stillroom.analysis.panel.ranks import rank_test
from stillroom.analysis.panel.version_fit import AllAgree, CannotTell, VersionFit
from stillroom.analysis.tails import t_isf, t_sf

ALPHA: Final = 0.05
SURE_AT: Final = 0.01
"""A clear difference with a p-value of at most this is sure, one above it likely."""

TESTS: Final = pl.Schema(
    {
        "spec": pl.String, "attribute": pl.String, "scale_kind": pl.String, "higher_is_better": pl.Boolean,
        "sessions": pl.String, "versions": pl.String, "panelists": pl.Int64, "scores": pl.Int64,
        "primary": pl.Boolean, "positions_given": pl.Float64, "smallest_exact_p": pl.Float64,
        "method": pl.String, "f": pl.Float64, "df_between": pl.Float64, "df_within": pl.Float64, "p": pl.Float64,
        "panelist_f": pl.Float64, "panelist_p": pl.Float64,
        "first_glass": pl.Float64, "first_glass_p": pl.Float64, "first_glass_taken_out": pl.Boolean,
        "residual_sd": pl.Float64,
        "eta_squared": pl.Float64, "rank_method": pl.String, "rank_statistic": pl.Float64, "rank_df": pl.Int64,
        "rank_p": pl.Float64, "rank_left_out": pl.String, "problem": pl.String,
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
        "spec": pl.String, "attribute": pl.String, "higher_is_better": pl.Boolean, "primary": pl.Boolean,
        "correction": pl.String, "sessions": pl.String,
        "version": pl.Int64, "against": pl.Int64, "difference": pl.Float64, "low": pl.Float64, "high": pl.Float64,
        "se": pl.Float64, "df": pl.Float64, "p": pl.Float64, "p_all": pl.Float64, "effect": pl.Float64,
        "tasted_both": pl.Int64, "scored_higher": pl.Int64, "scored_lower": pl.Int64, "exact_p": pl.Float64,
        "sittings": pl.Int64, "level": pl.Float64, "looked_again": pl.Boolean, "doubt": pl.String,
        "by_sitting": pl.String,
        "not_worse_p": pl.Float64, "equivalence_p": pl.Float64, "never_met": pl.Boolean, "panelists": pl.Int64,
        "worth_seeing": pl.Float64, "tasters_needed": pl.Int64, "tasters_low": pl.Int64, "tasters_high": pl.Int64,
        "tasters_again": pl.Int64, "rounds_again": pl.Int64, "planned": pl.Int64,
        "verdict": pl.String, "sureness": pl.String,
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
    bets: pl.DataFrame
    """One row a version and panel of overall liking: how likely it is the best liked, and what choosing it costs."""


@once
def compare_versions(
    scores: pl.DataFrame, in_service: Mapping[str, int] | None = None, margin: float | None = None
) -> PanelComparison:
    """Compare the versions of every spec in every attribute.

    `scores`: the view panel_scores. `in_service`: version in service of a spec. `margin`: points by which a version
    may be worse and still count as as good: its whole corrected interval must lie above minus the margin.

    One test decides, and it is chosen by the design alone: within an attribute differences are corrected after Tukey,
    or after Dunnett where the version in service was tasted. Overall liking is the question, and what else was scored
    takes nothing from it; the other attributes of a spec are corrected among themselves after Holm, by pair. The exact
    sign-flip test stands beside it. A pair that met in several sittings is judged by its planned looks, or else by
    what holds whenever one looks. `doubt`: 'order' where one version always came first, 'sittings' where they
    contradict one another; then there is no verdict.
    """
    tests: list[dict[str, Any]] = []
    means: list[dict[str, Any]] = []
    differences: list[dict[str, Any]] = []
    liking: list[Liking] = []
    for part in parts_of(labelled(scores)):
        blocks, serving = blocks_of(part.frame), (in_service or {}).get(part.spec)
        try:
            fitted = fit_part(part, blocks)
        except CannotTell as reason:
            all_agree = isinstance(reason, AllAgree)
            tests.append({**_about(part, blocks), "problem": None if all_agree else str(reason)})
            means += _plain_means(part)
            differences += agreed_rows(part, blocks, serving, margin) if all_agree else ()
            continue
        tests.append({**_about(part, blocks), **_test_row(part, blocks, fitted.fit)})
        means += _mean_rows(part, fitted.fit)
        found = list(difference_rows(part, blocks, fitted, serving, margin))
        differences += found
        if part.primary:
            sound = all(row["doubt"] is None for row in found)
            liking.append(_liking(part, fitted.fit, sound))
    return PanelComparison(
        tests=pl.DataFrame(tests, schema=TESTS),
        means=pl.DataFrame(means, schema=MEANS),
        differences=_with_verdicts(pl.DataFrame(differences, schema=DIFFERENCES)),
        bets=pl.DataFrame(bet_rows(liking), schema=BETS),
    )


def _liking(part: Part, fit: VersionFit, sound: bool) -> Liking:
    return Liking(
        spec=part.spec,
        attribute=part.attribute,
        sessions="; ".join(part.sessions),
        last=part.frame["tasted_on"].max(),  # type: ignore[arg-type]
        versions=part.versions,
        panel=panel_of(fit),
        sound=sound,
    )


def _about(part: Part, blocks: Blocks) -> dict[str, Any]:
    panelists = part.frame["panelist"].n_unique()
    return {
        "spec": part.spec,
        "attribute": part.attribute,
        "scale_kind": part.scale_kind,
        "higher_is_better": part.higher_is_better,
        "sessions": "; ".join(part.sessions),
        "versions": ", ".join(map(str, part.versions)),
        "panelists": panelists,
        "scores": part.frame.height,
        "primary": part.primary,
        "positions_given": 1 - part.frame["position"].null_count() / part.frame.height,
        "smallest_exact_p": smallest_p(panelists),
    }


def _test_row(part: Part, blocks: Blocks, fit: VersionFit) -> dict[str, Any]:
    explained = fit.f * fit.f_df_between
    first = fit.first_glass
    row: dict[str, Any] = {
        "method": fit.method,
        "f": fit.f,
        "df_between": fit.f_df_between,
        "df_within": fit.f_df_within,
        "p": fit.p,
        "panelist_f": fit.panelist_f,
        "panelist_p": fit.panelist_p,
        "first_glass": None if first is None else first.effect,
        "first_glass_taken_out": None if first is None else first.taken_out,
        "first_glass_p": None if first is None else float(2 * t_sf(abs(first.effect / first.se), first.df)),
        "residual_sd": fit.residual_sd,
        "eta_squared": explained / (explained + fit.f_df_within),
    }
    ranked = complete(blocks) or blocks
    try:
        ranks = rank_test(ranked.scores)
    except CannotTell:
        return row
    return row | {
        "rank_method": ranks.method,
        "rank_statistic": ranks.statistic,
        "rank_df": ranks.df,
        "rank_p": ranks.p,
        "rank_left_out": ", ".join(sorted({str(ranked.panelists[place]) for place in ranks.left_out})) or None,
    }


def _plain_means(part: Part) -> Iterator[dict[str, Any]]:
    column = np.searchsorted(part.versions, part.frame["version"].to_numpy())
    counts = np.bincount(column)
    sums = np.bincount(column, part.frame["score"].to_numpy())
    for version, scores, mean in zip(part.versions, counts.tolist(), (sums / counts).tolist(), strict=True):
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
    reach = t_isf(ALPHA / 2, fit.mean_df) * fit.mean_se
    for i, row in enumerate(_plain_means(part)):
        yield row | {
            "mean": float(fit.means[i]),
            "se": float(fit.mean_se[i]),
            "low": float(fit.means[i] - reach[i]),
            "high": float(fit.means[i] + reach[i]),
        }


def _with_verdicts(differences: pl.DataFrame) -> pl.DataFrame:
    """Correct across attributes, say what each difference amounts to and how sure that is."""
    family = ["spec", "correction", "version", "against", "primary"]
    clear = pl.col("p_all") <= pl.col("level")
    up = pl.col("difference") > 0
    liking = pl.col("higher_is_better")
    # The interval shown decides, so that verdict and figures never contradict; the p-values stand alone, uncorrected.
    with_margin = pl.col("not_worse_p").is_not_null()
    not_worse = with_margin & (pl.col("low") > -pl.col("worth_seeing"))
    not_more = with_margin & (pl.col("high") < pl.col("worth_seeing"))
    corrected = pl.col("p").fill_null(1.0).map_batches(lambda p: pl.Series(holm(p.to_numpy()))).over(family)
    return (
        differences.with_columns(p_all=pl.when(pl.col("p").is_not_null()).then(corrected))
        .with_columns(
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
        .with_columns(sureness=_sureness())
    )


def _sureness() -> pl.Expr:
    """A clear difference is sure where the exact test bears it out: five people never suffice for that."""
    verdict = pl.col("verdict")
    small = pl.col("p_all") <= pl.min_horizontal("level", pl.lit(SURE_AT))
    differs = small & (pl.col("exact_p") <= ALPHA)
    alike = pl.when(pl.col("higher_is_better")).then("not_worse_p").otherwise("equivalence_p") <= SURE_AT
    sure = pl.when(verdict.is_in(["as good as", "alike"])).then(alike).otherwise(differs).fill_null(False)
    return (
        pl.when(verdict == "cannot tell")
        .then(pl.lit("cannot tell"))
        .when(sure)
        .then(pl.lit("sure"))
        .otherwise(pl.lit("likely"))
    )
