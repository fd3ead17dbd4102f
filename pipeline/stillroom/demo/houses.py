"""What tells one invented house from another."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

from stillroom.demo.specs import SpecBook, book
from stillroom.demo.truths import BETTER


@dataclass(frozen=True, kw_only=True)
class House:
    """An invented house."""

    name: str
    size: float = 1.0
    """How many times as much as the demo house it sells."""
    came: Mapping[tuple[str, int], date | None] = field(default_factory=dict)
    """Spec and version -> the day on which it came here, if on another than in the demo house; None: it never did."""

    @cached_property
    def book(self) -> SpecBook:
        """Its spec book."""
        return book(self.came)

    @cached_property
    def better_since(self) -> date:
        """The first day of the version that sells better; no day of the season where it never came."""
        return self.book.since(BETTER[0], BETTER[2]) or date.max
