"""What each panelist's scores tell of the panelist: agreement, discrimination, repeatability, use of the scale."""

from __future__ import annotations

import hashlib
from typing import Final

import numpy as np
import polars as pl

from stillroom.analysis.panel.agreement import intraclass_correlations, kendall_w
from stillroom.analysis.panel.attributes import labelled
from stillroom.analysis.panel.version_fit import CannotTell, Floats
from stillroom.analysis.tails import f_sf

FEWEST_SAMPLES: Final = 6
"""Scored samples (over all attributes) below which a panelist's agreement says nothing; common practice, no source."""

PANELISTS: Final = pl.Schema(
    {
        "panelist": pl.String, "scores": pl.Int64, "level": pl.Float64, "spread": pl.Float64,
        "agreement": pl.Float64, "repeatability": pl.Float64, "discrimination_f": pl.Float64,
        "discrimination_p": pl.Float64,
    }
)  # fmt: skip
AGREEMENT: Final = pl.Schema(
    {
        "spec": pl.String, "attribute": pl.String, "session": pl.String, "panelists": pl.Int64, "versions": pl.Int64,
        "tasted_all": pl.Int64, "kendall_w": pl.Float64, "form": pl.String, "icc": pl.Float64,
        "low": pl.Float64, "high": pl.Float64,
    }
)  # fmt: skip
_SITTING: Final = ["spec", "label", "session"]


def panelist_codes(panelists: list[str]) -> dict[str, str]:
    """A code for each name, the same whenever the same people are asked about; its order says nothing of the name."""
    shuffled = sorted(panelists, key=lambda name: hashlib.sha256(name.casefold().encode()).hexdigest())
    return {name: f"T{number:0{len(str(len(panelists)))}}" for number, name in enumerate(shuffled, 1)}


def panelist_performance(scores: pl.DataFrame) -> pl.DataFrame:
    """One row a panelist, over all specs, attributes and sessions; frame `PANELISTS`.

    Points are those of the scale that most scores were given on: scores on wider and narrower scales are put on it.
    level: mean distance from the mean of the others on the same samples, in points; spread: the panelist's
    differences between versions against the others', 1 = alike; agreement: correlation of the panelist's differences
    between versions with those of the others' mean; repeatability: standard deviation of repeats of one sample (ISO
    8586 annex); discrimination: F of versions against repeats, pooled over the attributes. Null where the data do
    not say.
    """
    if scores.is_empty():
        return pl.DataFrame(schema=PANELISTS)
    cells = _on_one_scale(labelled(scores)).group_by(*_SITTING, "version", "panelist", maintain_order=True).agg(
        pl.col("score").mean(),
        repeats=pl.len(),
        squares=((pl.col("score") - pl.col("score").mean()) ** 2).sum(),
    )  # fmt: skip
    against = cells.with_columns(
        others=(pl.col("score").sum().over(*_SITTING, "version") - pl.col("score"))
        / (pl.len().over(*_SITTING, "version") - 1)
    ).filter(pl.col("others").is_finite())
    block = [*_SITTING, "panelist"]
    steps = against.with_columns(
        own_step=pl.col("score") - pl.col("score").mean().over(block),
        others_step=pl.col("others") - pl.col("others").mean().over(block),
    )
    own, rest = pl.col("own_step"), pl.col("others_step")
    compared = steps.group_by("panelist", maintain_order=True).agg(
        level=(pl.col("score") - pl.col("others")).mean(),
        spread=((own**2).sum() / (rest**2).sum()).sqrt(),
        agreement=pl.when(pl.len() >= FEWEST_SAMPLES).then(
            (own * rest).sum() / ((own**2).sum() * (rest**2).sum()).sqrt()
        ),
    )
    counts = scores.group_by("panelist").agg(scores=pl.len())
    joined = counts.join(compared, on="panelist", how="left").join(_repeats(cells), on="panelist", how="left")
    return (
        joined.with_columns(pl.when(pl.selectors.float().is_finite()).then(pl.selectors.float()).name.keep())
        .select(PANELISTS.names())
        .cast(dict(PANELISTS))  # type: ignore[arg-type]
        .sort("panelist")
    )


def _on_one_scale(scores: pl.DataFrame) -> pl.DataFrame:
    """The scores in points of the commonest width of scale, so that ten of a hundred points are not ten of eight."""
    width = pl.col("scale_high") - pl.col("scale_low")
    commonest = scores.select(width.alias("width"))["width"].mode().max()
    return scores.with_columns(score=pl.col("score") * (pl.lit(commonest) / width))


def _repeats(cells: pl.DataFrame) -> pl.DataFrame:
    """Repeatability and discrimination of those who tasted something more than once."""
    block = [*_SITTING, "panelist"]
    mean = (pl.col("score") * pl.col("repeats")).sum().over(block) / pl.col("repeats").sum().over(block)
    pooled = (
        cells.with_columns(between=pl.col("repeats") * (pl.col("score") - mean) ** 2)
        .group_by(block, maintain_order=True)
        .agg(pl.col("between", "squares").sum(), df_within=(pl.col("repeats") - 1).sum(), df_between=pl.len() - 1)
        .filter((pl.col("df_within") > 0) & (pl.col("df_between") > 0))
        .group_by("panelist", maintain_order=True)
        .agg(pl.col("between", "squares", "df_within", "df_between").sum())
        .with_columns(repeatability=(pl.col("squares") / pl.col("df_within")).sqrt())
        .with_columns(discrimination_f=pl.col("between") / pl.col("df_between") / pl.col("repeatability") ** 2)
    )
    f, df_between, df_within = (pooled[name].to_numpy() for name in ("discrimination_f", "df_between", "df_within"))
    return pooled.select(
        "panelist",
        "repeatability",
        "discrimination_f",
        discrimination_p=pl.Series(np.atleast_1d(f_sf(f, df_between, df_within))),
    )


def panel_agreement(scores: pl.DataFrame) -> pl.DataFrame:
    """Kendall's W and all six intraclass correlations of each attribute in each session; frame `AGREEMENT`.

    The correlations rest on all scores, complete or not. W rests on the `tasted_all` panelists who tasted all versions
    of the session, and is null where they are too few. Where the scores allow no correlation, the row is missing.
    """
    rows = []
    sittings = labelled(scores).partition_by(*_SITTING, as_dict=True) if scores.height else {}
    for (spec, attribute, session), sitting in sorted(sittings.items()):
        table = _table(sitting)
        complete = table[~np.isnan(table).any(axis=1)]
        try:
            correlations = intraclass_correlations(table.T)
        except CannotTell:
            continue
        rows += [
            {
                "spec": spec, "attribute": attribute, "session": session, "panelists": table.shape[0],
                "versions": table.shape[1], "tasted_all": complete.shape[0], "kendall_w": _kendall_w(complete),
                "form": icc.form, "icc": icc.value, "low": icc.low, "high": icc.high,
            }
            for icc in correlations.values()
        ]  # fmt: skip
    return pl.DataFrame(rows, schema=AGREEMENT)


def _kendall_w(complete: Floats) -> float | None:
    """W of panelists x versions; None where fewer than two panelists are there or nobody ranks anything higher."""
    try:
        return kendall_w(complete) if len(complete) > 1 else None
    except CannotTell:
        return None


def _table(sitting: pl.DataFrame) -> Floats:
    """Mean scores, panelists x versions; nan where a panelist did not taste a version."""
    wide = sitting.pivot(on="version", index="panelist", values="score", aggregate_function="mean").sort("panelist")
    return np.array(wide.drop("panelist").cast(pl.Float64).fill_null(np.nan).to_numpy(), dtype=np.float64)
