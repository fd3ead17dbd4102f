"""Looks at the bytes of delimited text: where its marks stand, and which of its lines are not plain.

Bytes are looked at in stretches that fit the processor's cache, which takes a quarter of the time.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

LOOK_BYTES: Final = 2**17
QUOTE: Final = ord('"')
LINE_END: Final = ord("\n")

Places = NDArray[np.int64]


def count(text: bytes, mark: int) -> int:
    """How often a byte stands in a text."""
    characters = np.frombuffer(text, dtype=np.uint8)
    stretches = range(0, len(characters), LOOK_BYTES)
    return sum(int(np.count_nonzero(characters[at : at + LOOK_BYTES] == mark)) for at in stretches)


def places(text: bytes, mark: int) -> Places:
    """Where a byte stands in a text, in order."""
    characters = np.frombuffer(text, dtype=np.uint8)
    found = [np.flatnonzero(characters[at : at + LOOK_BYTES] == mark) + at for at in range(0, len(text), LOOK_BYTES)]
    return np.concatenate(found) if found else np.empty(0, dtype=np.int64)


def quotes_enclose_cells(text: bytes, separator: int, quotes: Places) -> bool:
    """Whether each quote opens or closes a whole cell, or is one of two: polars drops others without a word."""
    return len(quotes) % 2 == 0 and not _stray(text, separator, quotes, np.arange(len(quotes)) % 2 == 0).any()


def separators_apart(text: bytes, separator: int) -> int:
    """How many separators part cells, in a text whose quotes all enclose cells."""
    if QUOTE not in text:
        return count(text, separator)
    separators = places(text, separator)
    before = np.searchsorted(separators, places(text, QUOTE))
    return len(separators) - int((before[1::2] - before[::2]).sum())


def line_ends(text: bytes) -> Places:
    """Where each line ends (the place after it)."""
    ends = places(text, LINE_END) + 1
    return np.append(ends, len(text)) if text and not text.endswith(b"\n") else ends


def odd_lines(text: bytes, separator: int, width: int) -> tuple[Places, Places]:
    """Where each line ends (the place after it); and which lines are no whole record of so many cells by themselves.

    A line is plain that has as many cells, whose quotes all enclose cells, and which no carriage return parts.
    """
    ends = line_ends(text)
    starts = np.append(0, ends)[:-1]
    quotes, separators = places(text, QUOTE), places(text, separator)
    their_line = np.searchsorted(ends, quotes, side="right")
    of_line = np.bincount(their_line, minlength=len(ends))
    # The n-th quote of its line, from 0: even ones open, odd ones close.
    opens = (np.arange(len(quotes)) - (np.cumsum(of_line) - of_line)[their_line]) % 2 == 0
    odd = of_line % 2 == 1
    odd[their_line[_stray(text, separator, quotes, opens)]] = True
    before = np.searchsorted(separators, quotes)
    pairs = np.flatnonzero(opens[:-1] & (their_line[:-1] == their_line[1:]))
    inside = np.bincount(their_line[pairs], weights=before[pairs + 1] - before[pairs], minlength=len(ends))
    odd |= np.diff(np.searchsorted(separators, ends), prepend=0) - inside != width - 1
    returns = places(text, ord("\r"))
    characters = np.frombuffer(text + b" ", dtype=np.uint8)
    alone = returns[characters[returns + 1] != LINE_END]
    odd[np.searchsorted(ends, alone, side="right")] = True
    blank = ends - starts <= 1 + (characters[starts] == ord("\r"))
    return ends, np.flatnonzero(odd | blank)


def _stray(text: bytes, separator: int, quotes: Places, opens: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Quotes that neither open nor close a whole cell, and are none of two (a mask); `opens`: which would open one."""
    characters = np.frombuffer(text, dtype=np.uint8)
    beside_opening = np.zeros(256, dtype=bool)
    beside_opening[[LINE_END, QUOTE, separator]] = True
    beside_closing = beside_opening.copy()
    beside_closing[ord("\r")] = True
    before = np.where(quotes > 0, characters[quotes - 1], LINE_END)
    after = np.where(quotes < len(text) - 1, characters[np.minimum(quotes + 1, len(text) - 1)], LINE_END)
    return np.where(opens, ~beside_opening[before], ~beside_closing[after])
