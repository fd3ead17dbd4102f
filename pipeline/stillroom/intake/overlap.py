"""Lets one stage of the intake work ahead of the next in a thread of its own, a bounded number of batches."""

from __future__ import annotations

import queue
import threading
from collections.abc import Iterator
from typing import Final, TypeVar

Item = TypeVar("Item")

AHEAD: Final = 1  # batches in waiting: more only costs memory
LOOK_EVERY: Final = 0.1  # seconds between looks whether anyone still wants the next batch


class _End:
    """No more items: the stage has finished, or stopped on an error."""

    def __init__(self, error: BaseException | None) -> None:
        self.error = error


def ahead(items: Iterator[Item]) -> Iterator[Item]:
    """The same items in the same order, made in another thread; its error is raised here, in its place."""
    waiting: queue.Queue[Item | _End] = queue.Queue(AHEAD)
    unwanted = threading.Event()
    worker = threading.Thread(target=_work, args=(items, waiting, unwanted), daemon=True)
    worker.start()
    try:
        while not isinstance(item := waiting.get(), _End):
            yield item
        if item.error is not None:
            raise item.error
    finally:
        unwanted.set()
        worker.join()


def _work(items: Iterator[Item], waiting: queue.Queue[Item | _End], unwanted: threading.Event) -> None:
    error: BaseException | None = None
    try:
        for item in items:
            if not _put(item, waiting, unwanted):
                return
    except BaseException as raised:  # carried over to the thread that asked
        error = raised
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
