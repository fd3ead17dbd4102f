"""Measured °Brix and pH of batches: against what the spec works out at, against each other, and what came of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import comb
from statistics import stdev
from typing import Final, Literal, get_args

import polars as pl

from stillroom.analysis.batches.control_chart import LEAST, ControlChart, control_chart
from stillroom.analysis.course import Course, course
from stillroom.analysis.holm import holm
from stillroom.analysis.panel.attributes import is_liking
from stillroom.analysis.specs.book import SpecBook
from stillroom.analysis.specs.composition import Composition

Measure = Literal["brix", "ph"]
MEASURES: Final[tuple[Measure, ...]] = get_args(Measure)
LITTLE_ALCOHOL: Final = 0.5
"""% vol from which a refractometer no longer reads sugar, so that no figure of the spec is held against it."""

LIKING: Final = {
    "preparation": pl.String,
    "batch": pl.String,
    "session": pl.String,
    "liking": pl.Float64,
    "panelists": pl.Int64,
    "off_target": pl.Boolean,
}


@dataclass(frozen=True, kw_only=True)
class MeasuredSeries:
    """One measurement of one preparation, batch after batch."""

    preparation: str
    measure: Measure
    batches: pl.DataFrame
    """batch, version, made_on, value, in the order made."""
    chart: ControlChart
    """With the limits of the level in force."""
    course: Course
    """Whether it keeps its level, stepped or slopes; 'level' where that is not clear."""
    target: float | None
    """What the spec of the last batch works out at; Brix only."""

    @property
    def stepped_at(self) -> int | None:
        """Place of the first batch of the level in force, where the series stepped."""
        return self.course.since if self.course.kind == "step" else None

    @property
    def steady(self) -> bool:
        """No signal of any kind."""
        return not (self.chart.beyond or self.chart.jumps) and self.course.kind == "level"

    @property
    def in_force(self) -> tuple[float, ...]:
        """The values of the level in force."""
        return self.chart.values[self.course.since :]

    @property
    def off_target(self) -> tuple[str, ...]:
        """Batches outside the limits."""
        labels = self.batches["batch"].to_list()
        return tuple(labels[place] for place in self.chart.beyond)

    @property
    def off_spec(self) -> float | None:
        """How far the level in force lies from the spec's figure, where chance does not explain it (t test at 1 %)."""
        from stillroom.analysis.tails import t_sf

        values = self.in_force
        if self.target is None or len(set(values)) < 2:
            return None
        difference = sum(values) / len(values) - self.target
        error = stdev(values) / len(values) ** 0.5
        return difference if 2 * float(t_sf(abs(difference) / error, len(values) - 1)) < 0.01 else None


def measured_series(batches: pl.DataFrame, book: SpecBook) -> list[MeasuredSeries]:
    """Every preparation's measurements that are enough for a control chart.

    Args:
        batches: batch, preparation, version, made_on, brix, ph.
        book: on the day that is looked at.
    """
    composition = Composition(book)
    found: list[tuple[str, Measure, pl.DataFrame, Course]] = []
    for (preparation,), rows in batches.sort("made_on", "batch").group_by("preparation", maintain_order=True):
        for measure in MEASURES:
            values = rows.filter(pl.col(measure).is_not_null())
            if values.height >= LEAST:
                found.append((str(preparation), measure, values, _course(values, measure)))
    adjusted = holm([one.p_value for *_, one in found])
    return [
        _series(preparation, measure, values, one.told(float(p)), composition)
        for (preparation, measure, values, one), p in zip(found, adjusted, strict=True)
    ]


def _course(values: pl.DataFrame, measure: Measure) -> Course:
    """What a measurement does, batch after batch; a new version is a change that is known."""
    versions = values["version"].to_list()
    known = [place for place in range(1, len(versions)) if versions[place] != versions[place - 1]]
    return course(values[measure].to_list(), known=known)


def _series(
    preparation: str, measure: Measure, values: pl.DataFrame, told: Course, composition: Composition
) -> MeasuredSeries:
    version = values["version"].drop_nulls()
    target = None
    if measure == "brix" and len(version):
        target = apparent_brix(composition, preparation, version[-1])
    return MeasuredSeries(
        preparation=preparation,
        measure=measure,
        batches=values.select("batch", "version", "made_on", pl.col(measure).alias("value")),
        chart=control_chart(values[measure].to_list(), told.fitted),
        course=told,
        target=target,
    )


