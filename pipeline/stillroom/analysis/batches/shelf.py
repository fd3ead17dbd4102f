"""What is on hand of something that keeps for some days, in many cases at once."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt


class Shelf:
    """Lots by the days they may still be used; each lot holds an amount for every case.

    On most days nothing was made: where no case has a lot there is none, and nothing is reckoned with.
    """

    def __init__(
        self, stock: npt.ArrayLike, width: int, cases: tuple[int, ...], kind: type[np.floating] = np.float64
    ) -> None:
        """Begin with the same stock in all cases.

        Args:
            stock: amounts by days left, today's first.
            width: the most days that anything keeps; no fewer than the stock has.
            cases: shape of the amounts.
            kind: their type.
        """
        self.cases, self._kind = cases, kind
        self._lots: list[np.ndarray | None] = [None] * width
        for place, amount in enumerate(np.asarray(stock)):
            if amount:
                self._lots[place] = np.full(cases, amount, kind)

    def put(self, days: int, amount: np.ndarray) -> None:
        """Add what may be used for so many days, today included."""
        lot = self._lots[days - 1]
        if lot is not None:
            lot += amount
        elif amount.any():
            self._lots[days - 1] = amount.astype(self._kind)

    def total(self) -> np.ndarray:
        """All that is there."""
        total = self._none()
        for _, lot in self.lots():
            total += lot
        return total

    def lots(self) -> Iterator[tuple[int, np.ndarray]]:
        """The lots there are, the oldest first: the days each may be used after today, and its amounts."""
        return ((place, lot) for place, lot in enumerate(self._lots) if lot is not None)

    def pass_a_day(self, wanted: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Use what is wanted, oldest first, and let a day pass; what was missing, and what passed its use-by."""
        short = np.array(np.broadcast_to(wanted, self.cases), self._kind)
        for _, lot in self.lots():
            taken = np.minimum(lot, short)
            lot -= taken
            short -= taken
        gone = self._lots.pop(0)
        self._lots.append(None)
        return short, self._none() if gone is None else gone

    def _none(self) -> np.ndarray:
        return np.zeros(self.cases, self._kind)
