"""Which drinks have left their forecast: what they sold lately is not what was expected of them before."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from stillroom.analysis.demand.replay import LEAST_DAYS, Replay
from stillroom.analysis.holm import holm

LATELY: Final = 14
"""Days looked back on."""
DRAWS: Final = 4000
LEVEL: Final = 0.05
"""How often any drink of a house is told to have left, where none has."""
ENDS: Final = (0.025, 0.975)


@dataclass(frozen=True, kw_only=True)
class Departure:
    """A drink that has left its forecast."""

    drink: str
    served: float
    """In the last `LATELY` days."""
    expected: float
    low: float
    high: float
    """What was expected before them, with its 95 % interval."""

    @property
    def more(self) -> bool:
        """It sells more than was expected, not less."""
        return self.served > self.expected


def departures(replay: Replay) -> tuple[Departure, ...]:
    """The drinks whose last days lie outside the forecast made before them, adjusted for their number (Holm)."""
    history = replay.history
    cut = history.days - LATELY
    if cut < LEAST_DAYS:
        return ()
    past = replay.week(cut, LATELY)
    made = replay.forecast(cut, past.ahead)
    sums = made.draws(DRAWS, history.seed + LATELY).sum(axis=1)
    served = np.nansum(past.serves, axis=0)
    below = ((sums < served).sum(axis=0) + 0.5 * (sums == served).sum(axis=0) + 0.5) / (DRAWS + 1)
    known = np.flatnonzero(past.ahead.on_menu.any(axis=0) & (made.means.sum(axis=0) > 0))
    adjusted = holm(np.minimum(1.0, 2 * np.minimum(below, 1 - below))[known])
    low, high = np.quantile(sums, ENDS, axis=0)
    return tuple(
        Departure(
            drink=history.drinks[place],
            served=float(served[place]),
            expected=float(made.means[:, place].sum()),
            low=float(low[place]),
            high=float(high[place]),
        )
        for place, p in zip(known, adjusted, strict=True)
        if p < LEVEL
    )
