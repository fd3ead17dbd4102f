"""The houses' shares of every preparation and drink beside each other, and who lies outside."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

import polars as pl

from stillroom.analysis.houses.funnel import LEAST_HOUSES, Funnel, funnel, outside
from stillroom.analysis.houses.pooling import side_by_side

Kind = Literal["preparation", "drink"]
ROWS: Final = {
    "house": pl.String,
    "kind": pl.String,
    "thing": pl.String,
    "share": pl.Float64,
    "worth": pl.Float64,
    "pooled": pl.Float64,
    "low": pl.Float64,
    "high": pl.Float64,
    "group": pl.Float64,
    "lies": pl.String,
    "money": pl.Float64,
}


@dataclass(frozen=True, kw_only=True)
class Beside:
    """One preparation or drink in all its houses."""

    kind: Kind
    thing: str
    rows: pl.DataFrame
    """The columns of `ROWS`; `money`: lost beyond the houses' mean share, of a preparation."""
    funnel: Funnel
    things: int
    """How many things are compared in all."""

    @property
    def named(self) -> pl.DataFrame:
        """The houses outside."""
        return self.rows.filter(pl.col("lies") != "")

    @property
    def heaviest(self) -> float:
        """By which charts are chosen: money that houses lose beyond the mean, then how many houses have it."""
        return float(self.rows["money"].clip(0).sum() or 0.0)


def everything(waste: pl.DataFrame, drinks: pl.DataFrame) -> list[Beside]:
    """All preparations and drinks that at least five houses have.

    Args:
        waste, drinks: the views `waste_shares` and `drink_shares`. Of a preparation measured in several units the
            commonest one is compared.
    """
    common = waste.group_by("preparation", "unit").len().sort("len", "unit").group_by("preparation").last()
    parts: list[tuple[Kind, str, pl.DataFrame]] = [
        *_parts("preparation", waste.join(common.select("preparation", "unit"), on=["preparation", "unit"])),
        *_parts("drink", drinks.with_columns(lost_money=pl.lit(None, pl.Float64))),
    ]
    return [one for kind, thing, sums in parts if (one := _beside(kind, thing, sums, len(parts))) is not None]


def _parts(kind: Kind, sums: pl.DataFrame) -> Iterator[tuple[Kind, str, pl.DataFrame]]:
    for (thing,), rows in sums.sort(kind, "house").group_by(kind, maintain_order=True):
        if rows.height >= LEAST_HOUSES and 0 < rows["part"].sum() < rows["whole"].sum():
            yield kind, str(thing), rows


def _beside(kind: Kind, thing: str, sums: pl.DataFrame, things: int) -> Beside | None:
    rows, pooled = side_by_side(sums)
    share, worth = rows["share"].to_numpy(), rows["worth"].to_numpy()
    of = funnel(share, worth)
    if of is None:
        return None
    found = rows.join(sums.select("house", "lost_money"), on="house").with_columns(
        pl.lit(kind).alias("kind"),
        pl.lit(thing).alias("thing"),
        pl.lit(pooled.group).alias("group"),
        pl.Series("lies", outside(share, worth, of, things), pl.String),
        pl.when(pl.col("share") > 0)
        .then(pl.col("lost_money") * (pl.col("pooled") - pooled.group) / pl.col("share"))
        .alias("money"),
    )
    return Beside(
        kind=kind, thing=thing, rows=found.select(pl.col(n).cast(t) for n, t in ROWS.items()), funnel=of, things=things
    )


def all_rows(found: Sequence[Beside]) -> pl.DataFrame:
    """The rows of all, those outside first."""
    rows = pl.concat([one.rows for one in found]) if found else pl.DataFrame(schema=ROWS)
    return rows.sort(
        pl.col("lies") == "", "kind", "thing", "pooled", "house", descending=[False, True, False, True, False]
    )
