"""What a sheet of a drink, preparation or garnish is made of."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

Tone = Literal["quiet", "dated", "decide"]
"""What a word of the picture is: an ordinary fact, a change with its day, or what a decision waits on."""


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
class Spot:
    """A drink on the menu map."""

    name: str
    share: float
    """Of the serves on its days."""
    contribution: float
    """Of a serve, house currency."""


@dataclass(frozen=True, kw_only=True)
class MenuPlace:
    """Where a drink lies on the menu map, beside the others."""

    own: Spot
    share_range: tuple[float, float]
    contribution_range: tuple[float, float]
    """95 % ranges."""
    share_mark: float
    """From here on it sells well."""
    average: float
    """Contribution of the average serve: from here on it earns well."""
    others: tuple[Spot, ...]
    does: str
    """In words."""


@dataclass(frozen=True, kw_only=True)
class Lever:
    """What one change would do to the money left over in such a period."""

    what: str
    low: float
    high: float
    rests_on: str


@dataclass(frozen=True, kw_only=True)
class SizeRow:
    """A size of batch, made on an empty shelf, and its odds; amounts in `unit`."""

    made_on: date
    size: float
    unit: str
    chance_lost: float
    """That some of it is left at the end of its keep."""
    lost: float
    """How much of it, on average."""
    chance_short: float
    """That it is used up before the next making day."""
    now: bool
    """As batches are made now."""
    advised: bool
    """As the way that costs least makes them."""
    venue: str = ""
    """'' where the house has one."""


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
    costs: tuple[tuple[date, float | None], ...] = ()
    """Days on which a serve began to cost something else, and what; None = not known."""


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
    place: MenuPlace | None = None
    """Of a drink that sold and whose cost is known."""
    levers: tuple[Lever, ...] = ()
    """What would move a drink's money."""
    sizes: tuple[SizeRow, ...] = ()
    """Of a preparation: how much to make at a time."""
