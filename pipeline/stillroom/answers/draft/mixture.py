"""A making as a sum of lines of which some may change: what it holds, what it costs, how far aims are missed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from stillroom.analysis.bench.aims import Aim, miss
from stillroom.analysis.bench.edits import line_of
from stillroom.analysis.bench.solving import Array, Misses, Part
from stillroom.analysis.specs.book import Line, SpecVersion
from stillroom.analysis.specs.contents import Contents
from stillroom.analysis.specs.figures import served
from stillroom.analysis.specs.request import written_amount
from stillroom.answers.draft.books import Book
from stillroom.errors import UsageError
from stillroom.names import name_key

Bounds = dict[str, tuple[float, float, str]]
"""Items that may change, by key -> least and most of each in base units, and the unit it is written in."""
A_LITTLE: Final = 1e-6
"""Amount of an item that is not in the spec yet, so that the store says what it costs."""


def bounds(lines: Sequence[Line], free: Sequence[str]) -> Bounds:
    """What may change: the items named, 'white sugar' or 'white sugar=500..700 g'; all that is measured when none is.

    Raises:
        UsageError: bounds that cannot be read.
    """
    if not free:
        return {name_key(line.item): (0.0, float("inf"), line.unit) for line in lines if line.base != "each"}
    found = {}
    for text in free:
        item, _, between = (part.strip() for part in text.partition("="))
        unit = next((line.unit for line in lines if name_key(line.item) == name_key(item)), "g")
        low, high = 0.0, float("inf")
        if between:
            least, mark, most = between.partition("..")
            if not mark:
                raise UsageError(f"--with '{text}': write the bounds like 'white sugar=500..700 g'.")
            high_amount, unit = written_amount(most)
            scale = line_of(item, 1.0, unit).base_amount
            low, high = written_amount(f"{least} {unit}")[0] * scale if least.strip("0 .") else 0.0, high_amount * scale
            if low > high:
                raise UsageError(f"--with '{text}': the least is above the most.")
        found[name_key(item)] = (low, high, unit)
    return found


class Mixture:
    """A making as a sum of lines of which some may change."""

    def __init__(
        self,
        book: Book,
        spec: SpecVersion,
        lines: tuple[Line, ...],
        may_change: Mapping[str, tuple[float, float, str]],
    ) -> None:
        self._spec, self._lines = spec, lines
        day = book.composition.book.day_of(spec)
        sheet = book.sheet(spec)
        self._each = [book.composition.part(line, day).contents.times(1 / line.base_amount) for line in lines]
        self._cost = [one.cost.known / line.base_amount for one, line in zip(sheet.lines, lines, strict=True)]
        self._free = [place for place, line in enumerate(lines) if name_key(line.item) in may_change]
        whole = sum(line.base_amount for line in lines)
        self.parts = []
        for place in self._free:
            line = lines[place]
            low, high, _ = may_change[name_key(line.item)]
            now = 0.0 if line.amount == A_LITTLE else line.base_amount
            part = Part(
                item=line.item,
                today=now,
                low=low,
                high=min(high, 10 * whole),
                step=measured_step(now, line.base, spec.kind),
                unit_cost=self._cost[place],
            )
            self.parts.append(part)
        self.today = np.array([part.today for part in self.parts])

    def _amounts(self, free: Array) -> list[float]:
        amounts = [line.base_amount for line in self._lines]
        for place, amount in zip(self._free, free, strict=True):
            amounts[place] = float(amount)
        return amounts

    def glass(self, free: Array) -> Contents:
        """What a making holds, as served."""
        total = Contents()
        for amount, each in zip(self._amounts(free), self._each, strict=True):
            total = total + each.times(amount)
        return served(self._spec, total)

    def misses(self, aims: Sequence[Aim]) -> Misses:
        """How far each aim is missed at some amounts."""
        serves = self._spec.serves

        def of(free: Array) -> Array:
            cost = sum(a * c for a, c in zip(self._amounts(free), self._cost, strict=True))
            glass = self.glass(free)
            return np.array([miss(aim, glass, cost, serves) for aim in aims])

        return of

    def lines(self, free: Sequence[float]) -> list[Line]:
        """The lines with these amounts, in the units they were written in."""
        amounts = self._amounts(np.array(free))
        return [
            replace(line, amount=line.amount * amount / line.base_amount, base_amount=amount)
            for line, amount in zip(self._lines, amounts, strict=True)
        ]


def measured_step(amount: float, base: str, kind: str) -> float:
    """The least that is told apart when it is measured out: by a scale in g, a jigger in a drink, a jug in the rest."""
    if base == "g":
        return 5.0 if amount >= 100 else 1.0 if amount >= 10 else 0.1
    if kind == "drink":
        return 2.5 if amount >= 10 else 1.0 if amount >= 5 else 0.5
    return 5.0 if amount >= 100 else 1.0 if amount >= 10 else 0.5
