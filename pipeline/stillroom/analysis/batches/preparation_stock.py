"""Of each preparation: what is on hand, what a making gives, and what it costs to have too much or too little."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Final

import numpy as np
import polars as pl

from stillroom.analysis.batches.kept import Kept, kept_now
from stillroom.analysis.batches.making_plan import LONGEST_KEEP, Lot
from stillroom.analysis.batches.on_hand import held, left_at_use_by
from stillroom.analysis.demand.ahead import DemandAhead
from stillroom.analysis.menu.earnings import earnings
from stillroom.analysis.specs.versions import Versions
from stillroom.names import key_of, name_key

NEXT_TO_NOTHING: Final = 1e-6
"""Of a unit: less than this is what rounding leaves."""
EARNED_LATELY: Final = 90
"""Days back from which a drink's contribution is taken."""


@dataclass(frozen=True, kw_only=True)
class Stocked:
    """A preparation on a day: its spec in service, and what is there."""

    preparation: str
    unit: str
    version: int | None
    making: float | None
    """What one making gives, in `unit`; None where neither the spec nor a batch says."""
    keeps: int | None
    """Days a batch made on the day will be good, that day included: as stated, or as batches have borne out where that
    is shorter; None where nobody says."""
    stated: int | None
    """The same as stated, by its spec or else by the last label."""
    lots: tuple[tuple[str, float, date | None], ...]
    """Batch, amount, use-by; in the order made."""
    counted_on: tuple[date | None, ...]
    """Of each lot, the last day on which it is counted on: its use-by, or sooner by what batches have borne out."""
    past_use_by: tuple[tuple[str, float, date], ...]
    """Batch, amount left, use-by of those that are past it on the day."""

    @property
    def on_hand(self) -> float:
        """What may still be used."""
        return sum(amount for _, amount, _ in self.lots)

    def shelf(self, day: date) -> list[Lot]:
        """The lots, with the days they may still be used, `day` included."""
        return [
            Lot(amount=amount, days=LONGEST_KEEP if until is None else max(0, (until - day).days + 1))
            for (_, amount, _), until in zip(self.lots, self.counted_on, strict=True)
        ]

    def left_of_making(self, size: float, day: date, use: np.ndarray) -> float:
        """How much of so much made on `day` passes the last day of its keep, on average, if nothing is made before.

        Args:
            use: draws by days of its use, from `day` on.
        """
        if self.keeps is None or size <= 0:
            return 0.0
        amounts = [*(amount for _, amount, _ in self.lots), size]
        until = [*self.counted_on, day + timedelta(days=self.keeps - 1)]
        return float(left_at_use_by(amounts, until, day - timedelta(days=1), use)[-1].mean())


def stocked(
    fate: pl.DataFrame,
    spec: pl.DataFrame,
    versions: Versions,
    kept: Sequence[Kept],
    preparation: str,
    unit: str,
    day: date,
    used_before: float = 0.0,
) -> Stocked:
    """A preparation's stock on `day`.

    Args:
        fate: batch, preparation, made_on, use_by, made, on_hand, unit; of one venue.
        spec: the view `spec_version`.
        kept: how long batches have kept.
        used_before: what will have been used between the last day in the data and `day`; taken off the oldest first.
    """
    own = fate.filter(pl.col("preparation") == preparation).sort("made_on", "batch")
    number = versions.in_service(preparation, day)
    meant = spec.filter(pl.col("spec") == preparation, pl.col("version").eq_missing(number)).to_dicts()
    row = meant[0] if meant else None
    made = own.filter(pl.col("unit") == unit)
    version = None if row is None else row["version"]
    stated = _stated(row, own)
    seen = kept_now(kept, preparation, version)
    keep = None if seen is None or seen.gone_by is None else seen.keep_days
    lots, counted_on, past = [], [], []
    rest = used_before
    there = made.filter(pl.col("on_hand") > 0)
    for batch, made_on, amount, use_by in there.select("batch", "made_on", "on_hand", "use_by").rows():
        taken = min(amount, rest)
        rest -= taken
        if amount - taken <= 1e-9:
            continue
        if use_by is not None and use_by < day:
            past.append((batch, amount - taken, use_by))
        else:
            lots.append((batch, amount - taken, use_by))
            ends = [end for end in (use_by, None if keep is None else made_on + timedelta(days=keep)) if end]
            counted_on.append(min(ends, default=None))
    return Stocked(
        preparation=preparation,
        unit=unit,
        version=version,
        making=_making(row, made, unit),
        keeps=stated if keep is None else keep + 1 if stated is None else min(stated, keep + 1),
        stated=stated,
        lots=tuple(lots),
        counted_on=tuple(counted_on),
        past_use_by=tuple(past),
    )


