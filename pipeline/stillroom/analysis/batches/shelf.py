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
        self._cases, self._kind = cases, kind
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
        for _, lot in self._there():
            total += lot
        return total

    def too_old(self, mean: np.ndarray) -> np.ndarray:
        """What will pass its use-by with use at the mean rate: the most by which older lots exceed the use until then.

        Args:
            mean: use by days, for as many as anything keeps.
        """
        through, most, used = self._none(), self._none(), mean.cumsum()
        for place, lot in self._there():
            through += lot
            np.maximum(most, through - self._kind(used[place]), out=most)
        return most

    def pass_a_day(self, wanted: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Use what is wanted, oldest first, and let a day pass; what was missing, and what passed its use-by."""
        short = np.array(np.broadcast_to(wanted, self._cases), self._kind)
        for _, lot in self._there():
            taken = np.minimum(lot, short)
            lot -= taken
            short -= taken
        gone = self._lots.pop(0)
        self._lots.append(None)
        return short, self._none() if gone is None else gone

    def _there(self) -> Iterator[tuple[int, np.ndarray]]:
        return ((place, lot) for place, lot in enumerate(self._lots) if lot is not None)

    def _none(self) -> np.ndarray:
        return np.zeros(self._cases, self._kind)
