"""Calls code that is not ours: in a thread of its own, for a limited time; whatever it does wrong is one sentence.

Ctrl-C ends the wait for it at once, whatever it does. A thread that is given up goes on until the program ends, and
holds nobody up.
"""

from __future__ import annotations

import io
import os
import queue
import sys
import threading
import warnings
from collections.abc import Callable, Iterator
from concurrent.futures import Future, wait
from contextlib import closing, contextmanager, suppress
from time import monotonic
from typing import Any, Final, TextIO, TypeVar

from stillroom.errors import StillroomError, in_one_line

Result = TypeVar("Result")
Job = tuple[Future[Any], Callable[[], Any]]

INSTANT: Final = 20.0
"""Seconds for what ought to take no time: importing a plugin, asking what it registers, checking a caution."""
PATIENT: Final = 120.0
"""Seconds for work: a report, or the next rows of a file, unless the settings say otherwise."""
LOOK_EVERY: Final = 0.5
"""Seconds between looks whether Ctrl-C was pressed, which does not everywhere end a wait by itself."""


class Failed(StillroomError):
    """What a plugin's code did instead of its work, in one line."""


class Hand:
    """A thread that does one thing after another, so that a generator or a connection is always in the same one."""

    def __init__(self) -> None:
        self.given_up = False
        self._begin()

    def _begin(self) -> None:
        self._jobs: queue.SimpleQueue[Job | None] = queue.SimpleQueue()
        threading.Thread(target=_work_off, args=(self._jobs,), daemon=True).start()

    def do(self, work: Callable[[], Result], seconds: float | None = None) -> Result:
        """What the work comes to, within these seconds; unless said, it is given what ought to be `INSTANT`.

        Raises:
            StillroomError: as the work raises it.
            Failed: it takes longer than these seconds, raises anything else, or would end the program.
        """
        seconds = INSTANT if seconds is None else seconds
        done: Future[Result] = Future()
        with put_back():
            self._jobs.put((done, work))
            end = monotonic() + seconds
            while not done.done() and (left := end - monotonic()) > 0:
                wait([done], min(left, LOOK_EVERY))
        if not done.done():
            self.given_up = True
            self._begin()  # what comes next is done in another thread
            raise Failed(f"it takes more than {seconds:g} s")
        return done.result()

    def close(self) -> None:
        """Let the thread end, once it has done what it was given."""
        self._jobs.put(None)


@contextmanager
def put_back() -> Iterator[None]:
    """What is changed within it of the process itself, on which all others rely, is afterwards as it was.

    It is where relative paths begin, how deep calls may go, what is done of warnings and of faults that nobody caught,
    where prints go (nowhere, once that is closed), and places of modules, but for those that were added.
    """
    streams = sys.stdout, sys.stderr
    where, deep, wrong, wrong_there = _where(), sys.getrecursionlimit(), sys.excepthook, threading.excepthook
    paths, filters = list(sys.path), list(warnings.filters)
    try:
        yield
    finally:
        if where is not None and _where() != where:
            with suppress(OSError):  # it is gone by now
                os.chdir(where)
        sys.stdout, sys.stderr = map(_open_still, streams)
        sys.setrecursionlimit(max(deep, sys.getrecursionlimit()))
        sys.excepthook, threading.excepthook = wrong, wrong_there
        sys.path += [path for path in paths if path not in sys.path]
        if any(one[0] == "error" and one not in filters for one in warnings.filters):
            warnings.filters[:] = filters  # type: ignore[index]


def _where() -> str | None:
    with suppress(OSError):
        return os.getcwd()
    return None


def _open_still(stream: TextIO) -> TextIO:
    return io.StringIO() if stream is not None and stream.closed else stream


def _work_off(jobs: queue.SimpleQueue[Job | None]) -> None:
    while (job := jobs.get()) is not None:
        done, work = job
        try:
            done.set_result(work())
        except StillroomError as error:
            done.set_exception(error)
        except (
            BaseException
        ) as error:  # sys.exit and a KeyboardInterrupt of its own, too: the real one is not seen here
            failed = Failed(in_one_line(error))
            failed.__cause__ = error
            done.set_exception(failed)


def called(work: Callable[[], Result], seconds: float) -> Result:
    """As `Hand.do`, with a thread for this alone."""
    with closing(Hand()) as hand:
        return hand.do(work, seconds)


def drawn(items: Callable[[], Iterator[Result]], seconds: float) -> Iterator[Result]:
    """The items one by one, each within these seconds, all made in one thread; faults as of `Hand.do`."""
    end = object()
    with closing(Hand()) as hand:
        source = hand.do(lambda: iter(items()), seconds)
        try:
            while (item := hand.do(lambda: next(source, end), seconds)) is not end:
                yield item  # type: ignore[misc]  # it is not the end
        finally:
            if not hand.given_up:  # what it has opened is closed now, not when it is collected
                hand.do(getattr(source, "close", lambda: None), seconds)
