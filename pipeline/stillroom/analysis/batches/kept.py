"""How long the batches of each preparation kept: all that their lives tell, put together."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import polars as pl

from stillroom.analysis.batches.keeping import LogRank, Survival, WeibullLife, log_rank, survival, weibull_life
from stillroom.analysis.intervals import share_interval

SURVIVAL: Final = pl.Schema(
    {
        "preparation": pl.String, "version": pl.Int64, "day": pl.Float64, "at_risk": pl.Int64, "spoiled": pl.Int64,
        "good": pl.Float64, "error": pl.Float64, "low": pl.Float64, "high": pl.Float64,
    }
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Kept:
    """The lives of one preparation's batches."""

    preparation: str
    batches: int
    spoiled: int
    label_days: int | None
    """Days from the making to the use-by of the last batch that has one."""
    curve: Survival
    weibull: WeibullLife | None
    could_spoil: float
    """Share that could still spoil though none did: upper end of the exact 95 % interval."""
    by_version: LogRank | None
    by_storage: LogRank | None
    """Whether versions, and kinds of storage, keep alike; None with one of them, or nothing spoiled."""


def kept_by_preparation(lives: pl.DataFrame) -> list[Kept]:
    """Sum up batches' lives, preparations in the order of the rows.

    Args:
        lives: as `batch_lives` gives them, and storage.
    """
    return [_kept(str(name), rows) for (name,), rows in lives.group_by("preparation", maintain_order=True)]


def survival_table(lives: pl.DataFrame) -> pl.DataFrame:
    """Kaplan-Meier curves as rows, one for each day on which something spoiled; frame `SURVIVAL`.

    All versions of a preparation together (version null), then each where there are several.

    Args:
        lives: as `batch_lives` gives them.
    """
    rows = []
    for (preparation,), group in lives.group_by("preparation", maintain_order=True):
        for version, some in _versions(group):
            curve = survival(some["days"].to_list(), some["spoiled"].to_list())
            columns = (curve.days, curve.at_risk, curve.spoiled, curve.share, curve.error, curve.low, curve.high)
            rows += [(preparation, version, *row) for row in zip(*columns, strict=True)]
    return pl.DataFrame(rows, schema=SURVIVAL, orient="row")


def _versions(lives: pl.DataFrame) -> Iterator[tuple[int | None, pl.DataFrame]]:
    yield None, lives
    known = lives["version"].drop_nulls().unique().sort().to_list()
    if len(known) > 1:
        yield from ((version, lives.filter(pl.col("version") == version)) for version in known)


def _kept(name: str, lives: pl.DataFrame) -> Kept:
    days, spoiled = lives["days"].to_list(), lives["spoiled"].to_list()
    label = lives["label_days"].drop_nulls()
    return Kept(
        preparation=name,
        batches=lives.height,
        spoiled=sum(spoiled),
        label_days=int(label[-1]) if len(label) else None,
        curve=survival(days, spoiled),
        weibull=weibull_life(days, spoiled),
        could_spoil=share_interval(0, lives.height, method="exact").high,
        by_version=_alike(lives, "version"),
        by_storage=_alike(lives, "storage"),
    )


def _alike(lives: pl.DataFrame, by: str) -> LogRank | None:
    known = lives.filter(pl.col(by).is_not_null())
    return log_rank(known["days"].to_list(), known["spoiled"].to_list(), known[by].cast(pl.String).to_list())
