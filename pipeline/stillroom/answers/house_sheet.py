"""A house of a group as its sheet begins; what else stands there reports contribute."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Figure:
    """One figure of a house."""

    label: str
    value: str
    unit: str = ""
    small: str = ""
    is_loss: bool = False


@dataclass(frozen=True, kw_only=True)
class Member:
    """One house of a group, as its sheet begins."""

    name: str
    says: str
    """What is to be known first of it, in a few words; '' where nothing is."""
    facts: tuple[str, ...]
    figures: tuple[Figure, ...]