def apparent_brix(composition: Composition, spec: str, version: int) -> float | None:
    """What a refractometer should show of a preparation by its spec: g of sugar and acid in 100 g.

    None where that is not to be had: the spec is not there, a part of it is not known, or it holds alcohol.
    """
    found = composition.book.find(spec, version)
    if found is None:
        return None
    making = composition.making(found)
    if making.not_counted or making.not_known or making.left_out:
        return None
    if (making.contents.abv_pct or 0.0) > LITTLE_ALCOHOL:
        return None
    return making.contents.apparent_brix


@dataclass(frozen=True, kw_only=True)
class KeptWorse:
    """Batches outside the limits beside the others: how many spoiled."""

    off_spoiled: int
    off: int
    others_spoiled: int
    others: int
    p_value: float
    """Fisher's exact test, two-sided."""


def kept_worse(series: list[MeasuredSeries], lives: pl.DataFrame) -> KeptWorse | None:
    """Whether batches outside the limits spoiled more often; None where there is nothing to compare.

    Args:
        lives: batch, spoiled, of every batch.
    """
    measured = {batch for one in series for batch in one.batches["batch"]}
    off = {batch for one in series for batch in one.off_target}
    spoiled = set(lives.filter("spoiled")["batch"])
    others = measured - off
    if not off or not others:
        return None
    counts = [[len(off & spoiled), len(off - spoiled)], [len(others & spoiled), len(others - spoiled)]]
    return KeptWorse(
        off_spoiled=counts[0][0],
        off=len(off),
        others_spoiled=counts[1][0],
        others=len(others),
        p_value=fisher_exact(counts),
    )


def fisher_exact(counts: Sequence[Sequence[int]]) -> float:
    """p-value of Fisher's exact test, two-sided: of all tables with these margins, those no likelier than this one.

    Source: Fisher (1935), *The Logic of Inductive Inference*; whole numbers, so that equal chances are equal.

    >>> round(fisher_exact([[3, 1], [1, 3]]), 4)  # the lady tasting tea
    0.4857
    """
    (one, other), (third, fourth) = counts
    first, second, column = one + other, third + fourth, one + third
    ways = [comb(first, n) * comb(second, column - n) for n in range(column + 1)]
    return sum(way for way in ways if way <= ways[one]) / sum(ways)


def liking_of_batches(series: list[MeasuredSeries], fate: pl.DataFrame, scores: pl.DataFrame) -> pl.DataFrame:
    """Mean liking of the measured batches that a panel can have tasted, as a share of the scale.

    A session tasted the batch of that version made last before it and not past its use-by; the tasting sheet does not
    name the batch.

    Args:
        fate: batch, made_on, use_by.
        scores: spec, version, tasted_on, session, attribute, score, scale_low, scale_high, scale_kind.

    Returns:
        preparation, batch, session, liking (0..1), panelists, off_target.
    """
    made = [
        one.batches.select(pl.lit(one.preparation).alias("preparation"), "batch", "version", "made_on")
        for one in series
    ]
    if not made:
        return pl.DataFrame(schema=LIKING)
    off = [batch for one in series for batch in one.off_target]
    batches = pl.concat(made).unique().join(fate.select("batch", "use_by"), on="batch", how="left").sort("made_on")
    return (
        _liked(scores)
        .with_columns(pl.col("version").cast(batches.schema["version"]))
        .join_asof(
            batches,
            left_on="tasted_on",
            right_on="made_on",
            by_left=["spec", "version"],
            by_right=["preparation", "version"],
            check_sortedness=False,
        )
        .filter(pl.col("batch").is_not_null(), pl.col("use_by").is_null() | (pl.col("use_by") >= pl.col("tasted_on")))
        .select(
            pl.col("spec").alias("preparation"),
            "batch",
            "session",
            "liking",
            pl.col("panelists").cast(pl.Int64),
            pl.col("batch").is_in(off).alias("off_target"),
        )
    )


def _liked(scores: pl.DataFrame) -> pl.DataFrame:
    """Mean liking of each version in each session, as a share of the scale, by day."""
    return (
        scores.filter(is_liking())
        .with_columns(
            ((pl.col("score") - pl.col("scale_low")) / (pl.col("scale_high") - pl.col("scale_low"))).alias("liking")
        )
        .group_by("spec", "version", "session", "tasted_on")
        .agg(pl.col("liking").mean(), pl.len().alias("panelists"))
        .sort("tasted_on")
    )
