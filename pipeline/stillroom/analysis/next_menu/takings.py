"""How much of each preparation a menu takes, straight and inside other preparations, by the spec book."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl

from stillroom.analysis.specs.contents import converted
from stillroom.names import name_key


@dataclass(frozen=True, kw_only=True)
class Takings:
    """What serves and makings take, by the versions in service."""

    preparations: tuple[str, ...]
    """Each after all that it goes into."""
    units: tuple[str, ...]
    straight: np.ndarray
    """Drinks by preparations: amount that a serve takes from the preparation's own stock."""
    inner: np.ndarray
    """Preparations by preparations: amount of the second in one unit of the first."""
    untold: tuple[str, ...] = ()
    """What takes an amount that cannot be told in the preparation's unit: '... in ...'."""


def takings(
    parts: pl.DataFrame, specs: pl.DataFrame, drinks: Sequence[tuple[str, int]], in_service: dict[str, int]
) -> Takings:
    """What drinks take.

    Args:
        parts: the view `part_span`, the rows of one day: name_key, version, item, item_key, item_kind, depth, amount,
            unit, first_stock.
        specs: the view `spec_version`: name_key, version, yield_base, base, density_g_ml.
        drinks: name and version of each.
        in_service: key of a preparation -> the version that is made.
    """
    made = {(row["name_key"], row["version"]): row for row in specs.to_dicts()}
    found = _Rows(parts, made, in_service)
    straight = [found.of((name_key(name), version)) for name, version in drinks]
    inner: dict[str, dict[str, float]] = {}
    waiting = [key for taken in straight for key in taken]
    while waiting:
        key = waiting.pop()
        if key not in inner:
            row = made[key, in_service[key]]
            inner[key] = {name: amount / row["yield_base"] for name, amount in found.of((key, row["version"])).items()}
            waiting += inner[key]
    order = _outer_first(inner)
    place = {key: number for number, key in enumerate(order)}
    return Takings(
        preparations=tuple(found.spelling[key] for key in order),
        units=tuple(made[key, in_service[key]]["base"] for key in order),
        straight=_matrix(straight, place),
        inner=_matrix([inner[key] for key in order], place),
        untold=tuple(sorted(found.untold)),
    )


class _Rows:
    """The rows of `part_span`, looked up; what cannot be converted is noted."""

    def __init__(self, parts: pl.DataFrame, made: dict[tuple[str, int], dict[str, object]], serving: dict[str, int]):
        stocked = parts.filter(pl.col("item_kind").is_in(["preparation", "garnish"]), pl.col("first_stock"))
        self._rows: dict[tuple[str, int], list[dict[str, object]]] = {}
        for row in stocked.to_dicts():
            self._rows.setdefault((row["name_key"], row["version"]), []).append(row)
        self._made, self._serving = made, serving
        self.spelling = dict(parts.select("item_key", "item").rows())
        self.untold: set[str] = set()

    def of(self, spec: tuple[str, int]) -> dict[str, float]:
        """Key of a preparation -> amount that one making (or serve) takes, in its unit."""
        taken: dict[str, float] = {}
        for row in self._rows.get(spec, []):
            key = str(row["item_key"])
            stock = self._made[key, self._serving[key]]
            amount: float | None = row["amount"]  # type: ignore[assignment]  # a column of numbers
            density: float | None = stock["density_g_ml"]  # type: ignore[assignment]
            inside = None if amount is None else converted(amount, str(row["unit"]), str(stock["base"]), density)
            if inside is None:
                self.untold.add(f"{row['item']} in {row['spec']}")
            else:
                taken[key] = taken.get(key, 0.0) + inside
        return taken


def _outer_first(inner: dict[str, dict[str, float]]) -> list[str]:
    order: list[str] = []
    left = dict(inner)
    while left:
        taken = {name for takes in left.values() for name in takes}
        # The store refuses specs that go in a circle; whatever still waits then has nothing to wait for.
        ready = sorted(key for key in left if key not in taken) or sorted(left)
        order += ready
        left = {key: takes for key, takes in left.items() if key not in order}
    return order


def _matrix(rows: Sequence[dict[str, float]], place: dict[str, int]) -> np.ndarray:
    table = np.zeros((len(rows), len(place)))
    for number, taken in enumerate(rows):
        for key, amount in taken.items():
            table[number, place[key]] = amount
    return table
