"""Lets one stage of the intake work ahead of the next in a thread of its own, a bounded number of batches."""

from __future__ import annotations

import queue
import threading
from collections.abc import Generator, Iterator
from typing import Final, Generic, Self, TypeVar

Item = TypeVar("Item")

AHEAD: Final = 1  # batches in waiting: more only costs memory
LOOK_EVERY: Final = 0.1  # seconds between looks whether anyone still wants the next batch
PARTING: Final = 2.0  # seconds to close what is open, once Ctrl-C has been pressed


class _End:
    """No more items: the stage has finished, or stopped on an error."""

    def __init__(self, error: BaseException | None) -> None:
        self.error = error


class Ahead(Generic[Item]):
    """The same items in the same order, made in another thread; its error is raised here, in its place.

    The thread begins with the first item that is asked for, or with `begin`; leaving the `with` block ends it.
    """

    def __init__(self, items: Iterator[Item]) -> None:
        self._waiting: queue.Queue[Item | _End] = queue.Queue(AHEAD)
        self._unwanted = threading.Event()
        self._worker = threading.Thread(target=_work, args=(items, self._waiting, self._unwanted), daemon=True)

    def begin(self) -> None:
        """Let the thread begin, if it has not."""
        if self._worker.ident is None:
            self._worker.start()

    def __iter__(self) -> Iterator[Item]:
        self.begin()
        while not isinstance(item := self._waiting.get(), _End):
            yield item
        if item.error is not None:
            raise item.error

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, *raised: object) -> None:
        self._unwanted.set()
        if self._worker.ident is not None:
            self._worker.join(PARTING if kind is KeyboardInterrupt else None)


def _work(items: Iterator[Item], waiting: queue.Queue[Item | _End], unwanted: threading.Event) -> None:
    error: BaseException | None = None
    try:
        for item in items:
            if not _put(item, waiting, unwanted):
                break
    except BaseException as raised:  # carried over to the thread that asked
        error = raised
    finally:
        if isinstance(items, Generator):
            items.close()  # what it has opened is closed here, not when it is collected
    _put(_End(error), waiting, unwanted)


def _put(item: Item | _End, waiting: queue.Queue[Item | _End], unwanted: threading.Event) -> bool:
    """Hand an item over; False when nobody wants it any more."""
    while not unwanted.is_set():
        try:
            waiting.put(item, timeout=LOOK_EVERY)
        except queue.Full:
            continue
        return True
    return False
