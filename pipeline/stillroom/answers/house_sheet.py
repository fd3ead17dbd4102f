"""A house of a group as its sheet begins; what else stands there reports contribute."""

from __future__ import annotations

from dataclasses import dataclass

from stillroom.answers.review.sheet_objects import Note


@dataclass(frozen=True, kw_only=True)
class Member:
    """One house of a group, as its sheet begins."""

    name: str
    says: str
    """What is to be known first of it, in a few words; '' where nothing is."""
    facts: tuple[str, ...]
    notes: tuple[Note, ...]
