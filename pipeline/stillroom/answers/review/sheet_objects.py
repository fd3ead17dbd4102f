"""What a sheet of a drink, preparation or garnish is made of."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from stillroom.answers.review.objects import Tone


@dataclass(frozen=True, kw_only=True)
class Note:
    """A figure of a sheet."""

    label: str
    value: str
    unit: str = ""
    small: str = ""
    is_loss: bool = False


@dataclass(frozen=True, kw_only=True)
class Mark:
    """A day on which something changed: a version, a price."""

    day: date
    text: str
    tone: Tone = "dated"


@dataclass(frozen=True, kw_only=True)
class BatchMark:
    """A batch on the time axis, and a row of the sheet."""

    batch: str
    made_on: date
    made: float
    used: float
    lost: float
    """Poured away, spoiled, or past its use-by with nothing logged."""
    on_hand: float
    unit: str
    use_by: date | None
    gone_on: date | None
    """The day on which it ended; None while some is on hand."""
    brix: float | None
    ph: float | None
    source: str
    """File and row."""


@dataclass(frozen=True, kw_only=True)
class Course:
    """What lies on a sheet's one time axis."""

    first: date
    last: date
    unit: str
    label: str
    """What the line shows."""
    line: tuple[tuple[date, float | None], ...]
    """A day or week and its value; None = a gap: closed, or not on the menu."""
    marks: tuple[Mark, ...] = ()
    batches: tuple[BatchMark, ...] = ()
    targets: tuple[tuple[str, float], ...] = ()
    """°Brix or pH, and what the spec works out at."""


@dataclass(frozen=True, kw_only=True)
class VersionsTable:
    """Versions side by side."""

    versions: tuple[str, ...]
    rows: tuple[tuple[str, tuple[str, ...], bool], ...]
    """What, its text in each version, and whether it changed."""


@dataclass(frozen=True, kw_only=True)
class UserRow:
    """A drink or preparation that takes it."""

    name: str
    takes: str
    """Of it a serve or a making."""
    serves: float | None
    """Serves in the period; None for a preparation."""
    share: float | None
    """Of all that was used in the period."""


@dataclass(frozen=True, kw_only=True)
class PartRow:
    """A line of its spec."""

    name: str
    amount: str
    cost: str
    share: float | None
    """Of the cost of a serve or a making."""


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """All that is known of one thing, in one place."""

    name: str
    kind: str
    """drink, preparation or garnish."""
    aliases: tuple[str, ...]
    """What the till calls it."""
    says: str
    """The weightiest thing there is to say: the rest of a sentence that begins with the name; '' where nothing is."""
    facts: tuple[str, ...]
    allergens: tuple[str, ...]
    """As the price list states them, of every version of its parts that there may be some of."""
    careful: tuple[tuple[str, str], ...]
    """Title and text of what to be careful of."""
    notes: tuple[Note, ...]
    """Four figures at most."""
    course: Course | None
    parts: tuple[PartRow, ...]
    users: tuple[UserRow, ...]
    versions: VersionsTable
    batches: tuple[BatchMark, ...]
    """Newest first."""
    source: str = ""
    """File and row of its spec."""
