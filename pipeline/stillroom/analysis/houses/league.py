"""Where the money goes that is lost: by preparation, and by house."""

from __future__ import annotations

import polars as pl

from stillroom.analysis.houses.pooling import rank_ranges, side_by_side


def by_preparation(sums: pl.DataFrame) -> pl.DataFrame:
    """What each preparation loses in all houses.

    Args:
        sums: house, preparation, part (money lost), whole (money that making it cost): as `scatter.summed` gives them.

    Returns:
        preparation, houses, made, lost (money), share (lost over made), most (the house that loses most of it), by_most
        (what that house loses), by money lost, most first.
    """
    return (
        sums.sort("part", descending=True)
        .group_by("preparation", maintain_order=True)
        .agg(
            pl.len().alias("houses"),
            pl.col("whole").sum().alias("made"),
            pl.col("part").sum().alias("lost"),
            pl.col("house").first().alias("most"),
            pl.col("part").first().alias("by_most"),
        )
        .with_columns(pl.when(pl.col("made") > 0).then(pl.col("lost") / pl.col("made")).alias("share"))
        .select("preparation", "houses", "made", "lost", "share", "most", "by_most")
        .sort("lost", "preparation", descending=[True, False])
    )


def by_house(sums: pl.DataFrame) -> pl.DataFrame:
    """What each house loses of all its preparations, with the ranks that it may have.

    Args:
        sums: house, units, part (money lost), whole, and the squares: as `scatter.summed` gives them, over all
            preparations.

    Returns:
        house, made, lost (money), share, pooled with low and high (its share drawn towards the group's, 95 %), beyond
        (money lost beyond the group's mean share, by the pooled share), rank_low, rank_high (95 % range of its rank by
        the pooled share, 1 for the largest), by money beyond, most first.
    """
    rows, pooled = side_by_side(sums)
    low, high = rank_ranges(pooled)
    return (
        rows.with_columns(
            ((pl.col("pooled") - pooled.group) * pl.col("whole")).alias("beyond"),
            pl.Series("rank_low", low).cast(pl.Int64),
            pl.Series("rank_high", high).cast(pl.Int64),
        )
        .rename({"whole": "made", "part": "lost"})
        .select("house", "made", "lost", "share", "pooled", "low", "high", "beyond", "rank_low", "rank_high")
        .sort("beyond", "house", descending=[True, False])
    )
