"""Seasons side by side as the template and the terminal show them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from stillroom.answers.review.objects import Against, Change, Figure, Review
from stillroom_reports.figures import grouped
from stillroom_reports.glance import change_text


@dataclass(frozen=True, kw_only=True)
class Beside:
    """Two seasons."""

    label: str
    first: date
    last: date
    rows: tuple[tuple[str, str, str, str], ...]
    """Figure, now, then, change a week."""
    gains: tuple[tuple[str, str], ...]
    came: tuple[str, ...]
    went: tuple[str, ...]
    stayed: str


def beside(review: Review, currency: str) -> Beside | None:
    """The season and the other; None where there is no other."""
    other: Against | None = review.against
    if other is None:
        return None
    count = len(other.stayed)
    return Beside(
        label=other.label,
        first=other.first,
        last=other.last,
        rows=tuple(
            (now.label, _money(now, currency), _money(then, currency), _change(change))
            for now, (then, change) in zip(review.figures, other.figures, strict=True)
        ),
        gains=tuple((gain.name, _change(gain.change)) for gain in other.gains),
        came=other.came,
        went=other.went,
        stayed=f"{count} drink{'s' if count != 1 else ''}",
    )


def _money(figure: Figure, currency: str) -> str:
    return "not known" if figure.value is None else f"{currency} {grouped(figure.value)}"


def _change(change: Change | None) -> str:
    return "" if change is None else change_text(change.share, change.low, change.high)
