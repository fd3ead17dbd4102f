"""A shelf of many cases against a plain list of lots in each."""

import numpy as np
import pytest

from stillroom.analysis.batches.shelf import Shelf


@pytest.mark.parametrize("seed", range(6))
def test_a_shelf_is_what_lists_of_lots_say(seed: int) -> None:
    generator = np.random.default_rng(seed)
    width, cases = int(generator.integers(1, 6)), 4
    stock = generator.integers(0, 3, width) * 5.0
    shelf = Shelf(stock, width, (cases,))
    plain = [[[place + 1, amount] for place, amount in enumerate(stock)] for _ in range(cases)]
    for day in range(12):
        if day % 3 == 0:
            made = generator.integers(0, 2, cases) * 8.0
            shelf.put(width, made)
            for lots, amount in zip(plain, made, strict=True):
                lots.append([width, amount])
        assert shelf.total().tolist() == [sum(amount for _, amount in lots) for lots in plain]
        wanted = generator.integers(0, 6, cases).astype(float)
        short, gone = shelf.pass_a_day(wanted)
        for case, lots in enumerate(plain):
            left = wanted[case]
            for lot in sorted(lots, key=lambda one: one[0]):
                taken = min(lot[1], left)
                lot[1] -= taken
                left -= taken
            assert short[case] == left
            assert gone[case] == sum(amount for days, amount in lots if days == 1)
            plain[case] = [[days - 1, amount] for days, amount in lots if days > 1]
