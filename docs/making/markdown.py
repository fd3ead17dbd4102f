"""Tables in Markdown."""

from __future__ import annotations

from collections.abc import Iterable, Sequence


def table(headings: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table; a line end or a bar within a cell does not break it.

    >>> print(table(["a", "b"], [["1", "x|y"]]))
    | a | b |
    |---|---|
    | 1 | x\\|y |
    """
    lines = [headings, *([" ".join(cell.replace("|", "\\|").split()) for cell in row] for row in rows)]
    written = [f"| {' | '.join(line)} |" for line in lines]
    return "\n".join([written[0], "|" + "---|" * len(headings), *written[1:]])
