"""Who is on which version of what, and since when."""

from __future__ import annotations

import polars as pl


def adoption(spans: pl.DataFrame) -> pl.DataFrame:
    """The version each house is on, and since when it has been without a break of another.

    Args:
        spans: house, spec, version, first_day, last_day: the days on which a house sold or made each version.

    Returns:
        house, spec, version (the one sold or made last; the higher where both were on that day), since (its first
        day after the last day of any other version before it, or its own first), last_day, newest (the highest version
        that any house has), behind (newest - version), by spec and house.
    """
    last = spans.sort("last_day", "version").group_by("house", "spec").last()
    newest = spans.group_by("spec").agg(pl.col("version").max().alias("newest"))
    return (
        last.rename({"first_day": "since"})
        .join(newest, on="spec")
        .with_columns((pl.col("newest") - pl.col("version")).alias("behind"))
        .select("house", "spec", "version", "since", "last_day", "newest", "behind")
        .sort("spec", "house")
    )


def served(spans: pl.DataFrame, spec: str, version: int) -> pl.DataFrame:
    """When each house that has the spec got a version, and between which days nothing but that changed.

    Args:
        spans: as of `adoption`.

    Returns:
        house, begin (first day of the highest earlier version that it had; of one that had none the day it got this
        one), day (on which it got it; null of one that did not), end (the day on which it got a later one; null of one
        that did not), by house; houses that had nothing but later versions are left out.
    """
    own, at = pl.col("version"), pl.col("first_day")
    return (
        spans.filter(pl.col("spec") == spec)
        .sort("house", "version")
        .group_by("house", maintain_order=True)
        .agg(
            at.filter(own < version).last().alias("earlier"),
            at.filter(own == version).min().alias("day"),
            at.filter(own > version).min().alias("end"),
        )
        .with_columns(pl.coalesce("earlier", "day").alias("begin"))
        .filter(pl.col("begin").is_not_null())
        .select("house", "begin", "day", "end")
    )


def without(spans: pl.DataFrame, spec: str, version: int) -> list[str]:
    """Houses whose newest version of a spec is an earlier one, by name."""
    newest = spans.filter(pl.col("spec") == spec).group_by("house").agg(pl.col("version").max())
    return newest.filter(pl.col("version") < version)["house"].sort().to_list()


def rolled_out(spans: pl.DataFrame) -> pl.DataFrame:
    """New versions that came to houses which had an earlier one.

    Returns:
        spec, version, houses (that changed to it), first_day, last_day (of their changes), by spec and version.
    """
    earlier = spans.select("house", "spec", pl.col("version").alias("was"), pl.col("first_day").alias("was_from"))
    return (
        spans.join(earlier, on=["house", "spec"])
        .filter(pl.col("was") < pl.col("version"), pl.col("was_from") < pl.col("first_day"))
        .group_by("house", "spec", "version")
        .agg(pl.col("first_day").min())
        .group_by("spec", "version")
        .agg(
            pl.len().alias("houses"),
            pl.col("first_day").min(),
            pl.col("first_day").max().alias("last_day"),
        )
        .sort("spec", "version")
    )