def left_over(fate: pl.DataFrame, preparation: str, unit: str, day: date, use: np.ndarray) -> np.ndarray:
    """Per draw, what passes its use-by of all that is there and may be used on `day`, if nothing is made before.

    Args:
        fate: batch, preparation, made_on, use_by, on_hand, unit, last_day; of one venue.
        use: draws by days of its use from the day after the last one in the data.
    """
    own = held(fate).filter(key_of(pl.col("preparation")) == name_key(preparation), pl.col("unit") == unit)
    if own.is_empty():
        return np.zeros(len(use))
    left = left_at_use_by(own["on_hand"].to_list(), own["use_by"].to_list(), own["last_day"][0], use)
    return np.asarray(left[(own["use_by"] >= day).fill_null(False).to_numpy()].sum(axis=0))


def _making(row: dict[str, Any] | None, made: pl.DataFrame, unit: str) -> float | None:
    if row is not None and row["base"] == unit:
        return float(row["yield_base"])
    return float(made["made"][-1]) if made.height else None


def _stated(row: dict[str, Any] | None, own: pl.DataFrame) -> int | None:
    if row is not None and row["keeps_days"] is not None:
        return int(row["keeps_days"]) + 1
    labels = (own["use_by"] - own["made_on"]).dt.total_days().drop_nulls()
    return int(labels[-1]) + 1 if len(labels) else None


def waste_per_unit(spec_cost: pl.DataFrame, stock: Stocked, day: date) -> tuple[float | None, str]:
    """What a unit costs to make at the prices of the day, and what is to be said of it."""
    rows = spec_cost.filter(
        pl.col("spec") == stock.preparation,
        pl.col("version").eq_missing(stock.version),
        pl.col("priced_from").is_null() | (pl.col("priced_from") <= day),
    ).sort("priced_from")
    if rows.is_empty() or not stock.making:
        return None, ""
    row = rows.row(-1, named=True)
    cost = row["cost"] if row["cost"] is not None else row["cost_known"]
    note = "" if row["cost"] is not None else f"costed without {row['missing']}, for which there is no price"
    return (cost / stock.making, note) if cost and cost > 0 else (None, note)


def short_per_unit(
    ahead: DemandAhead, daily: pl.DataFrame, spec_cost: pl.DataFrame, last_day: date, share: float
) -> dict[str, float]:
    """Contribution lost for each unit of a preparation that is wanted and not there.

    A drink that cannot be served loses `share` of its contribution, taken over the last `EARNED_LATELY` days; where its
    costs are not known, of the average drink's.
    """
    lately = daily.filter(pl.col("business_date") > last_day - timedelta(days=EARNED_LATELY))
    earned = earnings(lately, spec_cost)
    known = dict(earned.select("spec", "contribution").drop_nulls().rows())
    net = dict(earned.select("spec", "net_per_serve").drop_nulls().rows())
    middle = float(np.mean(list(known.values()))) if known else float(np.mean(list(net.values()))) if net else 0.0
    lost = np.array([max(0.0, known.get(drink, middle)) for drink in ahead.made.drinks])
    serves = ahead.draws.mean(axis=0).sum(axis=0)
    taken = ahead.need.whole
    per_unit = {}
    for place, name in enumerate(ahead.need.preparations):
        takes = taken[:, place] > 0
        amount = float((serves * taken[:, place]).sum())
        per_unit[name] = share * float((serves * lost)[takes].sum()) / amount if amount > 0 else 0.0
    return per_unit


def middle_cost(costs: Sequence[float | None]) -> float:
    """The middle of the known costs, for a preparation without one; a hundredth where none is known.

    >>> middle_cost([None, 0.02, 0.01, 0.5])
    0.02
    """
    known = [cost for cost in costs if cost]
    return float(np.median(known)) if known else 0.01
