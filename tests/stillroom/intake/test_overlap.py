"""Working ahead: the same items in the same order, faults in their place, and nothing left running."""

from __future__ import annotations

import threading
from collections.abc import Iterator

import pytest

from stillroom.intake.overlap import AHEAD, Ahead

WAIT = 20.0


class Items:
    """Numbers from 0, with what became of making them."""

    def __init__(self, fails_at: int | None = None) -> None:
        self.fails_at = fails_at
        self.made = 0
        self.enough = threading.Event()
        """Set once as many are made as may be made ahead."""
        self.closed = threading.Event()

    def __iter__(self) -> Iterator[int]:
        try:
            for number in range(100):
                if number == self.fails_at:
                    raise ValueError(number)
                self.made += 1
                if self.made > AHEAD:
                    self.enough.set()
                yield number
        finally:
            self.closed.set()


def test_all_items_come_in_their_order() -> None:
    with Ahead(iter(Items())) as ahead:
        assert list(ahead) == list(range(100))


def test_a_fault_comes_after_the_items_before_it() -> None:
    with Ahead(iter(Items(fails_at=3))) as ahead:
        items = iter(ahead)
        assert [next(items) for _ in range(3)] == [0, 1, 2]
        with pytest.raises(ValueError, match="3"):
            next(items)


def test_nothing_is_made_before_it_is_asked_for() -> None:
    items = Items()
    with Ahead(iter(items)):
        pass
    assert items.made == 0


def test_once_begun_it_works_ahead_by_no_more_than_it_may() -> None:
    items = Items()
    with Ahead(iter(items)) as ahead:
        ahead.begin()
        assert items.enough.wait(WAIT)
        assert items.made == AHEAD + 1  # one waits to be fetched, one to be handed over
        assert next(iter(ahead)) == 0


def test_who_leaves_early_closes_what_was_opened() -> None:
    items = Items()
    with Ahead(iter(items)) as ahead:
        assert next(iter(ahead)) == 0
    assert items.closed.is_set()
    assert items.made < 100
