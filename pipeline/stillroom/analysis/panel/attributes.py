"""What was scored, set out for comparing: attributes with their scales, and the sessions that hang together."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Final

import numpy as np
import numpy.typing as npt
import polars as pl


def is_liking() -> pl.Expr:
    """Whether a score is one of liking: its scale says so, or its name where the scale is the usual one."""
    kind = pl.col("scale_kind").fill_null("intensity")
    return (kind == "liking") | ((kind == "intensity") & (pl.col("attribute").str.to_lowercase() == "liking"))


OVERALL: Final = ("liking", "overall liking")
"""Names of the attribute that answers the question of a panel, where several are scores of liking."""


def labelled(scores: pl.DataFrame) -> pl.DataFrame:
    """Add `label` (the attribute, with its scale where it was scored on several), `higher_is_better` and `primary`.

    Scores on different scales are different attributes: they cannot be averaged. primary: overall liking, the one
    question that a panel is asked first; where no attribute has that name, the only one of liking.
    """
    scale = pl.struct("scale_low", "scale_high", "scale_kind")
    kind = pl.col("scale_kind").fill_null("intensity")
    span = pl.concat_str(pl.col("scale_low").map_elements(_plain, pl.String), pl.lit(" to "),
                         pl.col("scale_high").map_elements(_plain, pl.String))  # fmt: skip
    several = scale.n_unique().over("spec", "attribute") > 1
    if "looks" not in scores.columns:
        scores = scores.with_columns(looks=pl.lit(None, pl.Int64))
    return (
        scores.filter(pl.col("score").is_finite())
        .with_columns(
            label=pl.when(several)
            .then(pl.concat_str("attribute", pl.lit(" ("), kind, pl.lit(", "), span, pl.lit(")")))
            .otherwise("attribute"),
            higher_is_better=is_liking(),
        )
        .with_columns(primary=_is_primary())
    )


def _is_primary() -> pl.Expr:
    liking = pl.col("higher_is_better")
    named = liking & pl.col("attribute").str.to_lowercase().is_in(OVERALL)
    only = pl.col("attribute").filter(liking).n_unique().over("spec") == 1
    return pl.when(named.any().over("spec")).then(named).otherwise(liking & only)


def _plain(value: float) -> str:
    return f"{value:g}"


@dataclass(frozen=True, kw_only=True)
class Part:
    """One attribute in sessions that are linked by versions they share."""

    spec: str
    attribute: str
    scale_kind: str
    higher_is_better: bool
    primary: bool
    width: float
    frame: pl.DataFrame
    versions: list[int]
    sessions: list[str]

    @cached_property
    def sittings(self) -> list[str]:
        """The sessions in the order of their days."""
        days: dict[str, date] = {}
        for session, day in zip(self.frame["session"].to_list(), self.frame["tasted_on"].to_list(), strict=True):
            days[session] = min(day, days.get(session, day))
        return sorted(days, key=lambda session: (days[session], session))


def parts_of(scores: pl.DataFrame) -> Iterator[Part]:
    """Each attribute of each spec, apart where no version links the sessions; `scores` as `labelled` gives them."""
    for (spec, attribute), group in sorted(scores.partition_by("spec", "label", as_dict=True).items()):
        for frame in _linked(group):
            first = frame.row(0, named=True)
            yield Part(
                spec=str(spec),
                attribute=str(attribute),
                scale_kind=first["scale_kind"] or "intensity",
                higher_is_better=first["higher_is_better"],
                primary=first["primary"],
                width=first["scale_high"] - first["scale_low"],
                frame=frame,
                versions=sorted(set(frame["version"].to_list())),
                sessions=sorted(set(frame["session"].to_list())),
            )


def _linked(group: pl.DataFrame) -> Iterator[pl.DataFrame]:
    """Take apart what no chain of shared versions links: versions there cannot be compared."""
    if group["session"].n_unique() == 1:
        yield group
        return
    session, version = codes(group["session"]), codes(group["version"])
    part, before = session, None
    while before is None or (part != before).any():  # each takes the least number that reaches it
        before = part
        for shared in (version, session):
            least = np.full(len(part), len(part))
            np.minimum.at(least, shared, part)
            part = least[shared]
    for number in sorted(set(part.tolist())):
        yield group.filter(pl.Series(part == number))


def codes(column: pl.Series) -> npt.NDArray[np.intp]:
    """Its values numbered from 0 in their order, alike ones alike."""
    return (column.rank("dense").to_numpy() - 1).astype(np.intp)
