"""How long the batches of each preparation kept: all that their lives tell, put together, and the keep it bears out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from math import floor
from typing import Final

import polars as pl

from stillroom.analysis.batches.found_spoiled import (
    GoneBy,
    Turnbull,
    WeibullLife,
    turnbull,
    weibull_gone_by,
    weibull_life,
)
from stillroom.analysis.batches.keeping import LogRank, Survival, log_rank, survival
from stillroom.analysis.intervals import share_interval
from stillroom.analysis.once import once
from stillroom.names import name_key

LEAST_SPOILED: Final = 3
"""Batches that must have been found spoiled before they say how long the others keep."""
GONE: Final = 0.1
"""Share of batches that may be gone by the last day of a keep."""
CONFIDENCE: Final = 0.8
"""That no more than `GONE` are gone by the day that is advised."""
SURE: Final = 0.975
"""Confidence from which a label is said to be too long for sure."""
UNLIKE: Final = 0.05
"""p-value below which versions, or kinds of storage, are not taken together."""

SURVIVAL: Final = pl.Schema(
    {
        "preparation": pl.String, "version": pl.Int64, "day": pl.Float64, "at_risk": pl.Int64, "spoiled": pl.Int64,
        "good": pl.Float64, "error": pl.Float64, "low": pl.Float64, "high": pl.Float64,
    }
)  # fmt: skip


@dataclass(frozen=True, kw_only=True, eq=False)
class Kept:
    """The lives of one preparation's batches; of one version or storage, where these do not keep alike."""

    lives: pl.DataFrame = field(repr=False)
    """Their rows, as `batch_lives` gives them. What they say is worked out where it is asked for."""
    version: int | None
    storage: str | None
    """None: all of them together."""
    by_version: LogRank | None
    by_storage: LogRank | None
    """Whether versions, and kinds of storage, keep alike; None with one of them, or nothing spoiled."""

    @property
    def preparation(self) -> str:
        """What they are batches of."""
        return str(self.lives["preparation"][0])

    @property
    def batches(self) -> int:
        """How many they are."""
        return self.lives.height

    @cached_property
    def spoiled(self) -> int:
        """Found spoiled, no later than their use-by."""
        return int(self.lives["spoiled"].sum())

    @cached_property
    def last_made(self) -> date:
        """When the last one was made."""
        made: list[date] = self.lives["made_on"].to_list()
        return max(made)

    @cached_property
    def label_days(self) -> int | None:
        """Days from the making to the use-by of the last batch that has one."""
        label = self.lives["label_days"].drop_nulls()
        return int(label[-1]) if len(label) else None

    @cached_property
    def _good_and_found(self) -> tuple[list[float], list[float]]:
        return self.lives["good"].to_list(), self.lives["found"].fill_null(float("inf")).to_list()

    @cached_property
    def curve(self) -> Survival:
        """By the days on which batches were found spoiled."""
        return survival(self.lives["days"].to_list(), self.lives["spoiled"].to_list())

    @cached_property
    def went(self) -> Turnbull | None:
        """When they went, as far as can be told; None while nothing spoiled."""
        return turnbull(*self._good_and_found) if self.spoiled else None

    @cached_property
    def gone_by(self) -> GoneBy | None:
        """The day by which one in ten is gone; None with fewer than `LEAST_SPOILED` spoiled."""
        return weibull_gone_by(*self._good_and_found, GONE) if self.spoiled >= LEAST_SPOILED else None

    @cached_property
    def weibull(self) -> WeibullLife | None:
        """A Weibull life of them; None with too few found spoiled."""
        return weibull_life(*self._good_and_found)

    @property
    def could_spoil(self) -> float:
        """Share that could still spoil though none did: upper end of the exact 95 % interval."""
        return share_interval(0, self.batches, method="exact").high

    @property
    def name(self) -> str:
        """The preparation, with the version or storage that it is about."""
        version = "" if self.version is None else f", version {self.version}"
        return f"{self.preparation}{version}{f', {self.storage}' if self.storage else ''}"

    @property
    def keep_days(self) -> int | None:
        """The keep that the batches bear out: no more than `GONE` gone by its last day, with `CONFIDENCE`.

        Never longer than the label; the label where too few spoiled to tell; None where there is neither.
        """
        if self.gone_by is None:
            return self.label_days
        borne_out = floor(self.gone_by.within(1 - CONFIDENCE) + 1e-9)
        return borne_out if self.label_days is None else min(borne_out, self.label_days)

    @property
    def label_too_long(self) -> bool:
        """Whether more than `GONE` are surely gone by the label's day."""
        return self.gone_by is not None and self.label_days is not None and self.gone_by.within(SURE) < self.label_days


@once
def kept_by_preparation(lives: pl.DataFrame) -> list[Kept]:
    """Sum up batches' lives, preparations in the order of the rows; those that are not alike, each by itself.

    Args:
        lives: as `batch_lives` gives them.
    """
    return [one for _, rows in lives.group_by("preparation", maintain_order=True) for one in _alike(rows)]


def kept_now(kept: Sequence[Kept], preparation: str, version: int | None = None) -> Kept | None:
    """What a preparation's batches say of those made now: of this version, and stored as the last one was.

    Args:
        kept: as `kept_by_preparation` gives it.
        version: the version made now; None: that of the last batch.
    """
    own = [one for one in kept if name_key(one.preparation) == name_key(preparation)]
    fitting = [one for one in own if version is None or one.version is None or one.version == version]
    return max(fitting, key=lambda one: one.last_made, default=None)


def survival_table(lives: pl.DataFrame) -> pl.DataFrame:
    """Kaplan-Meier curves as rows, one for each day on which something was found spoiled; frame `SURVIVAL`.

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


def _alike(lives: pl.DataFrame) -> Iterator[Kept]:
    """All batches of a preparation together, or apart by what makes them keep unlike."""
    tests = {by: _test(lives, by) for by in ("version", "storage")}
    apart = [by for by, test in tests.items() if test is not None and test.p_value < UNLIKE]
    if not apart:
        yield _kept(lives, {}, tests)
        return
    for key, rows in lives.drop_nulls(apart).group_by(*apart, maintain_order=True):
        yield _kept(rows, dict(zip(apart, key, strict=True)), tests)


def _kept(lives: pl.DataFrame, of: dict[str, object], tests: dict[str, LogRank | None]) -> Kept:
    version, storage = of.get("version"), of.get("storage")
    return Kept(
        lives=lives,
        version=version if isinstance(version, int) else None,
        storage=storage if isinstance(storage, str) else None,
        by_version=tests["version"],
        by_storage=tests["storage"],
    )


def _test(lives: pl.DataFrame, by: str) -> LogRank | None:
    known = lives.filter(pl.col(by).is_not_null())
    return log_rank(known["days"].to_list(), known["spoiled"].to_list(), known[by].cast(pl.String).to_list())
