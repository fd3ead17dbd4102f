"""The use of each preparation on the days ahead, with what today's makings of other preparations take of it."""

from __future__ import annotations

import numpy as np

from stillroom.analysis.demand.ahead import DemandAhead
from stillroom.analysis.demand.preparation_need import PreparationNeed


def outer_first(need: PreparationNeed) -> list[str]:
    """Preparations in an order in which each comes before those that go into it."""
    waiting = {place: set(np.flatnonzero(need.inner[:, place] > 0).tolist()) for place in range(len(need.preparations))}
    order: list[int] = []
    while waiting:
        ready = [place for place, outer in waiting.items() if not outer - set(order)]
        # The store refuses specs that go in a circle; whatever still waits then has nothing to wait for.
        order += ready or list(waiting)
        waiting = {place: outer for place, outer in waiting.items() if place not in order}
    return [need.preparations[place] for place in order]


class UseAhead:
    """Draws of the use of each preparation from a day on, outer ones first.

    What goes into another preparation is used when that is made: today's planned making of it now, and later what its
    own use asks for beyond what is then there.
    """

    def __init__(self, ahead: DemandAhead, gap: int, draws: int) -> None:
        self.need = ahead.need
        self._straight = ahead.draws[:draws]
        self._gap = gap
        self._use: dict[str, np.ndarray] = {}
        self._there: dict[str, float] = {}
        self._planned: dict[str, float] = {}

    def before(self, preparation: str) -> float:
        """Mean use between the last day in the data and the day."""
        place = self.need.preparations.index(preparation)
        return float((self._straight[:, : self._gap].sum(axis=1) @ self.need.straight[:, place]).mean())

    def of(self, preparation: str) -> np.ndarray:
        """Draws by days of its use; all that it goes into must have been planned."""
        place = self.need.preparations.index(preparation)
        use = self._straight[:, self._gap :] @ self.need.straight[:, place]
        for outer in self._outer(place):
            rate = self.need.inner[self.need.preparations.index(outer), place]
            beyond = np.maximum(self._use[outer].cumsum(axis=1) - self._there[outer], 0.0)
            use = use + rate * np.diff(beyond, axis=1, prepend=0.0)
            use[:, 0] += rate * self._planned[outer]
        self._use[preparation] = use
        return np.asarray(use)

    def plan(self, preparation: str, make: float, on_hand: float) -> None:
        """Note what is made of a preparation today, and what is there of it."""
        self._planned[preparation] = make
        self._there[preparation] = make + on_hand

    def wanted_today(self, preparation: str) -> tuple[tuple[str, float], ...]:
        """What of it today's planned makings take: outer preparation, amount."""
        place = self.need.preparations.index(preparation)
        wanted = [
            (outer, float(self.need.inner[self.need.preparations.index(outer), place] * self._planned[outer]))
            for outer in self._outer(place)
        ]
        return tuple((outer, amount) for outer, amount in wanted if amount > 0)

    def _outer(self, place: int) -> list[str]:
        return [self.need.preparations[row] for row in np.flatnonzero(self.need.inner[:, place] > 0)]
