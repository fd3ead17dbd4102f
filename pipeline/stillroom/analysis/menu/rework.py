"""What to reformulate or re-size: the evidence on each drink and preparation, side by side, none of it added up.

Five fields: sales, margin, waste, keeping, panel. A line of evidence *asks* for something or only stands beside; it has
its own sum of money where there is one, and its own sureness. Sums of different kinds are never added to a total: the
shortlist is in the order of the largest single sum, then of how sure it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal, get_args

import polars as pl

from stillroom.objects import Sureness

Field = Literal["sales", "margin", "waste", "keeping", "panel"]
FIELDS: Final[tuple[Field, ...]] = ("sales", "margin", "waste", "keeping", "panel")
SURENESS: Final[tuple[Sureness, ...]] = get_args(Sureness)

SHORTLIST: Final = pl.Schema(
    {
        "subject": pl.String(),
        **dict.fromkeys(map(str, FIELDS), pl.String()),
        "do": pl.String(),
        "money": pl.Float64(),
        "money_from": pl.String(),
        "sureness": pl.String(),
        "asking": pl.Int64(),
    }
)


@dataclass(frozen=True, kw_only=True)
class Evidence:
    """One thing known about a drink or preparation."""

    subject: str
    field: Field
    figure: str
    """The figure in a few words."""
    sureness: Sureness
    do: str = ""
    """What it asks for; empty when it asks for nothing."""
    money: float | None = None
    """What is at stake, where that can be said in money."""


def shortlist(evidence: Sequence[Evidence]) -> pl.DataFrame:
    """One row for each subject of which some evidence asks for something.

    Returns:
        subject; a column for each of `FIELDS` (its figures; null when nothing is known); do (what is asked for, surest
        first); money (the largest single sum, null when there is none); money_from (its field); sureness (the best of
        the lines that ask); asking (how many fields ask).
    """
    rows = []
    for subject in dict.fromkeys(one.subject for one in evidence):
        own = [one for one in evidence if one.subject == subject]
        asks = sorted((one for one in own if one.do), key=lambda one: SURENESS.index(one.sureness))
        if not asks:
            continue
        priced = max((one for one in asks if one.money is not None), key=lambda one: one.money or 0.0, default=None)
        figures: dict[str, str | None] = {
            name: "; ".join(one.figure for one in own if one.field == name) or None for name in FIELDS
        }
        rows.append(
            {
                "subject": subject,
                **figures,
                "do": "; ".join(dict.fromkeys(one.do for one in asks)),
                "money": priced.money if priced else None,
                "money_from": priced.field if priced else None,
                "sureness": asks[0].sureness,
                "asking": len({one.field for one in asks}),
            }
        )
    frame = pl.DataFrame(rows, schema=SHORTLIST)
    rank = pl.col("sureness").replace_strict(list(SURENESS), [0, 1, 2], return_dtype=pl.Int64)
    return frame.sort(pl.col("money").fill_null(0), rank, "subject", descending=[True, False, False])
