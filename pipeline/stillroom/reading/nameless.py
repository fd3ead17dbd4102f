"""What a column is called that has no heading."""

from __future__ import annotations

_BEGINNING = "(column "


def called(place: int) -> str:
    """Its name in place of a heading; `place`: from 1 on.

    >>> called(3)
    '(column 3)'
    """
    return f"{_BEGINNING}{place})"


def is_nameless(heading: str) -> bool:
    """Whether a heading is such a name."""
    return heading.startswith(_BEGINNING)
